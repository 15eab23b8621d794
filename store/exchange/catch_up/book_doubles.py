"""Clients of the book who may be one, each with what speaks for it; a person merges them."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import UUID

from store.book.book import Book
from store.errors import NotFound
from store.exchange.catch_up.doubles import Pair, doubles
from store.exchange.catch_up.grouped import side
from store.exchange.catch_up.known_clients import known_clients


@dataclass(frozen=True, slots=True)
class BookDouble:
    """Another client of the book who may be the one that was asked for.

    `rev` and `other_rev` are the revisions that were compared; `left` and `right` tell of both,
    as label and value.
    """

    client_id: UUID
    rev: int
    name: str
    other_id: UUID
    other_rev: int
    other_name: str
    score: int
    said: str
    left: tuple[tuple[str, str], ...]
    right: tuple[tuple[str, str], ...]


def doubles_of(book: Book, client: UUID) -> tuple[BookDouble, ...]:
    """Who of the book may be the same as a client, the likeliest first.

    Parameters
    ----------
    book
        The practice's book.
    client
        Key of the client.

    Returns
    -------
    tuple of BookDouble
        Empty where nobody is alike.

    Raises
    ------
    NotFound
        There is no such client, or it is struck through.
    """
    known = known_clients(book)
    mine = known.pop(client.hex, None)
    if mine is None:
        raise NotFound("There is no such client in the book, or it is struck through.")
    somebody = mine.somebody
    others = {key: one.somebody for key, one in known.items()}

    def told(pair: Pair) -> BookDouble:
        other = known[pair.other].client
        places = tuple(("ponds", str(len(each))) for each in known[pair.other].ponds.values())
        own = tuple(("ponds", str(len(each))) for each in mine.ponds.values())
        return BookDouble(
            client, mine.client.rev, mine.client.name, other.id, other.rev, other.name,
            pair.score, pair.said, (*side(somebody), *own), (*side(others[pair.other]), *places),
        )  # fmt: skip

    return tuple(told(pair) for pair in doubles([somebody], list(others.values())))
