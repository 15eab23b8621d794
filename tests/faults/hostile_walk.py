"""One walk over every screen of the application, each key pressed and each strip judged."""

from __future__ import annotations

import asyncio
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from textual.screen import ModalScreen, Screen
from textual.widgets import Input, TextArea

from store.book.book import Book
from tests.faults.hostile import TALLY, Hostile, harmful, reaches_out
from tests.faults.hostile_demo import NOW
from tui.app import PondroundApp

PLACES = "1234567"
_LEFT_ALONE = {"q", "ctrl+q", "ctrl+c", "ctrl+z", "escape", "f6", "f9", *PLACES}
"""Keys that leave the application, or the screen that is looked at."""
_TURNS = 200


class Walk:
    """A person who presses every key once on every screen.

    Parameters
    ----------
    book
        A book in hostile words.
    drafts
        Where what is typed is kept.
    texts
        What is typed into every field that is met.
    """

    def __init__(self, book: Book, drafts: Path, texts: tuple[Hostile, ...]) -> None:
        self.app = PondroundApp(lambda: book, now=lambda: NOW, person="", drafts=drafts)
        self.texts = list(texts)
        self.typed = 0
        self.tried: set[tuple[str, str]] = set()
        self.seen: Counter[str] = Counter()
        self.pilot: Any = None

    # --- what is looked at ------------------------------------------------------------------------

    def judge(self, after: str = "") -> None:
        """Nothing harmful and nothing that can be clicked stands on the screen."""
        screen = self.app.screen
        where = f"{type(screen).__name__} {after}"
        assert self.app._exception is None, where
        self.seen[type(screen).__name__] += 1
        for strip in screen._compositor.render_strips():
            for segment in strip:
                bad = harmful(segment.text, lines=False)
                assert not bad, (where, sorted(map(hex, map(ord, bad))), segment.text)
                out = reaches_out(segment.style) if segment.style else ""
                assert not out, (where, out, segment.text)
            TALLY.shown["lines of screens"] += 1
        TALLY.shown["screens"] += 1

    async def rest(self) -> None:
        """Until what was asked of the store has been shown, or a dialog waits for an answer."""
        still = 0
        for turn in range(_TURNS):
            await self.pilot.pause(0.005)
            assert self.app._exception is None
            busy = [one for one in self.app.workers if one.is_running]
            still = 0 if busy else still + 1
            if still == 2 or (turn > 12 and isinstance(self.app.screen, ModalScreen)):
                await self.pilot.pause()  # what was shown last is laid out
                return

    # --- what is done -----------------------------------------------------------------------------

    def keys(self) -> Iterator[str]:
        """The keys that the screen and what has the focus take."""
        found = dict.fromkeys(self.app.screen.active_bindings)
        yield from (key for key in found if key not in _LEFT_ALONE)

    async def press(self, *keys: str) -> None:
        await self.pilot.press(*keys)
        await self.rest()
        self.judge(" ".join(keys))

    def type_hostile(self) -> None:
        """A hostile text into every field of the screen."""
        for one in self.app.screen.query("Input, TextArea"):
            if not one.display or one.disabled:
                continue
            text = self.texts[self.typed % len(self.texts)].text
            self.typed += 1
            if isinstance(one, Input):
                one.value = text.replace("\n", " ")
            elif isinstance(one, TextArea):
                one.text = text

    async def explore(self, depth: int) -> None:
        """Press every key of this screen that was not pressed on one of its kind, and go back."""
        here = self.app.screen
        kind = type(here).__name__
        self.judge()
        for key in list(self.keys()):
            if (kind, key) in self.tried:
                continue
            self.tried.add((kind, key))
            await self.press(key)
            if (
                self.app.screen is not here
                and depth > 0
                and self.app.screen in self.app.screen_stack
            ):
                await self.explore(depth - 1)
            if not await self.back_to(here):
                return
        if here.query("Input, TextArea") and (kind, "typed") not in self.tried:
            self.tried.add((kind, "typed"))
            for _ in range(3):
                self.type_hostile()
                await self.rest()
                self.judge("typed")
                for key in ("enter", "f2"):
                    await self.press(key)
                    if self.app.screen is not here and depth > 0:
                        await self.explore(depth - 1)
                    if not await self.back_to(here):
                        return

    async def back_to(self, screen: Screen[Any]) -> bool:
        """Escape until that screen is on top; False where it is not there any more."""
        for _ in range(8):
            if self.app.screen is screen:
                return True
            if screen not in self.app.screen_stack:
                return False
            await self.pilot.press("escape")
            await self.rest()
        return self.app.screen is screen

    async def all_places(self, depth: int) -> None:
        """Every place with all that can be reached from it."""
        for place in PLACES:
            for _ in range(3):
                await self.press(place)
            await self.explore(depth)
            for _ in range(6):
                await self.pilot.press("escape")
            await self.rest()

    async def opened(self) -> None:
        """Wait until the book is open."""
        for _ in range(800):
            await self.pilot.pause(0.01)
            if self.app.book_is_open:
                break
            await asyncio.sleep(0.01)
        await self.rest()
