"""Whether somebody else has written into the book: looked for beside what is shown.

Two people see each other's changes without starting anew. A look takes one short question in a
thread, and none is begun before the last has ended.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from contextlib import suppress
from typing import TYPE_CHECKING, Any

from textual.app import App

from store.errors import PondroundError
from tui.asking import outage_of

if TYPE_CHECKING:
    from store.book.book import Book, Settled

LOOK_EVERY_S = 2.0
"""How often it is looked [s]."""


class Others:
    """What was known of the book last.

    Parameters
    ----------
    app
        The application.
    book
        The open book.
    changed
        Called where somebody else has written.
    """

    def __init__(self, app: App[Any], book: Book, changed: Callable[[], object]) -> None:
        self._app, self._book, self._changed = app, book, changed
        self._stamp = ""
        self._lost = False
        self._looking: asyncio.Task[None] | None = None

    async def begin(self) -> None:
        """Know how the book stands now, and look every few seconds from now on."""
        with suppress(PondroundError):
            self._stamp, _ = await asyncio.to_thread(self._look)
        self._app.set_interval(LOOK_EVERY_S, self._begin_looking)

    def _begin_looking(self) -> None:
        if self._looking is None or self._looking.done():
            self._looking = asyncio.create_task(self._looked())

    async def _looked(self) -> None:
        try:
            stamp, settled = await asyncio.to_thread(self._look)
        except PondroundError:
            self._lost = True
            return  # whoever asks for something is told
        if not self._app.is_running:
            return
        outage_of(self._app).answered()
        others = stamp != self._stamp and not self._book.is_own(stamp)
        if others or self._lost:  # what could not be read meanwhile is read now
            self._changed()
        self._stamp, self._lost = stamp, False
        for one in settled:
            tell = getattr(self._app, "tell", None)
            if callable(tell):
                tell(said_settled(one.kept))

    def _look(self) -> tuple[str, tuple[Settled, ...]]:
        settled = self._book.settle()
        stamp = self._book.stamp()
        _ = self._book.zone  # read here, so that nothing on the screen waits for it
        return stamp, settled


def said_settled(kept: bool) -> PondroundError:
    """What became of something that was being saved when the line broke.

    Parameters
    ----------
    kept
        Whether it stands in the book.

    Returns
    -------
    PondroundError
        To be told.
    """
    if kept:
        return PondroundError(
            "The book answers again. What was being saved when the line broke stands in it. Where "
            "a form still shows it, leave that with esc: saved again, it would stand there twice.",
            title="It was saved",
        )
    return PondroundError(
        "The book answers again. What was being saved when the line broke was not kept. What was "
        "typed stands in its form, or is offered again there; save it once more.",
        title="It was not saved",
    )
