"""The morning list with what running courses promise and what examinations found."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from functools import cache
from uuid import UUID

from store.book.book import Book
from store.courses.kept.against_stop import open_stops, said_open
from store.courses.kept.course_water import Temps, temps_of
from store.courses.kept.records import Course, followed_courses
from store.courses.kept.tasks import overdue_tasks, short
from store.courses.planning.course import Plan, PlannedDose
from store.courses.planning.fed import dose_word, in_order
from store.courses.turning.tally import tallies
from store.courses.turning.turned import turned
from store.exams.carried import seen_lately
from store.exams.open_findings import open_findings
from store.text import day_said
from store.warmth.kept.estimates import estimates, estimates_about
from store.watch import morning
from store.watch.concern import MorningList, PondWatch
from store.watch.seen import Promise
from store.watch.warmth_told import warmth_told

NEW_PLAN = "new plan"
"""What a promise says where something of what remains can be planned anew."""
LOOK = "look at what is covered"
"""What it says where the water moved and nothing that can be planned makes up for it."""


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
        it is against. A completed course speaks until its control examination was made, a finding
        until a course or another look has answered it. Where a fit of the temperatures is at hand,
        windows also speak by estimate.
    """
    followed = followed_courses(book)
    known = estimates(book, now)
    return morning.morning_list(
        book,
        now,
        treated=_treated(followed),
        promised=_promised(book, followed, book.today(now)),
        found=open_findings(book),
        happened=seen_lately(book, now),
        estimated=None if known is None else known.ahead,
    )


def watch_pond(book: Book, pond: UUID, now: datetime) -> PondWatch:
    """Everything the rules have to say of one pond, its courses and findings among them.

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
    followed = tuple(one for one in followed_courses(book) if one.pond_id == pond)
    known = estimates_about(book, pond, now)

    @cache  # asked by every window that speaks by estimate
    def grounds(key: UUID) -> Sequence[str]:
        told = warmth_told(book, key, now)
        return () if told is None else told.grounds

    return morning.watch_pond(
        book,
        pond,
        now,
        treated=_treated(followed),
        promised=_promised(book, followed, book.today(now)),
        found=open_findings(book, pond),
        happened=seen_lately(book, now, pond),
        estimated=None if known is None else known.ahead,
        grounds=grounds,
    )


def promises(course: Course, today: date, temps: Temps | None = None) -> tuple[Promise, ...]:
    """What is still due of a course, by its day.

    Parameters
    ----------
    course
        A running course, or one that was completed; nothing is due of another.
    today
        The practice's calendar day.
    temps
        Daily water from `store.courses.kept.course_water`; None where nothing was measured.

    Returns
    -------
    tuple of Promise
        Every dose of which not enough was given, the control examination until it was made, and a
        word to the vet where doses slipped, or the water moved, so that what remains is to be
        planned anew, or that it cannot be said whether the doses still meet what hatches. Of a
        completed course the control alone; where one was stopped or changed, the reason in writing
        takes its place. Tasks that are overdue stand beside each. A dose that was logged against a
        stop waits for a vet's answer, whatever became of the course.
    """
    plan = course.plan
    many = len(plan.steps) > 1
    named = in_order(plan.steps, plan.plain_name)
    of = f"{named} against {plan.reason}"
    beside = overdue_said(course, today)
    found = [
        Promise("answer", day, said, f"{of}. {stops}", "practice")
        for day, said, stops in said_open(open_stops(course))
    ]
    if course.state not in {"running", "completed"}:
        return tuple(found)
    for step in plan.steps if course.state == "running" else ():
        said = plan.plain_name(step.agent) if many else dose_word(step)
        for tally in tallies(plan, step, course.given, today):
            dose = tally.planned
            if dose.state == "due" and tally.counts_on is None:
                short = " short" if tally.parts else ""
                says = f"{said} {dose.number} of {len(step.doses)}{short}"
                found.append(Promise("dose", dose.due_on, says, of, dose.share, beside))
    if course.state == "running":
        turn = turned(plan, course.given, today, temps=temps)
        moved = turn.said and _open(turn.plan) != _open(plan, of=turn.plan)
        if moved or turn.moved is not None:
            says = NEW_PLAN if moved else LOOK
            said = f"{of}. {turn.said[0]}"
            found.append(Promise("turn", today, says, said, "practice", beside))
    if plan.control_on is not None and course.control_done is None:
        found.append(Promise("control", plan.control_on, "control", of, "practice", beside))
    return tuple(sorted(found, key=lambda one: one.due))


def overdue_said(course: Course, today: date) -> str:
    """What should have been done by now and is not ticked, in a sentence; empty where all is.

    Parameters
    ----------
    course
        The course.
    today
        The practice's calendar day.
    """
    by_day: dict[date, list[str]] = {}
    for one in overdue_tasks(course, today):
        by_day.setdefault(one.task.on_day, []).append(short(one.task))
    if not by_day:
        return ""
    named = "; ".join(
        f"{', '.join(dict.fromkeys(names))} ({day_said(day)})" for day, names in by_day.items()
    )
    return f"Not ticked: {named}."


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


def _treated(followed: tuple[Course, ...]) -> dict[UUID, frozenset[str]]:
    found: dict[UUID, frozenset[str]] = {}
    for one in followed:
        if one.state != "running":
            continue
        found[one.pond_id] = found.get(one.pond_id, frozenset()) | frozenset(one.plan.hazards)
    return found


def _promised(
    book: Book, followed: tuple[Course, ...], today: date
) -> dict[UUID, tuple[Promise, ...]]:
    found: dict[UUID, tuple[Promise, ...]] = {}
    temps = temps_of(book, followed, today)
    for one in followed:
        own = promises(one, today, temps.get(one.id))
        found[one.pond_id] = found.get(one.pond_id, ()) + own
    return found
