"""Records of the book that may be one, each pair with what speaks for it; a person merges them."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Literal
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.merging.repointing import Merged
from store.errors import BadInput, NotFound
from store.exchange.catch_up.doubles import Pair, compare, doubles
from store.exchange.catch_up.grouped import side
from store.exchange.catch_up.known_clients import KnownClient, known_clients

Kind = Literal["client", "site", "pond"]
_FEW = 3
NOTHING = "nothing that is compared speaks for it"


@dataclass(frozen=True, slots=True)
class BookDouble:
    """Two of the book who may be one, or whom a person takes for one.

    `rev` and `other_rev` are the revisions that were compared; `left` and `right` tell of both,
    as label and value; `score` is 0 where nothing speaks for it.
    """

    kind: Kind
    one_id: UUID
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
    mine = _standing(known, client)
    others = [one.somebody for key, one in known.items() if key != client.hex]
    return tuple(_told(known, pair) for pair in doubles([mine.somebody], others))


def client_doubles(book: Book) -> tuple[BookDouble, ...]:
    """All pairs of clients of the book who may be one, the likeliest first.

    Parameters
    ----------
    book
        The practice's book.
    """
    known = known_clients(book)
    return tuple(_told(known, pair) for pair in doubles([one.somebody for one in known.values()]))


def two_clients(book: Book, one: UUID, other: UUID) -> BookDouble:
    """Any two clients side by side, whether they look alike or not.

    Parameters
    ----------
    book
        The practice's book.
    one, other
        Keys of the two.

    Raises
    ------
    NotFound
        One of them is not in the book, or struck through.
    BadInput
        It is one client given twice.
    """
    if one == other:
        raise BadInput("That is one client given twice; nothing was changed.")
    known = known_clients(book)
    return _told(known, compare(_standing(known, one).somebody, _standing(known, other).somebody))


def merge_two(
    book: Book, act: Act, pair: BookDouble, why: str, *, other_stays: bool = False
) -> Merged:
    """Merge two that were looked at, in one action.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who says that they are one, and when.
    pair
        As they were shown: what was changed since is not merged unseen.
    why
        By what the person knows; never empty.
    other_stays
        The second of the pair stays, the first is emptied.

    Returns
    -------
    Merged
        What moved, and which sites of the kept client may be one now.

    Raises
    ------
    BadInput, NotAllowed, NotFound, ChangedMeanwhile
        As for `merge_clients`, `merge_sites` and `merge_ponds`.
    """
    from store.book.merging.merge_clients import merge_clients
    from store.book.merging.merge_ponds import merge_ponds
    from store.book.merging.merge_sites import merge_sites

    merge = {"client": merge_clients, "site": merge_sites, "pond": merge_ponds}[pair.kind]
    kept, emptied = (pair.one_id, pair.rev), (pair.other_id, pair.other_rev)
    if other_stays:
        kept, emptied = emptied, kept
    done = merge(book, act, kept[0], emptied[0], why, kept_rev=kept[1], emptied_rev=emptied[1])
    if pair.kind != "client":
        return done
    from store.exchange.catch_up.place_doubles import site_doubles

    sites = tuple(
        f"The sites {one.name} and {one.other_name} may be one: {one.said}."
        for one in site_doubles(book, kept[0])
        if done.moved.get("site")
    )
    return replace(done, told=(*done.told, *sites[:_FEW]))


def _standing(known: Mapping[str, KnownClient], key: UUID) -> KnownClient:
    found = known.get(key.hex)
    if found is None:
        raise NotFound("There is no such client in the book, or it is struck through.")
    return found


def _told(known: Mapping[str, KnownClient], pair: Pair) -> BookDouble:
    one, other = known[pair.one], known[pair.other]
    return BookDouble(
        "client", one.client.id, one.client.rev, one.client.name,
        other.client.id, other.client.rev, other.client.name,
        pair.score, pair.said if pair.reasons else "; ".join([NOTHING, *pair.against]),
        tuple(_side(one)), tuple(_side(other)),
    )  # fmt: skip


def _side(one: KnownClient) -> Iterable[tuple[str, str]]:
    yield from side(one.somebody)
    ponds = [pond.name for each in one.ponds.values() for pond in each]
    yield "ponds", f"{len(ponds)}: {', '.join(ponds)}" if ponds else "none"
    if one.client.notes:
        yield "notes", " ".join(one.client.notes.split())
