"""The morning list with what running courses promise, and their own hazards silent."""

from __future__ import annotations

from datetime import datetime
from uuid import UUID

from store.book.book import Book
from store.courses.records import Course, active_courses
from store.facts.agents import agents
from store.watch import morning
from store.watch.concern import MorningList, PondWatch
from store.watch.seen import Promise


def morning_list(book: Book, now: datetime) -> MorningList:
    """Every pond of the practice, worst first, doses and controls that are due among the rest.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant, with a time zone.

    Returns
    -------
    MorningList
        As `store.watch.morning.morning_list`; a running course silences the windows of the hazards
        it is against.
    """
    running = active_courses(book)
    return morning.morning_list(book, now, treated=_treated(running), promised=_promised(running))


def watch_pond(book: Book, pond: UUID, now: datetime) -> PondWatch:
    """Everything the rules have to say of one pond, its courses among them.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    now
        The present instant, with a time zone.

    Raises
    ------
    NotFound
        No such pond.
    """
    running = tuple(one for one in active_courses(book) if one.pond_id == pond)
    return morning.watch_pond(
        book, pond, now, treated=_treated(running), promised=_promised(running)
    )


def promises(course: Course) -> tuple[Promise, ...]:
    """What is still due of a course, by its day.

    Parameters
    ----------
    course
        A running course; nothing is due of another.

    Returns
    -------
    tuple of Promise
        Every dose that is due, and the control examination.
    """
    if course.state != "running":
        return ()
    many = len(course.plan.steps) > 1
    named = ", then ".join(_name(step.agent) for step in course.plan.steps)
    of = f"{named} against {course.plan.reason}"
    found = [
        Promise(
            "dose",
            dose.due_on,
            f"{_name(step.agent) if many else 'dose'} {dose.number} of {len(step.doses)}",
            of,
            dose.share,
        )
        for step in course.plan.steps
        for dose in step.doses
        if dose.state == "due"
    ]
    if course.plan.control_on is not None:
        found.append(Promise("control", course.plan.control_on, "control", of, "practice"))
    return tuple(sorted(found, key=lambda one: one.due))


def _name(agent: str) -> str:
    known = agents().get(agent)
    return agent if known is None else known.plain_name


def _treated(running: tuple[Course, ...]) -> dict[UUID, frozenset[str]]:
    found: dict[UUID, frozenset[str]] = {}
    for one in running:
        found[one.pond_id] = found.get(one.pond_id, frozenset()) | frozenset(one.plan.hazards)
    return found


def _promised(running: tuple[Course, ...]) -> dict[UUID, tuple[Promise, ...]]:
    found: dict[UUID, tuple[Promise, ...]] = {}
    for one in running:
        found[one.pond_id] = found.get(one.pond_id, ()) + promises(one)
    return found
