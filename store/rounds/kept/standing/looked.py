"""What the alert rules see at some ponds."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from store.book.book import Book
from store.watch.judge import Rest
from store.watch.look import look
from store.watch.rests import read_rests
from store.watch.rulebook import RuleBook, read_rulebook
from store.watch.seen import PondSeen


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
            look(connection, now, book.zone, ponds=ponds).seen if ponds else {},
            read_rests(connection, today),
        )
