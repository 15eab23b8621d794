"""Who works at this screen: asked once, shown to be who they are, locked when they go away."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import TYPE_CHECKING
from uuid import UUID

if TYPE_CHECKING:
    from store.book.people import Staff
    from tui.app import PondroundApp

SLEPT = timedelta(minutes=2)
"""Between two looks at the clock some twenty seconds pass, unless the machine slept."""


class AtWork:
    """The person who works, within one session of the application.

    Parameters
    ----------
    app
        The application.
    wished
        Name or initials of who usually works here; empty asks.
    chosen
        Called with the name of whoever was chosen, for the next time.
    """

    def __init__(self, app: PondroundApp, wished: str, chosen: Callable[[str], None]) -> None:
        self._app, self._wished, self._chosen = app, wished.casefold(), chosen
        self.person: UUID | None = None
        self._proved: set[UUID] = set()
        self._failures: dict[UUID, int] = {}
        self._touched: datetime | None = None
        self._looked: datetime | None = None

    async def who(self) -> UUID | None:
        """Who works; asked where nobody knows, and for the passphrase where one is set."""
        people = await self._people()
        if self.person not in {one.id for one in people}:
            self.person = await self._by_login() or self._usual(people)
        if self.person is None:
            return await self.ask()
        return await self._shown(self.person, people)

    async def ask(self) -> UUID | None:
        """Choose who works; left with escape, whoever worked goes on."""
        from tui.screens.parts.dialogs import Choose, Option

        people = await self._people()
        options = [Option(one.id, one.name, one.role) for one in people]
        chosen = await self._app.push_screen_wait(
            Choose("Who is working?", options, start=self.person, empty="Enter staff first.")
        )
        if not isinstance(chosen, UUID):
            return self.person
        shown = await self._shown(chosen, people)
        if shown is not None:
            self.person = shown
            self._chosen(next(one.name for one in people if one.id == shown))
        return self.person

    async def at_the_start(self) -> None:
        """Whoever the server knows works; where people have passphrases, it is asked who it is."""
        from store.book.sign_in import sign_ins

        if by_login := await self._by_login():
            self.person = by_login
            return
        known = await self._app.ask_store(sign_ins, self._app.book)
        if not any(one.passphrase for one in known.values()):
            return
        people = await self._people()
        if len(people) > 1:
            if self._usual(people) is None:
                await self.ask()
            else:
                await self.who()

    async def change(self) -> None:
        """Somebody else works: what is shown is locked where whoever worked has a passphrase."""
        by_login = await self._by_login()
        if by_login is not None:
            name = next((one.name for one in await self._people() if one.id == by_login), "you")
            self._app.notify(
                f"The server knows you by your login as {name}. Somebody else leaves with q and "
                "opens the book with a login of their own.",
                markup=False,
            )
        elif not await self.lock():
            await self.ask()

    async def lock(self) -> bool:
        """Lock until somebody signs in; False where whoever works has no passphrase."""
        from store.book.sign_in import asks_passphrase
        from tui.screens.parts.sign_in import Locked

        app, was = self._app, self.person
        if was is None or any(isinstance(one, Locked) for one in app.screen_stack):
            return was is not None
        if not await app.ask_store(asks_passphrase, app.book, was):
            return False
        name = next((one.name for one in await self._people() if one.id == was), "Somebody")
        self._proved.clear()
        while await app.push_screen_wait(Locked(was, name, self._failures)) == "other":
            self.person = None
            if await self.ask() is not None:
                return True
            self.person = was
        self._proved.add(was)
        return True

    def touched(self, at: datetime) -> None:
        """A key or the mouse: somebody is there.

        Parameters
        ----------
        at
            The present instant.
        """
        self._touched = at

    def is_away(self, at: datetime, lock_min: int) -> bool:
        """Whether nobody was there for long, or the machine slept; called every twenty seconds.

        Parameters
        ----------
        at
            The present instant.
        lock_min
            After how long nobody is there [min]; 0 for never.
        """
        before, self._looked = self._looked, at
        if not lock_min or not self._proved:
            return False
        slept = before is not None and at - before > SLEPT
        idle = self._touched is not None and at - self._touched > timedelta(minutes=lock_min)
        return slept or idle

    async def _shown(self, person: UUID, people: tuple[Staff, ...]) -> UUID | None:
        """The person, once the passphrase was given where one is set; None where it was not."""
        from store.book.sign_in import asks_passphrase
        from tui.screens.parts.sign_in import Passphrase

        app = self._app
        if person in self._proved:
            return person
        if await app.ask_store(asks_passphrase, app.book, person):
            name = next(one.name for one in people if one.id == person)
            said = await app.push_screen_wait(Passphrase(person, name, self._failures))
            if said == "other":
                self.person = None
                return await self.ask()
            if said is None:
                return None
        self._proved.add(person)
        return person

    async def _people(self) -> tuple[Staff, ...]:
        from store.book.people import staff

        return await self._app.ask_store(staff, self._app.book)

    async def _by_login(self) -> UUID | None:
        from store.book.sign_in import known_to_server

        return await self._app.ask_store(known_to_server, self._app.book)

    def _usual(self, people: tuple[Staff, ...]) -> UUID | None:
        """The usual person of this machine, or the only one there is."""
        wished = self._wished
        fitting = [
            one for one in people if wished in (one.name.casefold(), one.initials.casefold())
        ]
        if wished and len(fitting) == 1:
            return fitting[0].id
        return people[0].id if len(people) == 1 else None
