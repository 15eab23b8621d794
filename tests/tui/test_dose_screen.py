"""A dose logged at the screen: what was really given, and what stands against it."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from courses_on_screen import (
    act_on,
    back_on,
    kept,
    logged,
    read_through,
    shown,
    two_agents,
    until,
)
from faults import each_is_told
from one_pond import add_one_pond
from screen_text import a_moment, looks_as, screen_text
from small_app import SmallApp
from textual.screen import Screen

from store.book.act import Act
from store.book.book import Book
from store.courses.kept.against_stop import open_stops
from store.courses.kept.records import course
from store.courses.planning.course import Caution
from tui.screens.courses.caution_read import ReadCautions
from tui.screens.courses.course import CourseScreen
from tui.screens.courses.courses import CoursesScreen
from tui.screens.courses.dose import DoseScreen
from tui.screens.parts.dialogs import Ask, AskReason, Tell
from tui.themes import NIGHT
from tui.widgets.fields import Form, FormField

TOO_LITTLE = Caution("low_oxygen", "stop", "Oxygen 4.0 mg/L is too little.")


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


@pytest.mark.parametrize(("width", "height"), [(80, 24), (60, 20)])
async def test_the_form_of_a_dose_looks_as_it_was_looked_at(
    late: UUID, desk: Callable[..., SmallApp], width: int, height: int
) -> None:
    app = desk(lambda: DoseScreen(late))
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        await shown(pilot)
        await looks_as(pilot, f"dose_{width}")


async def test_from_the_list_a_dose_is_logged(
    sqlite_book: Book, act: Act, late: UUID, desk: Callable[..., SmallApp]
) -> None:
    """The list, the course, the dose with what stands against it, and the course again."""
    app = desk()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shown(pilot)
        assert "formalin 1 of 2 is 2 d late" in screen_text(app)
        await pilot.press("enter")
        await until(pilot, CourseScreen)
        await pilot.press("d")
        screen = await until(pilot, DoseScreen)
        form = screen.query_one(Form)
        planned = course(sqlite_book, late).plan.steps[0].doses[0]
        assert form.values["amount"] == f"{planned.amount:.4g} g"
        form.fill({"observed": "one fish rubs", "batch": "B-7"})
        await shown(pilot)
        await pilot.press("f2")
        for _ in range(100):
            await a_moment(0.03)
            if isinstance(app.screen, ReadCautions):
                await pilot.press("enter")
            if isinstance(app.screen, AskReason):
                await pilot.press(*"two_pumps", "enter")
            if isinstance(app.screen, CourseScreen):
                break
        await shown(pilot)
        assert "1 of 5 given" in screen_text(app)
    found = course(sqlite_book, late)
    (entry,) = found.log
    assert (entry.given.place, entry.given.number, entry.given.amount) == (1, 1, planned.amount)
    assert (entry.given_by, entry.batch, entry.observed) == ("Ada Vet", "B-7", "one fish rubs")
    minds = [one for one in found.answered if (one.level, one.at) == ("mind", act.at)]
    assert {(one.reason, one.by) for one in minds} == {("read", act.by)}


@pytest.mark.parametrize(("width", "height"), [(80, 20), (60, 20)])
async def test_the_cautions_are_read_on_while_one_types(
    late: UUID, desk: Callable[..., SmallApp], width: int, height: int
) -> None:
    app = desk(lambda: DoseScreen(late))
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        screen = await until(pilot, DoseScreen)
        assert screen.query_one("#dose-cautions").scroll_offset.y == 0
        await pilot.press("pagedown")
        await shown(pilot)
        assert screen.query_one("#dose-cautions").scroll_offset.y > 0
        await pilot.press("pageup")
        await shown(pilot)
        assert screen.query_one("#dose-cautions").scroll_offset.y == 0


async def test_a_dose_far_too_large_is_a_stop_that_needs_a_reason(
    sqlite_book: Book, late: UUID, desk: Callable[..., SmallApp]
) -> None:
    app = desk(lambda: DoseScreen(late))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await until(pilot, DoseScreen)
        screen.query_one(Form).fill({"amount": "2760 g", "off_why": "Ada, a slip"})
        await shown(pilot)
        assert "stop" in screen_text(app)
        await pilot.press("f2")
        await read_through(pilot)
        await act_on(pilot, AskReason, "escape")
        await until(pilot, DoseScreen)
        assert course(sqlite_book, late).log == ()
        assert app.drafts.of("dose", late).values["amount"] == "2760 g"
        await pilot.press("f2")
        await read_through(pilot)
        await act_on(pilot, AskReason, *"weighed", "enter")
        for _ in range(60):
            await a_moment(0.03)
            if isinstance(app.screen, AskReason):
                await pilot.press(*"weighed", "enter")
            if not isinstance(app.screen, (AskReason, DoseScreen)):
                break
    found = course(sqlite_book, late)
    assert [one.given.amount for one in found.log] == [2760.0]
    assert any(one.level == "stop" and one.reason == "weighed" for one in found.answered)


_CANNOT_HAVE_BEEN: tuple[tuple[dict[str, str], str, str], ...] = (
    ({"amount": ""}, "amount", "How much was given?"),
    ({"amount": "a spoon"}, "amount", "is no measure"),
    ({"amount": "a bit"}, "amount", "is not a number"),
    ({"amount": "2 cups"}, "amount", "is no measure"),
    ({"amount": "100 g"}, "off_why", "who decided on another amount, and why?"),
    ({"level": "4000 gal"}, "level", "Gallons come in two sizes"),
    ({"amount": "276 mL"}, "amount", "measures this dose in g"),
    ({"amount": "0"}, "amount", "above zero"),
    ({"change": "130"}, "change", "0 to 100 %"),
    ({"on_day": "2027-01-01"}, "on_day", "lies ahead"),
    ({"at_time": "noonish"}, "at_time", "no time of day"),
    ({"at_time": "23:59"}, "at_time", "lies ahead"),
)


async def test_a_dose_that_cannot_have_been_is_told_and_kept(
    sqlite_book: Book, late: UUID, desk: Callable[..., SmallApp]
) -> None:
    app = desk(lambda: DoseScreen(late))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, DoseScreen)
        await shown(pilot)
        await each_is_told(pilot, _CANNOT_HAVE_BEEN)
    assert course(sqlite_book, late).log == ()


async def test_an_amount_that_is_off_names_who_decided_and_why(
    sqlite_book: Book, late: UUID, desk: Callable[..., SmallApp]
) -> None:
    app = desk(lambda: DoseScreen(late))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await until(pilot, DoseScreen)
        form = screen.query_one(Form)
        fields = {one.field.name: one for one in form.query(FormField)}
        assert not fields["off_why"].display
        form.fill({"amount": "330 g"})
        await shown(pilot)
        assert fields["off_why"].display
        form.fill({"off_why": "Ada: the fish look bad"})
        await shown(pilot)
        await pilot.press("f2")
        await read_through(pilot)
        for _ in range(100):
            await a_moment(0.03)
            if isinstance(app.screen, AskReason):
                await pilot.press(*"told", "enter")
            if not isinstance(app.screen, (AskReason, DoseScreen)):
                break
    found = course(sqlite_book, late)
    assert [one.given.amount for one in found.log] == [330.0]
    (off,) = [one for one in found.answered if one.code == "amount_off"]
    assert off.reason == "Ada: the fish look bad"
    assert "330 g are 19.6 % more than the 276 g that are asked for" in off.said


async def test_the_level_of_today_scales_what_is_asked(
    sqlite_book: Book, late: UUID, desk: Callable[..., SmallApp]
) -> None:
    app = desk(lambda: DoseScreen(late))
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await until(pilot, DoseScreen)
        form = screen.query_one(Form)
        form.fill({"level": "50 %"})
        await shown(pilot)
        assert form.values["amount"] == "138 g"
        text = " ".join(screen_text(app).split())
        assert "15 mg/L; planned 15 mg/L; asked today 138 g" in text
        assert "The level is 50 %: 18400 L × 0.5 = 9200 L are treated." in text
        await looks_as(pilot, "dose_level_80")
        # What somebody typed is left alone.
        form.fill({"amount": "140 g"})
        await shown(pilot)
        form.fill({"level": "40 %"})
        await shown(pilot)
        assert form.values["amount"] == "140 g"
        form.fill({"level": "50 %"})
        await shown(pilot)
        await pilot.press("f2")
        await read_through(pilot)
        for _ in range(100):
            await a_moment(0.03)
            if isinstance(app.screen, AskReason):
                await pilot.press(*"told", "enter")
            if not isinstance(app.screen, (AskReason, DoseScreen)):
                break
    (entry,) = course(sqlite_book, late).log
    assert entry.given.amount == 140.0
    assert entry.given.dose == pytest.approx(15.0 * 140.0 / 138.0)
    assert "The level is 50 %" in entry.observed


async def test_what_was_given_is_logged_by_anybody_and_a_vet_answers_the_stop(
    sqlite_book: Book, act: Act, late: UUID, tmp_path: Path
) -> None:
    """Somebody at the desk is asked once and writes no reason; then a vet does, on the page."""
    with sqlite_book.writing(act) as writing:
        reception = writing.add("staff", name="Bo Desk", role="receptionist")
    bo = Act(reception, act.at)
    app = SmallApp(sqlite_book, bo, lambda: DoseScreen(late), tmp_path / "drafts.json")
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await until(pilot, DoseScreen)
        screen.query_one(Form).fill({"amount": "2760 g", "off_why": "Ada, a slip"})
        await shown(pilot)
        await pilot.press("f2")
        await read_through(pilot)
        await act_on(pilot, Ask, "escape")
        screen = await until(pilot, DoseScreen)
        assert screen.query_one(Form).values["amount"] == "2760 g"
        assert course(sqlite_book, late).log == ()
        await pilot.press("f2")
        await read_through(pilot)
        await until(pilot, Ask)
        await looks_as(pilot, "dose_against_stop_80")
        app.screen.query_one("#yes").focus()
        await pilot.press("enter")
        for _ in range(100):
            await a_moment(0.03)
            if not isinstance(app.screen, (Ask, DoseScreen)):
                break
    found = course(sqlite_book, late)
    assert [one.given.amount for one in found.log] == [2760.0]
    waits = open_stops(found)
    assert waits
    assert {(one.name, one.stop.reason) for one in waits} == {("formalin dose 1", "")}

    # From the desk the vet is asked at once; whoever leaves the question is on the page.
    asked = SmallApp(
        sqlite_book, act, lambda: CourseScreen(late, asks="answer"), tmp_path / "drafts.json"
    )
    async with asked.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, AskReason)
        await pilot.press("escape")
        await until(pilot, CourseScreen)

    app = SmallApp(sqlite_book, act, lambda: CourseScreen(late), tmp_path / "drafts.json")
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CourseScreen)
        assert "a answers: formalin dose 1 was logged against 2 stops: a vet has n" in screen_text(
            app
        )
        await looks_as(pilot, "course_against_stop_80")
        await pilot.press("a")
        codes = dict.fromkeys(one.stop.code for one in waits)
        for number in range(len(codes)):
            dialog = await until(pilot, AskReason)
            assert f"stop {number + 1} of {len(codes)}" in screen_text(app)
            await pilot.press(*"fish seen", "enter")
            for _ in range(100):
                await a_moment(0.02)
                if app.screen is not dialog:
                    break
        text = await back_on(pilot, CourseScreen)
        assert "has not answered" not in text
    found = course(sqlite_book, late)
    assert open_stops(found) == ()
    assert {one.reason for one in found.answered if one.level == "stop" and one.by == act.by and
            one.dose == (1, 1)} == {"fish seen"}  # fmt: skip


async def test_at_the_desk_no_stop_can_be_answered(
    sqlite_book: Book, act: Act, late: UUID, tmp_path: Path
) -> None:
    with sqlite_book.writing(act) as writing:
        bo = Act(writing.add("staff", name="Bo Desk", role="receptionist"), act.at)
    logged(sqlite_book, bo, late, 1, days_ago=0, cautions=(TOO_LITTLE,))
    app = SmallApp(sqlite_book, bo, lambda: CourseScreen(late), tmp_path / "drafts.json")
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, CourseScreen)
        await pilot.press("a")
        await act_on(pilot, AskReason, *"I was told", "enter")
        await until(pilot, Tell)
        assert "Only a vet can answer a stop" in " ".join(screen_text(app).split())
    assert [one.stop.said for one in open_stops(course(sqlite_book, late))] == [TOO_LITTLE.said]
