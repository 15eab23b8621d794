"""Whose a promise is and where: clients, sites and ponds that stand in the book, by their keys."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from uuid import UUID
from weakref import WeakKeyDictionary

from sqlalchemy import select

from store.book.book import Book
from store.book.listing import ListLine, listing
from store.book.tables import table
from store.diary.desk.due import Promised


@dataclass(frozen=True, slots=True)
class Whereabouts:
    """The lines of the directory by pond, site and client; `client_id` where one is wanted.

    Of a site or client with several lines the first stands for it. `names` are those of the staff,
    also of those who have left.
    """

    ponds: Mapping[UUID, ListLine]
    sites: Mapping[UUID, ListLine]
    clients: Mapping[UUID, ListLine]
    names: Mapping[UUID, str]
    client_id: UUID | None = None

    def line(self, promised: Promised) -> ListLine | None:
        """The place of a promise; None where it was struck through, or another is wanted."""
        if promised.pond_id is not None:
            return self.ponds.get(promised.pond_id)
        if promised.site_id is not None:
            return self.sites.get(promised.site_id)
        return self.clients.get(promised.client_id)


_KEPT: WeakKeyDictionary[Book, tuple[object, Whereabouts]] = WeakKeyDictionary()
"""Thrown away without loss: made again when the directory or the staff is another."""


def whereabouts(book: Book, client_id: UUID | None = None) -> Whereabouts:
    """Where everything is, of all clients or of one.

    Parameters
    ----------
    book
        The book.
    client_id
        The one client that is wanted; None for all.
    """
    lines = listing(book).lines
    stamp = (lines, book.stamp("staff"))
    kept = _KEPT.get(book)
    if kept is not None and kept[0] == stamp:
        whole = kept[1]
    else:
        whole = _made(lines, _names(book), None)
        _KEPT[book] = (stamp, whole)
    if client_id is None:
        return whole
    own = tuple(line for line in lines if line.client_id == client_id)
    return _made(own, whole.names, client_id)


def _made(
    lines: tuple[ListLine, ...], names: Mapping[UUID, str], client_id: UUID | None
) -> Whereabouts:
    ponds: dict[UUID, ListLine] = {}
    sites: dict[UUID, ListLine] = {}
    clients: dict[UUID, ListLine] = {}
    for line in lines:
        clients.setdefault(line.client_id, line)
        if line.site_id is not None:
            sites.setdefault(line.site_id, line)
        if line.pond_id is not None:
            ponds[line.pond_id] = line
    return Whereabouts(ponds, sites, clients, names, client_id)


def _names(book: Book) -> dict[UUID, str]:
    staff = table("staff").c
    with book.reading() as connection:
        return {row.id: row.name for row in connection.execute(select(staff.id, staff.name))}
