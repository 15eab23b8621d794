"""Opening the book of the application, once its first screen is painted."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Any

from textual.app import App

from store.errors import BookTrouble, PondroundError
from tui.screens.parts.dialogs import Tell

if TYPE_CHECKING:
    from store.book.book import Book
    from store.exchange.bag.marks import Bag

Opener = Callable[[], "Book | None"]
Beginner = Callable[[dict[str, str]], "Book"]


@dataclass(frozen=True)
class Opened:
    """A book that is open.

    Parameters
    ----------
    book
        The book.
    bag
        Which bag it is; None for a whole book.
    """

    book: Book
    bag: Bag | None

    def remarks(self) -> Iterator[tuple[str, str]]:
        """What a person should know of the book before working with it, each with its title."""
        from store.book.opening import remark_of

        if self.book.only_read:
            yield "Only for reading", self.book.only_read
        if place := remark_of(self.book):
            yield "Its place", place

    def said_bag(self, at: datetime) -> str:
        """Which bag it is, and how old; empty for a whole book.

        Parameters
        ----------
        at
            The present instant.
        """
        if self.bag is None:
            return ""
        from store.exchange.bag.marks import said_age
        from tui.said import said_date

        day = said_date(self.bag.day, at.date())
        return f"bag for {day}, packed {said_age(self.bag, at)}"


async def opened(app: App[int], opening: Opener, beginning: Beginner | None) -> Opened | None:
    """The open book, begun by the first form where there is none.

    Parameters
    ----------
    app
        The application; left with a sentence where the book cannot be opened, and quietly where
        the first form was left.
    opening
        Opens the book; None from it means that there is no book yet. Called in a thread.
    beginning
        Makes a new book of what the first form holds; None where none can be begun here.

    Returns
    -------
    Opened or None
        None where the application is being left.
    """
    try:
        book = await asyncio.to_thread(opening)
        if book is None:
            book = await _begun(app, beginning)
    except PondroundError as trouble:
        await app.push_screen_wait(Tell.of(trouble))
        app.exit(1, return_code=1, message=trouble.message)
        return None
    if book is None:
        app.exit(0)
        return None
    return Opened(book, await asyncio.to_thread(_bag_of, book))


async def _begun(app: App[Any], beginning: Beginner | None) -> Book | None:
    from tui.screens.parts.begin import BeginScreen

    if beginning is None:
        raise BookTrouble("There is no book there, and none can be begun here.")
    return await app.push_screen_wait(BeginScreen(beginning))


def _bag_of(book: Book) -> Bag | None:
    from store.exchange.bag.marks import bag_of

    with suppress(PondroundError):  # whoever asks for something is told
        return bag_of(book)
    return None
