"""Rows that two sides changed to different things, in words: before, here, and in the bag."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.book import Book
from store.book.copies.choosing import Unsettled, unsettled
from store.book.copies.lineage import Difference, Side
from store.book.copies.together import STRUCK
from store.book.some_rows import rows_of
from store.book.tables import TableName, table
from store.exchange.bag.marks import sides_called
from store.record.kinds import kind_of, label_of
from store.record.names import Names
from store.record.values import keys_in, said_value


@dataclass(frozen=True, slots=True)
class SideTold:
    """What one side says: in which copy of the book it was written, by whom, when and why.

    `said` has a text for each label of its group, empty for empty; `values` are the columns as the
    log keeps them.
    """

    where: str
    by: str
    at: datetime
    why: str
    said: tuple[str, ...]
    values: Mapping[str, Any]


@dataclass(frozen=True, slots=True)
class GroupTold:
    """Columns that are taken together from one side: labels, before, and what each side says.

    Sides stand by their clocks; the last one stands in the book until a person chooses.
    """

    labels: tuple[str, ...]
    before: tuple[str, ...]
    sides: tuple[SideTold, ...]


@dataclass(frozen=True, slots=True)
class DifferingTold:
    """One row that waits for a choice: which it is, whose, its pond, and what differs.

    `rev` is its present revision, to be given back with the choice.
    """

    table: TableName
    key: UUID
    rev: int
    kind: str
    what: str
    whose: str
    pond: UUID | None
    groups: tuple[GroupTold, ...]


def told_differing(book: Book) -> tuple[DifferingTold, ...]:
    """All rows that wait for a person's choice, in words.

    Parameters
    ----------
    book
        The practice's book.

    Returns
    -------
    tuple of DifferingTold
        By what they are called.
    """
    waiting = unsettled(book)
    if not waiting:
        return ()
    zone = book.zone
    with book.reading() as connection:
        return tell_differing(connection, Names(connection, zone), waiting)


def tell_differing(
    connection: Connection, names: Names, waiting: Sequence[Unsettled]
) -> tuple[DifferingTold, ...]:
    """As `told_differing`, of rows that are known.

    Parameters
    ----------
    connection
        On the practice's book.
    names
        Of the same reading.
    waiting
        The rows.
    """
    sides = [side for one in waiting for each in one.differences for side in each.sides]
    where = _written_in(connection, sides)
    people = _people(connection)
    wanted = {(str(one.table), one.key) for one in waiting}
    for one in waiting:
        for each in one.differences:
            for values in (each.before, *(side.values for side in each.sides)):
                wanted.update(keys_in(one.table, values))
    names.load(wanted)
    told = [_told(one, names, where, people) for one in waiting]
    return tuple(sorted(told, key=lambda one: (one.whose.casefold(), one.what, str(one.key))))


def _written_in(connection: Connection, sides: Iterable[Side]) -> dict[UUID, str]:
    """What the copy is called in which each line was written."""
    link = table("change_link").c
    keys = [side.line.id for side in sides]
    found = {
        row.change_id: row.copy
        for row in rows_of(connection, select(link.change_id, link.copy), link.change_id, keys)
    }
    called = sides_called(connection, set(found.values()))
    return {line: called[copy] for line, copy in found.items()}


def _people(connection: Connection) -> dict[UUID, str]:
    staff = table("staff").c
    return {row.id: row.name for row in connection.execute(select(staff.id, staff.name))}


def _told(
    one: Unsettled, names: Names, where: Mapping[UUID, str], people: Mapping[UUID, str]
) -> DifferingTold:
    belongs = names.belongs(one.table, one.key)
    client = belongs.keys.get("client")
    return DifferingTold(
        one.table, one.key, one.rev, kind_of(one.table).said, names.title(one.table, one.key),
        "" if client is None else names.name("client", client), belongs.keys.get("pond"),
        tuple(_group(one, each, names, where, people) for each in one.differences),
    )  # fmt: skip


def _group(
    one: Unsettled,
    difference: Difference,
    names: Names,
    where: Mapping[UUID, str],
    people: Mapping[UUID, str],
) -> GroupTold:
    shown = _shown(difference)

    def said(values: Mapping[str, Any]) -> tuple[str, ...]:
        return tuple(_said(one, column, values, names) for column in shown)

    return GroupTold(
        tuple("record" if column in STRUCK else label_of(one.table, column) for column in shown),
        said(difference.before),
        tuple(
            SideTold(
                where.get(side.line.id, "another copy"), people.get(side.line.by, ""),
                side.line.at, side.line.why, said(side.values), side.values,
            )
            for side in difference.sides
        ),
    )  # fmt: skip


def _shown(difference: Difference) -> tuple[str, ...]:
    """The columns that really differ; of those that tell that a row was struck, the first."""
    if set(difference.columns) & set(STRUCK):
        return (STRUCK[0],)
    sides = [side.values for side in difference.sides]
    return tuple(
        column
        for column in difference.columns
        if any(values.get(column) != sides[0].get(column) for values in sides)
    )


def _said(one: Unsettled, column: str, values: Mapping[str, Any], names: Names) -> str:
    if column in STRUCK:
        if values.get("struck_at") is None:
            return "not struck through"
        return f"struck through: {values.get('struck_why') or 'no reason'}"
    return said_value(one.table, column, values.get(column), names, one.key, beside=values)
