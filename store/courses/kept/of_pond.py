"""The courses of one pond as its page shows them: what runs, what ended last, all that was done."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time
from typing import Literal
from uuid import UUID
from zoneinfo import ZoneInfo

from store.book.book import Book
from store.book.ponds import card
from store.courses.kept.records import Course, courses_of
from store.courses.kept.under_way import UnderWay, course_name, of_course
from store.watch.chart import ChartEvent
from store.watch.rulebook import rulebook
from store.water.given import figures

EntryKind = Literal["start", "dose", "control", "end"]
_ENDED = {
    "completed": "completed", "stopped": "stopped early", "changed": "changed to another course",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class CourseEntry:
    """Something of a course on its day: begun, a dose given, the control made, ended.

    `at` is local and without a zone, noon where `hour` is False. `beside` is what a person wrote;
    `by` the key of who did or logged it.
    """

    course: UUID
    kind: EntryKind
    at: datetime
    hour: bool
    says: str
    beside: str = ""
    by: UUID | None = None
    struck_why: str = ""
    entry: UUID | None = None
    """Of the log, for a dose."""

    @property
    def part(self) -> str:
        """What tells it from everything else of its course."""
        return self.kind if self.entry is None else f"{self.kind} {self.entry}"


@dataclass(frozen=True, slots=True)
class PondCourses:
    """The courses of a pond: those under way, the one that ended last, what was done, the marks."""

    under_way: tuple[UnderWay, ...]
    last: UnderWay | None
    entries: tuple[CourseEntry, ...]
    marks: tuple[ChartEvent, ...]


def courses_here(book: Book, pond: UUID, now: datetime, *, struck: bool = False) -> PondCourses:
    """The courses of a pond.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    now
        The present instant, with a time zone.
    struck
        Give entries of the log that were struck through as well.

    Returns
    -------
    PondCourses
        Courses newest first; entries and marks from old to new.

    Raises
    ------
    NotFound
        No such pond.
    """
    found = courses_of(book, pond)
    if not found:
        return PondCourses((), None, (), ())
    rules, here, today = rulebook(book), card(book, pond), book.today(now)
    ended = [one for one in found if one.ended_on is not None]
    last = max(ended, key=lambda one: one.ended_on or date.min, default=None)
    entries = sorted(
        (entry for one in found for entry in _entries(one, book.zone, struck=struck)),
        key=lambda entry: entry.at,
    )
    return PondCourses(
        under_way=tuple(
            of_course(one, here, rules, today) for one in found if one.ended_on is None
        ),
        last=None if last is None else of_course(last, here, rules, today),
        entries=tuple(entries),
        marks=tuple(mark for one in reversed(found) for mark in _marks(one, book.zone)),
    )


def dose_name(course: Course, place: int, number: int) -> str:
    """What a dose is called over all courses of a pond, `formalin 1 of 2`.

    Parameters
    ----------
    course
        The course.
    place, number
        Of the step, and of the dose.
    """
    step = next(one for one in course.plan.steps if one.place == place)
    name = course.plan.plain_name(step.agent)
    count = sum(one.state not in {"missed", "dropped"} for one in step.doses)
    return f"{name} {number} of {max(count, number)}"


def _entries(course: Course, zone: ZoneInfo, *, struck: bool) -> list[CourseEntry]:
    name, against = course_name(course.plan), course.plan.reason
    found = []
    if course.started_on is not None:
        said = f"course begun: {name} against {against}"
        at = datetime.combine(course.started_on, time())  # before its first dose
        found.append(
            CourseEntry(course.id, "start", at, False, said, course.note, course.prescribed_by)
        )
    for one in course.log:
        if one.struck_why and not struck:
            continue
        given = one.given
        said = (
            f"{dose_name(course, given.place, given.number)} given by {one.given_by}: "
            f"{figures(given.amount, 4)} {given.amount_unit}"
        )
        if given.water_change_percent:
            said += f", {figures(given.water_change_percent)} % change"
        found.append(
            CourseEntry(
                course.id, "dose", _local(given.at, zone), True, said, one.observed, one.logged_by,
                one.struck_why, one.id,
            )
        )  # fmt: skip
    control = course.control_done
    if control is not None and control.done_at is not None:
        found.append(
            CourseEntry(
                course.id, "control", _local(control.done_at, zone), True,
                f"control examination after {name}", control.note, control.done_by,
            )
        )  # fmt: skip
    if course.ended_on is not None:
        at = datetime.combine(course.ended_on, time(23, 59))  # after its last dose
        said = f"course {_ENDED[course.state]}: {name}"
        found.append(CourseEntry(course.id, "end", at, False, said, course.end_why))
    return found


def _marks(course: Course, zone: ZoneInfo) -> list[ChartEvent]:
    return [
        ChartEvent(
            _local(one.given.at, zone),
            "dose",
            dose_name(course, one.given.place, one.given.number).partition(" of ")[0],
        )
        for one in course.log
        if not one.struck_why
    ]


def _local(at: datetime, zone: ZoneInfo) -> datetime:
    return at.astimezone(zone).replace(tzinfo=None)
