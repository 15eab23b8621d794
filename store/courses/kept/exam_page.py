"""Everything that the page of one examination shows, gathered in one go."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from store.book.book import Book
from store.book.ponds import PondCard, card
from store.courses.kept.examined import answering
from store.courses.kept.outcome import Outcome, outcome
from store.courses.kept.records import Course, courses_of
from store.courses.kept.under_way import course_name
from store.exams.bearing import Bearing, bearings
from store.exams.examinations import KeptExam, examination, examinations_of
from store.exams.specimens import LabSample, samples_of
from store.water.water_tests import list_tests

TEMPERATURE = "temperature_c"
BELIEVED_DAYS = 7
"""A temperature older than this is not taken for that of the examination [d] (common practice)."""
_TESTS = 60


@dataclass(frozen=True, slots=True)
class Warmth:
    """The newest temperature of a pond's tests at an instant: `age` is how old it was then."""

    value_c: float
    taken_at: datetime
    age: timedelta

    @property
    def believed(self) -> bool:
        """Whether it may stand for the water at that instant."""
        return self.age <= timedelta(days=BELIEVED_DAYS)


@dataclass(frozen=True, slots=True)
class CourseBeside:
    """A course beside an examination: what it is called, its state, the days it began and ended."""

    id: UUID
    name: str
    state: str
    started_on: date | None
    ended_on: date | None
    control_on: date | None
    controlled: bool


@dataclass(frozen=True, slots=True)
class ExamPage:
    """One examination with what it means and what followed from it."""

    kept: KeptExam
    card: PondCard
    warmth: Warmth | None
    bearings: tuple[Bearing, ...]
    samples: tuple[LabSample, ...]
    """Of this examination, amended reports among them."""
    controls: CourseBeside | None
    outcome: Outcome | None
    """Whether the course that it controls worked."""
    answered_by: tuple[CourseBeside, ...]
    others: tuple[CourseBeside, ...]
    """Courses of the pond that it may be the control of."""
    zone: ZoneInfo
    today: date


def exam_page(book: Book, key: UUID, now: datetime) -> ExamPage:
    """The page of an examination.

    Parameters
    ----------
    book
        The book.
    key
        Of the examination.
    now
        The present instant, with a time zone.

    Raises
    ------
    NotFound
        There is no such examination.
    """
    kept = examination(book, key)
    courses = courses_of(book, kept.pond_id)
    warmth = temperature_at(book, kept.pond_id, kept.exam.at)
    controls = next((one for one in courses if one.id == kept.exam.course_id), None)
    day = kept.exam.at.astimezone(book.zone).date()
    return ExamPage(
        kept=kept,
        card=card(book, kept.pond_id),
        warmth=warmth,
        bearings=bearings(
            kept.exam,
            temperature_c=warmth.value_c if warmth is not None and warmth.believed else None,
            dying_fast=kept.exam.purpose == "losses",
        ),
        samples=tuple(
            one
            for one in samples_of(book, kept.pond_id, struck=True)
            if one.examination_id == kept.id
        ),
        controls=None if controls is None else _beside(controls),
        outcome=None if controls is None else outcome(book, controls.id, now),
        answered_by=tuple(_beside(one) for one in answering(courses, kept, book.zone)),
        others=tuple(
            _beside(one)
            for one in courses
            if controls is None and one.started_on is not None and one.started_on <= day
        ),
        zone=book.zone,
        today=book.today(now),
    )


def temperature_at(book: Book, pond: UUID, at: datetime) -> Warmth | None:
    """The newest temperature that was tested by an instant; None where there is none.

    Parameters
    ----------
    book
        The book.
    pond
        Key of the pond.
    at
        The instant, with a time zone.
    """
    for test in list_tests(book, pond, _TESTS, before=at + timedelta(milliseconds=1)):
        reading = test.readings.get(TEMPERATURE)
        if reading is not None:
            return Warmth(reading.value, test.taken_at, at - test.taken_at)
    return None


def purpose_of(book: Book, pond: UUID) -> str:
    """What an examination is probably for: the first of a pond, or one of many.

    Parameters
    ----------
    book
        The book.
    pond
        Key of the pond.
    """
    return "routine" if examinations_of(book, pond) else "first look"


def _beside(course: Course) -> CourseBeside:
    return CourseBeside(
        course.id, course_name(course.plan), course.state, course.started_on, course.ended_on,
        course.plan.control_on, course.control_done is not None,
    )  # fmt: skip
