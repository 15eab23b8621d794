"""The rows of a folder put into a book without any, in one transaction: all of them or none."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, Table, select, text

from store.book.checks import time_zone
from store.book.copies.log import new_copy
from store.book.trouble import LIBRARY_ERRORS, sentence
from store.errors import BadInput, BookTrouble, PondroundError
from store.exchange.back.back_rows import file_rows, late_columns, put_late, put_rows
from store.exchange.out.folder import Manifest, file_of
from store.exchange.out.rows import Progress, Told
from store.text import plain

META = "book_meta"
"""What a book says of itself, which are no records: a new book says some of it."""


def fill(
    engine: Engine, name: str, tables: Mapping[str, Table], folder: Path, manifest: Manifest,
    told: Told, *, own_copy: bool,
) -> None:  # fmt: skip
    """Put all rows of a folder into a book.

    Parameters
    ----------
    engine
        Of a book without any row.
    name
        What the book is called in sentences.
    tables
        All tables of the book by name, those that are pointed at first.
    folder, manifest
        Where the files are, and what is said of them.
    told
        Is told how far it is.
    own_copy
        Whether the book is a copy of its own from now on. The book that the folder was written from
        may be written to as well: two chains with one key would fork where they part.

    Raises
    ------
    BadInput
        A file holds what a book cannot hold; nothing is in the book then.
    BookTrouble
        The book has rows, or cannot be written.
    """
    try:
        with engine.connect().execution_options(pondround_writes=True) as connection:
            transaction = connection.begin()
            try:
                _load(connection, name, tables, folder, manifest, told)
                if own_copy:
                    new_copy(connection)
                _commit(connection, transaction)
            except BaseException:
                transaction.rollback()
                raise
    except LIBRARY_ERRORS as error:
        raise sentence(error, name) from error


def is_empty(connection: Connection, tables: Mapping[str, Table]) -> bool:
    """Whether a book has no row but stamps.

    Parameters
    ----------
    connection
        Open on the book.
    tables
        Its tables.
    """
    return not any(
        connection.execute(select(1).select_from(table).limit(1)).first() is not None
        for name, table in tables.items()
        if name != META
    )


def full(name: str) -> BookTrouble:
    """That there is a book already.

    Parameters
    ----------
    name
        What it is called.
    """
    return BookTrouble(
        f"There is a book in {name} already; it was left as it was. A whole book is brought into "
        "an empty place: name one with --book.",
        title="Already there",
    )


def _load(
    connection: Connection, name: str, tables: Mapping[str, Table], folder: Path,
    manifest: Manifest, told: Told,
) -> None:  # fmt: skip
    sqlite = connection.dialect.name == "sqlite"
    if sqlite:
        # Rows that point at each other come one after the other; all is asked at the end.
        connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
    else:
        connection.exec_driver_sql("LOCK TABLE staff, practice IN EXCLUSIVE MODE")
    if not is_empty(connection, tables):
        raise full(name)
    connection.execute(text(f"DELETE FROM {META}"))
    done = 0
    for table_name, table in tables.items():
        rows = 0
        path = folder / file_of(table_name)
        for part in put_rows(connection, table, file_rows(path, table, sqlite=sqlite)):
            rows += part
            told(Progress(table_name, done + rows, manifest.rows))
        if rows != manifest.tables[table_name].rows:
            raise BadInput(
                f"{file_of(table_name)} has {rows:,} rows, its manifest says "
                f"{manifest.tables[table_name].rows:,}. Nothing was brought in.",
                field="file",
            )
        done += rows
    if not sqlite:
        _point_late(connection, tables, folder)
    _refuse_zones(connection, tables)


def _refuse_zones(connection: Connection, tables: Mapping[str, Table]) -> None:
    """A book whose days cannot be reckoned could not be opened."""
    for name in connection.execute(select(tables["practice"].c.time_zone)).scalars():
        try:
            time_zone(name)
        except BadInput as error:
            raise BadInput(
                f"{file_of('practice')} is not as a book writes it: there is no time zone "
                f"“{plain(name):.60}”. Nothing was brought in.",
                field="file",
            ) from error


def _point_late(connection: Connection, tables: Mapping[str, Table], folder: Path) -> None:
    """Where two tables point at each other, the second way is written when both are there."""
    for name, table in tables.items():
        if late_columns(table):
            put_late(connection, table, file_rows(folder / file_of(name), table, sqlite=False))


def _commit(connection: Connection, transaction: Any) -> None:
    try:
        transaction.commit()
    except LIBRARY_ERRORS as error:
        said = _dangling(connection)
        if said is None:
            raise
        raise said from error


def _dangling(connection: Connection) -> PondroundError | None:
    """Which row points at one that is not there, as SQLite tells it before it gives up."""
    if connection.dialect.name != "sqlite" or connection.closed:
        return None
    raw: Any = connection.connection.driver_connection
    found = raw.execute("PRAGMA foreign_key_check").fetchone()
    if found is None:
        return None
    return BadInput(
        f"A row of {file_of(found[0])} points at a row of {file_of(found[2])} that is not there. "
        "Nothing was brought in; take the folder as it was written.",
        field="file",
    )
