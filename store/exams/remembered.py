"""What was gathered over all ponds, remembered until a table that it rests on is written to."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from typing import Any, TypeVar
from weakref import WeakKeyDictionary

from store.book.book import Book

_Made = TypeVar("_Made")

_KNOWN: WeakKeyDictionary[Book, dict[str, tuple[Hashable, Any]]] = WeakKeyDictionary()
"""Thrown away without loss: gathered again when a stamp is another one."""


def remembered(
    book: Book, what: str, tables: tuple[str, ...], day: Hashable, make: Callable[[], _Made]
) -> _Made:
    """Something gathered from a book, from memory where nothing was written since.

    Parameters
    ----------
    book
        The book.
    what
        A name for it.
    tables
        The tables that it rests on.
    day
        What else it rests on, such as the calendar day.
    make
        Gathers it.
    """
    # The stamp is read first: what is written meanwhile makes it be gathered once more.
    stamp = (book.stamp(*tables), day)
    known = _KNOWN.setdefault(book, {})
    before = known.get(what)
    if before is not None and before[0] == stamp:
        made: _Made = before[1]
        return made
    found = make()
    known[what] = (stamp, found)
    return found
