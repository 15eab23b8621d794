"""How a bag is marked as one, and what the practice's book remembers of a bag that came back."""

from __future__ import annotations

import json
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID

from sqlalchemy import Connection, func, select

from store.book.book import Book
from store.book.copies.log import COPY, put_meta
from store.book.tables import table
from store.text import day_said

BAG = "bag"
_PONDS = "bag.ponds."
_CAME_BACK = "copy."
_PONDS_IN_ONE = 50
"""A value of `book_meta` holds so many keys."""
_LONGEST_NAME = 200


@dataclass(frozen=True, slots=True)
class Bag:
    """What a bag says of itself.

    `copy` is the copy of the book that it is, `from_copy` the one it was packed out of. `ponds` are
    those that it holds with all that hangs on them; another pond in it stands there only since a
    record points at it.
    """

    copy: UUID
    from_copy: UUID
    packed_at: datetime
    by: str
    day: date
    vet: str
    vet_id: UUID
    ponds: frozenset[UUID]

    @property
    def said(self) -> str:
        """Which bag it is, in a sentence: `bag for 16 Mar 2026, Ada Vet`."""
        return f"bag for {day_said(self.day)}, {self.vet}"


def bag_of(book: Book) -> Bag | None:
    """What a book says of itself as a bag; None for a whole book.

    Parameters
    ----------
    book
        Any book.
    """
    with book.reading() as connection:
        return read_bag(connection)


def read_bag(connection: Connection) -> Bag | None:
    """As `bag_of`, within a reading.

    Parameters
    ----------
    connection
        On a book.
    """
    meta = table("book_meta").c
    of_bags = select(meta.key, meta.value).where(
        meta.key.in_([BAG, COPY]) | meta.key.startswith(_PONDS)
    )
    said = {row.key: row.value for row in connection.execute(of_bags)}
    if BAG not in said:
        return None
    known = json.loads(said.pop(BAG))
    copy = UUID(said.pop(COPY))
    return Bag(
        copy, UUID(known["from_copy"]), datetime.fromisoformat(known["packed_at"]), known["by"],
        date.fromisoformat(known["day"]), known["vet"], UUID(known["vet_id"]),
        frozenset(UUID(key) for value in said.values() for key in value.split()),
    )  # fmt: skip


def mark_bag(connection: Connection, bag: Bag) -> None:
    """Write into a new book that it is a bag.

    Parameters
    ----------
    connection
        Inside a transaction that writes.
    bag
        What it says; its `copy` is what the book says already.
    """
    known = {
        "packed_at": bag.packed_at.isoformat(), "by": bag.by[:_LONGEST_NAME],
        "day": bag.day.isoformat(), "vet": bag.vet[:_LONGEST_NAME], "vet_id": str(bag.vet_id),
        "from_copy": str(bag.from_copy), "ponds": len(bag.ponds),
    }  # fmt: skip
    put_meta(connection, BAG, json.dumps(known, ensure_ascii=False))
    listed = sorted(key.hex for key in bag.ponds)
    for at in range(0, len(listed), _PONDS_IN_ONE):
        put_meta(connection, f"{_PONDS}{at:06}", " ".join(listed[at : at + _PONDS_IN_ONE]))


def remember_copy(connection: Connection, copy: UUID, said: str) -> None:
    """Keep in the practice's book which bag a copy was, so that its side has a name.

    Parameters
    ----------
    connection
        Inside a transaction that writes.
    copy
        The one that came back.
    said
        What it is called beside `here`; empty where nobody knows, and then a name that it has
        stays.
    """
    key, meta = f"{_CAME_BACK}{copy}", table("book_meta").c
    known = connection.execute(select(meta.value).where(meta.key == key)).scalar()
    put_meta(connection, key, said or known or "another copy")


def lines_of_copies(connection: Connection) -> dict[UUID, int]:
    """How many lines of the log each copy of the book wrote.

    Parameters
    ----------
    connection
        On a book.
    """
    link = table("change_link").c
    counts = connection.execute(select(link.copy, func.count()).group_by(link.copy))
    return {row[0]: row[1] for row in counts}


def copy_of(connection: Connection) -> UUID | None:
    """Which copy of the book this is; None where nothing was ever written.

    Parameters
    ----------
    connection
        On a book.
    """
    meta = table("book_meta").c
    said = connection.execute(select(meta.value).where(meta.key == COPY)).scalar()
    return None if said is None else UUID(said)


def came_back(connection: Connection) -> list[UUID]:
    """The copies of the book of which lines were ever brought in; without one nothing differs.

    Parameters
    ----------
    connection
        On the practice's book.
    """
    meta = table("book_meta").c
    known = select(meta.key).where(meta.key.startswith(_CAME_BACK))
    return [UUID(key.removeprefix(_CAME_BACK)) for key in connection.execute(known).scalars()]


def sides_called(connection: Connection, copies: Iterable[UUID]) -> dict[UUID, str]:
    """What copies of the book are called where their sides stand beside each other.

    Parameters
    ----------
    connection
        On the book in which they are shown.
    copies
        Which lines were written in.

    Returns
    -------
    dict
        `here` for this one, a bag by its day and person, else `another copy`.
    """
    meta = table("book_meta").c
    known = select(meta.key, meta.value).where((meta.key == COPY) | meta.key.startswith(_CAME_BACK))
    said = {row.key: row.value for row in connection.execute(known)}
    own = said.get(COPY, "")
    return {
        one: "here" if str(one) == own else said.get(f"{_CAME_BACK}{one}", "another copy")
        for one in copies
    }


def said_age(bag: Bag, now: datetime) -> str:
    """How old a bag is: `20 min ago`, `5 h ago`, `3 d ago`; `just now` also where clocks differ.

    Parameters
    ----------
    bag
        The bag.
    now
        The present instant.
    """
    minutes = int((now - bag.packed_at).total_seconds() // 60)
    if minutes < 1:
        return "just now"
    if minutes < 60:
        return f"{minutes} min ago"
    return f"{minutes // 60} h ago" if minutes < 48 * 60 else f"{minutes // 1440} d ago"
