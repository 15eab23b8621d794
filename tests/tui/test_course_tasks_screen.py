"""The tasks of a course on the screen, what follows a course, and a stop that was answered."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from courses_on_screen import act_on, back_on, kept, shown, two_agents, until
from one_pond import add_one_pond
from paper import HARMFUL, HOSTILE_PAGES
from screen_text import a_moment, looks_as, screen_text
from small_app import SmallApp
from textual.screen import Screen

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.keeping import end_course
from store.courses.kept.records import course, courses_of
from store.courses.kept.tasks import tick_task
from store.courses.planning.course import PondWater, StepWish
from store.courses.planning.plan import plan_course
from tui.screens.courses.course import CourseScreen
from tui.screens.courses.course_lines import CourseKey
from tui.screens.courses.course_plan import PlanCourseScreen
from tui.screens.courses.course_tasks import TasksScreen, TickScreen
from tui.screens.parts.dialogs import Ask, AskReason, Choose
from tui.themes import DAY, NIGHT
from tui.widgets.fields import Form
from tui.widgets.grid import LineGrid


@pytest.fixture
def pond(sqlite_book: Book, act: Act) -> UUID:
    return add_one_pond(sqlite_book, act)


@pytest.fixture
def late(sqlite_book: Book, act: Act, pond: UUID) -> UUID:
    """A course whose first dose was due two days ago."""
    return kept(sqlite_book, act, pond, two_agents(act, sqlite_book, days_ago=2), days_ago=2)


@pytest.fixture
def desk(sqlite_book: Book, act: Act, tmp_path: Path) -> Callable[..., SmallApp]:
    def make(first: Callable[[], Screen[Any]], theme: str = NIGHT) -> SmallApp:
        return SmallApp(sqlite_book, act, first, tmp_path / "drafts.json", theme=theme)

    return make


def tick(book: Book, act: Act, key: UUID, code: str, note: str = "") -> UUID:
    one = next(one for one in course(book, key).tasks if one.task.code == code)
    with book.writing(act) as writing:
        tick_task(writing, one.id, True, note=note)
    return one.id


@pytest.mark.parametrize(
    ("width", "height", "theme"), [(80, 24, NIGHT), (120, 40, DAY), (60, 20, NIGHT)]
)
async def test_the_tasks_look_as_they_were_looked_at(
    sqlite_book: Book,
    act: Act,
    late: UUID,
    desk: Callable[..., SmallApp],
    width: int,
    height: int,
    theme: str,
) -> None:
    tick(sqlite_book, act, late, "volume", "18,100 L at the level of today")
    tick(sqlite_book, act, late, "off_uv")
    app = desk(lambda: TasksScreen(late), theme)
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        await shown(pilot)
        await looks_as(pilot, f"course_tasks_{width}")


async def test_enter_and_space_tick_and_a_wrong_tick_is_taken_back(
    sqlite_book: Book, act: Act, late: UUID, desk: Callable[..., SmallApp]
) -> None:
    def done() -> list[str]:
        return [one.task.code for one in course(sqlite_book, late).tasks if one.done_at]

    app = desk(lambda: CourseScreen(late))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        assert "not ticked" in screen_text(app)
        await pilot.press("t")
        screen = await until(pilot, TasksScreen)
        grid = screen.query_one(LineGrid)
        for code, key in (("off_uv", "space"), ("off_carbon", "enter")):
            one = next(one for one in course(sqlite_book, late).tasks if one.task.code == code)
            assert grid.move_to(one.id)
            await shown(pilot)
            await pilot.press(key)
            await pilot.pause(0.1)
            await shown(pilot)
        assert done() == ["off_uv", "off_carbon"]
        await pilot.press("enter")
        await until(pilot, Ask)
        await pilot.press("escape")
        await until(pilot, TasksScreen)
        assert len(done()) == 2
        await pilot.press("space")
        await act_on(pilot, Ask, "right", "enter")
        for _ in range(50):
            await a_moment(0.02)
            if len(done()) == 1:
                break
        assert done() == ["off_uv"]
        await pilot.press("escape")
        assert "done today by AV" in await back_on(pilot, CourseScreen)


async def test_a_task_is_ticked_for_another_day_with_a_sentence(
    sqlite_book: Book, act: Act, late: UUID, desk: Callable[..., SmallApp]
) -> None:
    app = desk(lambda: TasksScreen(late))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("n")
        screen = await until(pilot, TickScreen)
        form = screen.query_one(Form)
        form.fill({"on_day": "tomorrow", "note": "read at the mark"})
        await pilot.press("f2")
        await pilot.pause(0.2)
        assert isinstance(app.screen, TickScreen), screen_text(app)
        form.fill({"on_day": "yesterday"})
        await pilot.press("f2")
        text = await back_on(pilot, TasksScreen)
        assert "read at the mark" in text
    (done,) = [one for one in course(sqlite_book, late).tasks if one.done_at]
    assert done.note == "read at the mark"
    assert done.done_at is not None
    assert done.done_at.date() == act.at.date() - timedelta(days=1)


async def test_the_control_asks_what_was_found_and_then_speaks_no_more(
    sqlite_book: Book, act: Act, pond: UUID, desk: Callable[..., SmallApp]
) -> None:
    plan = plan_course(
        [StepWish("formalin", "pond_bath", 15.0)], hazards=("costia",), reason="costia",
        water=PondWater(18_400.0, 16_200.0, 20_600.0, temperature_c=17.7, ph=7.0, oxygen_mg_l=9.0),
        first_day=sqlite_book.today(act.at) - timedelta(days=20),
    )  # fmt: skip
    key = kept(sqlite_book, act, pond, plan, days_ago=20)
    with sqlite_book.writing(act) as writing:
        end_course(writing, key, 2, "completed", "the owner gave it and kept no note")
    app = desk(lambda: CourseScreen(key))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        assert "t marks it as made" in screen_text(app)
        await looks_as(pilot, "course_control_late_80")
        await pilot.press("t")
        screen = await until(pilot, TasksScreen)
        await pilot.press("end", "enter")
        screen = await until(pilot, TickScreen)
        await pilot.press("f2")
        await pilot.pause(0.2)
        assert "what was found" in screen_text(app)
        assert course(sqlite_book, key).control_done is None
        screen.query_one(Form).fill({"note": "no costia in two scrapes"})
        await pilot.press("f2")
        assert "no costia in two scrapes" in await back_on(pilot, TasksScreen)
        await pilot.press("escape")
        text = await back_on(pilot, CourseScreen)
        assert "nothing more is due" in text
    assert course(sqlite_book, key).control_done is not None


async def test_a_course_that_is_changed_leads_to_the_next_one(
    sqlite_book: Book, act: Act, pond: UUID, late: UUID, desk: Callable[..., SmallApp]
) -> None:
    app = desk(lambda: CourseScreen(late))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("x")
        await act_on(pilot, Choose, "3")
        await act_on(pilot, AskReason, *"flukes alone", "enter")
        screen = await until(pilot, PlanCourseScreen)
        values = screen.query_one(Form).values
        assert (values["hazard"], values["other_hazard"]) == ("costia", "gill_flukes")
        assert values["reason"] == "costia, then flukes"
        assert values["1.agent"] == ""
        screen.query_one(Form).fill({"1.agent": "trichlorfon", "1.dose": "0.25 mg/L"})
        for _ in range(100):
            await a_moment(0.02)
            if screen.proposal is not None:
                break
        await pilot.press("f2")
        await act_on(pilot, Choose, "2")
        await until(pilot, CourseScreen)
        await shown(pilot)
        assert "in place of formalin, then trichlorfon" in screen_text(app)
        await pilot.press("home")
        await shown(pilot)
        assert "takes the place of formalin" in screen_text(app)
        await pilot.press("l")
        for _ in range(100):
            await a_moment(0.02)
            if isinstance(app.screen, CourseScreen) and app.screen.course == late:
                break
        await shown(pilot)
        assert app.screen.course == late
        await pilot.press("end")
        await shown(pilot)
        assert "followed by trichlorfon" in screen_text(app)
        await pilot.press("enter")
        for _ in range(100):
            await a_moment(0.02)
            if isinstance(app.screen, CourseScreen) and app.screen.course != late:
                break
        await shown(pilot)
        assert "in place of formalin" in screen_text(app)
    new, old = courses_of(sqlite_book, pond)
    assert (new.follows, new.plan.reason, old.state) == (late, old.plan.reason, "changed")


async def test_what_was_changed_and_not_yet_followed_is_followed_by_its_key(
    sqlite_book: Book, act: Act, late: UUID, desk: Callable[..., SmallApp]
) -> None:
    with sqlite_book.writing(act) as writing:
        end_course(writing, late, 2, "changed", "flukes alone")
    app = desk(lambda: CourseScreen(late))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("l")
        await pilot.pause(0.1)
        assert "No course stands before or after" in screen_text(app)
        await pilot.press("c")
        screen = await until(pilot, PlanCourseScreen)
        assert screen.follows == late


async def test_a_stop_that_was_answered_says_by_whom_and_why(
    sqlite_book: Book, act: Act, pond: UUID, desk: Callable[..., SmallApp]
) -> None:
    key = kept(sqlite_book, act, pond, two_agents(act, sqlite_book, days_ago=0))
    app = desk(lambda: CourseScreen(key))
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        await shown(pilot)
        text = screen_text(app)
        assert "stop     Trichlorfon" not in text
        assert "answered Ada Vet, today: seen: Trichlorfon" in text
        await pilot.press("end")
        await shown(pilot)
        await looks_as(pilot, "course_answered_120")


@pytest.mark.parametrize("text", HOSTILE_PAGES)
async def test_what_people_write_beside_a_tick_stays_text(
    sqlite_book: Book, act: Act, late: UUID, desk: Callable[..., SmallApp], text: str
) -> None:
    task = tick(sqlite_book, act, late, "off_uv", text)
    for first in (lambda: TasksScreen(late, task), lambda: CourseScreen(late)):
        app = desk(first)
        async with app.run_test(size=(80, 24), notifications=True) as pilot:
            await shown(pilot)
            app.screen.query_one(LineGrid).move_to(CourseKey("task", key=task))
            await shown(pilot)
            assert not HARMFUL & set(screen_text(app).replace("\n", ""))


async def test_a_course_without_tasks_says_so(
    sqlite_book: Book, act: Act, pond: UUID, desk: Callable[..., SmallApp]
) -> None:
    plan = replace(two_agents(act, sqlite_book, days_ago=0), tasks=())
    key = kept(sqlite_book, act, pond, plan)
    app = desk(lambda: TasksScreen(key))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        assert "has no tasks" in screen_text(app)


async def test_what_remains_is_planned_anew_at_once_where_that_is_asked(
    sqlite_book: Book, act: Act, late: UUID, desk: Callable[..., SmallApp]
) -> None:
    app = desk(lambda: CourseScreen(late, asks="anew"))
    async with app.run_test(size=(80, 24), notifications=True):
        for _ in range(200):
            await a_moment(0.02)
            if "nothing is to be planned anew" in screen_text(app):
                break
        assert "nothing is to be planned anew" in screen_text(app)
