"""Did it work, on the screen: one course, and every agent over all ponds."""

from __future__ import annotations

from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from screen_text import a_moment, looks_as, screen_lines, screen_text
from small_app import SmallApp

from store.book.act import Act
from store.book.book import Book
from store.exams.values import ExamFish, Found
from tests.courses.outcome_ponds import AFTER, BEFORE, clips, enter, looked, treat, warm
from tui.screens.courses.course import CourseScreen
from tui.screens.courses.courses import CoursesScreen
from tui.screens.courses.outcome import OutcomeScreen
from tui.screens.courses.outcome_agents import AgentsOutcomeScreen
from tui.screens.parts.dialogs import Tell
from tui.screens.ponds.pond import PondScreen

D = timedelta(days=1)
BUSY = ("outcome", "pond-page", "course-page", "courses")


async def settle(pilot: Any) -> None:
    for _ in range(200):
        await a_moment(0.02)
        if not any(one.is_running and one.group in BUSY for one in pilot.app.workers):
            break
    await pilot.pause()


def add(book: Book, act: Act, client: str, pond: str) -> UUID:
    with book.writing(act) as writing:
        owner = writing.add("client", name=client)
        site = writing.add("site", client_id=owner, name="garden")
        return writing.add("pond", site_id=site, name=pond)


@pytest.fixture
def courses(sqlite_book: Book, act: Act) -> list[UUID]:
    """One that worked too early to know, one that did not, one that nobody looked at again."""
    book, dose = sqlite_book, act.at.date() - 20 * D
    both = ("gill_flukes", "fish_louse")
    keys = []
    for client, after in (("Alder Row", AFTER), ("Mill Lane", (40, 36, 70, 20)), ("Quarry", None)):
        pond = add(book, act, client, "lower pond")
        warm(book, act, pond, dose, [20.0] * 20)
        louse = ExamFish(nth=9, mark="Ivo", by_eye=(Found("fish_louse", counted=3),))
        enter(book, act, pond, looked(dose - D, (*clips(BEFORE), louse)))
        keys.append(treat(book, act, pond, [dose], hazards=both))
        if after is not None:
            enter(book, act, pond, looked(dose + 7 * D, clips(after), purpose="control"))
    return keys


@pytest.fixture
def desk(sqlite_book: Book, act: Act, tmp_path: Path) -> Callable[..., SmallApp]:
    return lambda first: SmallApp(sqlite_book, act, first, tmp_path / "drafts.json")


@pytest.mark.parametrize(("width", "height"), [(80, 24), (120, 40), (60, 20)])
async def test_one_course_looks_as_it_was_looked_at(
    courses: list[UUID], desk: Callable[..., SmallApp], width: int, height: int
) -> None:
    app = desk(lambda: OutcomeScreen(courses[0]))
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        await settle(pilot)
        await pilot.press("down")
        await settle(pilot)
        await looks_as(pilot, f"outcome_{width}")


@pytest.mark.parametrize(("width", "height"), [(80, 24), (120, 40)])
async def test_the_agents_look_as_they_were_looked_at(
    courses: list[UUID], desk: Callable[..., SmallApp], width: int, height: int
) -> None:
    app = desk(AgentsOutcomeScreen)
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        await settle(pilot)
        await pilot.press("enter")
        await settle(pilot)
        await looks_as(pilot, f"outcome_agents_{width}")


async def test_from_the_course_to_the_answer_and_on_to_the_agents(
    courses: list[UUID], desk: Callable[..., SmallApp]
) -> None:
    app = desk(lambda: CourseScreen(courses[0]))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await pilot.press("w")
        await settle(pilot)
        assert isinstance(app.screen, OutcomeScreen)
        text = " ".join(screen_text(app).split())
        assert "Gill flukes: fewer by 93 %, 87 to 97 % (95 % limits)" in text
        assert "too early" in text
        await pilot.press("down", "e")
        await settle(pilot)
        assert isinstance(app.screen, Tell)
        assert "100 × (1 - 2.5 / 37.5) = 93.33 %" in screen_text(app)
        await pilot.press("escape", "o")
        await settle(pilot)
        assert isinstance(app.screen, PondScreen)
        await pilot.press("escape", "a")
        await settle(pilot)
        assert isinstance(app.screen, AgentsOutcomeScreen)
        # The courses of an agent are shown and put away again; the worst stands first.
        closed = screen_lines(app)
        await pilot.press("enter", "down")
        await settle(pilot)
        assert "Mill Lane" in screen_lines(app)[4]
        assert "no fewer" in screen_lines(app)[4]
        await pilot.press("enter")
        await settle(pilot)
        assert isinstance(app.screen, OutcomeScreen)
        assert "Mill Lane" in screen_lines(app)[0]
        await pilot.press("escape", "up", "enter")
        await settle(pilot)
        assert screen_lines(app)[:6] == closed[:6]


async def test_what_cannot_be_told_says_why(
    courses: list[UUID], desk: Callable[..., SmallApp]
) -> None:
    app = desk(lambda: OutcomeScreen(courses[2]))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        text = " ".join(screen_text(app).split())
        assert "Gill flukes: nobody has looked again since the last dose." in text
        assert "not looked at again" in text


async def test_the_courses_lead_to_the_agents(
    courses: list[UUID], desk: Callable[..., SmallApp]
) -> None:
    app = desk(CoursesScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await pilot.press("w")
        await settle(pilot)
        assert isinstance(app.screen, AgentsOutcomeScreen)


async def test_an_empty_practice_says_what_will_stand_here(
    desk: Callable[..., SmallApp],
) -> None:
    app = desk(AgentsOutcomeScreen)
    async with app.run_test(size=(60, 20), notifications=True) as pilot:
        await settle(pilot)
        assert "No dose of any course was logged yet" in screen_text(app)
