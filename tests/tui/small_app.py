"""A small application around one screen, that keeps the promises the screens of a pond rely on."""

from __future__ import annotations

from collections.abc import Callable
from datetime import date, datetime
from pathlib import Path
from typing import Any, TypeVar
from uuid import UUID

from textual.app import App
from textual.screen import Screen

from store.book.act import Act
from store.book.book import Book
from store.errors import PondroundError
from tui.asking import ask
from tui.drafts import Drafts
from tui.screens.parts.dialogs import Tell
from tui.themes import LATER, LOOK, NIGHT, variable_defaults, wear

T = TypeVar("T")


class SmallApp(App[None]):
    """Opens with one screen on a book that is open already; its clock stands still."""

    CSS_PATH = [LOOK, *LATER]  # noqa: RUF012
    ENABLE_COMMAND_PALETTE = False

    def __init__(
        self, book: Book, act: Act, first: Callable[[], Screen[Any]], drafts: Path,
        *, theme: str = NIGHT,
    ) -> None:  # fmt: skip
        super().__init__()
        wear(self, theme)
        self.book, self.act, self._first = book, act, first
        self.drafts = Drafts(drafts)
        self.told: list[PondroundError] = []
        self.changes = 0

    def get_theme_variable_defaults(self) -> dict[str, str]:
        return variable_defaults(self.current_theme)

    def on_mount(self) -> None:
        self.push_screen(self._first())

    def now(self) -> datetime:
        return self.act.at

    def today(self) -> date:
        return self.book.today(self.act.at)

    async def ask_store(self, question: Callable[..., T], *args: Any, **kwargs: Any) -> T:
        return await ask(self, question, *args, **kwargs)

    async def acting(self) -> Act | None:
        return self.act

    def tell(self, trouble: PondroundError) -> None:
        self.told.append(trouble)
        self.push_screen(Tell.of(trouble))

    def changed(self) -> None:
        self.changes += 1

    def open_pond(self, pond: UUID) -> None:
        from tui.screens.ponds.pond import PondScreen

        self.push_screen(PondScreen(pond))


async def settled(pilot: Any) -> None:
    """Everything that was asked of the store has been shown."""
    for _ in range(3):
        quick = [worker for worker in pilot.app.workers if worker.group in QUICK]
        if quick:  # without any, all would be waited for
            await pilot.app.workers.wait_for_complete(quick)
        await pilot.pause()


QUICK = ("pond-page", "test-begin", "opened-read", "volume-read", "entry-read")
"""Groups of workers that end by themselves; the others may wait for a dialog."""
