"""The whole application on a copy of the demo practice, by a clock that a test moves."""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from datetime import datetime
from pathlib import Path
from typing import Any, TypeVar
from uuid import UUID

from called import NOW
from screen_text import a_moment, screen_text
from textual.screen import Screen
from textual.widgets import Input

from store.book.book import Book
from tui.app import PondroundApp
from tui.screens.courses.caution_read import ReadCautions
from tui.screens.morning.morning import MorningScreen
from tui.screens.parts.dialogs import AskReason
from tui.widgets.fields import Form

S = TypeVar("S", bound=Screen[Any])
WAITS = {"entry-save", "course-flow", "pond-open", "exam-ask"}
"""Workers that may wait for a person's answer."""


class Day:
    """One person at the application."""

    def __init__(self, book: Book, drafts: Path) -> None:
        self.book, self.at = book, NOW
        self.app = PondroundApp(
            lambda: book, now=lambda: self.at, person="Maren Birkholt", drafts=drafts
        )
        self.pilot: Any = None

    async def until(self, holds: Callable[[], bool]) -> None:
        """Wait for what a thread answers."""
        for _ in range(400):
            await self.pilot.pause()
            if holds():
                return
            await asyncio.sleep(0.01)
        raise AssertionError(f"{self.app.screen}\n{screen_text(self.app)}")

    async def quiet(self) -> None:
        """All that was asked of the store has been shown."""
        still = 0
        for _ in range(400):
            await a_moment(0.01)
            busy = [one for one in self.app.workers if one.group not in WAITS and one.is_running]
            still = 0 if busy else still + 1
            if still == 4:
                await self.pilot.pause()  # what was shown last is laid out
                return
        raise AssertionError(f"{self.app.screen} still reads.")

    async def on(self, kind: type[S]) -> S:
        """The topmost screen, once it is one of that kind and has been read."""
        await self.until(lambda: isinstance(self.app.screen, kind))
        await self.quiet()
        screen = self.app.screen
        assert isinstance(screen, kind), screen
        return screen

    async def shows(self, text: str) -> None:
        """Wait until a text stands on the screen, whatever lines it is broken into."""
        await self.until(lambda: text in self.text)

    @property
    def text(self) -> str:
        return " ".join(screen_text(self.app).split())

    async def press(self, *keys: str) -> None:
        await self.pilot.press(*keys)

    async def type(self, text: str, where: str) -> None:
        self.app.screen.query_one(where, Input).value = text
        await self.quiet()

    async def fill(self, values: dict[str, str]) -> None:
        self.app.screen.query_one(Form).fill(values)
        await self.quiet()

    async def read_on(self, kind: type[S]) -> S:
        """Read what is to be read and give a reason where one is asked, until that screen comes."""
        for _ in range(400):
            await a_moment(0.01)
            if isinstance(self.app.screen, ReadCautions):
                await self.press("enter")
            elif isinstance(self.app.screen, AskReason):
                await self.press(*"seen", "enter")
            elif isinstance(self.app.screen, kind):
                break
        return await self.on(kind)

    async def morning(self, at: datetime | None = None) -> None:
        """The morning list, looked at anew at that time."""
        if at is not None:
            self.at = at
        await self.press("1")
        await self.on(MorningScreen)
        await self.press("f5")
        await self.quiet()

    async def open(self, pond: UUID) -> None:
        from tui.screens.ponds.pond import PondScreen

        self.app.open_pond(pond)
        await self.on(PondScreen)
