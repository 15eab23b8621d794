"""The backup of the day: made by itself in a thread, once a book is open and its list is shown."""

from __future__ import annotations

import asyncio
from pathlib import Path
from typing import TYPE_CHECKING, Any

from textual.app import App

if TYPE_CHECKING:
    from store.book.backup.keeping import Kept
    from store.book.book import Book
    from tui.app import PondroundApp

BEGIN_AFTER_S = 5.0
"""How long after opening the book it is begun, so that it is in nobody's way [s]."""
AGAIN_S = 3600.0
"""How often it is looked whether another day has come [s]."""


class Daily:
    """Makes the backup of the day, and tells once where that fails.

    Parameters
    ----------
    app
        The application.
    book
        The open book.
    folder
        Where backups lie.
    """

    def __init__(self, app: PondroundApp, book: Book, folder: Path) -> None:
        self._app: App[Any] = app
        self._ours, self._book, self._folder = app, book, folder
        self._told = False
        self._making: asyncio.Task[None] | None = None

    def begin(self) -> None:
        """Make the first one in a moment, and look every hour from then on."""
        self._app.set_timer(BEGIN_AFTER_S, self._begin_making)
        self._app.set_interval(AGAIN_S, self._begin_making)

    def _begin_making(self) -> None:
        if self._making is None or self._making.done():
            self._making = asyncio.create_task(self.make())

    async def make(self) -> None:
        """Make it where there is none of today; say how old the newest is where it is old."""
        kept = await asyncio.to_thread(self._make)
        if not self._app.is_running:
            return
        from store.book.backup.keeping import said_old

        old = said_old(kept.newest, self._ours.now()) if kept.wanted else ""
        self._ours.backup_said = f"{old}: 9 shows them" if old else ""
        if kept.remark and not self._told:
            self._told = True
            self._app.notify(kept.remark, title="No backup", severity="warning", markup=False)
        if kept.remark or old:
            self._ours.changed()

    def _make(self) -> Kept:
        from store.book.backup.keeping import keep_daily

        return keep_daily(self._book, self._folder, self._ours.now())
