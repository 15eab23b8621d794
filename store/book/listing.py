"""The directory: every client, site and pond on a line of its own, those struck through as well.

A pond has a line; so has a site without ponds, and a client without sites: they can be found, and
get their ponds. All lines are read by one query and kept until one of the three tables is written.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Literal
from uuid import UUID
from weakref import WeakKeyDictionary

from sqlalchemy import select

from store.book.book import Book
from store.book.find import find, folded
from store.book.tables import table

Part = Literal["client", "site", "pond"]
PARTS: tuple[Part, ...] = ("client", "site", "pond")
_NOT_DIGIT = re.compile(r"\D")
_ALL = 1 << 30


@dataclass(frozen=True, slots=True)
class ListLine:
    """One line of the directory, with what a person on the telephone is asked about."""

    client_id: UUID
    site_id: UUID | None
    pond_id: UUID | None
    client: str
    phone: str
    phone2: str
    email: str
    site: str
    address: str
    town: str
    postcode: str
    access_hours: str
    access_notes: str
    pond: str
    code: str
    struck: Part | None
    """The outermost part that is struck through, or None."""
    struck_why: str

    @property
    def key(self) -> UUID:
        """Key of the innermost part of the line; no two lines have the same."""
        return self.pond_id or self.site_id or self.client_id

    def part(self, part: Part) -> UUID | None:
        """Key of the client, the site or the pond of this line."""
        return {"client": self.client_id, "site": self.site_id, "pond": self.pond_id}[part]


@dataclass(frozen=True, slots=True)
class Listing:
    """The lines that fit what was typed, and the number of those that are not shown."""

    lines: tuple[ListLine, ...]
    ponds: int
    """Ponds that stand in the book."""
    struck: int
    """Lines that are struck through, shown or not."""


@dataclass(frozen=True, slots=True)
class _Lines:
    stamp: str
    standing: tuple[ListLine, ...]
    whole: tuple[ListLine, ...]


_KEPT: WeakKeyDictionary[Book, _Lines] = WeakKeyDictionary()
"""Thrown away without loss: read again when the stamp of the three tables is another."""


def listing(book: Book, text: str = "", *, struck: bool = False) -> Listing:
    """The directory by client, site and pond, or those of its lines that fit what was typed.

    Parameters
    ----------
    book
        The book.
    text
        Part of a name, town, street or telephone number, misspelt too; empty for all.
    struck
        Also the lines that are struck through; these are compared letter by letter.

    Returns
    -------
    Listing
        A site without a standing pond, and a client without a standing site, have a line too.
    """
    kept = _kept(book)
    lines = kept.whole if struck else kept.standing
    if text.strip():
        found = find(book, text, limit=_ALL)
        ponds = {one.pond_id for one in found if one.pond_id is not None}
        owners = {one.client_id for one in found if one.pond_id is None}
        words, digits = folded(text).split(), _NOT_DIGIT.sub("", text)
        lines = tuple(
            line
            for line in lines
            if (
                _has(line, words, digits)
                if line.struck
                else (line.pond_id in ponds if line.pond_id else line.client_id in owners)
            )
        )
    return Listing(
        lines,
        sum(line.pond_id is not None for line in kept.standing),
        sum(line.struck is not None for line in kept.whole),
    )


def _has(line: ListLine, words: Sequence[str], digits: str) -> bool:
    texts = folded(
        " ".join((line.client, line.site, line.town, line.address, line.pond, line.code))
    )
    if all(word in texts for word in words):
        return True
    phones = (_NOT_DIGIT.sub("", line.phone), _NOT_DIGIT.sub("", line.phone2))
    return len(digits) > 2 and any(digits in phone for phone in phones)


def _kept(book: Book) -> _Lines:
    stamp = book.stamp(*PARTS)
    kept = _KEPT.get(book)
    if kept is None or kept.stamp != stamp:
        whole = _read(book)
        kept = _KEPT[book] = _Lines(stamp, _standing(whole), tuple(whole))
    return kept


def _read(book: Book) -> list[ListLine]:
    client, site, pond = table("client"), table("site"), table("pond")
    query = (
        select(
            client.c.id, site.c.id, pond.c.id,
            client.c.name, client.c.phone, client.c.phone2, client.c.email,
            site.c.name, site.c.address, site.c.town, site.c.postcode,
            site.c.access_hours, site.c.access_notes, pond.c.name, pond.c.code,
            client.c.struck_at, site.c.struck_at, pond.c.struck_at,
            client.c.struck_why, site.c.struck_why, pond.c.struck_why,
        )
        .join_from(client, site, site.c.client_id == client.c.id, isouter=True)
        .join(pond, pond.c.site_id == site.c.id, isouter=True)
    )  # fmt: skip
    with book.reading() as connection:
        rows = connection.execute(query).all()
    return sorted((_line(tuple(row)) for row in rows), key=_order)


def _order(line: ListLine) -> tuple[str, ...]:
    return (
        folded(line.client), str(line.client_id), folded(line.site), str(line.site_id),
        folded(line.pond), str(line.pond_id),
    )  # fmt: skip


def _line(row: tuple[Any, ...]) -> ListLine:
    keys, texts, struck_at, why = row[:3], row[3:15], row[15:18], row[18:21]
    struck = next((place for place in range(3) if struck_at[place] is not None), None)
    values: tuple[Any, ...] = (
        *keys,
        *(text or "" for text in texts),
        None if struck is None else PARTS[struck],
        "" if struck is None else why[struck],
    )
    return ListLine(*values)


def _standing(whole: Sequence[ListLine]) -> tuple[ListLine, ...]:
    """Lines with nothing struck; what lost all its parts stands alone on a line."""
    found: list[ListLine] = []
    sites, owners = set(), set()
    for line in whole:
        if line.struck is None:
            found.append(line)
            owners.add(line.client_id)
            if line.pond_id is not None:
                sites.add(line.site_id)
    bare: dict[UUID, ListLine] = {}
    for line in whole:
        if line.struck == "pond" and line.site_id is not None and line.site_id not in sites:
            bare.setdefault(line.site_id, _cut(line, "site"))
            owners.add(line.client_id)
    for line in whole:
        if line.struck == "site" and line.client_id not in owners:
            bare.setdefault(line.client_id, _cut(line, "client"))
    return tuple(sorted([*found, *bare.values()], key=_order)) if bare else tuple(found)


def _cut(line: ListLine, last: Part) -> ListLine:
    """The line up to its site, or its client, which stand."""
    at_site = last == "site"
    return ListLine(
        line.client_id, line.site_id if at_site else None, None,
        line.client, line.phone, line.phone2, line.email,
        line.site if at_site else "", line.address if at_site else "",
        line.town if at_site else "", line.postcode if at_site else "",
        line.access_hours if at_site else "", line.access_notes if at_site else "",
        "", "", None, "",
    )  # fmt: skip
