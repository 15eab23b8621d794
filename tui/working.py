"""Who works with the application, at its keys and while nobody is at them."""

from __future__ import annotations

from collections.abc import Awaitable, Callable
from datetime import datetime
from typing import TYPE_CHECKING

from store.errors import NoAnswer, PondroundError
from tui.asking import INSISTED
from tui.screens.parts.sign_in_work import AtWork

if TYPE_CHECKING:
    from store.book.act import Act
    from tui.app import PondroundApp


class Working:
    """Asks who works where that must be known, and locks what is shown.

    Parameters
    ----------
    app
        The application; nothing is asked before its book is open.
    wished
        Name or initials of who usually works here; empty asks.
    chosen
        Called with the name of whoever was chosen, for the next time.
    """

    def __init__(self, app: PondroundApp, wished: str, chosen: Callable[[str], None]) -> None:
        self._app = app
        self._at_work = AtWork(app, wished, chosen)

    async def acting(self) -> Act | None:
        """Who does something now, and when; asked once, None when that was left with escape."""
        wanted = INSISTED.set(True)
        try:
            return await self._acting()
        except NoAnswer as trouble:
            self._app.tell(trouble)
            return None
        finally:
            INSISTED.reset(wanted)

    async def begin(self) -> None:
        """Ask who works where people have passphrases, once the book is open."""
        await self._asked(self._at_work.at_the_start)

    async def change(self) -> None:
        """Somebody else works; where a passphrase is set, what is shown is locked until then."""
        await self._asked(self._at_work.change)

    async def lock(self) -> None:
        """Lock what is shown where whoever works has a passphrase."""
        await self._asked(self._at_work.lock)

    def touched(self, at: datetime) -> None:
        """A key or the mouse: somebody is there.

        Parameters
        ----------
        at
            The present instant.
        """
        self._at_work.touched(at)

    def is_away(self, at: datetime, lock_min: int) -> bool:
        """Whether nobody was there for long, or the machine slept; looked at every 20 s.

        Parameters
        ----------
        at
            The present instant.
        lock_min
            After how long nobody is there [min]; 0 for never.
        """
        return self._at_work.is_away(at, lock_min)

    async def _acting(self) -> Act | None:
        from store.book.act import Act

        person = await self._at_work.who()
        if person is None:
            return None
        return Act(person, await self._app.ask_store(self._app.book.moment, self._app.now()))

    async def _asked(self, question: Callable[[], Awaitable[object]]) -> None:
        if self._app.book_is_open:
            try:
                await question()
            except PondroundError as trouble:
                self._app.tell(trouble)
