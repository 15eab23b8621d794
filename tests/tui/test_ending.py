"""The system ends the application: what is being saved is saved, and its draft forgotten."""

from __future__ import annotations

import signal
import time
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from one_pond import add_one_pond
from test_morning_screen import until

from store.book.act import Act
from store.book.book import Book
from store.book.events import events
from tui.app import PondroundApp
from tui.ending import Ending
from tui.screens.ponds.event import EventScreen
from tui.widgets.fields import Form


async def test_what_is_being_saved_is_saved_once(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pond: UUID = add_one_pond(sqlite_book, act)
    writing, drafts = Book.writing, tmp_path / "drafts.json"
    began: list[float] = []

    def slowly(book: Book, act: Act) -> Any:
        began.append(time.monotonic())
        time.sleep(0.3)
        return writing(book, act)

    app = PondroundApp(lambda: sqlite_book, now=lambda: act.at, drafts=drafts)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(pilot, lambda: app.book_is_open)
        app.push_screen(EventScreen(pond))
        await until(pilot, lambda: bool(app.screen.query(Form)))
        app.screen.query_one(Form).fill({"kind": "heavy_rain", "note": "all night"})
        await until(pilot, lambda: drafts.exists() and "all night" in drafts.read_text())
        monkeypatch.setattr(Book, "writing", slowly)
        await pilot.press("f2")
        while not began:
            await pilot.pause(0.01)
        Ending(app).asked(signal.SIGTERM)
        for _ in range(200):
            await pilot.pause(0.02)
            if not app.is_running or app.return_code is not None:
                break
    assert app.return_value == 128 + signal.SIGTERM
    assert [one.note for one in events(sqlite_book, pond)].count("all night") == 1
    assert "all night" not in drafts.read_text()
