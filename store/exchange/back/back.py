"""A folder that a whole book was written to, brought back into an empty place: the same book.

Keys, revisions, people, times, the log and struck rows come back as they were, on SQLite and on
PostgreSQL, from either to the other. It is all one transaction: the whole book or nothing.
"""

from __future__ import annotations

import hashlib
import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, Table, delete, make_url, select
from sqlalchemy.exc import ArgumentError

from store.book import schema
from store.book.book import Book
from store.book.checks import time_zone
from store.book.columns import Base
from store.book.engines import postgres_engine
from store.book.opening import open_book
from store.book.trouble import LIBRARY_ERRORS, sentence
from store.errors import BadInput, BookTrouble, PondroundError
from store.exchange.back.back_rows import file_rows, put_rows
from store.exchange.out.described import table_names
from store.exchange.out.folder import Manifest, file_of, read_manifest
from store.exchange.out.placing import MARKED
from store.exchange.out.rows import Progress, Told, quiet
from store.text import plain

_BLOCK_BYTES = 1 << 20
_SHOWN = 4


@dataclass(frozen=True, slots=True)
class BroughtBack:
    """What came back: by the manifest of the folder, and what is to be remarked."""

    manifest: Manifest
    told: tuple[str, ...]


def check_folder(folder: Path) -> BroughtBack:
    """Look whether a folder is whole and as it was written; nothing is brought in.

    Parameters
    ----------
    folder
        As `store.exchange.out.book_folder.export_book` wrote it.

    Raises
    ------
    BadInput
        It is none of ours, of another schema number, or files are missing, strange or changed; the
        sentence names them.
    """
    manifest = read_manifest(folder)
    _refuse_schema(manifest.schema)
    missing = [name for name in table_names() if name not in manifest.tables]
    strange = [name for name in manifest.tables if name not in table_names()]
    if missing or strange:
        raise BadInput(
            f"The manifest of {folder} names {_few(strange) or 'no strange table'} and leaves out "
            f"{_few(missing) or 'none'}, so it is not as it was written. Nothing was brought in.",
            field="file",
        )
    changed = [
        file_of(name)
        for name, one in manifest.tables.items()
        if not _is_as_written(folder / file_of(name), one.size, one.sha256)
    ]
    known = {file_of(name) for name in table_names()}
    changed += sorted(
        f"tables/{one.name}"
        for one in (folder / "tables").glob("*.csv")
        if f"tables/{one.name}" not in known
    )
    if changed:
        raise BadInput(
            f"{_few(changed)} {'is' if len(changed) == 1 else 'are'} not as the manifest says: "
            "changed, missing or added after the book was written. Nothing was brought in; take "
            "the folder as it was written.",
            field="file",
            title="Changed by hand",
        )
    told = [
        f"{name} is not as it was written; it is not needed and was passed over."
        for name, one in manifest.beside.items()
        if not _is_as_written(folder / Path(name).name, one.size, one.sha256)
    ]
    return BroughtBack(manifest, tuple(told))


def bring_back(folder: Path, place: str, now: datetime, *, told: Told = quiet) -> BroughtBack:
    """Make the book of a folder at a place where there is none.

    Parameters
    ----------
    folder
        As `store.exchange.out.book_folder.export_book` wrote it.
    place
        A file that is not there, or the address of a PostgreSQL database that is empty or holds a
        book without any row.
    now
        The present instant, with a time zone.
    told
        Is told how far it is.

    Returns
    -------
    BroughtBack
        The book is closed again.

    Raises
    ------
    BadInput
        The folder is not as it was written, of another schema number, or holds what a book cannot
        hold. There is no book at the place afterwards.
    BookTrouble
        There is a book already, or the place cannot be written.
    """
    found = check_folder(folder)
    path = _file_at(place)
    if path is None:
        _refuse_full_server(place)
        with open_book(place, now=now, create=True) as book:
            _fill(book, folder, found.manifest, told)
        return found
    _refuse_file(path)
    with _new_beside(path) as beside:
        with open_book(beside, now=now, create=True) as book:
            _fill(book, folder, found.manifest, told)
        _refuse_side_files(beside)
        _refuse_file(path)
        beside.rename(path)
    return found


def try_back(folder: Path, now: datetime, *, told: Told = quiet) -> BroughtBack:
    """Bring a folder back into a book that is thrown away at once, to see whether it can be.

    Parameters
    ----------
    folder
        As `store.exchange.out.book_folder.export_book` wrote it.
    now
        The present instant, with a time zone.
    told
        Is told how far it is.

    Raises
    ------
    BadInput, BookTrouble
        As for `bring_back`.
    """
    with tempfile.TemporaryDirectory(prefix="pondround-") as away:
        return bring_back(folder, str(Path(away) / "trial.pondround"), now, told=told)


def _refuse_schema(number: int) -> None:
    if number == schema.HEAD:
        return
    what = "newer" if number > schema.HEAD else "older"
    way = (
        "Bring it in with that version."
        if number > schema.HEAD
        else "Bring it in with the version that wrote it, open that book with this one, and write "
        "it out again if you want to."
    )
    raise BadInput(
        f"The folder was written by a {what} Pondround: its tables are number {number}, this "
        f"version has {schema.HEAD}. Nothing was brought in. {way}",
        field="file",
        title=f"A folder of a{'n' if what == 'older' else ''} {what} version",
    )


def _is_as_written(path: Path, size: int, sha256: str) -> bool:
    found = hashlib.sha256()
    try:
        if path.stat().st_size != size:
            return False
        with path.open("rb") as file:
            while block := file.read(_BLOCK_BYTES):
                found.update(block)
    except OSError:
        return False
    return found.hexdigest() == sha256


def _few(names: list[str]) -> str:
    more = f" and {len(names) - _SHOWN} more" if len(names) > _SHOWN else ""
    return ", ".join(names[:_SHOWN]) + more


# The place


def _file_at(place: str) -> Path | None:
    """The file that is meant; None for a server."""
    if "://" not in place:
        return Path(place)
    try:
        address = make_url(place)
    except (ArgumentError, ValueError):
        return None  # `open_book` says it better
    if address.get_backend_name() == "sqlite" and address.database:
        return Path(address.database)
    return None


def _refuse_file(path: Path) -> None:
    if path.exists():
        raise BookTrouble(
            f"There is something at {path} already; it was left as it was. A whole book is brought "
            "into a new place: name one with --book.",
            title="Already there",
        )


def _refuse_side_files(path: Path) -> None:
    """The file alone is moved: what SQLite keeps beside it has to be in it by now."""
    if path.with_name(f"{path.name}-wal").exists():
        raise BookTrouble(
            "The new book could not be finished, as another program is reading it. Nothing was "
            "made; close that program and try again."
        )


def _refuse_full_server(place: str) -> None:
    """A book that is there is neither brought up to date nor touched."""
    try:
        address = make_url(place)
        if address.get_backend_name() != "postgresql":
            return  # `open_book` refuses it
        engine = postgres_engine(address.set(drivername="postgresql+psycopg"))
    except (ArgumentError, ValueError, ImportError):
        return
    name = address.render_as_string(hide_password=True)
    try:
        with engine.connect() as connection:
            number = schema.number(connection)
            if number is not None and (number != schema.HEAD or not _is_empty(connection)):
                raise _full(name)
    except LIBRARY_ERRORS as error:
        raise sentence(error, name) from error
    finally:
        engine.dispose()


def _full(name: str) -> BookTrouble:
    return BookTrouble(
        f"There is a book in {name} already; it was left as it was. A whole book is brought into "
        "an empty place: name one with --book.",
        title="Already there",
    )


def _is_empty(connection: Connection) -> bool:
    for name in table_names():
        table = Base.metadata.tables[name]
        if name == "book_meta":
            continue  # stamps alone are no records
        if connection.execute(select(1).select_from(table).limit(1)).first() is not None:
            return False
    return True


@contextmanager
def _new_beside(path: Path) -> Iterator[Path]:
    """A name for the book while it is not whole; what is left there at the end goes away."""
    try:
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        away = Path(tempfile.mkdtemp(dir=path.parent, prefix=MARKED))
    except OSError as error:
        raise sentence(error, str(path)) from error
    try:
        yield away / path.name
    except OSError as error:
        raise sentence(error, str(path)) from error
    finally:
        shutil.rmtree(away, ignore_errors=True)


# Filling


def _fill(book: Book, folder: Path, manifest: Manifest, told: Told) -> None:
    try:
        with book.engine.connect().execution_options(pondround_writes=True) as connection:
            transaction = connection.begin()
            try:
                _load(connection, book.name, folder, manifest, told)
                _commit(connection, transaction)
            except BaseException:
                transaction.rollback()
                raise
    except LIBRARY_ERRORS as error:
        raise sentence(error, book.name) from error


def _load(connection: Connection, name: str, folder: Path, manifest: Manifest, told: Told) -> None:
    sqlite = connection.dialect.name == "sqlite"
    if sqlite:
        # Rows that point at each other come one after the other; all is asked at the end.
        connection.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
    else:
        connection.exec_driver_sql("LOCK TABLE staff, practice IN EXCLUSIVE MODE")
    if not _is_empty(connection):
        raise _full(name)
    meta = Base.metadata.tables["book_meta"]
    connection.execute(delete(meta))
    done = 0
    for table_name in table_names():
        table, rows = Base.metadata.tables[table_name], 0
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
        _point_late(connection, folder)
    _refuse_zones(connection)


def _refuse_zones(connection: Connection) -> None:
    """A book whose days cannot be reckoned could not be opened."""
    for name in connection.execute(select(Base.metadata.tables["practice"].c.time_zone)).scalars():
        try:
            time_zone(name)
        except BadInput as error:
            raise BadInput(
                f"{file_of('practice')} is not as a book writes it: there is no time zone "
                f"“{plain(name):.60}”. Nothing was brought in.",
                field="file",
            ) from error


def _point_late(connection: Connection, folder: Path) -> None:
    """Where two tables point at each other, the second way is written when both are there."""
    from store.exchange.back.back_rows import late_columns, put_late

    for name in table_names():
        table: Table = Base.metadata.tables[name]
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
