"""The kit list on the screen: parts, arithmetic in the strip, ticks that are kept."""

from __future__ import annotations

from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from paper import HARMFUL, HOSTILE
from round_on_screen import RoundApp, quiet, round_app, unframed
from screen_text import screen_lines, screen_text

from store.book.act import Act
from store.book.book import Book
from store.rounds.day.values import DayPlan
from tests.rounds.day_plans import ADA, driver, plan_of
from tests.rounds.kit_ponds import TODAY, give, pond, shelve, stops, treat, visiting
from tui.drafts import Drafts
from tui.screens.parts.dialogs import Tell
from tui.screens.parts.help import Help
from tui.screens.rounds.kit import KitScreen
from tui.screens.rounds.kit_lines import KitGrid, PartKey
from tui.screens.rounds.kit_ticks import KitTicks


class Packed:
    """Two ponds with a dose each, and one whose course has not begun."""

    def __init__(self, book: Book, act: Act) -> None:
        self.ponds = [pond(book, act, name) for name in ("Alder Row", "Teal Mill", "Reed Hall")]
        self.courses = [treat(book, act, one) for one in self.ponds[:2]]
        treat(book, act, self.ponds[2], begun=False)
        shelve(book, act)
        self.plan: DayPlan = visiting(*self.ponds)


@pytest.fixture
def packed(sqlite_book: Book, act: Act) -> Packed:
    return Packed(sqlite_book, act)


def shown(book: Book, act: Act, tmp_path: Path, plan: DayPlan, who: UUID | None = ADA) -> RoundApp:
    return round_app(book, act, tmp_path, lambda: KitScreen(plan, who))


async def kit_of(pilot: Any) -> KitScreen:
    await quiet(pilot)
    screen = pilot.app.screen
    assert isinstance(screen, KitScreen)
    return screen


async def go_to(pilot: Any, what: str) -> None:
    screen = await kit_of(pilot)
    assert screen.kit is not None
    line = next(one for one in screen.kit.lines if one.key.startswith(what))
    assert screen.query_one(KitGrid).move_to(line.key)
    await quiet(pilot)


async def test_the_strip_tells_the_sum_the_margin_and_the_packs(
    sqlite_book: Book, act: Act, tmp_path: Path, packed: Packed
) -> None:
    app = shown(sqlite_book, act, tmp_path, packed.plan)
    async with app.run_test(size=(80, 24)) as pilot:
        await kit_of(pilot)
        text = screen_text(app)
        assert "Kit list: Sat 14 Mar 2026, Ada Vet" in text
        assert "18.3 g + 18.3 g = 36.6 g, with 10 % margin 40.3 g → 1 pack of 100 g" in unframed(
            app
        )
        lines = screen_lines(app)
        (agents,) = [line for line in lines if "praziquantel (powder" in line and "1–2" in line]
        assert "36.6 g" in agents
        assert "1 × 100 g" in agents
        assert "Not packed: 1" in text
        assert "To weigh and label before leaving: 2" in text
        assert "0 of " in lines[0]


async def test_what_is_not_packed_says_why(
    sqlite_book: Book, act: Act, tmp_path: Path, packed: Packed
) -> None:
    app = shown(sqlite_book, act, tmp_path, packed.plan)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await go_to(pilot, "waits:")
        assert "The course has not begun: a vet begins it" in unframed(app)
        await pilot.press("space")
        await quiet(pilot)
        assert any("It is in no sum" in one.message for one in app._notifications)
        assert "taken" in screen_text(app)
        assert "0 of " in screen_lines(app)[0]


async def test_space_and_enter_tick_and_the_ticks_outlive_the_screen_and_stand_in_no_book(
    sqlite_book: Book, act: Act, tmp_path: Path, packed: Packed
) -> None:
    before = sqlite_book.stamp()
    app = shown(sqlite_book, act, tmp_path, packed.plan)
    async with app.run_test(size=(80, 24)) as pilot:
        screen = await kit_of(pilot)
        await pilot.press("space")
        assert len(screen.ticked) == 1
        assert "1 of " in screen_lines(app)[0]
        await pilot.press("enter")
        assert screen.ticked == {}
        await pilot.press("enter")
        await quiet(pilot)
        assert len(screen.ticked) == 1
        assert "packed" in screen_lines(app)[4]
        assert sqlite_book.stamp() == before
        assert "stand in no book" in KitScreen.ABOUT
        ticked = dict(screen.ticked)
    again = shown(sqlite_book, act, tmp_path, packed.plan)
    async with again.run_test(size=(80, 24)) as pilot:
        screen = await kit_of(pilot)
        assert screen.ticked == ticked  # esc loses none, nor does leaving the application
        assert "1 of " in screen_lines(again)[0]


def test_ticks_of_another_day_stay_until_it_is_over(tmp_path: Path) -> None:
    class App:
        drafts = Drafts(tmp_path / "drafts.json")

    first, second = (KitTicks(App(), TODAY + timedelta(days=one), ADA) for one in (0, 1))
    first.write({"gear:lamp": "", "agents:salt": "3 kg"}, TODAY)
    second.write({"gear:lamp": "2"}, TODAY)
    assert first.read() == {"gear:lamp": "", "agents:salt": "3 kg"}
    assert second.read() == {"gear:lamp": "2"}
    assert KitTicks(App(), TODAY, None).read() == {}
    second.write({"gear:lamp": "2"}, TODAY + timedelta(days=1))
    assert first.read() == {}
    assert second.read() == {"gear:lamp": "2"}


async def test_a_heading_is_told_and_not_ticked(
    sqlite_book: Book, act: Act, tmp_path: Path, packed: Packed
) -> None:
    app = shown(sqlite_book, act, tmp_path, packed.plan)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await kit_of(pilot)
        assert screen.query_one(KitGrid).move_to(PartKey("gear"))
        await quiet(pilot)
        assert "Once for the day, or once for each stop" in unframed(app)
        await pilot.press("space", "o")
        await quiet(pilot)
        assert screen.ticked == {}
        assert app.opened == []
        assert any("This line is a heading" in one.message for one in app._notifications)
        await pilot.press("e")
        await quiet(pilot)
        assert isinstance(app.screen, Tell)


async def test_a_dose_that_was_given_meanwhile_takes_its_tick_back(
    sqlite_book: Book, act: Act, tmp_path: Path, packed: Packed
) -> None:
    app = shown(sqlite_book, act, tmp_path, packed.plan)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        screen = await kit_of(pilot)
        await pilot.press("space")
        await go_to(pilot, "gear:disinfectant")
        await pilot.press("space")
        assert len(screen.ticked) == 2
        give(sqlite_book, act, packed.courses[0], 1, TODAY)
        screen.on_book_changed()
        await quiet(pilot)
        assert list(screen.ticked) == ["gear:disinfectant"]
        assert any("1 tick was taken back" in one.message for one in app._notifications)
        app.clear_notifications()
        await pilot.press("home", "down")
        await quiet(pilot)
        assert "18.3 g, with 10 % margin 20.2 g → 1 pack of 100 g" in unframed(app)


async def test_e_tells_the_label_and_the_cautions(
    sqlite_book: Book, act: Act, tmp_path: Path, packed: Packed
) -> None:
    app = shown(sqlite_book, act, tmp_path, packed.plan)
    async with app.run_test(size=(80, 40)) as pilot:
        await go_to(pilot, "weigh:")
        await pilot.press("e")
        await quiet(pilot)
        assert isinstance(app.screen, Tell)
        said = unframed(app)
        for part in (
            "volume in force 9000 L, 8000 to 10000 L, salt", "The label:",
            "praziquantel: powder, 98 % by weight", "stop 1", "Saturday 14 March 2026",
            "do not breathe the powder", "Local law, the label and the prescribing vet decide.",
        ):  # fmt: skip
            assert part in said
        await pilot.press("escape")
        await pilot.press("o")
        await quiet(pilot)
        assert app.opened == [packed.ponds[0]]


async def test_the_keys_fit_and_f1_explains_the_list(
    sqlite_book: Book, act: Act, tmp_path: Path, packed: Packed
) -> None:
    app = shown(sqlite_book, act, tmp_path, packed.plan)
    async with app.run_test(size=(80, 24)) as pilot:
        await kit_of(pilot)
        keys = screen_lines(app)[-1]
        for key in ("F1 help", "space packed", "e explain", "r remarks", "o pond", "esc back"):
            assert key in keys
        await pilot.press("f1")
        await quiet(pilot)
        assert isinstance(app.screen, Help)
        await pilot.press("escape")
        await pilot.press("r")
        await quiet(pilot)
        assert "nothing else to be known" in unframed(app)


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (60, 20)])
async def test_nothing_that_people_typed_reaches_the_terminal(
    sqlite_book: Book, act: Act, tmp_path: Path, size: tuple[int, int]
) -> None:
    ponds = [pond(sqlite_book, act, name or "none") for name in HOSTILE[:6]]
    for one in ponds:
        treat(sqlite_book, act, one)
    shelve(sqlite_book, act, "[red]powder[/] \x1b[2J".replace("\x1b", ""))
    app = shown(sqlite_book, act, tmp_path, visiting(*ponds), None)
    async with app.run_test(size=size) as pilot:
        await kit_of(pilot)
        for _ in range(8):
            await pilot.press("down")
            await quiet(pilot)
            assert not HARMFUL & set("".join(screen_lines(app)))


async def test_a_day_without_a_stop_says_so(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    app = shown(sqlite_book, act, tmp_path, plan_of((driver(), stops([])), on_day=TODAY))
    async with app.run_test(size=(80, 24)) as pilot:
        await kit_of(pilot)
        assert "nothing is packed" in screen_text(app)
        await pilot.press("space", "e", "o")
        await quiet(pilot)
        assert isinstance(app.screen, KitScreen)


async def test_a_pond_that_is_not_in_the_book_is_told(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    app = shown(sqlite_book, act, tmp_path, visiting(UUID(int=12345)))
    async with app.run_test(size=(80, 24)) as pilot:
        await quiet(pilot)
        assert isinstance(app.screen, Tell)
        assert len(app.told) == 1
