"""What the morning list says of bags: that this is one, or that records differ since one came."""

from __future__ import annotations

from datetime import datetime
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from store.book.book import Book


def bags_said(book: Book, now: datetime) -> str:
    """One line, empty where there is nothing to say.

    Parameters
    ----------
    book
        The open book.
    now
        The present instant.
    """
    from store.exchange.bag.marks import bag_of, said_age
    from store.exchange.bag.waiting import waiting

    bag = bag_of(book)
    if bag is not None:
        many = len(bag.ponds)
        ponds = f"{many} pond{'' if many == 1 else 's'}"
        whose = bag.said.removeprefix("bag ")
        return f"Not the whole book: {ponds} {whose}; packed {said_age(bag, now)}."
    many = waiting(book)
    if not many:
        return ""
    differ = "record differs" if many == 1 else "records differ"
    return f"{many:,} {differ} since the bag came back: D shows both sides."
