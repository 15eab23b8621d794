"""Courses on the page of their pond: which run, what ended last, doses in the list and the chart."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from courses_on_screen import back_on, kept, logged, two_agents, until
from one_pond import add_one_pond
from paper import HARMFUL, HOSTILE_PAGES
from screen_text import looks_as, screen_text
from small_app import SmallApp, settled
from textual.screen import Screen

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.dose_log import strike_given
from store.courses.kept.keeping import end_course
from store.courses.kept.of_pond import courses_here
from store.courses.kept.records import course
from store.courses.kept.tasks import record_control
from tui.screens.courses.course import CourseScreen
from tui.screens.ponds.pond import PondScreen
from tui.screens.ponds.pond_lines import LineKey
from tui.screens.ponds.pond_page import read_page
from tui.themes import DAY, NIGHT
from tui.widgets.grid import LineGrid


@pytest.fixture
def pond(sqlite_book: Book, act: Act) -> UUID:
    return add_one_pond(sqlite_book, act)


@pytest.fixture
def desk(sqlite_book: Book, act: Act, tmp_path: Path) -> Callable[..., SmallApp]:
    def make(first: Callable[[], Screen[Any]], theme: str = NIGHT) -> SmallApp:
        return SmallApp(sqlite_book, act, first, tmp_path / "drafts.json", theme=theme)

    return make


def given_once(book: Book, act: Act, pond: UUID) -> UUID:
    key = kept(book, act, pond, two_agents(act, book, days_ago=2), days_ago=2)
    logged(book, act, key, 1, days_ago=2)
    return key


@pytest.mark.parametrize(
    ("width", "height", "theme"), [(80, 24, NIGHT), (120, 40, DAY), (60, 20, NIGHT)]
)
async def test_a_pond_on_a_course_looks_as_it_was_looked_at(
    sqlite_book: Book,
    act: Act,
    pond: UUID,
    desk: Callable[..., SmallApp],
    width: int,
    height: int,
    theme: str,
) -> None:
    given_once(sqlite_book, act, pond)
    app = desk(lambda: PondScreen(pond), theme)
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        await settled(pilot)
        await looks_as(pilot, f"pond_course_{width}")


def test_the_doses_of_a_course_are_marks_and_entries(book: Book, act: Act) -> None:
    pond = add_one_pond(book, act)
    assert courses_here(book, pond, act.at).entries == ()
    key = given_once(book, act, pond)
    page = read_page(book, pond, act.at)
    assert page.chart is not None
    assert [one.label for one in page.chart.events if one.kind == "dose"] == ["formalin 1"]
    assert [(one.kind, one.says) for one in page.courses.entries] == [
        ("start", "course begun: formalin, then trichlorfon against costia, then flukes"),
        ("dose", "formalin 1 of 2 given by Ada: 276 g"),
    ]
    (entry,) = course(book, key).log
    with book.writing(act) as writing:
        strike_given(writing, entry.id, entry.rev, "it was the other pond")
    page = read_page(book, pond, act.at)
    assert [one.kind for one in page.courses.entries] == ["start"]
    assert page.courses.marks == ()
    shown = read_page(book, pond, act.at, struck=True)
    assert [one.struck_why for one in shown.courses.entries] == ["", "it was the other pond"]


def test_what_ended_last_is_told_where_nothing_runs(book: Book, act: Act) -> None:
    pond = add_one_pond(book, act)
    old = given_once(book, act, pond)
    with book.writing(Act(act.by, act.at - timedelta(days=1))) as writing:
        end_course(writing, old, 2, "completed", "no costia in the scrape")
    with book.writing(act) as writing:
        record_control(writing, old, "clean")
    here = courses_here(book, pond, act.at)
    assert here.under_way == ()
    assert here.last is not None
    assert (here.last.course.id, here.last.given) == (old, 1)
    assert [one.kind for one in here.entries] == ["start", "dose", "end", "control"]
    assert here.entries[2].beside == "no costia in the scrape"
    assert (here.entries[3].beside, here.entries[3].by) == ("clean", act.by)


async def test_an_entry_opens_its_course_and_an_ended_course_is_the_last(
    sqlite_book: Book, act: Act, pond: UUID, desk: Callable[..., SmallApp]
) -> None:
    key = given_once(sqlite_book, act, pond)
    app = desk(lambda: PondScreen(pond))
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        await settled(pilot)
        assert "course   formalin, then trichlorfon: 1 of 5 given, " in screen_text(app)
        assert app.screen.query_one(LineGrid).move_to(LineKey("course", key, "start"))
        await pilot.press("enter")
        screen = await until(pilot, CourseScreen)
        assert screen.course == key
        with sqlite_book.writing(act) as writing:
            end_course(writing, key, 2, "stopped", "two fish lay on their side")
        await pilot.press("escape")
        await back_on(pilot, PondScreen)
        await settled(pilot)
        text = screen_text(app)
        assert "course   formalin, then trichlorfon stopped early today: 1 of 5 given" in text
        assert "two fish lay on their side" in text


@pytest.mark.parametrize("text", HOSTILE_PAGES)
async def test_what_people_wrote_of_a_course_stays_text(
    sqlite_book: Book, act: Act, pond: UUID, desk: Callable[..., SmallApp], text: str
) -> None:
    key = given_once(sqlite_book, act, pond)
    with sqlite_book.writing(act) as writing:
        end_course(writing, key, 2, "stopped", text or "none")
    app = desk(lambda: PondScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        assert not HARMFUL & set(screen_text(app).replace("\n", ""))
