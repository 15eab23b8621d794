"""The whole history of courses in their place: shown by a key, found by words, opened from there."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from courses_on_screen import kept, logged, shown, two_agents, until
from one_pond import add_one_pond
from paper import HARMFUL, HOSTILE_PAGES
from screen_text import looks_as, screen_lines, screen_text
from small_app import SmallApp
from textual.screen import Screen

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.keeping import end_course
from tui.screens.courses.course import CourseScreen
from tui.screens.courses.courses import CoursesScreen
from tui.screens.ponds.pond import PondScreen
from tui.themes import DAY, NIGHT


@pytest.fixture
def desk(sqlite_book: Book, act: Act, tmp_path: Path) -> Callable[..., SmallApp]:
    def make(first: Callable[[], Screen[Any]] = CoursesScreen, theme: str = NIGHT) -> SmallApp:
        return SmallApp(sqlite_book, act, first, tmp_path / "drafts.json", theme=theme)

    return make


@pytest.fixture
def four(sqlite_book: Book, act: Act) -> dict[str, UUID]:
    """One late, one planned, one stopped, one completed whose control is late."""
    found = {}
    for client, days in (("Alder Row", 2), ("Mill Lane", -3), ("Beech House", 9), ("Quarry", 90)):
        pond = add_one_pond(sqlite_book, act, client=client)
        plan = two_agents(act, sqlite_book, days_ago=days)
        found[client] = kept(
            sqlite_book, act, pond, plan, days_ago=max(days, 0), begin=client != "Mill Lane"
        )
    logged(sqlite_book, act, found["Beech House"], 1, days_ago=9)
    with sqlite_book.writing(act) as writing:
        end_course(writing, found["Beech House"], 2, "stopped", "two fish lay on their side")
        end_course(writing, found["Quarry"], 2, "completed", "the owner gave it, by telephone")
    return found


@pytest.mark.parametrize(
    ("width", "height", "theme"), [(80, 24, NIGHT), (120, 40, DAY), (60, 20, NIGHT)]
)
async def test_all_courses_look_as_they_were_looked_at(
    four: dict[str, UUID], desk: Callable[..., SmallApp], width: int, height: int, theme: str
) -> None:
    app = desk(theme=theme)
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        await shown(pilot)
        assert "Beech House" not in screen_text(app)
        await pilot.press("e")
        await pilot.press("end")
        await shown(pilot)
        await looks_as(pilot, f"courses_all_{width}")
        await pilot.press("e")
        await shown(pilot)
        assert "Beech House" not in screen_text(app)


async def test_words_look_through_all_and_enter_opens_what_was_found(
    four: dict[str, UUID], desk: Callable[..., SmallApp]
) -> None:
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("slash", *"stopped beech")
        await shown(pilot)
        text = screen_text(app)
        assert "stopped early" in text
        assert "Alder Row" not in text
        assert "log a dose" not in screen_lines(app)[-1]  # letters are for typing
        await pilot.press("down")
        await pilot.press("o")
        assert isinstance(await until(pilot, PondScreen), PondScreen)
        await pilot.press("escape")
        await until(pilot, CoursesScreen)
        await pilot.press("enter")
        screen = await until(pilot, CourseScreen)
        assert screen.course == four["Beech House"]
        await pilot.press("escape")
        await until(pilot, CoursesScreen)
        await pilot.press("escape")
        await shown(pilot)
        assert "Alder Row" in screen_text(app)
        await pilot.press("slash", *"nowhere")
        await shown(pilot)
        assert "Nothing fits “nowhere”" in screen_text(app)
        await pilot.press("escape", "escape")
        await shown(pilot)
        assert "Alder Row" in screen_text(app)
        assert "find  " not in screen_lines(app)[1]


async def test_a_planned_course_is_begun_from_its_page(
    four: dict[str, UUID], desk: Callable[..., SmallApp]
) -> None:
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("end", "enter")
        screen = await until(pilot, CourseScreen)
        assert screen.course == four["Mill Lane"]
        assert "b begin" in screen_lines(app)[-1]


@pytest.mark.parametrize("text", HOSTILE_PAGES)
async def test_how_a_course_ended_stays_text(
    sqlite_book: Book, act: Act, desk: Callable[..., SmallApp], text: str
) -> None:
    pond = add_one_pond(sqlite_book, act)
    key = kept(sqlite_book, act, pond, two_agents(act, sqlite_book, days_ago=0))
    with sqlite_book.writing(act) as writing:
        end_course(writing, key, 2, "stopped", text or "none")
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("e")
        await shown(pilot)
        assert not HARMFUL & set(screen_text(app).replace("\n", ""))
