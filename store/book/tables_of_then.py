"""The tables of a book of any number, as the book itself tells them."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from sqlalchemy import Column, Connection, Date, Inspector, LargeBinary, MetaData, Table, inspect

from store.book.columns import EARLIEST, LATEST, Day, Instant, Key, milliseconds


def tables_of_then(connection: Connection) -> dict[str, Table]:
    """The tables of a book of any number, with the kinds of their columns.

    Parameters
    ----------
    connection
        Open on a book in SQLite.

    Returns
    -------
    dict
        By name.
    """
    known = inspect(connection)
    return {
        name: Table(
            name,
            MetaData(),
            *(
                Column(one["name"], _kind(one, known, name), nullable=bool(one["nullable"]))
                for one in known.get_columns(name)
            ),
        )
        for name in known.get_table_names()
        if name != "alembic_version"
    }


def _kind(column: Mapping[str, Any], known: Inspector, table: str) -> Any:
    """The kind of a column; SQLite has no type for keys, days and instants."""
    kind = column["type"]
    if isinstance(kind, LargeBinary):
        return Key()
    if isinstance(kind, Date):
        return Day()
    bounds = f"{column['name']} BETWEEN {milliseconds(EARLIEST)} AND {milliseconds(LATEST)}"
    if any(str(one["sqltext"]) == bounds for one in known.get_check_constraints(table)):
        return Instant()
    return kind
