"""Asking the store from a screen without holding up what is shown.

A database that does not answer is asked again until it does, and one dialog says so for all that
wait. What was typed stays in its form meanwhile, and what was being saved is saved when it is back.
"""

from __future__ import annotations

import asyncio
from collections.abc import Callable
from contextlib import suppress
from contextvars import ContextVar, copy_context
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from typing import TYPE_CHECKING, Any, ParamSpec, TypeVar
from weakref import WeakKeyDictionary

from textual.app import App

from store.errors import NoAnswer

if TYPE_CHECKING:
    from tui.screens.parts.waiting import WaitingScreen

Asked = ParamSpec("Asked")
Answer = TypeVar("Answer")

AGAIN_S = 2.0
"""How long it is waited before a database is asked again [s]."""
INSISTED: ContextVar[bool] = ContextVar("insisted", default=False)
"""Whether a person asked for it by a key that does something: then esc gives it up. What only
reads for a screen goes on waiting behind it."""


async def ask(
    app: App[Any], question: Callable[Asked, Answer], *args: Asked.args, **kwargs: Asked.kwargs
) -> Answer:
    """The store's answer, asked in a thread; its errors pass through.

    Where the database does not answer it is waited for, see `Outage`. An application that was left
    meanwhile has nothing left to show it on: what waits for the answer ends with it.
    """
    saves, outage = _saves(args, kwargs), outage_of(app)
    waiting = _Waiting(app, INSISTED.get() or saves)
    outage.saving += saves
    try:
        return await waiting.answer(partial(question, *args, **kwargs))
    finally:
        outage.saving -= saves
        waiting.leave()
        if not app.is_running:
            raise asyncio.CancelledError


def outage_of(app: App[Any]) -> Outage:
    """What an application knows of its database not answering."""
    if app not in _OUTAGES:
        _OUTAGES[app] = Outage(app)
    return _OUTAGES[app]


def _saves(args: tuple[Any, ...], kwargs: dict[str, Any]) -> bool:
    from store.book.act import Act

    return any(isinstance(one, Act) for one in (*args, *kwargs.values()))


class Outage:
    """A database that does not answer, and all that waits for it.

    Parameters
    ----------
    app
        Shows the dialog; it knows the book and the clock.
    """

    def __init__(self, app: App[Any]) -> None:
        self._app = app
        self._waiting: list[_Waiting] = []
        self._turn = asyncio.Event()
        self._quiet = False
        self._screen: WaitingScreen | None = None
        self._closing: WaitingScreen | None = None
        self.since: datetime | None = None
        self.tries = 0
        self.saving = 0
        """How many questions that write are on their way."""

    async def again(self, one: _Waiting, trouble: NoAnswer) -> bool:
        """Wait until it is time to ask again; False where that was given up."""
        if not self._waiting and not self._quiet:
            self.since, self.tries = self._now(), 0
        if one not in self._waiting:
            self._waiting.append(one)
        self.tries += 1
        self._show(trouble)
        if not (one.given_up and one.insisted):
            with suppress(TimeoutError):
                await asyncio.wait_for(self._turn.wait(), AGAIN_S)
        return not (one.given_up and one.insisted) and self._app.is_running

    def give_up(self) -> None:
        """Esc: what a person asked for ends as it would have; what reads waits on, unseen."""
        self._quiet = True
        for one in self._waiting:
            one.given_up = True
        if not any(one.insisted for one in self._waiting):
            self._app.notify(
                "What stands here may be out of date; it is read again when the book answers.",
                title="The book does not answer",
                severity="warning",
                markup=False,
            )
        self._wake()
        self._show(None)

    def answered(self) -> None:
        """The database was reached: nothing is left to wait for."""
        self._quiet = False
        if self._waiting:
            self._wake()
        self._close()

    async def cleared(self) -> None:
        """The dialog lies on nothing any more: whoever goes on may close the screen on top."""
        while self._closing is not None and self._app.is_running:
            if self._closing not in self._app.screen_stack:
                self._closing = None
            else:
                await asyncio.sleep(0.05)  # under another sheet, until that is closed

    def left(self, one: _Waiting) -> None:
        """A question waits no longer."""
        if one in self._waiting:
            self._waiting.remove(one)
            self._show(None)

    @property
    def is_told(self) -> bool:
        """Whether a person knows already that the book does not answer."""
        return self._quiet or self._screen is not None

    def _wake(self) -> None:
        self._turn.set()
        self._turn = asyncio.Event()

    def _show(self, trouble: NoAnswer | None) -> None:
        """One dialog for all that wait, or none."""
        insisted = [one for one in self._waiting if one.insisted]
        if not self._app.is_running or not (insisted or (self._waiting and not self._quiet)):
            self._close()
            return
        if self._screen is None:
            if trouble is None:
                return
            from tui.screens.parts.waiting import WaitingScreen

            self._screen = WaitingScreen(self, _name(self._app))
            self._app.push_screen(self._screen)
        self._screen.tell(
            saving=bool(insisted),
            stopping=bool(insisted) and all(one.given_up for one in insisted),
        )

    def _close(self) -> None:
        if self._screen is not None:
            self._closing, self._screen = self._screen, None
            self._closing.close()

    def _now(self) -> datetime | None:
        clock = getattr(self._app, "now", None)
        return clock() if callable(clock) else None


@dataclass(eq=False)
class _Waiting:
    """One question, and where it stands."""

    app: App[Any]
    insisted: bool
    given_up: bool = False
    gone: bool = False

    async def answer(self, question: Callable[[], Answer]) -> Answer:
        from store.book.server.asker import ASKER, Asker

        loop = asyncio.get_running_loop()
        outage = outage_of(self.app)
        first = True
        while True:
            asker = Asker(partial(self._waits, loop))
            context = copy_context()
            context.run(ASKER.set, asker)
            try:
                found = await loop.run_in_executor(None, partial(context.run, question))
            except NoAnswer as trouble:
                self.insisted = self.insisted or trouble.saving
                if asker.kept:
                    raise _partly(trouble) from trouble
                if trouble.unsure:
                    raise
                if not first and not await outage.again(self, trouble):
                    raise
                first = False
            else:
                if asker.reached:
                    outage.answered()
                await outage.cleared()
                return found

    def leave(self) -> None:
        """The answer is there, or nobody wants it any more."""
        self.gone = True
        outage_of(self.app).left(self)

    def _waits(self, loop: asyncio.AbstractEventLoop, trouble: NoAnswer) -> bool:
        """In the thread of a question that cannot be asked again from its beginning."""
        if self.gone:
            return False
        self.insisted = self.insisted or trouble.saving
        try:
            waiting = asyncio.run_coroutine_threadsafe(
                outage_of(self.app).again(self, trouble), loop
            )
            return waiting.result() and not self.gone
        except (RuntimeError, asyncio.CancelledError, TimeoutError):
            return False  # the application has been left


def _partly(trouble: NoAnswer) -> NoAnswer:
    return NoAnswer(
        f"{trouble.message} A part had been saved before: look what stands in the book before you "
        "save again.",
        title=trouble.title,
        saving=trouble.saving,
        unsure=trouble.unsure,
    )


def _name(app: App[Any]) -> str:
    """How the book is called: of an address, the machine and what it is called there."""
    name = str(getattr(getattr(app, "book", None), "name", ""))
    if "://" not in name:
        return name
    place = name.partition("://")[2].rpartition("@")[2].partition("?")[0].strip("/")
    return f"The book at {place}" if place else ""


_OUTAGES: WeakKeyDictionary[App[Any], Outage] = WeakKeyDictionary()
