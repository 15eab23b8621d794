"""The rows of a book on a server in a file, table by table, of whatever number they are."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterable, Iterator, Sequence
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Table, delete, insert, literal, select, text

from store.book import schema
from store.book.engines import sqlite_engine
from store.book.tables_of_then import tables_of_then
from store.errors import BookTrouble

_AT_ONCE = 1000
_TOP = 1 << 256


def copy_of_server(
    connection: Connection, number: int, path: Path, told: Callable[[str], None]
) -> None:
    """Put all rows into an empty file, read them anew and compare.

    Parameters
    ----------
    connection
        On the server's book, in a transaction that sees one unchanging state of it.
    number
        Of its tables.
    path
        An empty file.
    told
        Is told what is being done.

    Raises
    ------
    BookTrouble
        What was read anew is not what was read.
    """
    engine = sqlite_engine(path, keep_journal=True)
    try:
        schema.upgrade(engine, number)
        with engine.connect().execution_options(pondround_writes=True) as into:
            tables = tables_of_then(into)
            into.rollback()
            with into.begin():
                into.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
                written = {}
                for name, table in tables.items():
                    told(f"copying {name.replace('_', ' ')}")
                    into.execute(delete(table))
                    rows = connection.execution_options(yield_per=_AT_ONCE).execute(
                        select(*_readable(connection, table))
                    )
                    written[name] = digest(_put(into, table, rows.partitions(_AT_ONCE)))
        told("comparing it with the book")
        with engine.connect() as there:
            for name, table in tables.items():
                rows = there.execution_options(yield_per=_AT_ONCE).execute(select(table))
                if digest(tuple(row) for row in rows) != written[name]:
                    raise BookTrouble(
                        f"The backup was not as the book is (in {name}); it was thrown away. Try "
                        "again; if it stays so the disk may be failing.",
                        title="The backup failed",
                    )
    finally:
        engine.dispose()


def _readable(connection: Connection, table: Table) -> list[Any]:
    """The columns of a table; what this login may not see (hashes of passphrases) stays empty."""
    if table.name != "sign_in":
        return list(table.columns)
    asked = text("SELECT has_column_privilege('sign_in', :name, 'SELECT')")
    return [
        one if connection.execute(asked, {"name": one.name}).scalar()
        else literal("", one.type).label(one.name)
        for one in table.columns
    ]  # fmt: skip


def _put(
    into: Connection, table: Table, parts: Iterable[Sequence[Any]]
) -> Iterator[tuple[Any, ...]]:
    names = [one.name for one in table.columns]
    for part in parts:
        into.execute(insert(table), [dict(zip(names, row, strict=True)) for row in part])
        yield from (tuple(row) for row in part)


def digest(rows: Iterable[tuple[Any, ...]]) -> tuple[int, int]:
    """How many rows there are, and the sum of their hashes: the same in whatever order they come.

    Parameters
    ----------
    rows
        Of a table.
    """
    count = total = 0
    for row in rows:
        text = json.dumps(row, sort_keys=True, default=str)
        total = (total + int.from_bytes(hashlib.sha256(text.encode()).digest(), "big")) % _TOP
        count += 1
    return count, total
