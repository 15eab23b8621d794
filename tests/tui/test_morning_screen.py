"""The morning list in the application itself, on a real small book."""

from __future__ import annotations

import asyncio
import threading
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from one_pond import KIT, add_one_pond
from paper import HARMFUL, HOSTILE_PAGES
from screen_text import screen_text
from textual.screen import Screen

from store.book.act import Act
from store.book.book import Book
from store.book.visits import plan_visit
from store.water.line import understand
from store.water.water_tests import NewTest, save_test
from tui.app import PondroundApp
from tui.screens.directory.directory import DirectoryScreen
from tui.screens.exchange.wall import WallScreen
from tui.screens.morning.explain import ExplainScreen
from tui.screens.morning.morning import MorningScreen
from tui.screens.morning.rest import RestScreen
from tui.screens.parts.dialogs import Choose
from tui.screens.parts.help import Help
from tui.screens.ponds.pond import PondScreen
from tui.screens.water.water_test import WaterTestScreen
from tui.widgets.grid import LineGrid

GOOD = "15C pH 7.4 TAN 0.05 NO2 0.02 KH 7 DO 9.4 Cl 120"


def add_calm_ponds(book: Book, act: Act, *names: str) -> list[UUID]:
    """Ponds at another client, tested yesterday, with nothing to say of them."""
    with book.writing(act) as writing:
        owner = writing.add("client", name="Alder Hill Hotel", phone="01632 960456")
        site = writing.add("site", client_id=owner, name="Atrium", town="Coldharbour")
        keys = [writing.add("pond", site_id=site, name=name) for name in names]
        for key in keys[1:]:
            plan_visit(writing, key, book.today(act.at) + timedelta(days=2), kind="scrape")
    taken = act.at - timedelta(days=1)
    read = understand(GOOD, kit=KIT, now=act.at, zone=book.zone)
    for key in keys:
        save_test(book, act, key, NewTest(taken, read.readings, way="line"))
    return keys


@pytest.fixture
def morning(sqlite_book: Book, act: Act, tmp_path: Path) -> Callable[..., PondroundApp]:
    def make(opening: Callable[[], Book] = lambda: sqlite_book) -> PondroundApp:
        return PondroundApp(opening, now=lambda: act.at, drafts=tmp_path / "drafts.json")

    return make


async def until(pilot: Any, holds: Callable[[], bool]) -> None:
    """Wait until that holds; what is waited for is a thread's answer."""
    for _ in range(300):
        await pilot.pause()
        if holds():
            return
        await asyncio.sleep(0.01)
    raise AssertionError(screen_text(pilot.app))


async def shows(pilot: Any, text: str) -> str:
    """The screen, once that text stands on it."""
    await until(pilot, lambda: text in screen_text(pilot.app))
    return screen_text(pilot.app)


async def comes(pilot: Any, kind: type[Screen[Any]]) -> None:
    await until(pilot, lambda: isinstance(pilot.app.screen, kind))


def grid_of(app: PondroundApp) -> LineGrid:
    return app.screen.query_one(LineGrid)


def keys_of(app: PondroundApp) -> list[object]:
    return [row.key for row in grid_of(app)._rows]


async def test_the_list_is_painted_before_the_book_is_open(
    morning: Callable[..., PondroundApp], sqlite_book: Book, act: Act
) -> None:
    add_one_pond(sqlite_book, act)
    gate = threading.Event()

    def opening() -> Book:
        assert gate.wait(20)
        return sqlite_book

    app = morning(opening)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        shown = await shows(pilot, "pening the book")
        assert "Alder Row" not in shown
        await pilot.press("t", "e", "r", "f5", "enter", "down")
        assert isinstance(app.screen, MorningScreen)
        gate.set()
        await shows(pilot, "Alder Row")


async def test_a_place_asked_for_before_the_book_is_open_comes_with_it(
    morning: Callable[..., PondroundApp], sqlite_book: Book
) -> None:
    gate = threading.Event()

    def opening() -> Book:
        assert gate.wait(20)
        return sqlite_book

    app = morning(opening)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shows(pilot, "pening the book")
        await pilot.press("2")
        assert isinstance(app.screen, MorningScreen)
        gate.set()
        await comes(pilot, DirectoryScreen)


async def test_a_place_asked_for_again_leaves_what_lies_on_it(
    morning: Callable[..., PondroundApp], sqlite_book: Book, act: Act
) -> None:
    add_one_pond(sqlite_book, act)
    app = morning()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shows(pilot, "Alder Row")
        await pilot.press("enter")
        await comes(pilot, PondScreen)
        await pilot.press("e")
        await comes(pilot, ExplainScreen)
        await pilot.press("1")
        await comes(pilot, MorningScreen)
        assert len(app.screen_stack) == 1


async def test_the_worst_stands_first_and_the_calm_are_counted(
    morning: Callable[..., PondroundApp], sqlite_book: Book, act: Act
) -> None:
    calm = add_calm_ponds(sqlite_book, act, "Basin 1", "Basin 2")
    key = add_one_pond(sqlite_book, act)
    app = morning()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        shown = await shows(pilot, "2 calm not shown")
        assert "3 ponds" in shown
        assert keys_of(app) == [key]
        await pilot.press("a")
        await until(pilot, lambda: len(keys_of(app)) == 3)
        assert keys_of(app)[0] == key
        assert "not shown" not in screen_text(app)
        await pilot.press("escape")
        await until(pilot, lambda: keys_of(app) == [key])
        assert set(calm).isdisjoint(keys_of(app))


@pytest.mark.parametrize(("width", "height"), [(80, 24), (120, 40), (60, 20)])
async def test_the_strip_explains_without_a_key(
    morning: Callable[..., PondroundApp], sqlite_book: Book, act: Act, width: int, height: int
) -> None:
    add_one_pond(sqlite_book, act)
    app = morning()
    async with app.run_test(size=(width, height), notifications=True) as pilot:
        shown = await shows(pilot, "Next: ")
        assert " since " in shown
        assert all(len(line) <= width for line in shown.splitlines())
        if width >= 80:
            assert "mg/L" in shown.rsplit("──", 1)[1]
        assert ("18,400 L" in shown) == (width >= 120)


async def test_typing_finds_by_name_town_and_telephone(
    morning: Callable[..., PondroundApp], sqlite_book: Book, act: Act
) -> None:
    calm = add_calm_ponds(sqlite_book, act, "Basin 1", "Basin 2")
    key = add_one_pond(sqlite_book, act)
    app = morning()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shows(pilot, "Alder Row")
        for typed, found in (
            ("lowr", {key}), ("coldharb", set(calm)), ("960456", set(calm)), ("zzzz", set()),
        ):  # fmt: skip
            await pilot.press("slash", *typed)
            await until(pilot, lambda found=found: set(keys_of(app)) == found)
            await pilot.press("escape")
            await until(pilot, lambda: keys_of(app) == [key])
        assert grid_of(app).has_focus


async def test_a_filter_and_an_order_are_chosen(
    morning: Callable[..., PondroundApp], sqlite_book: Book, act: Act
) -> None:
    calm = add_calm_ponds(sqlite_book, act, "Basin 1", "Basin 2")
    key = add_one_pond(sqlite_book, act)
    app = morning()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shows(pilot, "Alder Row")
        await pilot.press("a", "s")
        await comes(pilot, Choose)
        await pilot.press("2")
        await until(pilot, lambda: isinstance(app.screen, MorningScreen))
        assert keys_of(app) == [*calm, key]
        assert "by client and pond   3 ponds   1 act" in screen_text(app)
        await pilot.press("f")
        await comes(pilot, Choose)
        await pilot.press("6")
        await until(pilot, lambda: isinstance(app.screen, MorningScreen))
        assert keys_of(app) == [calm[1], key]
        assert "with a visit planned, by client and pond   2 of 3 ponds" in screen_text(app)
        await pilot.press("f", "escape", "escape")
        await until(pilot, lambda: keys_of(app) == [key])


async def test_every_key_of_the_footer_opens_its_page(
    morning: Callable[..., PondroundApp], sqlite_book: Book, act: Act
) -> None:
    add_one_pond(sqlite_book, act)
    app = morning()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shows(pilot, "Alder Row")
        for pressed, page in (
            ("enter", PondScreen), ("e", ExplainScreen), ("r", RestScreen),
            ("t", WaterTestScreen), ("f1", Help), ("R", WallScreen),
        ):  # fmt: skip
            await pilot.press(pressed)
            await comes(pilot, page)
            await pilot.pause(0.1)
            await pilot.press("escape")
            await comes(pilot, MorningScreen)


async def test_the_cursor_stays_on_its_pond_when_the_book_grows(
    morning: Callable[..., PondroundApp], sqlite_book: Book, act: Act
) -> None:
    calm = add_calm_ponds(sqlite_book, act, "Basin 1", "Basin 2")
    app = morning()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await shows(pilot, "2 calm not shown")
        await pilot.press("a", "down")
        assert grid_of(app).cursor_key == calm[1]
        key = await asyncio.to_thread(add_one_pond, sqlite_book, act)
        app.changed()
        await until(pilot, lambda: key in keys_of(app))
        assert keys_of(app)[0] == key
        assert grid_of(app).cursor_key == calm[1]


async def test_an_empty_book_says_what_to_do(morning: Callable[..., PondroundApp]) -> None:
    app = morning()
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        shown = " ".join((await shows(pilot, "No pond yet")).split())
        assert "directory" in shown
        assert "pondround import ponds FILE" in shown
        assert "pondround demo" in shown
        await pilot.press("enter", "e", "r", "t", "down", "end")
        await pilot.pause()
        assert isinstance(app.screen, MorningScreen)


@pytest.mark.parametrize("name", HOSTILE_PAGES)
async def test_strange_names_are_shown_literally(
    morning: Callable[..., PondroundApp], sqlite_book: Book, act: Act, name: str
) -> None:
    add_one_pond(sqlite_book, act, client=name, pond=name, note=name)
    app = morning()
    async with app.run_test(size=(120, 40), notifications=True) as pilot:
        shown = await shows(pilot, "Next: ")
        assert not HARMFUL & set(shown.replace("\n", ""))
        assert not name.startswith("[/nope]") or "[/nope]" in shown
        await pilot.press("e")
        await comes(pilot, ExplainScreen)
        shown = await shows(pilot, "Arithmetic")
        assert not HARMFUL & set(shown.replace("\n", ""))
