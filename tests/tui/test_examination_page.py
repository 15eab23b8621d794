"""The page of an examination, what is done from it, and samples at laboratories."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from courses_on_screen import kept, logged, two_agents
from one_pond import add_one_pond
from paper import HARMFUL, HOSTILE
from screen_text import a_moment, looks_as, screen_lines, screen_text
from small_app import SmallApp
from textual.widgets import Input

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.examined import enter_examination
from store.courses.kept.keeping import end_course
from store.courses.kept.records import course
from store.exams.examinations import examination, examinations_of
from store.exams.examining import correct_finding
from store.exams.specimen_list import sample_lines
from store.exams.specimens import add_sample, earlier_reports, report_result
from store.exams.values import Found, Prep
from tests.exams.looked_at import GILL, SKIN, enter, exam, koi
from tui.screens.courses.course import CourseScreen
from tui.screens.courses.course_plan import PlanCourseScreen
from tui.screens.courses.courses import CoursesScreen
from tui.screens.exams.examination import ExaminationScreen
from tui.screens.exams.examination_acts import AddFindingScreen, CorrectFindingScreen
from tui.screens.exams.examination_page import ExaminationPageScreen
from tui.screens.exams.specimen_forms import ReportScreen, SampleScreen, SendScreen
from tui.screens.exams.specimens import SpecimensScreen
from tui.screens.parts.dialogs import AskReason, Choose
from tui.screens.ponds.pond import PondScreen
from tui.widgets.fields import Form
from tui.widgets.grid import LineGrid

BUSY = (
    "pond-page",
    "course-page",
    "courses",
    "exam-begin",
    "exam-save",
    "examined-read",
    "specimens-read",
    "edit",
    "examined-flow",
    "entry-read",
    "plan-follows",
)
FLUKES = Prep("skin scrape", "flank", 40, 5, found=(Found("gill_flukes", counted=2),))


@pytest.fixture
def pond(sqlite_book: Book, act: Act) -> UUID:
    return add_one_pond(sqlite_book, act)


@pytest.fixture
def desk(sqlite_book: Book, act: Act, tmp_path: Path) -> Callable[..., SmallApp]:
    return lambda first: SmallApp(sqlite_book, act, first, tmp_path / "drafts.json")


@pytest.fixture
def key(sqlite_book: Book, act: Act, pond: UUID) -> UUID:
    """Three fish: flukes on gill and skin, one corrected finding, one sample."""
    fish = (
        koi(GILL, FLUKES, length_cm=42.0, condition="thin", behaviour=("clamped",)),
        koi(SKIN, nth=2, length_cm=38.0),
        koi(Prep("gill clip", "", 100, 5), nth=3, by_eye=(Found("fish_louse", counted=1),)),
    )
    made = enter(
        sqlite_book, act, pond,
        exam(*fish, at=act.at - timedelta(hours=2), gear="own to the pond", note="cold hands"),
    )  # fmt: skip
    first = examination(sqlite_book, made).fish[1].findings[0]
    with sqlite_book.writing(act) as writing:
        correct_finding(
            writing, first.id, first.rev, replace(first.found, score=3), "looked again at 400x"
        )
        add_sample(
            writing, pond, label="A7", taken_on=act.at.date(), material="gill",
            laboratory="state laboratory", hazard="khv", asked="virus by PCR",
            examination_id=made, fish_id=examination(sqlite_book, made).fish[0].id,
        )  # fmt: skip
    return made


async def settle(pilot: Any) -> None:
    for _ in range(150):
        await a_moment(0.02)
        if not any(one.is_running and one.group in BUSY for one in pilot.app.workers):
            break
    await pilot.pause()


async def on(pilot: Any, kind: Any) -> Any:
    for _ in range(150):
        if isinstance(pilot.app.screen, kind):
            await a_moment(0.05)
            return pilot.app.screen
        await a_moment(0.02)
    raise AssertionError(f"{pilot.app.screen} is not {kind}: {screen_text(pilot.app)}")


async def save(pilot: Any, **texts: str) -> None:
    pilot.app.screen.query_one(Form).fill(texts)
    await pilot.pause(0.05)
    await pilot.press("f2")
    await settle(pilot)


@pytest.mark.parametrize(("width", "height"), [(80, 24), (60, 20), (120, 40)])
async def test_the_page_looks_as_it_was_looked_at(
    key: UUID, desk: Callable[..., SmallApp], width: int, height: int
) -> None:
    app = desk(lambda: ExaminationPageScreen(key))
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        await settle(pilot)
        await pilot.press("down", "down")
        await settle(pilot)
        await looks_as(pilot, f"examination_page_{width}")


async def test_a_finding_is_corrected_and_the_first_stays(
    key: UUID, desk: Callable[..., SmallApp], sqlite_book: Book
) -> None:
    app = desk(lambda: ExaminationPageScreen(key))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await pilot.press("down", "down", "c")
        await on(pilot, CorrectFindingScreen)
        await save(pilot, much="32")
        assert "why" in screen_text(app).casefold()
        assert examination(sqlite_book, key).exam.fish[0].found[0][1].counted == 23
        await save(pilot, why="figures swapped")
        await on(pilot, ExaminationPageScreen)
        await settle(pilot)
        shown = screen_text(app)
        assert "gill flukes 32 in 5 fields" in shown
        assert "struck: gill flukes 23 in 5 fields" in shown
        assert "figures swapped" in shown
        # The one that was struck through cannot be corrected again.
        await pilot.press("home", "down", "down", "c")
        await pilot.pause(0.1)
        assert isinstance(app.screen, ExaminationPageScreen)
    kept_exam = examination(sqlite_book, key)
    new = kept_exam.fish[0].findings[1]
    assert [one.found.counted for one in kept_exam.earlier(new.id)] == [23]


async def test_a_finding_is_taken_back_and_another_added(
    key: UUID, desk: Callable[..., SmallApp], sqlite_book: Book
) -> None:
    app = desk(lambda: ExaminationPageScreen(key))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await pilot.press("down", "down", "enter")
        await on(pilot, CorrectFindingScreen)
        await save(pilot, hazard="nothing", much="", why="wrong slide")
        await on(pilot, ExaminationPageScreen)
        await settle(pilot)
        await pilot.press("home", "down", "n")
        await on(pilot, AddFindingScreen)
        await save(pilot, hazard="trichodina", much="++")
        await on(pilot, ExaminationPageScreen)
        await settle(pilot)
        assert "trichodina ++ (2 of 3)" in screen_text(app)
    prep = examination(sqlite_book, key).exam.fish[0].preparations[0]
    assert prep.found == (Found("trichodina", score=2),)


async def test_a_sample_goes_and_comes_back(
    key: UUID, desk: Callable[..., SmallApp], sqlite_book: Book, act: Act
) -> None:
    app = desk(lambda: ExaminationPageScreen(key))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await pilot.press("l")
        screen = await on(pilot, SampleScreen)
        fish = examination(sqlite_book, key).fish[0].id
        assert screen.query_one(Form).values["fish"] == str(fish)
        await save(pilot, label="B1", material="kidney", sent_on="today", laboratory="Lab North")
        await on(pilot, ExaminationPageScreen)
        app.clear_notifications()
        await settle(pilot)
        await pilot.press("end")
        await settle(pilot)
        assert "kidney “B1” at Lab North: awaited, 0 d" in screen_text(app)
        await pilot.press("up", "enter")
        await on(pilot, ReportScreen)
        await save(pilot, result="unclear")
        assert isinstance(app.screen, ReportScreen)
        await save(pilot, said="too little tissue")
        await on(pilot, ExaminationPageScreen)
        await settle(pilot)
        assert "unclear" in screen_text(app)
    found = {one.sample.label: one.sample for one in sample_lines(sqlite_book, act.at.date())}
    assert found["B1"].result == "unclear"
    assert found["A7"].result == "awaited"


async def test_a_course_is_planned_from_what_was_found(
    key: UUID, desk: Callable[..., SmallApp]
) -> None:
    app = desk(lambda: ExaminationPageScreen(key))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await pilot.press("p")
        screen = await on(pilot, PlanCourseScreen)
        await settle(pilot)
        values = screen.query_one(Form).values
        assert (values["hazard"], values["other_hazard"]) == ("gill_flukes", "costia")
        assert values["reason"] == "gill flukes, costia, fish louse, examination of 14 Mar 2026"


async def test_it_is_said_afterwards_which_course_it_controls(
    pond: UUID, key: UUID, desk: Callable[..., SmallApp], sqlite_book: Book, act: Act
) -> None:
    plan = two_agents(act, sqlite_book, days_ago=40)
    made = kept(sqlite_book, act, pond, plan, days_ago=40)
    logged(sqlite_book, act, made, 1, days_ago=40)
    with sqlite_book.writing(act) as writing:
        end_course(writing, made, course(sqlite_book, made).rev, "completed", "the rest is calm")
    app = desk(lambda: ExaminationPageScreen(key))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await pilot.press("a")
        await on(pilot, Choose)
        await pilot.press("1")
        await on(pilot, ExaminationPageScreen)
        await settle(pilot)
        app.clear_notifications()
        await pilot.press("f5")  # the application itself would tell every screen
        await settle(pilot)
        await pilot.press("end")
        await settle(pilot)
        assert "control of formalin, then trichlorfon: made" in screen_text(app)
        assert "worked?" in screen_text(app)
        await pilot.press("x")
        await on(pilot, AskReason)
        await pilot.press(*"mistake", "enter")
        await on(pilot, ExaminationPageScreen)
        await settle(pilot)
        await pilot.press("f5")
        await settle(pilot)
        assert "struck through: mistake" in screen_text(app)
    assert examinations_of(sqlite_book, pond) == ()
    assert course(sqlite_book, made).control_done is None


async def test_a_pond_lists_its_examinations(
    pond: UUID, key: UUID, desk: Callable[..., SmallApp]
) -> None:
    app = desk(lambda: PondScreen(pond))
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        await settle(pilot)
        shown = screen_text(app)
        assert "14 Mar 05:30  examination, 3 fish: gill flukes 23 in 5 fields (4.6" in shown
        for _ in range(20):
            row = app.screen.query_one(LineGrid).cursor_row
            if row is not None and "examination" in str(row.cells[1]):
                break
            await pilot.press("down")
        await pilot.press("enter")
        await on(pilot, ExaminationPageScreen)
        await pilot.press("escape")
        await on(pilot, PondScreen)
        await pilot.press("home", "x")
        screen = await on(pilot, ExaminationScreen)
        await settle(pilot)
        screen.query_one("#exam-line", Input).value = "koi; skin: nothing"
        await settle(pilot)
        await pilot.press("f2")
        await on(pilot, ExaminationPageScreen)
        await pilot.press("escape")
        await on(pilot, PondScreen)
        await settle(pilot)
        assert "14 Mar 07:30  examination, 1 fish: nothing found" in screen_text(app)
        await pilot.press("l")
        await on(pilot, SpecimensScreen)


async def test_a_course_leads_to_its_control(
    pond: UUID, desk: Callable[..., SmallApp], sqlite_book: Book, act: Act
) -> None:
    plan = two_agents(act, sqlite_book, days_ago=40)
    made = kept(sqlite_book, act, pond, plan, days_ago=40)
    logged(sqlite_book, act, made, 1, days_ago=40)
    with sqlite_book.writing(act) as writing:
        end_course(writing, made, course(sqlite_book, made).rev, "completed", "the rest is calm")
    app = desk(lambda: CourseScreen(made))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        assert "e enters it" in screen_text(app)
        await pilot.press("e")
        screen = await on(pilot, ExaminationScreen)
        await settle(pilot)
        screen.query_one("#exam-line", Input).value = "koi; gill 100x 5 fields: gill flukes 1"
        await settle(pilot)
        await pilot.press("f2")
        await on(pilot, ExaminationPageScreen)
        await settle(pilot)
        assert "control of formalin, then trichlorfon: made" in screen_text(app)
        await pilot.press("escape")
        await on(pilot, CourseScreen)
    done = course(sqlite_book, made).control_done
    assert done is not None
    assert "gill flukes 1 in 5 fields" in done.note


async def test_the_place_of_courses_leads_to_the_samples(desk: Callable[..., SmallApp]) -> None:
    app = desk(CoursesScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await pilot.press("l")
        await on(pilot, SpecimensScreen)
        await settle(pilot)
        assert "No sample was taken yet" in screen_text(app)
        await pilot.press("escape")
        await on(pilot, CoursesScreen)
        await pilot.press("slash", "l")  # letters are for typing there
        await pilot.pause(0.05)
        assert isinstance(app.screen, CoursesScreen)


async def test_samples_over_all_ponds(
    pond: UUID, key: UUID, desk: Callable[..., SmallApp], sqlite_book: Book, act: Act
) -> None:
    day = act.at.date()
    with sqlite_book.writing(act) as writing:
        for label, days in (("C3", 30), ("C4", 9)):
            one = add_sample(
                writing, pond, label=label, taken_on=day - timedelta(days=days),
                sent_on=day - timedelta(days=days - 1), material="kidney",
                laboratory="Lab North",
            )  # fmt: skip
            if label == "C3":
                report_result(writing, one, 1, "detected", day - timedelta(days=20), said="SVC")
    app = desk(SpecimensScreen)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        await looks_as(pilot, "specimens_80")
        await pilot.press("down", "s")  # A7 lies in the fridge
        await on(pilot, SendScreen)
        await save(pilot, laboratory="Lab South")
        await on(pilot, SpecimensScreen)
        await settle(pilot)
        await pilot.press("end", "r")
        await on(pilot, ReportScreen)
        await save(pilot, result="not detected", said="amended: mixed up")
        await on(pilot, SpecimensScreen)
        await settle(pilot)
        assert "not detected" in screen_text(app)
    found = {one.sample.label: one.sample for one in sample_lines(sqlite_book, day)}
    assert (found["A7"].sent_on, found["A7"].laboratory) == (day, "Lab South")
    assert [one.result for one in earlier_reports(sqlite_book, found["C3"].id)] == ["detected"]


async def test_enter_on_a_sample_opens_its_examination(
    key: UUID, desk: Callable[..., SmallApp]
) -> None:
    app = desk(SpecimensScreen)
    async with app.run_test(size=(60, 20), notifications=True) as pilot:
        await settle(pilot)
        await pilot.press("enter")
        await on(pilot, ExaminationPageScreen)
        assert app.screen.examination == key


async def test_hostile_words_on_the_page(
    pond: UUID, desk: Callable[..., SmallApp], sqlite_book: Book, act: Act
) -> None:
    words = HOSTILE[1] + HOSTILE[3] + HOSTILE[5]
    fish = koi(
        Prep("gill clip", words, 100, 5, note=words, found=(Found("costia", note=words),)),
        mark=words, other=words, treated=words,
    )  # fmt: skip
    with sqlite_book.writing(act) as writing:
        made = enter_examination(writing, pond, exam(fish, examiner=words, note=words))
    app = desk(lambda: ExaminationPageScreen(made.id))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settle(pilot)
        for _ in range(2):
            await pilot.press("down")
            await settle(pilot)
            assert not any(HARMFUL & set(line) for line in screen_lines(app))
        await pilot.press("c")
        await on(pilot, CorrectFindingScreen)
        assert not any(HARMFUL & set(line) for line in screen_lines(app))
        assert app.screen.query(Input)
