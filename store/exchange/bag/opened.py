"""A file that is to be brought in, opened as a copy that is thrown away: the file stays as it is.

The copy is made by SQLite itself, so that what stands in a file beside it is in it too, and a copy
of an older number is brought up to date where nobody else sees it.
"""

from __future__ import annotations

import errno
import sqlite3
import tempfile
from collections.abc import Iterator
from contextlib import closing, contextmanager, suppress
from datetime import datetime
from pathlib import Path
from shutil import copyfile
from urllib.parse import quote

from store.book import schema
from store.book.backup.marked import MARK
from store.book.book import Book
from store.book.columns import Base
from store.book.files.beside import side_file
from store.book.opening import open_book
from store.errors import BadInput, BookTrouble

HEAD_OF_FILE = b"SQLite format 3\x00"
_NOTHING = "Nothing was brought in."


def looks_like_book(path: Path) -> bool:
    """Whether a file begins as a bag or a book does.

    Parameters
    ----------
    path
        Any file.
    """
    try:
        with path.open("rb") as file:
            return file.read(len(HEAD_OF_FILE)) == HEAD_OF_FILE
    except OSError:
        return False


@contextmanager
def opened_copy(path: Path, now: datetime) -> Iterator[Book]:
    """The copy of a file as a book of this version; it is gone when the context ends.

    Parameters
    ----------
    path
        The file.
    now
        The present instant.

    Yields
    ------
    Book
        To be read.

    Raises
    ------
    BadInput
        There is no such file, it is no book, damaged or cut off, or of a newer version.
    """
    _refuse_other(path)
    with tempfile.TemporaryDirectory(prefix="pondround-") as away:
        copy = Path(away) / "came-back.pondround"
        try:
            _copy(path, copy)
            _refuse_damaged(copy, path)
        except (sqlite3.Error, OSError, ValueError) as error:  # letters that are none
            if _no_room(error):
                raise BookTrouble(
                    f"There is no room in {away} for the copy of {path} that is looked at. "
                    f"{_NOTHING} Make room there, or set TMPDIR to a folder with room.",
                    title="No room",
                ) from error
            raise damaged(path, str(error)) from error
        try:
            book = open_book(copy, now=now)
        except (BookTrouble, ValueError, LookupError) as error:
            raise damaged(path, getattr(error, "title", "it does not open")) from error
        with book:
            yield book


def _no_room(error: BaseException) -> bool:
    full = getattr(error, "errno", None) == errno.ENOSPC
    return full or "disk is full" in str(error)


def _refuse_other(path: Path) -> None:
    if not path.is_file():
        raise BadInput(f"There is no file at {path}. {_NOTHING}", field="file")
    if not looks_like_book(path):
        raise BadInput(
            f"{path} is no bag and no copy of a book. {_NOTHING}", field="file", title="Not a bag"
        )


def _copy(path: Path, copy: Path) -> None:
    place = f"file:{quote(str(path.resolve()))}?mode=ro"
    try:
        with (
            closing(sqlite3.connect(place, uri=True)) as source,
            closing(sqlite3.connect(copy)) as target,
        ):
            source.backup(target)
    except sqlite3.OperationalError:
        # In a folder that may not be written SQLite cannot read along with another program.
        copyfile(path, copy)
        if (log := side_file(path, "-wal")).exists():
            copyfile(log, side_file(copy, "-wal"))
    copy.chmod(0o600)
    _no_backup(copy)


def _no_backup(copy: Path) -> None:
    """The copy of a backup is none: it may be brought up to date."""
    with closing(sqlite3.connect(copy)) as connection, connection, suppress(sqlite3.Error):
        connection.execute("DELETE FROM book_meta WHERE key = ?", (MARK,))


def _refuse_damaged(copy: Path, path: Path) -> None:
    with closing(sqlite3.connect(copy)) as connection:
        found = connection.execute("PRAGMA quick_check(1)").fetchone()[0]
        if found != "ok":
            raise damaged(path, str(found))
        mark = connection.execute("PRAGMA application_id").fetchone()[0]
        tables = {row[0] for row in connection.execute("SELECT name FROM sqlite_master")}
        if mark != schema.APPLICATION_ID or "alembic_version" not in tables:
            raise BadInput(
                f"{path} is a database, but no bag and no copy of a book. {_NOTHING}",
                field="file",
                title="Not a bag",
            )
        number = (connection.execute("SELECT version_num FROM alembic_version").fetchone() or "?")[
            0
        ]
        for name in sorted(tables & Base.metadata.tables.keys()):
            # Letters that are none show only where they are read.
            for _row in connection.execute(f'SELECT * FROM "{name}"'):
                pass
    if not str(number).isdecimal() or int(number) > schema.HEAD:
        raise BadInput(
            f"{path} was written by a newer Pondround (its tables are number {number:.20}, this "
            f"version knows {schema.HEAD}). {_NOTHING} Install the newer version here too.",
            field="file",
            title="A newer bag",
        )


def damaged(path: Path, why: str) -> BadInput:
    """That a file cannot be read as it should be.

    Parameters
    ----------
    path
        The file.
    why
        What was met there.
    """
    said = " ".join(why.replace("*** in database main ***", "").split())
    return BadInput(
        f"{path} is damaged or cut off ({said:.100}). {_NOTHING} Copy it once more from the "
        "laptop, with Pondround left there, and keep this one until that worked.",
        field="file",
        title="The file is damaged",
    )
