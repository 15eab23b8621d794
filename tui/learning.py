"""Learning what the records say of the temperatures of ponds, beside what is shown.

Begun once the book is open and its list stands there, and again when what was learnt is old. It
runs in a thread that nobody waits for: whoever leaves meanwhile leaves at once, and what was at
hand before stays.
"""

from __future__ import annotations

import asyncio
import threading
import traceback
from typing import TYPE_CHECKING, Any

from textual.app import App

from store.errors import PondroundError
from tui.widgets.top import Top

if TYPE_CHECKING:
    from store.book.book import Book
    from tui.app import PondroundApp

BEGIN_AFTER_S = 1.5
"""How long after opening the book it is begun, so that the list stands there first [s]."""
AGAIN_S = 900.0
"""How often it is looked whether what was learnt is old [s]."""
TOLD_EVERY_S = 0.5
"""How often the share that is done is told in the head [s]; what takes less is not told."""


class Learning:
    """Makes a fit where there is none or it is old, and says so to all screens.

    Parameters
    ----------
    app
        The application; it shows the share that is done in every head.
    book
        The open book.
    """

    def __init__(self, app: PondroundApp, book: Book) -> None:
        self._app: App[Any] = app
        self._ours, self._book = app, book
        self._making: asyncio.Task[None] | None = None
        self._share: float | None = None
        self._given_up = False
        self._told = ""

    def begin(self) -> None:
        """Look in a moment, and every quarter of an hour from then on."""
        self._app.set_timer(BEGIN_AFTER_S, self._begin_making)
        self._app.set_interval(AGAIN_S, self._begin_making)

    def _begin_making(self) -> None:
        if not self._given_up and (self._making is None or self._making.done()):
            self._making = asyncio.create_task(self.make())

    async def make(self) -> None:
        """Learn anew where it is due; what is new is told to every screen."""
        loop = asyncio.get_running_loop()
        ended = loop.create_future()

        def answer(found: bool) -> None:
            if not ended.done():
                ended.set_result(found)

        def run() -> None:
            found = self._make()
            try:
                loop.call_soon_threadsafe(answer, found)
            except RuntimeError:  # the application has been left
                return

        threading.Thread(target=run, name="learning", daemon=True).start()
        try:
            while not ended.done() and self._app.is_running:
                await asyncio.wait([ended], timeout=TOLD_EVERY_S)
                self._tell("" if ended.done() else self._said())
        finally:
            self._given_up = self._given_up or not ended.done()
        if self._app.is_running and ended.result():
            self._ours.learnt()

    def _said(self) -> str:
        share = self._share
        return "" if share is None else f"learning temperatures {100 * share:.0f} %"

    def _tell(self, said: str) -> None:
        if said == self._told or not self._app.is_running:
            return
        self._told = self._ours.learning_said = said
        for top in self._app.screen.query(Top):
            top.refresh()

    def _make(self) -> bool:
        """In its thread: whether something new was learnt."""
        from store.warmth.kept.fits import fit_is_old, make_fit, said_unkept
        from tui.commands.trouble import keep_fault, log_path, note

        log = None if self._app.is_headless else log_path()
        try:
            if not fit_is_old(self._book, self._ours.now()):
                return False
            self._share = 0.0
            found = make_fit(self._book, self._ours.now(), self._done, lambda: self._given_up)
        except PondroundError as trouble:
            note(log, trouble.message)  # nobody asked for it: looked again later
            return False
        except Exception:
            # Estimates are beside the records: a fault in them ends neither the work nor the list.
            self._given_up = True
            keep_fault(log, traceback.format_exc())
            return False
        finally:
            self._share = None
        if said := said_unkept(self._book):
            note(log, said)
        return found is not None

    def _done(self, share: float) -> None:
        self._share = share
