"""Courses on the screen: all of them, one of them, planned anew, begun, ended, printed."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from courses_on_screen import act_on, back_on, kept, logged, shown, two_agents, until
from one_pond import add_one_pond
from paper import HARMFUL, HOSTILE_PAGES
from screen_text import a_moment, looks_as, screen_lines, screen_text
from small_app import SmallApp
from textual.screen import Screen

from store.book.act import Act
from store.book.book import Book
from store.courses.cautions.before import cautions
from store.courses.kept.dose_log import log_dose
from store.courses.kept.records import course
from tui.app import PondroundApp
from tui.screens.courses.course import CourseScreen
from tui.screens.courses.course_lines import CourseKey
from tui.screens.courses.course_plan import PlanCourseScreen
from tui.screens.courses.course_sheet import SheetScreen
from tui.screens.courses.courses import CoursesScreen
from tui.screens.parts.dialogs import Ask, AskReason, Choose, Tell
from tui.screens.ponds.pond import PondScreen
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
    def make(first: Callable[[], Screen[Any]] = CoursesScreen, theme: str = NIGHT) -> SmallApp:
        return SmallApp(sqlite_book, act, first, tmp_path / "drafts.json", theme=theme)

    return make


@pytest.mark.parametrize(
    ("width", "height", "theme"), [(80, 24, NIGHT), (120, 40, DAY), (60, 20, NIGHT)]
)
async def test_the_courses_look_as_they_were_looked_at(
    sqlite_book: Book,
    act: Act,
    late: UUID,
    desk: Callable[..., SmallApp],
    width: int,
    height: int,
    theme: str,
) -> None:
    other = add_one_pond(sqlite_book, act, client="Beech House", pond="pool")
    kept(sqlite_book, act, other, two_agents(act, sqlite_book, days_ago=0, reason="white spot"))
    third = add_one_pond(sqlite_book, act, client="Mill Lane 4", pond="quarantine")
    kept(sqlite_book, act, third, two_agents(act, sqlite_book, days_ago=-3), begin=False)
    app = desk(theme=theme)
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        await shown(pilot)
        await looks_as(pilot, f"courses_{width}")


@pytest.mark.parametrize(
    ("width", "height", "theme"), [(80, 24, NIGHT), (120, 40, DAY), (60, 20, NIGHT)]
)
async def test_a_course_looks_as_it_was_looked_at(
    late: UUID, desk: Callable[..., SmallApp], width: int, height: int, theme: str
) -> None:
    app = desk(lambda: CourseScreen(late), theme)
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        await shown(pilot)
        await looks_as(pilot, f"course_{width}")


async def test_what_the_days_of_a_plan_meet_stands_on_its_page_as_of_today(
    sqlite_book: Book, act: Act, pond: UUID, desk: Callable[..., SmallApp]
) -> None:
    key = kept(sqlite_book, act, pond, two_agents(act, sqlite_book, days_ago=6), days_ago=6)
    logged(sqlite_book, act, key, 1, days_ago=1)
    app = desk(lambda: CourseScreen(key))
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        await shown(pilot)
        page = app.screen.page  # type: ignore[attr-defined]
        now = page.turn.plan.remarks
        assert now
        assert now != page.course.plan.remarks  # the doses have slipped
        grid = app.screen.query_one(LineGrid)
        for number, said in enumerate(now):
            assert grid.move_to(CourseKey("remark", number=number))
            await shown(pilot)
            text = " ".join(screen_text(app).split())
            assert "What the days of this plan meet" in text
            assert " ".join(said.split())[:60] in text


async def test_a_late_dose_is_planned_anew_after_the_sentences_were_read(
    sqlite_book: Book, act: Act, pond: UUID, desk: Callable[..., SmallApp]
) -> None:
    key = kept(sqlite_book, act, pond, two_agents(act, sqlite_book, days_ago=6), days_ago=6)
    logged(sqlite_book, act, key, 1, days_ago=1)
    before = course(sqlite_book, key)
    app = desk(lambda: CourseScreen(key))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        assert "n plans the rest anew" in screen_text(app), screen_text(app)
        await looks_as(pilot, "course_slipped_80")
        await pilot.press("n")
        await until(pilot, Ask)
        assert "5 d late" in " ".join(screen_text(app).split())
        await looks_as(pilot, "course_anew_80")
        await pilot.press("escape")
        await until(pilot, CourseScreen)
        assert course(sqlite_book, key).turns == ()
        await pilot.press("n")
        await act_on(pilot, Ask, "right", "enter")
        text = await back_on(pilot, CourseScreen)
        assert "n plans the rest anew" not in text
    found = course(sqlite_book, key)
    assert found.given == before.given
    assert any("5 d late" in said for _, said in found.turns)
    assert [one.due_on for one in found.plan.steps[0].doses][1] > before.plan.steps[0].doses[
        1
    ].due_on
    assert app.changes == 1


async def test_where_nothing_slipped_there_is_nothing_to_plan_anew(
    sqlite_book: Book, act: Act, pond: UUID, desk: Callable[..., SmallApp]
) -> None:
    key = kept(sqlite_book, act, pond, two_agents(act, sqlite_book, days_ago=0))
    app = desk(lambda: CourseScreen(key))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("n")
        await until(pilot, Tell)
        assert "nothing is to be planned anew" in screen_text(app)


async def test_a_course_is_stopped_with_its_reason_and_stays_to_be_read(
    sqlite_book: Book, late: UUID, desk: Callable[..., SmallApp]
) -> None:
    app = desk(lambda: CourseScreen(late))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("x")
        await act_on(pilot, Choose, "2")
        await act_on(pilot, AskReason, *"gasping", "enter")
        text = await back_on(pilot, CourseScreen)
        assert "stopped early today: gasping" in text
        assert "log dose" not in text.splitlines()[-1]
        await pilot.press("d")
        await shown(pilot)
        assert isinstance(app.screen, CourseScreen)
    found = course(sqlite_book, late)
    assert (found.state, found.end_why) == ("stopped", "gasping")


async def test_an_entry_of_the_log_is_struck_through_with_a_reason(
    sqlite_book: Book, act: Act, late: UUID, desk: Callable[..., SmallApp]
) -> None:
    logged(sqlite_book, act, late, 1, days_ago=0)
    app = desk(lambda: CourseScreen(late))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        (entry,) = course(sqlite_book, late).log
        assert app.screen.query_one(LineGrid).move_to(CourseKey("given", 1, 1, entry.id))
        await shown(pilot)
        await pilot.press("enter")
        await act_on(pilot, AskReason, *"twice", "enter")
        text = await back_on(pilot, CourseScreen)
        assert "struck: twice" in text
        assert "0 of 5 given" in text
    assert [one.struck_why for one in course(sqlite_book, late).log] == ["twice"]


async def test_a_planned_course_is_begun_after_its_cautions_were_read(
    sqlite_book: Book, act: Act, pond: UUID, desk: Callable[..., SmallApp]
) -> None:
    plan = two_agents(act, sqlite_book, days_ago=0)
    key = kept(sqlite_book, act, pond, plan, begin=False)
    app = desk(lambda: CourseScreen(key))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        assert "begin" in screen_lines(app)[-1]
        await pilot.press("b")
        await act_on(pilot, Ask, "right", "enter")
        text = await back_on(pilot, CourseScreen)
        assert "formalin 1 of 2 due today" in text
    found = course(sqlite_book, key)
    assert found.state == "running"
    # The pond's own pH has risen since: what was told is of the water as it is now.
    told = " ".join(one.said for one in found.answered)
    assert "pH 8.2" in told
    assert "pH 8.2" not in " ".join(one.said for one in cautions(plan))
    assert {one.reason for one in found.answered if one.level == "stop"} == {"seen"}


@pytest.mark.parametrize(("shape", "begins"), [("pdf", b"%PDF"), ("txt", b"Treat"), ("md", b"# ")])
async def test_the_owners_sheet_goes_to_a_file_that_is_never_written_over(
    late: UUID, desk: Callable[..., SmallApp], tmp_path: Path, shape: str, begins: bytes
) -> None:
    path = tmp_path / f"sheet.{shape}"
    app = desk(lambda: CourseScreen(late))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        for telephone in ("", "01335 000000"):
            await pilot.press("s")
            screen = await until(pilot, SheetScreen)
            values = {"telephone": telephone, "shape": shape, "file": str(path)}
            screen.query_one(Form).fill(values)
            await shown(pilot)
            await pilot.press("f2")
            if not telephone:
                await pilot.pause(0.3)
                assert "The sheet needs the telephone" in screen_text(app)
                assert not path.exists()
                await pilot.press("escape")
            await back_on(pilot, CourseScreen)
        assert path.read_bytes().startswith(begins)
        kept_bytes = path.read_bytes()
        await pilot.press("s")
        screen = await until(pilot, SheetScreen)
        assert screen.query_one(Form).values["telephone"] == "01335 000000"  # typed once
        screen.query_one(Form).fill({"telephone": "1", "shape": shape, "file": str(path)})
        await shown(pilot)
        await pilot.press("f2")
        await pilot.pause(0.3)
        assert "is there already" in screen_text(app)
    assert path.read_bytes() == kept_bytes


async def test_the_chart_follows_the_agent_of_the_line(
    late: UUID, desk: Callable[..., SmallApp]
) -> None:
    app = desk(lambda: CourseScreen(late))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        assert "formalin, as planned, mg/L" in screen_text(app)
        assert app.screen.query_one(LineGrid).move_to(CourseKey("dose", 2, 1))
        await shown(pilot)
        assert "trichlorfon, as planned, mg/L" in screen_text(app)
        await pilot.press("p")
        await shown(pilot)
        assert "formalin, as planned, mg/L" in screen_text(app)


async def test_where_no_course_runs_the_page_of_a_pond_plans_one(
    pond: UUID, desk: Callable[..., SmallApp]
) -> None:
    app = desk(lambda: PondScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("c")
        screen = await until(pilot, PlanCourseScreen)
        assert screen.pond == pond


async def test_the_page_of_a_pond_opens_its_course(
    late: UUID, pond: UUID, desk: Callable[..., SmallApp]
) -> None:
    app = desk(lambda: PondScreen(pond))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        await pilot.press("c")
        screen = await until(pilot, CourseScreen)
        assert screen.course == late


@pytest.mark.parametrize("text", HOSTILE_PAGES)
async def test_texts_of_people_stay_text(
    sqlite_book: Book, act: Act, pond: UUID, desk: Callable[..., SmallApp], text: str
) -> None:
    plan = two_agents(act, sqlite_book, days_ago=2)
    plan = replace(plan, reason=text[:400] or "costia")
    key = kept(sqlite_book, act, pond, plan, days_ago=2)
    at = act.at - timedelta(hours=1)
    with sqlite_book.writing(act) as writing:
        log_dose(
            writing, course(sqlite_book, key).dose_ids[1, 1], given_at=at, amount=276.0,
            amount_unit="g", water_change_percent=0.0, given_by=text[:400] or "Ada", observed=text,
        )  # fmt: skip
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        assert not HARMFUL & set(screen_text(app).replace("\n", ""))
        await pilot.press("enter")
        await until(pilot, CourseScreen)
        await pilot.press("down")
        await shown(pilot)
        assert not HARMFUL & set(screen_text(app).replace("\n", ""))


async def test_the_place_of_the_courses_is_one_key_away_and_follows_the_book(
    sqlite_book: Book, act: Act, pond: UUID, tmp_path: Path
) -> None:
    app = PondroundApp(
        lambda: sqlite_book, now=lambda: act.at, person="Ada Vet", drafts=tmp_path / "drafts.json"
    )
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        for _ in range(100):
            await a_moment(0.03)
            if app.book_is_open:
                break
        await pilot.press("4")
        await until(pilot, CoursesScreen)
        assert "No course runs." in screen_text(app)
        kept(sqlite_book, act, pond, two_agents(act, sqlite_book, days_ago=0))
        app.changed()
        await pilot.pause(0.1)
        await shown(pilot)
        assert "formalin 1 of 2 due today" in screen_text(app)
        await pilot.press("enter")
        await until(pilot, CourseScreen)
        await pilot.press("x")
        await act_on(pilot, Choose, "3")
        await act_on(pilot, AskReason, *"other", "enter")
        await until(pilot, PlanCourseScreen)
        await pilot.press("escape")
        await until(pilot, CourseScreen)
        for _ in range(100):
            await a_moment(0.02)
            if "changed to another course" in screen_text(app):
                break
        assert "changed to another course today: other" in screen_text(app)
        await pilot.press("escape")
        await until(pilot, CoursesScreen)
        assert "No course runs." in screen_text(app)
