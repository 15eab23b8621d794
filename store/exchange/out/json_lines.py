"""The book for programs: JSON, one object a line, so that no file has to fit into memory.

One table is a file in which each line is a row: an object with the columns by name. The whole book
is one file: its first line says what it is, each further line is `{"table": …, "row": {…}}`, tables
that are pointed at before those that point at them. Keys, instants (UTC, with offset), days and
times of day are text; numbers, true, false and null are those of JSON; lists and named values are
nested. Texts stand as they are in the book: nothing is marked for spreadsheets, and what could
drive a terminal, which only a program past this one can have written, is escaped.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterator, Sequence
from datetime import UTC, datetime
from pathlib import Path
from typing import Any, BinaryIO

from sqlalchemy import ColumnElement, Connection, Table

from store.book.book import Book
from store.book.columns import Base
from store.book.schema import HEAD
from store.errors import BadInput
from store.exchange.out.book_folder import book_rows, own_version, practice_name
from store.exchange.out.cells import value_of
from store.exchange.out.folder import FORMAT, WHAT
from store.exchange.out.narrowed import Narrow, conditions
from store.exchange.out.placing import placed
from store.exchange.out.rows import (
    Progress,
    Told,
    count_rows,
    quiet,
    raw_rows,
    written_columns,
)
from store.exchange.out.table_csv import Written, known_table
from store.text import plain_json

_PLAIN = json.JSONEncoder(ensure_ascii=False, allow_nan=False, separators=(", ", ": ")).encode


def _encode(value: object) -> str:
    return plain_json(_PLAIN(value))


def export_json(
    book: Book,
    path: Path,
    now: datetime,
    *,
    name: str = "",
    narrow: Narrow | None = None,
    over: bool = False,
    told: Told = quiet,
) -> Written:
    """Write a table, or the whole book, as one JSON object a line.

    Parameters
    ----------
    book
        The practice's book; it is only read.
    path
        The file.
    now
        The present instant, with a time zone.
    name
        The table; empty for the whole book.
    narrow
        Which rows of a table; None for all.
    over
        Write over a file that is there.
    told
        Is told how far it is.

    Returns
    -------
    Written
        How many rows; the first line of a whole book is none.

    Raises
    ------
    BadInput
        There is such a file already, or what is asked for does not go together.
    NotFound
        There is no such table, or the file cannot be written.
    BookTrouble
        The book cannot be read.
    """
    table, asked = asked_of(book, name, narrow or Narrow())
    with placed(path, over=over) as file, book.reading() as connection:
        return write_json(connection, file, now, table, *asked, told=told)


def asked_of(
    book: Book, name: str, narrow: Narrow
) -> tuple[Table | None, tuple[ColumnElement[bool], ...]]:
    """The table that is meant, and what its rows have to meet.

    Parameters
    ----------
    book
        The practice's book.
    name
        The table; empty for the whole book.
    narrow
        Which rows.

    Raises
    ------
    BadInput
        The whole book cannot be narrowed.
    NotFound
        There is no such table.
    """
    if not name.strip():
        if narrow != Narrow():
            raise BadInput(
                "The whole book goes out whole; name a table to narrow it.", field="table"
            )
        return None, ()
    table = known_table(name)
    return table, conditions(table.name, narrow, book.zone)


def write_json(
    connection: Connection,
    file: BinaryIO,
    now: datetime,
    table: Table | None,
    *asked: ColumnElement[bool],
    told: Told = quiet,
) -> Written:
    """Write a table, or the whole book, into a file that is open.

    Parameters
    ----------
    connection
        Of a reading of the book.
    file
        Open for writing bytes.
    now
        The present instant, with a time zone.
    table
        The table; None for the whole book.
    *asked
        Which rows of the table; none for all.
    told
        Is told how far it is.
    """
    if table is not None:
        counts = {table.name: count_rows(connection, table, *asked)}
    else:
        counts = book_rows(connection)
    whole, rows, size, found = sum(counts.values()), 0, 0, hashlib.sha256()
    parts = _parts(connection, counts, now, asked, one=table is not None)
    for name, lines, is_rows in parts:
        data = "".join(f"{line}\n" for line in lines).encode()
        file.write(data)
        found.update(data)
        size += len(data)
        if is_rows:
            rows += len(lines)
            told(Progress(name, rows, whole))
    return Written(rows, size, found.hexdigest())


def _parts(
    connection: Connection,
    counts: dict[str, int],
    now: datetime,
    asked: Sequence[ColumnElement[bool]],
    *,
    one: bool,
) -> Iterator[tuple[str, list[str], bool]]:
    if not one:
        head = {
            "what": WHAT, "format": FORMAT, "schema": HEAD,
            "practice": practice_name(connection),
            "written_at": now.astimezone(UTC).isoformat(), "written_by": own_version(),
            "tables": counts,
        }  # fmt: skip
        yield "", [_encode(head)], False
    for name in counts:
        for rows in _objects(connection, Base.metadata.tables[name], asked):
            lines = [_encode(row if one else {"table": name, "row": row}) for row in rows]
            yield name, lines, True


def _objects(
    connection: Connection, table: Table, asked: Sequence[ColumnElement[bool]]
) -> Iterator[list[dict[str, Any]]]:
    sqlite = connection.dialect.name == "sqlite"
    columns = written_columns(table)
    names = [one.name for one in columns]
    made = [(one.name, of) for one in columns if (of := value_of(one, sqlite=sqlite)) is not None]
    for part in raw_rows(connection, table, *asked):
        rows = [dict(zip(names, row, strict=True)) for row in part]
        for name, of in made:
            for row in rows:
                if row[name] is not None:
                    row[name] = of(row[name])
        yield rows
