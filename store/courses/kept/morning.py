"""The morning list with what running courses promise, and their own hazards silent."""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from store.book.book import Book
from store.courses.kept.records import Course, active_courses
from store.courses.planning.course import Plan, PlannedDose
from store.courses.turning.tally import tallies
from store.courses.turning.turned import turned
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
    return morning.morning_list(
        book, now, treated=_treated(running), promised=_promised(running, book.today(now))
    )


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
        book, pond, now, treated=_treated(running), promised=_promised(running, book.today(now))
    )


def promises(course: Course, today: date) -> tuple[Promise, ...]:
    """What is still due of a course, by its day.

    Parameters
    ----------
    course
        A running course; nothing is due of another.
    today
        The practice's calendar day.

    Returns
    -------
    tuple of Promise
        Every dose of which not enough was given, the control examination, and a word to the vet
        where doses slipped so that what remains is to be planned anew.
    """
    if course.state != "running":
        return ()
    plan = course.plan
    many = len(plan.steps) > 1
    named = ", then ".join(_name(step.agent) for step in plan.steps)
    of = f"{named} against {plan.reason}"
    found = []
    for step in plan.steps:
        said = _name(step.agent) if many else "dose"
        for tally in tallies(plan, step, course.given, today):
            dose = tally.planned
            if dose.state == "due" and tally.counts_on is None:
                short = " short" if tally.parts else ""
                says = f"{said} {dose.number} of {len(step.doses)}{short}"
                found.append(Promise("dose", dose.due_on, says, of, dose.share))
    turn = turned(plan, course.given, today)
    if turn.said and _open(turn.plan) != _open(plan, of=turn.plan):
        found.append(Promise("turn", today, "new plan", f"{of}. {turn.said[0]}", "practice"))
    if plan.control_on is not None:
        found.append(Promise("control", plan.control_on, "control", of, "practice"))
    return tuple(sorted(found, key=lambda one: one.due))


def _open(plan: Plan, of: Plan | None = None) -> dict[tuple[int, int], PlannedDose]:
    """The doses that are not given, by step and number; those that are given in `of` left out."""
    given = {
        (step.place, dose.number)
        for step in (of or plan).steps
        for dose in step.doses
        if dose.state == "given"
    }
    return {
        (step.place, dose.number): dose
        for step in plan.steps
        for dose in step.doses
        if (step.place, dose.number) not in given
    }


def _name(agent: str) -> str:
    known = agents().get(agent)
    return agent if known is None else known.plain_name


def _treated(running: tuple[Course, ...]) -> dict[UUID, frozenset[str]]:
    found: dict[UUID, frozenset[str]] = {}
    for one in running:
        found[one.pond_id] = found.get(one.pond_id, frozenset()) | frozenset(one.plan.hazards)
    return found


def _promised(running: tuple[Course, ...], today: date) -> dict[UUID, tuple[Promise, ...]]:
    found: dict[UUID, tuple[Promise, ...]] = {}
    for one in running:
        found[one.pond_id] = found.get(one.pond_id, ()) + promises(one, today)
    return found
