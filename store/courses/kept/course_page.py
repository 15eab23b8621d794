"""One course as its page shows it: day by day what was planned and given, and what is in the water.

Read from the book and put together; the reckoning is that of `turned`, `due` and `predicted`.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, time, timedelta
from itertools import pairwise
from typing import Literal
from uuid import UUID
from zoneinfo import ZoneInfo

from store.book.book import Book
from store.book.people import staff
from store.book.ponds import card
from store.book.tables import table
from store.courses.baths.residue import Residue, drawn
from store.courses.kept.against_stop import Unanswered, open_stops
from store.courses.kept.course_water import temps_of
from store.courses.kept.likely_hatch import LikelyHatch, likely_hatch
from store.courses.kept.records import Answered, Course, LoggedDose, course, read_courses
from store.courses.kept.same_stop import answered_before
from store.courses.kept.tasks import overdue_tasks
from store.courses.kept.under_way import UnderWay, course_name, of_course
from store.courses.planning.course import Caution, CourseState, PlannedDose, PlanStep
from store.courses.planning.fed import is_fed
from store.courses.planning.predicted import moments, predicted
from store.courses.turning.tally import Tally, tallies
from store.courses.turning.turned import Turn, turned
from store.watch.rulebook import rulebook

Stands = Literal["given", "in part", "due today", "late", "due", "missed", "dropped"]


@dataclass(frozen=True, slots=True)
class DoseLine:
    """A dose of the plan with all that was logged under it, what was struck through among it.

    `late_days` are those by which it is overdue, below 0 before its day.
    """

    step: PlanStep
    planned: PlannedDose
    stands: Stands
    late_days: int
    log: tuple[LoggedDose, ...]


@dataclass(frozen=True, slots=True)
class Curve:
    """What a step brings into the water, to be drawn: local days and times, [unit of the step].

    A dose that slipped stands where planning anew would put it, an overdue one on today. `highest`
    is the highest peak with what of loss is known, `bound` without any.
    """

    step: PlanStep
    answer: Residue
    times: tuple[datetime, ...]
    values: tuple[float, ...]
    known: int
    """How many of the points rest on doses that were given; those after them are what would be."""
    doses: tuple[tuple[datetime, int, bool], ...]
    """When each dose goes in, its number, and whether it was given."""

    @property
    def highest(self) -> float:
        """The highest peak [unit of the step]."""
        return self.answer.highest_mg_l

    @property
    def bound(self) -> float:
        """The highest peak if nothing were lost but by water changes [unit of the step]."""
        return max(self.answer.bound_mg_l, default=0.0)


@dataclass(frozen=True, slots=True)
class Beside:
    """A course before or after another, as far as its name goes."""

    id: UUID
    name: str
    state: CourseState
    started_on: date | None
    ended_on: date | None


@dataclass(frozen=True, slots=True)
class CoursePage:
    """A course with everything its page shows; `turn` is what would be planned anew today."""

    line: UnderWay
    turn: Turn | None
    doses: tuple[DoseLine, ...]
    curves: tuple[Curve, ...]
    people: dict[UUID, str]
    zone: ZoneInfo
    today: date
    stops: tuple[tuple[Caution, Answered | None], ...] = ()
    """The stops of the turn, each with the answer that it was given before."""
    before: Beside | None = None
    """The course that this one takes the place of."""
    after: tuple[Beside, ...] = ()
    """The courses that were planned in place of this one, newest first."""
    overdue: frozenset[UUID] = frozenset()
    """Keys of the tasks that should have been done by now and still matter."""
    unanswered: tuple[Unanswered, ...] = ()
    """The stops against which a dose was logged and that no vet has answered, old to new."""
    likely: tuple[LikelyHatch, ...] = ()
    """When what it waits for is likely to be over, hazard by hazard, by estimate."""

    @property
    def course(self) -> Course:
        """The course itself."""
        return self.line.course


def course_page(book: Book, key: UUID, now: datetime) -> CoursePage:
    """A course as it stands today.

    Parameters
    ----------
    book
        The practice's book.
    key
        Of the course.
    now
        The present instant, with a time zone.

    Raises
    ------
    NotFound
        There is no such course.
    """
    found, today = course(book, key), book.today(now)
    temps = temps_of(book, [found], today).get(key)
    turn = None
    if found.state == "running":
        turn = turned(found.plan, found.given, today, temps=temps)
    before, after = _beside(book, found)
    return CoursePage(
        line=of_course(found, card(book, found.pond_id), rulebook(book), today, temps),
        turn=turn,
        doses=dose_lines(found, today),
        curves=tuple(
            curve(step, found, now.astimezone(book.zone).replace(tzinfo=None))
            for step in (found.plan if turn is None else turn.plan).steps
            if not is_fed(step) and moments(step, found.given)
        ),
        people={one.id: one.initials or one.name for one in staff(book, struck=True)},
        zone=book.zone,
        today=today,
        stops=tuple(
            (one, answered_before(found, one)) for one in (() if turn is None else turn.cautions)
        ),
        before=before,
        after=after,
        overdue=frozenset(one.id for one in overdue_tasks(found, today)),
        unanswered=open_stops(found),
        likely=likely_hatch(book, (found,), now).get(key, ()),
    )


def _beside(book: Book, found: Course) -> tuple[Beside | None, tuple[Beside, ...]]:
    courses = table("course").c
    linked = courses.follows_id == found.id
    if found.follows is not None:
        linked |= courses.id == found.follows
    with book.reading() as connection:
        others = read_courses(connection, book.zone, linked)
    named = {
        one.id: Beside(one.id, course_name(one.plan), one.state, one.started_on, one.ended_on)
        for one in others
    }
    before = named.get(found.follows) if found.follows is not None else None
    return before, tuple(one for key, one in named.items() if key != found.follows)


def dose_lines(found: Course, today: date) -> tuple[DoseLine, ...]:
    """Every dose of a course in the order of its days, with what was logged under it.

    Parameters
    ----------
    found
        The course.
    today
        The practice's calendar day.
    """
    lines = []
    for step in found.plan.steps:
        for tally in tallies(found.plan, step, found.given, today):
            log = tuple(
                one for one in found.log
                if (one.given.place, one.given.number) == (step.place, tally.planned.number)
            )  # fmt: skip
            late = (today - tally.planned.due_on).days
            lines.append(DoseLine(step, tally.planned, _stands(tally, late), late, log))
    return tuple(sorted(lines, key=lambda one: (one.planned.due_on, one.step.place)))


def curve(step: PlanStep, found: Course, now: datetime) -> Curve:
    """The line of a step over time, doses as given where they were.

    Parameters
    ----------
    step
        A step with a dose left.
    found
        Its course.
    now
        The present instant, local and without a zone; what is overdue is drawn as if it were given
        today.

    Raises
    ------
    BadInput
        No dose is left in the step.
    """
    overdue = found.state == "running"
    step = replace(
        step,
        doses=tuple(
            replace(one, due_on=max(one.due_on, now.date()))
            if overdue and one.state == "due"
            else one
            for one in step.doses
        ),
    )
    answer = predicted(step, found.given)
    doses = moments(step, found.given)
    begins = datetime.combine(doses[0].on_day, time())
    line = [(begins + timedelta(hours=at_h), value) for at_h, value in drawn(answer)]
    going_in = tuple(
        (datetime.combine(one.on_day, time()), one.number, one.was_given) for one in doses
    )
    line, known = _parted(line, now, [at for at, _, was_given in going_in if not was_given])
    return Curve(
        step=step,
        answer=answer,
        times=tuple(at for at, _ in line),
        values=tuple(value for _, value in line),
        known=known,
        doses=going_in,
    )


def _parted(
    line: list[tuple[datetime, float]], now: datetime, to_come: list[datetime]
) -> tuple[list[tuple[datetime, float]], int]:
    """The line with a point where what is known ends, and how many points come until there.

    It ends now, or at the first dose that was not given. Between two points it is drawn straight.
    """
    if to_come and min(to_come) <= line[0][0]:
        return line, 0
    until = min([now, *to_come])
    for place, ((at, value), (next_at, next_value)) in enumerate(pairwise(line)):
        if at < until <= next_at:
            share = (until - at) / (next_at - at)
            middle = (until, value + share * (next_value - value))
            return [*line[: place + 1], middle, *line[place + 1 :]], place + 2
    return line, len(line) if line[-1][0] <= until else 0


def _stands(tally: Tally, late_days: int) -> Stands:
    if tally.counts_on is not None:
        return "given"
    if tally.parts:
        return "in part"
    if tally.planned.state == "missed":
        return "missed"
    if tally.planned.state == "dropped":
        return "dropped"
    return "late" if late_days > 0 else "due today" if late_days == 0 else "due"
