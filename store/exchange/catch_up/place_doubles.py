"""Sites of one client, and ponds of one site, that may have been entered twice."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from itertools import combinations
from typing import TypeVar
from uuid import UUID

from sqlalchemy import func, select

from store.book.book import Book
from store.book.clients import Site
from store.book.ponds import Pond
from store.book.tables import table
from store.errors import BadInput, NotFound
from store.exchange.catch_up.book_doubles import NOTHING, BookDouble
from store.exchange.catch_up.doubles import place_evidence
from store.exchange.catch_up.folding import words
from store.exchange.catch_up.known_clients import KnownClient, address_of, known_clients

_Found = TypeVar("_Found")
_NAME, _CODE = 55, 75
"""What a name or a code that is the same counts, as for clients: it puts pairs in order only."""


def site_doubles(book: Book, client: UUID | None = None) -> tuple[BookDouble, ...]:
    """Sites of one client with the same or a like address, or of one name, the likeliest first.

    Parameters
    ----------
    book
        The practice's book.
    client
        Of this client alone; None for all.
    """
    found = []
    for owner in _owners(book, client):
        for one, other in combinations(owner.sites, 2):
            score, said = _sites_alike(one, other)
            if said:
                found.append(_two_sites(owner, one, other, score, said))
    return tuple(sorted(found, key=lambda pair: -pair.score))


def pond_doubles(book: Book, client: UUID | None = None) -> tuple[BookDouble, ...]:
    """Ponds of one site with the same name or the same code, the likeliest first.

    Parameters
    ----------
    book
        The practice's book.
    client
        Of this client alone; None for all.
    """
    found = []
    tests = _tests(book)
    for owner in _owners(book, client):
        for site in owner.sites:
            for one, other in combinations(owner.ponds[site.id], 2):
                score, said = _ponds_alike(one, other)
                if said:
                    found.append(_two_ponds(site, one, other, score, said, tests))
    return tuple(sorted(found, key=lambda pair: -pair.score))


def two_sites(book: Book, one: UUID, other: UUID) -> BookDouble:
    """Any two sites of one client side by side.

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
        It is one given twice, or they belong to two clients.
    """
    _refuse_same(one, other, "site")
    found = {site.id: (owner, site) for owner in _owners(book, None) for site in owner.sites}
    (mine, first), (theirs, second) = _both(found, one, other, "site")
    if mine is not theirs:
        raise BadInput(
            f"{first.name} belongs to {mine.client.name}, {second.name} to {theirs.client.name}. "
            "If the two clients are one, merge them first."
        )
    return _two_sites(mine, first, second, *_sites_alike(first, second))


def two_ponds(book: Book, one: UUID, other: UUID) -> BookDouble:
    """Any two ponds of one site side by side.

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
        It is one given twice, or they lie at two sites.
    """
    _refuse_same(one, other, "pond")
    found = {
        pond.id: (site, pond)
        for owner in _owners(book, None)
        for site in owner.sites
        for pond in owner.ponds[site.id]
    }
    (here, first), (there, second) = _both(found, one, other, "pond")
    if here is not there:
        raise BadInput(
            f"{first.name} lies at {here.name}, {second.name} at {there.name}. If the two sites "
            "are one, merge them first."
        )
    return _two_ponds(here, first, second, *_ponds_alike(first, second), _tests(book))


def _refuse_same(one: UUID, other: UUID, what: str) -> None:
    if one == other:
        raise BadInput(f"That is one {what} given twice; nothing was changed.")


def _both(found: Mapping[UUID, _Found], one: UUID, other: UUID, what: str) -> tuple[_Found, _Found]:
    for key in (one, other):
        if key not in found:
            raise NotFound(f"There is no such {what} in the book, or it is struck through.")
    return found[one], found[other]


def _owners(book: Book, client: UUID | None) -> Iterable[KnownClient]:
    known = known_clients(book)
    if client is None:
        return known.values()
    return [known[client.hex]] if client.hex in known else []


def _tests(book: Book) -> dict[UUID, int]:
    tests = table("water_test").c
    query = select(tests.pond_id, func.count()).where(tests.struck_at.is_(None))
    with book.reading() as connection:
        return {row[0]: row[1] for row in connection.execute(query.group_by(tests.pond_id))}


def _sites_alike(one: Site, other: Site) -> tuple[int, str]:
    reasons, left = [], 1.0
    if words(one.name) == words(other.name):
        reasons.append("the name is the same")
        left *= 1 - _NAME / 100
    mine, theirs = address_of(one), address_of(other)
    evidence = place_evidence(mine, theirs) if mine and theirs else None
    if evidence is not None:
        weight, said = evidence
        reasons.append(said)
        left *= 1 - weight
    elif mine and theirs:
        return 0, ""  # two gardens called Garden
    return round(100 * (1 - left)), "; ".join(reasons)


def _ponds_alike(one: Pond, other: Pond) -> tuple[int, str]:
    reasons, left = [], 1.0
    if words(one.name) == words(other.name):
        reasons.append("the name is the same")
        left *= 1 - _NAME / 100
    if one.code and words(one.code) == words(other.code):
        reasons.append(f"the code is the same ({one.code})")
        left *= 1 - _CODE / 100
    return round(100 * (1 - left)), "; ".join(reasons)


def _two_sites(owner: KnownClient, one: Site, other: Site, score: int, said: str) -> BookDouble:
    def told(site: Site) -> Iterator[tuple[str, str]]:
        yield "name", site.name
        yield "client", owner.client.name
        if address := address_of(site).said:
            yield "address", address
        for label, text in (("access", site.access_hours), ("notes", site.access_notes)):
            if text:
                yield label, " ".join(text.split())
        ponds = [pond.name for pond in owner.ponds[site.id]]
        yield "ponds", f"{len(ponds)}: {', '.join(ponds)}" if ponds else "none"

    return BookDouble(
        "site", one.id, one.rev, one.name, other.id, other.rev, other.name, score,
        said or NOTHING, tuple(told(one)), tuple(told(other)),
    )  # fmt: skip


def _two_ponds(
    site: Site, one: Pond, other: Pond, score: int, said: str, tests: Mapping[UUID, int]
) -> BookDouble:
    def told(pond: Pond) -> Iterator[tuple[str, str]]:
        yield "name", pond.name
        yield "site", site.name
        for label, text in (
            ("code", pond.code),
            ("volume", "" if pond.volume_l is None else f"{pond.volume_l:,.0f} L"),
            ("depth", "" if pond.depth_m is None else f"{pond.depth_m:g} m"),
            ("use", "" if pond.use == "not asked" else pond.use),
            ("fish", pond.species),
            ("lining", pond.lining),
            ("filter", pond.filter),
            ("notes", " ".join(pond.notes.split())),
        ):
            if text:
                yield label, text
        yield "water tests", str(tests.get(pond.id, 0))

    return BookDouble(
        "pond", one.id, one.rev, one.name, other.id, other.rev, other.name, score,
        said or NOTHING, tuple(told(one)), tuple(told(other)),
    )  # fmt: skip
