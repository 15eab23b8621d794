"""Rows of a book's files put into the tables of an empty book, some at a time."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Iterator, Sequence
from itertools import islice
from pathlib import Path
from typing import Any

from sqlalchemy import Column, Connection, Table
from sqlalchemy.exc import IntegrityError

from store.errors import BadInput
from store.exchange.out.cells import Understood, raw_cells, raw_of
from store.exchange.out.folder import file_of
from store.exchange.out.rows import AT_ONCE, written_columns
from store.exchange.out.table_csv import header_of

Raw = tuple[Any, ...]
_LONGEST_CELL = (1 << 31) - 1
"""Characters of a cell: the log keeps several long notes in one."""


def file_rows(path: Path, table: Table, *, sqlite: bool) -> Iterator[list[Raw]]:
    """The rows of a table's file as the database stores them, some at a time.

    Parameters
    ----------
    path
        The file.
    table
        Its table.
    sqlite
        Whether they go into SQLite.

    Raises
    ------
    BadInput
        Naming file, row and column of a cell that cannot be understood.
    """
    columns = written_columns(table)
    made = [raw_of(one, sqlite=sqlite) for one in columns]
    with path.open(encoding="utf-8-sig", newline="") as file:
        reader, before = csv.reader(file, strict=True), 0
        try:
            if _next(reader, 1) != [header_of(table)]:
                raise _refused(table, "its headings are not those of this table")
            while lines := _next(reader, AT_ONCE):
                yield _understood(table, columns, made, lines, before)
                before += len(lines)
        except (csv.Error, UnicodeDecodeError) as error:
            raise _refused(table, f"it cannot be read behind row {before:,} ({error})") from error


def _understood(
    table: Table,
    columns: Sequence[Column[Any]],
    made: Sequence[Understood],
    lines: Sequence[list[str]],
    before: int,
) -> list[Raw]:
    """Column by column, which is twice as fast as row by row; a fault is looked for afterwards."""
    try:
        by_column = zip(*lines, strict=True)
        raw = [
            raw_cells(column, of, cells)
            for column, of, cells in zip(columns, made, by_column, strict=True)
        ]
    except (BadInput, ValueError) as error:
        raise _first_fault(table, columns, made, lines, before) from error
    return list(zip(*raw, strict=True))


def _first_fault(
    table: Table,
    columns: Sequence[Column[Any]],
    made: Sequence[Understood],
    lines: Iterable[list[str]],
    before: int,
) -> BadInput:
    for row, cells in enumerate(lines, start=before + 1):
        if len(cells) != len(columns):
            return _refused(table, f"row {row:,} has {len(cells)} cells, not {len(columns)}")
        for column, of, cell in zip(columns, made, cells, strict=True):
            try:
                of(cell)
            except BadInput as error:
                return _refused(table, f"row {row:,}, {column.name}: {error.message}")
    return _refused(table, f"it cannot be understood behind row {before:,}")


def _next(reader: Iterator[list[str]], many: int) -> list[list[str]]:
    """The next rows. How long a cell may be is set for all of Python: only while they are read."""
    before = csv.field_size_limit(_LONGEST_CELL)
    try:
        return list(islice(reader, many))
    finally:
        csv.field_size_limit(before)


def _refused(table: Table, what: str) -> BadInput:
    return BadInput(
        f"{file_of(table.name)} is not as a book writes it: {what}. Nothing was brought in; take "
        "the folder as it was written.",
        field="file",
    )


def late_columns(table: Table) -> list[Column[Any]]:
    """Columns that point at a table which comes later.

    Parameters
    ----------
    table
        The table.
    """
    return [one for one in table.columns if any(key.use_alter for key in one.foreign_keys)]


def put_rows(connection: Connection, table: Table, parts: Iterable[list[Raw]]) -> Iterator[int]:
    """Put rows into a table; on PostgreSQL what points at a later table stays empty for now.

    Parameters
    ----------
    connection
        Inside the one transaction.
    table
        The table.
    parts
        As `file_rows` gives them.

    Yields
    ------
    int
        How many rows were put in, part by part.

    Raises
    ------
    BadInput
        The database refuses a row.
    """
    if connection.dialect.name == "postgresql":
        yield from _copied(connection, table, parts)
        return
    columns = written_columns(table)
    names = ", ".join(f'"{one.name}"' for one in columns)
    statement = f'INSERT INTO "{table.name}" ({names}) VALUES ({", ".join("?" for _ in columns)})'
    for rows in parts:
        try:
            connection.exec_driver_sql(statement, rows)
        except IntegrityError as error:
            raise _not_held(table, str(error.orig)) from error
        yield len(rows)


def _copied(connection: Connection, table: Table, parts: Iterable[list[Raw]]) -> Iterator[int]:
    """All rows of a table as one statement, so that rows of one table may point at each other."""
    from psycopg import Error, sql
    from psycopg.errors import IntegrityError as Refused

    from store.book.trouble import sentence

    columns = written_columns(table)
    late = {one.name for one in late_columns(table)}
    stays = [one.name not in late for one in columns]
    statement = sql.SQL("COPY {} ({}) FROM STDIN").format(
        sql.Identifier(table.name),
        sql.SQL(", ").join(sql.Identifier(one.name) for one in columns),
    )
    raw: Any = connection.connection.driver_connection
    try:
        with raw.cursor() as cursor, cursor.copy(statement) as copy:
            for rows in parts:
                for row in rows:
                    if late:
                        row = tuple(  # noqa: PLW2901
                            cell if stay else None for cell, stay in zip(row, stays, strict=True)
                        )
                    copy.write_row(row)
                yield len(rows)
    except Refused as error:
        raise _not_held(table, str(error)) from error
    except Error as error:
        raise sentence(error, "on the server") from error


def put_late(connection: Connection, table: Table, parts: Iterable[list[Raw]]) -> None:
    """Write what points at a later table, once all rows are there.

    Parameters
    ----------
    connection
        Inside the one transaction, on PostgreSQL.
    table
        The table.
    parts
        As `file_rows` gives them.

    Raises
    ------
    BadInput
        What is pointed at is not there.
    """
    columns = [one.name for one in written_columns(table)]
    late = [one.name for one in late_columns(table)]
    wanted = [columns.index(name) for name in (*late, "id")]
    values = ", ".join(f'"{name}" = CAST(%s AS uuid)' for name in late)
    statement = f'UPDATE "{table.name}" SET {values} WHERE id = CAST(%s AS uuid)'
    for rows in parts:
        changed = [
            tuple(row[place] for place in wanted)
            for row in rows
            if any(row[place] is not None for place in wanted[:-1])
        ]
        if not changed:
            continue
        try:
            connection.exec_driver_sql(statement, changed)
        except IntegrityError as error:
            raise _not_held(table, str(error.orig)) from error


def _not_held(table: Table, said: str) -> BadInput:
    first = said.strip().partition("\n")[0]
    return _refused(table, f"a row of it is none that a book can hold ({first:.160})")
