"""What the page of one pond shows, gathered in one go; no screen in it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from typing import TYPE_CHECKING
from uuid import UUID
from zoneinfo import ZoneInfo

if TYPE_CHECKING:
    from store.book.book import Book
    from store.book.events import PondEvent
    from store.book.ponds import PondCard
    from store.book.visits import Visit
    from store.book.volumes import Disagreement
    from store.courses.kept.of_pond import PondCourses
    from store.diary.desk.due import DueLine
    from store.diary.kept.calls.call_notes import CallNote
    from store.exams.death_days import DeathDay
    from store.exams.examinations import KeptExam
    from store.watch.chart import PondChart
    from store.watch.concern import PondWatch
    from store.watch.warmth_told import WarmthTold
    from store.water.water_tests import WaterTest

TESTS_SHOWN = 300
"""Tests of the list at first, and how many more each time the older ones are asked for."""
YEARS_CHARTED = 5


@dataclass(frozen=True, slots=True)
class PondPage:
    """Everything about one pond; `watch` is None where the pond was struck through."""

    card: PondCard
    apart: Disagreement | None
    watch: PondWatch | None
    chart: PondChart | None
    warmth: WarmthTold | None
    """The temperature by estimate; None where no fit is at hand, or the pond was struck through."""
    tests: tuple[WaterTest, ...]
    """The newest."""
    older: int
    """Tests that are older than those."""
    visits: tuple[Visit, ...]
    events: tuple[PondEvent, ...]
    calls: tuple[CallNote, ...]
    """Open and closed."""
    due: tuple[DueLine, ...]
    """What was promised for the pond by hand, and what stands of it on the desk, worst first."""
    courses: PondCourses
    exams: tuple[KeptExam, ...]
    deaths: tuple[DeathDay, ...]
    eating: str
    """Until when the fish must not be eaten after what was given; empty where nothing runs."""
    people: dict[UUID, str]
    zone: ZoneInfo
    today: date


def read_page(
    book: Book, pond: UUID, now: datetime, *, struck: bool = False, newest: int = TESTS_SHOWN
) -> PondPage:
    """The page of a pond as it stands in the book.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    now
        The present instant.
    struck
        Show tests and events that were struck through as well.
    newest
        How many tests are listed [tests]; those before them are counted.

    Raises
    ------
    PondroundError
        No such pond, or the book cannot be read.
    """
    from store.book.events import events
    from store.book.people import staff
    from store.book.ponds import card
    from store.book.visits import visits_of
    from store.book.volumes import compare, estimates
    from store.courses.kept.morning import watch_pond
    from store.courses.kept.of_pond import courses_here
    from store.courses.kept.withdrawal_of import withdrawal_of
    from store.diary.kept.calls.call_notes import call_notes
    from store.diary.kept.due.pond_due import due_of_pond
    from store.exams.death_days import death_days
    from store.exams.deaths import deaths_of
    from store.exams.examinations import examinations_of
    from store.warmth.kept.estimates import estimates_about
    from store.watch.chart import CHART_CODES, pond_series
    from store.watch.chart_ahead import estimated_series
    from store.watch.warmth_told import warmth_told
    from store.water.how_many import count_tests
    from store.water.water_tests import list_tests

    found = card(book, pond)
    start = now - timedelta(days=366 * YEARS_CHARTED)
    apart = compare(estimates(book, pond))
    tests = list_tests(book, pond, newest, struck=struck)
    courses = courses_here(book, pond, now, struck=struck)
    eating = withdrawal_of(book, pond, now)
    chart = None
    if not found.struck:
        known = estimates_about(book, pond, now)
        chart = pond_series(
            book, pond, CHART_CODES, start, now, now=now,
            estimated=None if known is None else known.ahead,
        )  # fmt: skip
    if chart is not None and courses.marks:
        given = tuple(one for one in courses.marks if chart.start <= one.time <= chart.end)
        chart = replace(chart, events=(*chart.events, *given))
    warmth = None if found.struck else warmth_told(book, pond, now)
    if chart is not None and warmth is not None:
        chart = replace(chart, estimated=estimated_series(warmth.estimate, warmth.doubts))
    return PondPage(
        card=found,
        apart=apart[0] if apart else None,
        watch=None if found.struck else watch_pond(book, pond, now),
        chart=chart,
        warmth=warmth,
        tests=tests,
        older=count_tests(book, pond, struck=struck) - len(tests) if len(tests) == newest else 0,
        visits=visits_of(book, pond),
        events=events(book, pond, struck=struck),
        calls=call_notes(book, open=False, pond_id=pond, struck=struck),
        due=due_of_pond(book, pond, now),
        courses=courses,
        exams=examinations_of(book, pond, struck=struck),
        deaths=death_days(deaths_of(book, pond, struck=struck)),
        eating=eating.says if eating.runs else "",
        people={one.id: one.initials or one.name for one in staff(book, struck=True)},
        zone=book.zone,
        today=book.today(now),
    )
