"""A key that saves, pressed again before the first save is done, saves nothing twice."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from one_pond import add_one_pond
from small_app import SmallApp, settled

from store.book.act import Act
from store.book.book import Book
from store.book.events import events
from store.book.people import staff
from tui.screens.parts.edit import EditScreen
from tui.screens.ponds.event import EventScreen
from tui.widgets.fields import Form


@pytest.fixture
def slow_book(sqlite_book: Book, monkeypatch: pytest.MonkeyPatch) -> Book:
    """A book in which every action takes as long as on a slow disk."""
    writing = Book.writing

    def slowly(book: Book, act: Act) -> Any:
        time.sleep(0.15)
        return writing(book, act)

    monkeypatch.setattr(Book, "writing", slowly)
    return sqlite_book


async def _pressed_twice(app: SmallApp, values: dict[str, str]) -> None:
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await settled(pilot)
        app.screen.query_one(Form).fill(values)
        await settled(pilot)
        await pilot.press("f2", "f2", "f2")
        for _ in range(8):
            await settled(pilot)


async def test_an_event_is_entered_once(slow_book: Book, act: Act, tmp_path: Path) -> None:
    pond: UUID = add_one_pond(slow_book, act)
    app = SmallApp(slow_book, act, lambda: EventScreen(pond), tmp_path / "drafts.json")
    await _pressed_twice(app, {"kind": "heavy_rain", "on_day": "today", "note": "all night"})
    assert sum(one.note == "all night" for one in events(slow_book, pond)) == 1


async def test_a_person_is_entered_once(slow_book: Book, act: Act, tmp_path: Path) -> None:
    app = SmallApp(slow_book, act, lambda: EditScreen("staff", None, ()), tmp_path / "drafts.json")
    await _pressed_twice(app, {"name": "Ebba Lindqvist", "role": "vet", "initials": "EL"})
    assert [one.name for one in staff(slow_book)].count("Ebba Lindqvist") == 1
