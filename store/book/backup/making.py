"""A verified backup of a book that is open, of whatever number its tables are."""

from __future__ import annotations

import json
import os
import sqlite3
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Engine, text

from store.book import schema
from store.book.backup.marked import (
    ENDING,
    MARK,
    Backup,
    Why,
    counts,
    file_name,
    hash_of,
    tables,
    verified,
)
from store.book.backup.of_server import copy_of_server
from store.book.files.beside import move_into_place, neighbour, remove
from store.book.files.file_trouble import file_trouble
from store.book.trouble import LIBRARY_ERRORS, sentence
from store.errors import BookTrouble

Told = Callable[[str], None]
"""Is given what is being done, in a few words."""


def back_up(
    engine: Engine, name: str, to: Path, now: datetime, why: Why, *, ending: str = ENDING,
    stem: str = "", told: Told = lambda _what: None,
) -> Backup:  # fmt: skip
    """Make a backup, read it anew and compare it with the book as it was read.

    Parameters
    ----------
    engine
        On the book, its tables of any number.
    name
        What the book is called before a person.
    to
        A file that is not there, its name ending in `.pondround`, or a folder, which is made where
        it is not there.
    now
        The present instant.
    why
        `daily`, `hand` or `upgrade`.
    ending
        Of the file, with its dot.
    stem
        How its name in a folder begins; made of the name of the book where it is empty.
    told
        Is told what is being done.

    Returns
    -------
    Backup
        As it stands there, for its owner alone.

    Raises
    ------
    BookTrouble
        The book is damaged, there is no room, or something is there already; no file is left.
    """
    folder, wanted = (to.parent, to) if to.suffix == ENDING and not to.is_dir() else (to, None)
    if wanted is not None and wanted.exists():
        raise _there_already(wanted)
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        beside = neighbour(folder / "backup", "being-made")
        try:
            told("copying the book")
            number = _copied(engine, name, beside, told)
            told("reading the backup anew")
            _mark(beside, name, now, why)
            hashed = hash_of(beside)
            named = file_name(stem or stem_of(name), now, why, number, hashed, ending)
            place = wanted or folder / named
            move_into_place(beside, place)
        finally:
            remove(beside)
        return verified(place, whole=False)
    except FileExistsError as error:
        raise _there_already(wanted or folder) from error
    except (*LIBRARY_ERRORS, OSError) as error:
        cause = getattr(error, "orig", None) or error
        raise file_trouble(cause, folder) or sentence(error, name) from error


def stem_of(name: str) -> str:
    """How the names of a book's backups begin.

    Parameters
    ----------
    name
        Of the book: a path, or an address without its password.

    Returns
    -------
    str
        Letters, digits, blanks and `-_` of its last part.
    """
    last = name.partition("?")[0].rstrip("/").rpartition("/")[2] if "://" in name else name
    stem = last if "://" in name else Path(name).stem
    return "".join(one for one in stem if one.isalnum() or one in "-_ ")[:80] or "book"


def _there_already(path: Path) -> BookTrouble:
    return BookTrouble(
        f"There is something at {path} already; it was left as it is and no backup was made. Name "
        "another file or a folder.",
        title="Already there",
    )


def _copied(engine: Engine, name: str, beside: Path, told: Told) -> int:
    options: dict[str, Any] = {}
    if engine.dialect.name != "sqlite":
        options = {"isolation_level": "REPEATABLE READ", "postgresql_readonly": True}
    with engine.connect().execution_options(**options) as connection:
        number = schema.number(connection)
        if number is None:
            raise BookTrouble(f"{name} is not a book of Pondround; no backup was made.")
        if engine.dialect.name == "sqlite":
            _copy_file(connection, name, beside, told)
        else:
            copy_of_server(connection, number, beside, told)
    return number


def _copy_file(connection: Connection, name: str, beside: Path, told: Told) -> None:
    """Page by page by SQLite itself; then every table of both beside each other.

    All of it is one transaction, so that what is compared is what was copied.
    """
    connection.execute(text("SELECT count(*) FROM sqlite_master")).scalar()
    raw: Any = connection.connection.driver_connection
    with closing(sqlite3.connect(beside)) as target:
        raw.backup(target)
    told("comparing it with the book")
    connection.detach()  # what is attached to it must not come back to others
    raw.execute("ATTACH DATABASE ? AS copied", (str(beside),))
    for table in tables(raw):
        here = raw.execute(f'SELECT count(*) FROM main."{table}"').fetchone()[0]
        there = raw.execute(f'SELECT count(*) FROM copied."{table}"').fetchone()[0]
        if not here == there == raw.execute(_alike(raw, table)).fetchone()[0]:
            raise BookTrouble(
                f"The backup of {name} was not as the book is (in {table}); it was thrown away. "
                "Try again; if it stays so the disk may be failing.",
                title="The backup failed",
            )


def _alike(connection: sqlite3.Connection, table: str) -> str:
    """Counts the rows that are the same in both; no row comes into the program."""
    columns = connection.execute(f'PRAGMA main.table_info("{table}")').fetchall()
    key = [row[1] for row in columns if row[5]] or ["rowid"]
    by = " AND ".join(f'a."{one}" = b."{one}"' for one in key)
    same = " AND ".join(f'a."{row[1]}" IS b."{row[1]}"' for row in columns)
    return f'SELECT count(*) FROM main."{table}" a JOIN copied."{table}" b ON {by} WHERE {same}'


def _mark(path: Path, name: str, now: datetime, why: Why) -> None:
    """Write into a copy what it is, and look through it once more as it stands on the disk."""
    with closing(sqlite3.connect(path)) as connection:
        connection.execute("PRAGMA journal_mode = DELETE")  # one file, with nothing beside it
        said = {
            "of": Path(name).name if "://" not in name else name,
            "at": now.astimezone(UTC).isoformat(timespec="seconds"),
            "why": why,
            "rows": dict(counts(connection)),
        }
        with connection:
            connection.execute(
                "INSERT OR REPLACE INTO book_meta (key, value) VALUES (?, ?)",
                (MARK, json.dumps(said)),
            )
    try:
        verified(path)
    except BookTrouble as error:
        # It is as the book is: what is wrong with it is wrong with the book.
        raise BookTrouble(
            f"The book {name} is damaged and was left as it is; no backup was made. Put it aside "
            "and go on with the newest copy of it.",
            title="The book is damaged",
        ) from error
    with path.open("rb") as file:
        os.fsync(file.fileno())
