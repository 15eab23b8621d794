"""Two clients of the book who are one: all that points to the one moves to the other.

One action: every row that moves gets its line in the log with the client before and after, what the
kept client lacked is filled in, and the emptied client is struck through with its record whole.
What moved with whom is read back out of the log by `moved_from`.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from sqlalchemy import select

from store.book.act import Act
from store.book.book import Book
from store.book.clients import Client
from store.book.merging.repointing import (
    Merged,
    asked_for,
    both_standing,
    keep_filled,
    notes_of_both,
    rename,
    repoint,
)
from store.book.tables import TableName, table
from store.book.writing import Writing

POINTING: tuple[tuple[TableName, str], ...] = (
    ("site", "client_id"),
    ("follow_up", "client_id"),
    ("contact_attempt", "client_id"),
    ("call_note", "client_id"),
)
"""Every column that points at a client. A test finds them by the tables' own keys."""

NAMING: tuple[tuple[TableName, str], ...] = (
    ("contact_attempt", "about"),
    ("visit_purpose", "about"),
)
"""Texts that may name a client by its key: a promise to ring back."""

_RING = "ring:"
_ALSO = "Also entered as "
_SPARE = ("phone", "phone2", "email")
_FEWEST_FIGURES, _MOST_CODE = 7, 4
"""Figures of a number that is more than local; those that a country's code adds in front."""


@dataclass(frozen=True, slots=True)
class Moved:
    """One row that came from another client, by the record of changes."""

    table_name: TableName
    row_id: UUID
    came_from: UUID
    at: datetime
    by: UUID
    why: str


def merge_clients(
    book: Book,
    act: Act,
    kept: UUID,
    emptied: UUID,
    why: str,
    *,
    kept_rev: int | None = None,
    emptied_rev: int | None = None,
) -> Merged:
    """Move everything of one client to another, in one action, and strike the emptied one through.

    A telephone number or mail address that the kept client lacks is taken over; what finds no place
    and the notes of the emptied client are added to the notes of the kept one.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who says that the two are one, and when.
    kept, emptied
        Keys of the two clients.
    why
        By what the person knows; never empty.
    kept_rev, emptied_rev
        The revisions that the person saw; left out, the present ones are taken.

    Returns
    -------
    Merged
        What moved.

    Raises
    ------
    BadInput
        No reason, or one client given twice.
    NotAllowed
        One of the two is struck through.
    NotFound, ChangedMeanwhile
        As for `Writing.change`.
    """
    with book.writing(act) as writing:
        return merge_in(writing, kept, emptied, why, kept_rev=kept_rev, emptied_rev=emptied_rev)


def merge_in(
    writing: Writing,
    kept: UUID,
    emptied: UUID,
    why: str,
    *,
    kept_rev: int | None = None,
    emptied_rev: int | None = None,
) -> Merged:
    """As `merge_clients`, within an action that does more.

    Parameters
    ----------
    writing
        The action.
    kept, emptied, why, kept_rev, emptied_rev
        As for `merge_clients`.

    Returns
    -------
    Merged
        What moved.

    Raises
    ------
    BadInput, NotAllowed, NotFound, ChangedMeanwhile
        As for `merge_clients`.
    """
    reason = asked_for(kept, emptied, why, "client")
    both = both_standing(writing, Client, "client", {kept: kept_rev, emptied: emptied_rev})
    into, out = both[kept], both[emptied]
    said = f"the same client as {out.name:.200}: {reason}"[:2000]
    moved = {
        name: count
        for name, column in POINTING
        if (count := repoint(writing, name, column, emptied, kept, said))
    }
    for name, column in NAMING:
        rename(writing, name, column, f"{_RING}{emptied.hex}", f"{_RING}{kept.hex}", said)
    told = []
    if _rung(writing, kept) > moved.get("contact_attempt", 0) > 0:
        told.append("Both were rung before: the last call to either counts now for the one.")
    filled = _filled(into, out)
    keep_filled(writing, "client", kept, into.rev, filled, said)
    writing.strike(
        "client", emptied, f"the same client as {into.name:.200}: {reason}"[:2000], out.rev
    )
    return Merged(kept, emptied, moved, tuple(filled), tuple(told))


def moved_from(book: Book, client: UUID) -> tuple[Moved, ...]:
    """What came to a client from another, so that two can be told apart again.

    Parameters
    ----------
    book
        The book.
    client
        Key of the client that was kept.

    Returns
    -------
    tuple of Moved
        Rows that point to the client now and pointed to another before, the newest move first. A
        row that moved twice stands with its last move.
    """
    change = table("change")
    found: list[Moved] = []
    with book.reading() as connection:
        for name, column in POINTING:
            target = table(name)
            query = (
                select(
                    change.c.row_id, change.c.before, change.c.after, change.c.at, change.c.by,
                    change.c.why,
                )
                .join(target, target.c.id == change.c.row_id)
                .where(
                    target.c[column] == client,
                    change.c.table_name == name,
                    change.c.what == "change",
                )
                .order_by(change.c.rev)
            )  # fmt: skip
            last: dict[UUID, Moved] = {}
            for row, before, after, at, by, why in connection.execute(query):
                was = (before or {}).get(column)
                if was is not None and (after or {}).get(column) == str(client):
                    last[row] = Moved(name, row, UUID(was), at, by, why)
            found.extend(last.values())
    return tuple(sorted(found, key=lambda one: (one.at, str(one.row_id)), reverse=True))


def entered_as(notes: str) -> tuple[str, ...]:
    """The names by which a client was entered before, out of its notes.

    Parameters
    ----------
    notes
        Of the client that was kept.

    Examples
    --------
    >>> entered_as("Dog bites.\\nAlso entered as Alder, Anne; telephone 01632 960113")
    ('Alder, Anne',)
    """
    return tuple(
        line.removeprefix(_ALSO).split(";")[0].strip()
        for line in notes.splitlines()
        if line.startswith(_ALSO)
    )


def _rung(writing: Writing, client: UUID) -> int:
    calls = table("contact_attempt").c
    query = select(calls.id).where(calls.client_id == client, calls.struck_at.is_(None))
    return len(writing.connection.execute(query).all())


def _filled(into: Client, out: Client) -> dict[str, str]:
    """What the kept client gets of the other: empty fields, the rest as a line of the notes."""
    filled: dict[str, str] = {}
    have = [value for field in _SPARE if (value := getattr(into, field))]
    over: list[str] = []
    for field in _SPARE:
        value = getattr(out, field)
        if not value or any(_same(value, other) for other in have):
            continue
        have.append(value)
        free = [
            place
            for place in (("phone", "phone2") if field != "email" else ("email",))
            if not getattr(into, place) and place not in filled
        ]
        if free:
            filled[free[0]] = value
        else:
            over.append(f"{'mail' if field == 'email' else 'telephone'} {value}")
    also = [] if _same(out.name, into.name) and not over else [f"{_ALSO}{out.name}"]
    if notes := notes_of_both(into.notes, out.notes, [*also, *over]):
        filled["notes"] = notes
    return filled


def _same(one: str, other: str) -> bool:
    """Whether two texts say the same; of telephones only the figures count.

    The code of a country in front makes no other number: +44 1632 960111 is 01632 960111.
    """
    if any(map(str.isalpha, one + other)):
        return one.casefold().split() == other.casefold().split()
    short, long = sorted((_figures(one), _figures(other)), key=len)
    if len(short) < _FEWEST_FIGURES:
        return short == long
    return long.endswith(short) and len(long) - len(short) <= _MOST_CODE


def _figures(phone: str) -> str:
    return "".join(letter for letter in phone if letter.isdigit()).lstrip("0")
