"""The window is made too small and large again, and closed in the middle of a line."""

from __future__ import annotations

import json
import time
from pathlib import Path
from typing import Any

from one_pond import add_one_pond
from screen_text import screen_text
from test_morning_screen import until

from store.book.act import Act
from store.book.book import Book
from tui.app import PondroundApp

TYPED = "ph 7,4 nh4 0.5"


async def test_small_and_large_again_and_closed_while_typing(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_one_pond(sqlite_book, act)
    drafts = tmp_path / "drafts.json"

    def app() -> PondroundApp:
        return PondroundApp(lambda: sqlite_book, now=lambda: act.at, drafts=drafts)

    async def to_the_form(pilot: Any) -> None:
        await until(pilot, lambda: "Alder" in screen_text(pilot.app))
        await pilot.press("t")
        await until(pilot, lambda: "Water test: Alder" in screen_text(pilot.app))

    async with app().run_test(size=(80, 24)) as pilot:
        await to_the_form(pilot)
        began = time.monotonic()
        await pilot.press(*TYPED)
        while TYPED not in (drafts.read_text(encoding="utf-8") if drafts.exists() else ""):
            assert time.monotonic() - began < 1 + 0.2 * len(TYPED), "not on the disk in time"
            await pilot.pause(0.01)
        await pilot.resize_terminal(20, 5)
        await until(pilot, lambda: "Nothing is" in screen_text(pilot.app))
        await pilot.press("x", "f2")
        await pilot.resize_terminal(80, 24)
        await until(pilot, lambda: TYPED in screen_text(pilot.app))
        assert f"{TYPED}x" not in screen_text(pilot.app), "a key reached what nobody saw"
        kept = drafts.read_bytes()
    drafts.write_bytes(kept)  # as it stood when the window was closed
    assert TYPED in json.dumps(json.loads(kept))
    async with app().run_test(size=(80, 24)) as pilot:
        await to_the_form(pilot)
        await until(pilot, lambda: TYPED in screen_text(pilot.app))
