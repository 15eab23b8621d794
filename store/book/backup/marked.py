"""How a backup is known: its name holds the hash of its bytes, and it says inside what it is.

A name like `practice.20260314-073000.daily.1f0c2a9b4d5e6f70.pondround` says of which book, when (in
UTC), why, and with the first 16 digits of the SHA-256 of the file whether it is still as it was
written. So one file is all there is to a backup, whatever disk it is carried to.
"""

from __future__ import annotations

import hashlib
import json
import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing
from dataclasses import dataclass
from datetime import UTC, datetime
from pathlib import Path
from typing import Literal
from urllib.parse import quote

from store.book import schema
from store.book.files.beside import side_file
from store.errors import BookTrouble

Why = Literal["daily", "hand", "upgrade"]
ENDING = ".pondround"
MARK = "backup"
"""What a backup says of itself in `book_meta`."""
_NAME = re.compile(
    r"(?P<stem>.+)\.(?:before-upgrade-\d{4}\.)?(?P<at>\d{8}-\d{6})\.(?:(?P<why>daily|hand)\.)?"
    r"(?P<hash>[0-9a-f]{16})(?:\.[^.]+)?"
)
_PIECE = 1 << 20


@dataclass(frozen=True, slots=True)
class Backup:
    """A backup as its file says it: which book, when, why, number of its tables, rows in it.

    `chain` is the place and hash of the newest link of the record of changes, empty for books of an
    older number that had none; `copy` the copy of the book that it was taken of.
    """

    path: Path
    of: str
    at: datetime
    why: Why
    number: int
    rows: int
    size_bytes: int
    copy: str
    chain: str


def file_name(stem: str, at: datetime, why: Why, number: int, hashed: str, ending: str) -> str:
    """The name of a backup.

    Parameters
    ----------
    stem
        Of the book.
    at
        When it was made.
    why
        For what.
    number
        Of its tables.
    hashed
        SHA-256 of the file in hexadecimal digits.
    ending
        Of the book's file, with its dot.
    """
    moment = f"{at.astimezone(UTC):%Y%m%d-%H%M%S}"
    if why == "upgrade":
        return f"{stem}.before-upgrade-{number:04}.{moment}.{hashed[:16]}{ending}"
    return f"{stem}.{moment}.{why}.{hashed[:16]}{ending}"


def hash_of(path: Path) -> str:
    """SHA-256 of a file in hexadecimal digits, read piece by piece.

    Parameters
    ----------
    path
        The file.
    """
    found = hashlib.sha256()
    with path.open("rb") as file:
        while piece := file.read(_PIECE):
            found.update(piece)
    return found.hexdigest()


def is_named(path: Path) -> bool:
    """Whether a file has the name of a backup.

    Parameters
    ----------
    path
        The file; it need not be there.
    """
    return _NAME.fullmatch(path.name) is not None


def verified(path: Path, *, whole: bool = True) -> Backup:
    """Look through a backup, without writing anything.

    Parameters
    ----------
    path
        The file.
    whole
        Read all of it; else only what it says of itself.

    Returns
    -------
    Backup
        What it is.

    Raises
    ------
    BookTrouble
        It is no backup of a book, damaged, cut off, or altered since it was made.
    """
    if not path.is_file():
        raise BookTrouble(
            f"There is no backup at {path}; nothing was done. “pondround backup list” names them.",
            title="No backup there",
        )
    named = _NAME.fullmatch(path.name)
    if whole and named is not None and not hash_of(path).startswith(named["hash"]):
        raise BookTrouble(
            f"The backup {path} is not as it was written: it was damaged, cut off or altered since."
            " It was left as it is; take another one.",
            title="A damaged backup",
        )
    try:
        with closing(opened(path)) as connection:
            return _looked_through(connection, path, whole)
    except sqlite3.Error as error:
        raise _no_backup(path) from error


def _looked_through(connection: sqlite3.Connection, path: Path, whole: bool) -> Backup:
    mark = connection.execute("PRAGMA application_id").fetchone()[0]
    if mark != schema.APPLICATION_ID:
        raise _no_backup(path)
    number = int(connection.execute("SELECT version_num FROM alembic_version").fetchone()[0])
    said = dict(connection.execute("SELECT key, value FROM book_meta").fetchall())
    if MARK not in said:
        raise _no_backup(path)
    told = json.loads(said[MARK])
    if whole:
        _refuse_damaged(connection, path, told["rows"])
    return Backup(
        path, told["of"], datetime.fromisoformat(told["at"]), told["why"], number,
        sum(told["rows"].values()), path.stat().st_size, said.get("copy", ""),
        said.get("chain", ""),
    )  # fmt: skip


def _refuse_damaged(connection: sqlite3.Connection, path: Path, rows: dict[str, int]) -> None:
    found = connection.execute("PRAGMA integrity_check(1)").fetchone()[0]
    counted = dict(counts(connection))
    differing = [name for name, count in rows.items() if counted.get(name) != count]
    if found != "ok" or differing:
        why = found if found != "ok" else f"{differing[0]} has not as many rows as were written"
        raise BookTrouble(
            f"The backup {path} is damaged ({why:.100}). It was left as it is; take another one.",
            title="A damaged backup",
        )


def counts(connection: sqlite3.Connection) -> Iterator[tuple[str, int]]:
    """How many rows each table has; what a book says of itself is left out.

    Parameters
    ----------
    connection
        On a book.
    """
    for name in tables(connection):
        if name != "book_meta":
            yield name, connection.execute(f'SELECT count(*) FROM main."{name}"').fetchone()[0]


def tables(connection: sqlite3.Connection) -> list[str]:
    """The names of the tables of a book.

    Parameters
    ----------
    connection
        On a book.
    """
    query = (
        "SELECT name FROM main.sqlite_master WHERE type = 'table' AND name NOT LIKE 'sqlite\\_%' "
        "ESCAPE '\\' ORDER BY name"
    )
    return [name for (name,) in connection.execute(query)]


def opened(path: Path) -> sqlite3.Connection:
    """A connection that writes nothing, nor any file beside it.

    Parameters
    ----------
    path
        Of a book or backup.
    """
    left = side_file(path, "-wal")
    how = "mode=ro" if left.exists() and left.stat().st_size else "immutable=1"
    return sqlite3.connect(f"file:{quote(str(path.resolve()))}?{how}", uri=True)


def _no_backup(path: Path) -> BookTrouble:
    return BookTrouble(
        f"{path} is not a backup that Pondround made, or it is damaged at its beginning; it was "
        "left as it is. “pondround backup list” names those there are.",
        title="Not a backup",
    )
