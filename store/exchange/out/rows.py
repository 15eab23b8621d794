"""Rows of a table as the database gives them, one after another: memory stays flat."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import Any

from sqlalchemy import (
    Column,
    ColumnElement,
    Connection,
    String,
    Table,
    func,
    literal,
    select,
    type_coerce,
)
from sqlalchemy.types import NULLTYPE

AT_ONCE = 2000
"""So many rows are held at a time."""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far a long work is: `done` of `whole` rows, and in which table."""

    table: str
    done: int
    whole: int


NEVER_WRITTEN = frozenset({("sign_in", "passphrase")})
"""Columns that stand empty in every file: in a book made of one, people set their own anew."""

Told = Callable[[Progress], None]
"""Is given how far it is, after every few thousand rows."""


def quiet(progress: Progress) -> None:
    """Tell nobody.

    Parameters
    ----------
    progress
        How far it is.
    """


def written_columns(table: Table) -> list[Column[Any]]:
    """The columns of a table in the order in which a file has them: the key comes first.

    Parameters
    ----------
    table
        The table.
    """
    return sorted(table.columns, key=lambda one: one.name != "id")


def raw_rows(
    connection: Connection, table: Table, *conditions: ColumnElement[bool]
) -> Iterator[Sequence[Sequence[Any]]]:
    """The rows of a table in the order of its key, some at a time.

    Parameters
    ----------
    connection
        Of a reading of the book.
    table
        The table.
    *conditions
        Which rows are wanted; none for all.

    Yields
    ------
    sequence of rows
        In the order of `written_columns`; values as the driver gives them, no type of ours has
        touched them.
    """
    columns = [
        (
            literal("") if (table.name, one.name) in NEVER_WRITTEN else type_coerce(one, NULLTYPE)
        ).label(one.name)
        for one in written_columns(table)
    ]
    query = select(*columns).where(*conditions).order_by(*_order(connection, table))
    result = connection.execution_options(stream_results=True, max_row_buffer=AT_ONCE).execute(
        query
    )
    try:
        yield from result.partitions(AT_ONCE)
    finally:
        result.close()


def _order(connection: Connection, table: Table) -> list[Any]:
    """By key; texts by their bytes, so that both databases write the same file."""
    postgres = connection.dialect.name == "postgresql"
    return [
        one.collate("C") if postgres and isinstance(one.type, String) else one
        for one in table.primary_key.columns
    ]


def count_rows(connection: Connection, table: Table, *conditions: ColumnElement[bool]) -> int:
    """How many rows a table has.

    Parameters
    ----------
    connection
        Of a reading of the book.
    table
        The table.
    *conditions
        Which rows count; none for all.
    """
    query = select(func.count()).select_from(table).where(*conditions)
    return int(connection.execute(query).scalar_one())
