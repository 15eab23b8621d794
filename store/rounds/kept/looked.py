"""What the alert rules see at some ponds: few by themselves, many with all of them at once."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import datetime
from uuid import UUID

from store.book.book import Book
from store.errors import NotFound
from store.watch.look import look
from store.watch.rulebook import RuleBook, read_rulebook
from store.watch.seen import PondSeen

FEW = 40
"""Up to so many ponds are looked at one after the other: that costs less than all of them."""


def looked_at(
    book: Book, ponds: Collection[UUID], now: datetime
) -> tuple[RuleBook, Mapping[UUID, PondSeen]]:
    """The rules in force, and what they may look at at some ponds.

    Parameters
    ----------
    book
        The practice's book.
    ponds
        Keys; one that is struck through is left out.
    now
        The present instant, with a time zone.
    """
    with book.reading() as connection:
        rules = read_rulebook(connection, book.zone)
        if not ponds:
            return rules, {}
        if len(ponds) > FEW:
            every = look(connection, now, book.zone).seen
            return rules, {pond: every[pond] for pond in ponds if pond in every}
        found = {}
        for pond in ponds:
            try:
                found[pond] = look(connection, now, book.zone, pond=pond).seen[pond]
            except NotFound:
                continue
        return rules, found
