"""What is typed fast behind the key that finds: nothing is lost, nothing else is started."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import Any

import pytest
from one_pond import add_one_pond
from textual import events
from textual.screen import Screen
from textual.widgets import Input

from store.book.act import Act
from store.book.book import Book
from tui.app import PondroundApp
from tui.screens.courses.courses import CoursesScreen
from tui.screens.desk.desk import DeskScreen
from tui.screens.directory.directory import DirectoryScreen
from tui.screens.formulary.formulary import FormularyScreen
from tui.screens.morning.morning import MorningScreen

TYPED = "alder rcp/nd"
"""Letters that are keys of these screens, and the key itself once more."""


def _at_once(app: PondroundApp, text: str) -> None:
    """All keys are there before the first of them is looked at, as from a quick hand on a slow line."""
    for letter in text:
        name = {"/": "slash", " ": "space"}.get(letter, letter)
        app.post_message(events.Key(name, letter))


@pytest.mark.parametrize(
    ("kind", "name"),
    [
        (MorningScreen, "morning"), (DirectoryScreen, "directory"), (CoursesScreen, "courses"),
        (DeskScreen, "desk"), (FormularyScreen, "formulary"),
    ],
)  # fmt: skip
async def test_keys_typed_at_once_all_stand_in_the_line(
    sqlite_book: Book, act: Act, tmp_path: Path, kind: type[Screen[Any]], name: str
) -> None:
    add_one_pond(sqlite_book, act)
    app = PondroundApp(lambda: sqlite_book, now=lambda: act.at, drafts=tmp_path / "drafts.json")
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await _until(pilot, lambda: app.book_is_open)
        if kind is not MorningScreen:
            await app.push_screen(kind())
        await pilot.pause(0.2)
        here, logged = app.screen, _written(sqlite_book)
        _at_once(app, f"/{TYPED}")
        await _until(pilot, lambda: _text(here, name) == TYPED)
        await pilot.pause(0.1)
        assert app.screen is here
        assert _text(here, name) == TYPED
        assert _written(sqlite_book) == logged
        # Out of the line and into it again: what is typed then comes behind, and is kept as well.
        if kind is DeskScreen:
            await pilot.press("down")
            _at_once(app, "/xy")
            await _until(pilot, lambda: _text(here, name) == f"{TYPED}xy")


def _text(screen: Screen[Any], name: str) -> str:
    return "".join(one.value for one in screen.query(f"#{name}-text").results(Input))


def _written(book: Book) -> str:
    return book.stamp("contact_attempt", "call_note", "follow_up")


async def _until(pilot: Any, holds: Any) -> None:
    for _ in range(300):
        await pilot.pause()
        if holds():
            return
        await asyncio.sleep(0.01)
    raise AssertionError(f"{pilot.app.screen}: {pilot.app.focused}")
