"""What the alert rules see at some ponds: few by themselves, many with all of them at once."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from sqlalchemy import Connection

from store.book.book import Book
from store.errors import NotFound
from store.watch.judge import Rest
from store.watch.look import look
from store.watch.rests import read_rests
from store.watch.rulebook import RuleBook, read_rulebook
from store.watch.seen import PondSeen

FEW = 40
"""Up to so many ponds are looked at one after the other: that costs less than all of them."""


@dataclass(frozen=True, slots=True)
class Looked:
    """The rules in force, what they may look at, and what is at rest, by pond."""

    today: date
    rules: RuleBook
    seen: Mapping[UUID, PondSeen]
    rests: Mapping[UUID, Mapping[str, Rest]]


@contextmanager
def looking(book: Book, ponds: Collection[UUID], now: datetime) -> Iterator[Looked]:
    """Some ponds as the rules see them.

    Parameters
    ----------
    book
        The practice's book.
    ponds
        Keys; one that is struck through is left out.
    now
        The present instant, with a time zone.

    Yields
    ------
    Looked
        Not to be asked behind the `with` block: older readings are read when a rule asks for them.
    """
    with book.reading() as connection:
        today = book.today(now)
        yield Looked(
            today,
            read_rulebook(connection, book.zone),
            _seen(connection, book, ponds, now),
            read_rests(connection, today),
        )


def _seen(
    connection: Connection, book: Book, ponds: Collection[UUID], now: datetime
) -> dict[UUID, PondSeen]:
    if len(ponds) > FEW:
        every = look(connection, now, book.zone).seen
        return {pond: every[pond] for pond in ponds if pond in every}
    found = {}
    for pond in ponds:
        try:
            found[pond] = look(connection, now, book.zone, pond=pond).seen[pond]
        except NotFound:  # struck through
            continue
    return found
