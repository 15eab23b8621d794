"""Entering a water test: line, questions, form, drafts, corrections."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from one_pond import add_one_pond
from paper import HARMFUL, HOSTILE_PAGES
from screen_text import looks_as, screen_lines, screen_text
from small_app import SmallApp, settled
from textual.binding import Binding

from store.book.act import Act
from store.book.book import Book
from store.water.water_tests import NewTest, WaterTest, list_tests, save_test
from tui.screens.parts.dialogs import AskReason
from tui.screens.ponds.pond import PondScreen
from tui.screens.water.opened_test import OpenedTestScreen
from tui.screens.water.water_test import WaterTestScreen
from tui.widgets.entry import TextLine


class BusyApp(SmallApp):
    """Has a use of its own for digits, as the places of the application have."""

    BINDINGS = [Binding("1", "place", "place"), Binding("k", "place", "place")]  # noqa: RUF012

    def action_place(self) -> None:
        raise AssertionError("The digit was an answer to a question.")


def app_of(book: Book, act: Act, pond: UUID, drafts: Path, test: WaterTest | None = None) -> Any:
    return BusyApp(book, act, lambda: WaterTestScreen(pond, test), drafts / "drafts.json")


def newest(book: Book, pond: UUID) -> WaterTest:
    return list_tests(book, pond, 1)[0]


def values(test: WaterTest) -> dict[str, float]:
    return {code: round(reading.value, 3) for code, reading in test.readings.items()}


@pytest.fixture
def pond(sqlite_book: Book, act: Act) -> UUID:
    return add_one_pond(sqlite_book, act)


@pytest.fixture
def later(act: Act) -> Act:
    """An hour after the newest test of the pond."""
    return Act(act.by, act.at + timedelta(hours=1))


@pytest.mark.usefixtures("one_by_one")
async def test_a_line_without_a_doubt_is_saved_by_enter(
    sqlite_book: Book, later: Act, pond: UUID, tmp_path: Path
) -> None:
    app = app_of(sqlite_book, later, pond, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press(*"19,5C pH 7.4 at 08:10 // green", "enter")
        for _ in range(4):
            await settled(pilot)
        assert isinstance(app.screen, OpenedTestScreen)
        assert "Saved." in screen_text(app)
        test = newest(sqlite_book, pond)
        assert values(test) == {"temperature_c": 19.5, "ph": 7.4}
        assert (test.note, test.way, test.by) == ("green", "line", "Ada Vet")
        assert test.taken_at == datetime(2026, 3, 14, 8, 10, tzinfo=UTC)
        assert app.drafts.of("water_test", pond).values == {}


async def test_nothing_is_saved_while_a_question_is_open(
    sqlite_book: Book, later: Act, pond: UUID, tmp_path: Path
) -> None:
    before = len(list_tests(sqlite_book, pond, 100))
    app = app_of(sqlite_book, later, pond, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press(*"19.5C pH 68 and a heron")
        await looks_as(pilot, "water_test_80")
        await pilot.press("enter")
        await settled(pilot)
        assert len(list_tests(sqlite_book, pond, 100)) == before
        await pilot.press("enter")  # the proposal
        await settled(pilot)
        assert "pH 6.8" in screen_text(app)
        assert len(list_tests(sqlite_book, pond, 100)) == before
        await pilot.press("k")  # the words into the note
        await settled(pilot)
        assert "enter saves this" in screen_text(app)
        await pilot.press("enter")
        for _ in range(4):
            await settled(pilot)
        test = newest(sqlite_book, pond)
        assert values(test) == {"temperature_c": 19.5, "ph": 6.8}
        assert "heron" in test.note


async def test_a_digit_chooses_another_answer_and_typing_on_keeps_it(
    sqlite_book: Book, later: Act, pond: UUID, tmp_path: Path
) -> None:
    app = app_of(sqlite_book, later, pond, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press(*"temp 66", "enter")
        await settled(pilot)
        await pilot.press("1")  # not the proposal, 18.9 °C, but the other answer
        await settled(pilot)
        answered = app.screen._understood
        assert answered.doubts == ()
        assert [one.value for one in answered.readings] == [6.6]
        await pilot.press("escape", *" pH 7.4")
        await settled(pilot)
        again = {one.parameter: one.value for one in app.screen._understood.readings}
        assert app.screen._understood.doubts == ()
        assert again == {"temperature_c": 6.6, "ph": 7.4}


async def test_the_form_takes_over_what_was_typed_and_back(
    sqlite_book: Book, later: Act, pond: UUID, tmp_path: Path
) -> None:
    app = app_of(sqlite_book, later, pond, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press(*"66F pH 68 // cloudy", "f2")
        await settled(pilot)
        await looks_as(pilot, "water_test_form_80")
        form = app.screen._form
        assert (form.values["temperature_c"], form.values["ph"], form.values["note"]) == (
            "66 °F", "pH 68", "cloudy",
        )  # fmt: skip
        form.fill({"ph": "6.8", "place": "skimmer", "since_feeding": "2 h", "taken_at": "08:00"})
        await settled(pilot)
        await pilot.press("escape")
        await settled(pilot)
        line = app.screen.query_one("#test-line", TextLine).value
        assert "66 °F" in line
        assert "6.8" in line
        assert line.endswith("// cloudy")
        await pilot.press("f2")
        await settled(pilot)
        assert app.screen._form.values["place"] == "skimmer"
        await pilot.press("f2")
        for _ in range(4):
            await settled(pilot)
        test = newest(sqlite_book, pond)
        assert values(test) == {"temperature_c": 18.889, "ph": 6.8}
        assert (test.place, test.since_feeding_min, test.way, test.note) == (
            "skimmer", 120.0, "form", "cloudy",
        )  # fmt: skip
        assert test.taken_at == datetime(2026, 3, 14, 8, 0, tzinfo=UTC)


async def test_the_form_asks_how_the_sample_was_taken(
    sqlite_book: Book, later: Act, pond: UUID, tmp_path: Path
) -> None:
    app = app_of(sqlite_book, later, pond, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press(*"18C TAN 0.5 at 07:15", "f2")
        await settled(pilot)
        form = app.screen._form
        form.fill({"depth": "2 ft", "tested_at": "06:50"})
        await settled(pilot)
        await pilot.press("f2")
        for _ in range(3):
            await settled(pilot)
        assert isinstance(app.screen, WaterTestScreen)
        told = "The sample cannot be tested before it was taken"
        assert " ".join(screen_text(app).split()).count(told) == 1
        form.fill({"tested_at": "08:30"})
        await settled(pilot)
        await pilot.press("escape")
        await settled(pilot)
        await looks_as(pilot, "water_test_old_sample_80")
        await pilot.press("enter")
        for _ in range(4):
            await settled(pilot)
        text = screen_text(app)
        assert "The sample stood" not in text  # ammonia keeps for two hours
        assert "0.61 m deep, tested 14 Mar 08:30" in text
        test = newest(sqlite_book, pond)
        assert (test.depth_m, test.tested_at) == (0.6096, datetime(2026, 3, 14, 8, 30, tzinfo=UTC))


async def test_an_old_sample_is_doubted_before_it_is_saved(
    sqlite_book: Book, later: Act, pond: UUID, tmp_path: Path
) -> None:
    app = app_of(sqlite_book, later, pond, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press(*"18C DO 7 at 07:00", "f2")
        await settled(pilot)
        app.screen._form.fill({"tested_at": "40 min"})
        await settled(pilot)
        assert "stood 40 min before it was tested: oxygen may have changed" in screen_text(app)
        app.screen._form.fill({"tested_at": "5 min"})
        await settled(pilot)
        assert "stood" not in screen_text(app)


async def test_an_answer_is_not_asked_again_in_the_form_and_back(
    sqlite_book: Book, later: Act, pond: UUID, tmp_path: Path
) -> None:
    app = app_of(sqlite_book, later, pond, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press(*"19.5C pH 68", "enter", "enter")
        await settled(pilot)
        assert app.screen._understood.doubts == ()
        await pilot.press("f2")
        await settled(pilot)
        assert app.screen._understood.doubts == ()
        assert "pH 6.8 (typed 68)" in screen_text(app)
        app.screen._form.fill({"depth": "1"})
        await settled(pilot)
        await pilot.press("escape")
        await settled(pilot)
        assert app.screen._understood.doubts == ()
        await pilot.press("enter")
        for _ in range(4):
            await settled(pilot)
        await pilot.press("c")
        await settled(pilot)
        assert app.screen._understood.doubts == ()
        assert "pH 6.8 (typed 68)" in screen_text(app)
        # Another value typed is another question.
        app.screen.query_one("#test-line", TextLine).value = "19.5C pH 69"
        await settled(pilot)
        assert len(app.screen._understood.doubts) == 1


async def test_a_correction_keeps_seconds_and_how_the_sample_was_taken(
    sqlite_book: Book, later: Act, pond: UUID, tmp_path: Path
) -> None:
    wrong = newest(sqlite_book, pond)
    at = later.at - timedelta(minutes=10) + timedelta(seconds=35)
    taken = NewTest(
        at, tuple(wrong.readings.values()), depth_m=1.5, tested_at=at + timedelta(seconds=70),
        since_feeding_min=90.0,
    )  # fmt: skip
    save_test(sqlite_book, later, pond, taken)
    before = newest(sqlite_book, pond)
    app = app_of(sqlite_book, later, pond, tmp_path, before)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        line = app.screen.query_one("#test-line", TextLine)
        line.value = line.value.replace("17.7", "11.7")
        await settled(pilot)
        await pilot.press("enter")
        for _ in range(3):
            await pilot.pause()
        await pilot.press(*"misread", "enter")
        for _ in range(5):
            await settled(pilot)
    after = newest(sqlite_book, pond)
    assert after.replaces == before.key
    for name in ("taken_at", "tested_at", "depth_m", "since_feeding_min"):
        assert getattr(after, name) == getattr(before, name), name


async def test_an_error_of_the_form_stands_at_its_field(
    sqlite_book: Book, later: Act, pond: UUID, tmp_path: Path
) -> None:
    app = app_of(sqlite_book, later, pond, tmp_path)
    async with app.run_test(size=(80, 40), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press(*"pH 7.4", "f2")
        await settled(pilot)
        app.screen._form.fill({"since_feeding": "long ago"})
        await settled(pilot)
        await pilot.press("f2")
        for _ in range(3):
            await settled(pilot)
        assert "Please type it as 90, 2 h or 1 d." in " ".join(screen_text(app).split()) or (
            "is not a number" in screen_text(app)
        )
        assert isinstance(app.screen, WaterTestScreen)


async def test_what_was_typed_is_offered_again(
    sqlite_book: Book, later: Act, pond: UUID, tmp_path: Path
) -> None:
    for typed, shown in (("pH 7.1 KH", "pH 7.1 KH"), (" 5", "pH 7.1 KH 5")):
        app = app_of(sqlite_book, later, pond, tmp_path)
        async with app.run_test(size=(80, 24), notifications=True) as pilot:
            await settled(pilot)
            await pilot.press(*typed)
            await settled(pilot)
            assert app.screen.query_one("#test-line", TextLine).value == shown
    app = app_of(sqlite_book, later, pond, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press("f8")
        await settled(pilot)
        assert app.screen.query_one("#test-line", TextLine).value == ""
        assert app.drafts.of("water_test", pond).values == {}


async def test_the_kit_is_shown_doubted_and_chosen(
    sqlite_book: Book, later: Act, pond: UUID, tmp_path: Path
) -> None:
    today = sqlite_book.today(later.at)
    with sqlite_book.writing(later) as writing:
        old = writing.add(
            "kit", name="[/nope] drops", ammonia_form="nh4", nitrite_form="n", nitrate_form="no3",
            expires_on=today - timedelta(days=1), ph_calibrated_on=today - timedelta(days=90),
        )  # fmt: skip
        writing.change("pond", pond, 2, kit_id=old)
    app = app_of(sqlite_book, later, pond, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press(*"TAN 1")
        text = screen_text(app)
        assert "[/nope] drops, ammonia as NH4, nitrite as N" in text
        assert "expired on 2026-03-13" in text
        assert "calibrated 90 days ago" in text
        assert "TAN 0.78" in text
        await pilot.press("f3", "2")
        await settled(pilot)
        assert "Kit: none stated" in screen_text(app)
        assert "form not known" in screen_text(app)


async def test_a_correction_keeps_both_tests(
    sqlite_book: Book, later: Act, pond: UUID, tmp_path: Path
) -> None:
    wrong = newest(sqlite_book, pond)
    app = app_of(sqlite_book, later, pond, tmp_path, wrong)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        line = app.screen.query_one("#test-line", TextLine)
        assert "17.7" in line.value
        line.value = line.value.replace("17.7", "11.7")
        await settled(pilot)
        await pilot.press("enter")
        for _ in range(3):
            await pilot.pause()
        assert isinstance(app.screen, AskReason)
        await pilot.press(*"misread", "enter")
        for _ in range(5):
            await settled(pilot)
        right = newest(sqlite_book, pond)
        assert (right.replaces, right.taken_at) == (wrong.key, wrong.taken_at)
        assert values(right)["temperature_c"] == 11.7
        assert values(right)["tan_mg_l"] == values(wrong)["tan_mg_l"]
        await pilot.press("end", *["pagedown"] * 3)
        assert "before the correction (misread)" in screen_text(app)
        assert len(list_tests(sqlite_book, pond, 100, struck=True)) == 15


async def test_a_test_is_struck_through_with_a_reason(
    sqlite_book: Book, later: Act, pond: UUID, tmp_path: Path
) -> None:
    key = newest(sqlite_book, pond).key
    app = SmallApp(
        sqlite_book, later, lambda: OpenedTestScreen(pond, key), tmp_path / "drafts.json"
    )
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press("x")
        await settled(pilot)
        await pilot.press(*"wrong pond", "enter")
        for _ in range(4):
            await settled(pilot)
        assert app.changes == 1
        assert newest(sqlite_book, pond).key != key
        struck = list_tests(sqlite_book, pond, 1, struck=True)[0]
        assert (struck.key, struck.struck_why) == (key, "wrong pond")


async def test_nothing_typed_is_told(
    sqlite_book: Book, later: Act, pond: UUID, tmp_path: Path
) -> None:
    app = app_of(sqlite_book, later, pond, tmp_path)
    async with app.run_test(size=(60, 20), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press("enter")
        for _ in range(4):
            await settled(pilot)
        assert "there is nothing to save" in " ".join(screen_text(app).split())


@pytest.mark.parametrize("text", HOSTILE_PAGES)
async def test_any_text_may_be_typed(
    sqlite_book: Book, later: Act, pond: UUID, tmp_path: Path, text: str
) -> None:
    app = app_of(sqlite_book, later, pond, tmp_path)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        app.screen.query_one("#test-line", TextLine).value = text
        await settled(pilot)
        assert not any(HARMFUL & set(line) for line in screen_lines(app))
        await pilot.press("enter")
        for _ in range(6):
            await pilot.press("k")
            await settled(pilot)
        await pilot.press("enter")
        for _ in range(4):
            await settled(pilot)
        assert not any(HARMFUL & set(line) for line in screen_lines(app))
        assert app.told == []


async def test_from_the_pond_and_back_shows_the_new_test(
    sqlite_book: Book, later: Act, pond: UUID, tmp_path: Path
) -> None:
    app = SmallApp(sqlite_book, later, lambda: PondScreen(pond), tmp_path / "drafts.json")
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        await pilot.press("t")
        await settled(pilot)
        await pilot.press(*"18.2C pH 7.0", "enter")
        for _ in range(4):
            await settled(pilot)
        await pilot.press("escape")
        for _ in range(3):
            await settled(pilot)
        assert isinstance(app.screen, PondScreen)
        assert "18.2 °C  pH 7.0" in screen_text(app)
