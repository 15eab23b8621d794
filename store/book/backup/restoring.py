"""A book made out of a backup, in a new place."""

from __future__ import annotations

import sqlite3
import tempfile
from collections.abc import Callable
from contextlib import closing
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from uuid import UUID

from sqlalchemy import Connection, delete, func, insert, inspect, select, text

from store.book import schema
from store.book.backup.marked import MARK, Backup, opened, verified
from store.book.book import Book
from store.book.columns import Base
from store.book.copies.log import new_copy
from store.book.engines import sqlite_engine
from store.book.files.beside import move_into_place, neighbour, remove
from store.book.files.file_trouble import file_trouble
from store.book.opening import open_book
from store.book.tables import table
from store.book.trouble import LIBRARY_ERRORS, sentence
from store.errors import BookTrouble

_AT_ONCE = 1000


@dataclass(frozen=True, slots=True)
class Restored:
    """What was restored, where, and how many lines of the record it has."""

    backup: Backup
    place: str
    lines: int


def restore(
    file: Path, to: str, now: datetime, *, told: Callable[[str], None] = lambda _what: None
) -> Restored:
    """Make a book out of a backup; it writes a chain of its own from then on.

    Parameters
    ----------
    file
        The backup. It stays as it is.
    to
        A file that is not there, or the address of an empty database.
    now
        The present instant.
    told
        Is told what is being done.

    Returns
    -------
    Restored
        A backup with tables of an older number is brought up to date.

    Raises
    ------
    BookTrouble
        The backup is damaged or none, or something is there already; it is left as it is.
    """
    told("reading the backup")
    backup = verified(file)
    if backup.number > schema.HEAD:
        raise BookTrouble(
            f"The backup {file} was written by a newer Pondround (its tables are number "
            f"{backup.number}, this version knows {schema.HEAD}); nothing was made.",
            title="A newer backup",
        )
    if "://" in to and not to.startswith("sqlite"):
        return Restored(backup, _without_password(to), _into_server(backup, to, now, told))
    path = Path(to.partition(":///")[2] if "://" in to else to)
    if path.exists() or path.is_symlink():
        raise _in_the_way(str(path))
    told("making the book")
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        beside = neighbour(path, "being-restored")
        try:
            lines = _book_of_today(backup.path, beside)
            move_into_place(beside, path)
        finally:
            remove(beside)
    except FileExistsError as error:
        raise _in_the_way(str(path)) from error
    except (*LIBRARY_ERRORS, OSError) as error:
        cause = getattr(error, "orig", None) or error
        raise file_trouble(cause, path) or sentence(error, str(path)) from error
    return Restored(backup, str(path), lines)


def _in_the_way(name: str) -> BookTrouble:
    return BookTrouble(
        f"There is something at {name} already; it was left as it is and nothing was restored. "
        "Name a file that is not there, or the address of an empty database.",
        title="Already there",
    )


def _book_of_today(backup: Path, path: Path) -> int:
    """Copy a backup into an empty file and make a book of it; how many lines its record has."""
    with closing(opened(backup)) as source, closing(sqlite3.connect(path)) as target:
        source.backup(target)
    engine = sqlite_engine(path, keep_journal=True)
    try:
        schema.upgrade(engine)
        with (
            engine.connect().execution_options(pondround_writes=True) as connection,
            connection.begin(),
        ):
            meta, change = table("book_meta"), table("change")
            connection.execute(delete(meta).where(meta.c.key == MARK))
            new_copy(connection)
            return connection.execute(select(func.count()).select_from(change)).scalar() or 0
    finally:
        engine.dispose()


def _into_server(backup: Backup, to: str, now: datetime, told: Callable[[str], None]) -> int:
    with tempfile.TemporaryDirectory(prefix="pondround-") as away:
        beside = Path(away) / "restored.pondround"
        try:
            beside.touch(mode=0o600)
            lines = _book_of_today(backup.path, beside)
        except (*LIBRARY_ERRORS, OSError) as error:
            cause = getattr(error, "orig", None) or error
            raise file_trouble(cause, beside) or sentence(error, str(beside)) from error
        told("making the tables")
        with open_book(to, now=now, create=True) as book:
            source = sqlite_engine(beside, mode="ro", keep_journal=True)
            try:
                with source.connect() as there:
                    _fill(book, there, told)
            finally:
                source.dispose()
    return lines


def _fill(book: Book, there: Connection, told: Callable[[str], None]) -> None:
    """All rows in one transaction. Rows point at each other: the keys come back when all stand."""
    try:
        with book.engine.connect() as into, into.begin():
            into.execute(text("LOCK TABLE staff, practice IN EXCLUSIVE MODE"))
            if into.execute(select(func.count()).select_from(table("staff"))).scalar():
                raise _in_the_way(book.name)
            keys = into.execute(text(_FOREIGN)).all()
            for of, name, _said in keys:
                into.execute(text(f'ALTER TABLE "{of}" DROP CONSTRAINT "{name}"'))
            for name, target in Base.metadata.tables.items():
                told(f"restoring {name.replace('_', ' ')}")
                if name == "book_meta":  # what the empty book says of itself
                    into.execute(delete(target))
                rows = there.execution_options(yield_per=_AT_ONCE).execute(select(target))
                for part in rows.mappings().partitions(_AT_ONCE):
                    into.execute(insert(target), [dict(row) for row in part])
            told("looking whether all rows fit together")
            for of, name, said in keys:
                into.execute(text(f'ALTER TABLE "{of}" ADD CONSTRAINT "{name}" {said}'))
    except LIBRARY_ERRORS as error:
        raise sentence(error, book.name) from error


_FOREIGN = (
    "SELECT c.relname, o.conname, pg_get_constraintdef(o.oid) FROM pg_constraint o "
    "JOIN pg_class c ON c.oid = o.conrelid "
    "WHERE o.contype = 'f' AND o.connamespace = current_schema()::regnamespace"
)


def _without_password(to: str) -> str:
    from sqlalchemy import make_url

    return make_url(to).render_as_string(hide_password=True)


def written_since(backup: Backup, book: Book) -> int | None:
    """How many lines the record of a book has beyond a backup of it.

    Parameters
    ----------
    backup
        The backup.
    book
        The book that it may be of.

    Returns
    -------
    int or None
        None where it is not of this book, or nobody can tell.
    """
    if not backup.copy:
        return None
    change = table("change").c
    with closing(opened(backup.path)) as there, book.reading() as here:
        if not inspect(here).has_table("change_link"):
            return None
        first = there.execute("SELECT id FROM change ORDER BY id LIMIT 1").fetchone()
        if first is None:
            return None
        known = here.execute(select(change.id).where(change.id == UUID(bytes=first[0]))).first()
        if known is None:
            return None
        count = there.execute("SELECT count(*) FROM change").fetchone()[0]
        whole = here.execute(select(func.count()).select_from(table("change"))).scalar() or 0
    return int(whole) - int(count)
