"""Finding a book, opening it, bringing it up to date."""

from __future__ import annotations

import os
import sqlite3
from contextlib import closing
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from sqlalchemy import URL, Engine, inspect, make_url
from sqlalchemy.exc import ArgumentError

from store.book import schema
from store.book.book import Book
from store.book.engines import postgres_engine, sqlite_engine
from store.book.trouble import LIBRARY_ERRORS, only_for_reading, sentence
from store.errors import BookTrouble

_MAGIC = b"SQLite format 3\0"


def open_book(
    url: str | Path,
    *,
    now: datetime,
    create: bool = False,
    zone: ZoneInfo | None = None,
    patience_s: float = 5.0,
) -> Book:
    """Open a book and bring its tables up to date.

    An older SQLite book is copied beside itself before it is changed. On PostgreSQL the change is
    one transaction, and copies are the server's business.

    Parameters
    ----------
    url
        A path, or an address of SQLite or PostgreSQL as SQLAlchemy writes it.
    now
        The present instant, for the name of the copy.
    create
        Make a new book where there is none.
    zone
        The time zone until the practice states its own; UTC when left out.
    patience_s
        How long to wait for a lock [s].

    Returns
    -------
    Book
        Open. A file that may not be written opens for reading, see `Book.only_read`.

    Raises
    ------
    BookTrouble
        When there is no book, it is no book, damaged, newer than this version, locked, or cannot be
        reached. What is there stays as it is.
    """
    address = _address(str(url))
    if address.get_backend_name() == "sqlite":
        return _open_file(Path(address.database or ""), now, create, zone, patience_s)
    return _open_server(address, create, zone, patience_s)


def _address(url: str) -> URL:
    if "://" not in url:
        if url.strip() in ("", ":memory:"):
            raise _memory()
        return URL.create("sqlite", database=url)
    try:
        address = make_url(url)
        backend = address.get_backend_name()
    except (ArgumentError, ValueError) as error:
        raise BookTrouble(
            "The address of the book cannot be read; nothing was opened. Give a path, or an "
            "address like postgresql://user@host/database."
        ) from error
    if backend == "sqlite":
        name = address.database or ""
        if name in ("", ":memory:") or name.startswith("file:") or "mode" in address.query:
            raise _memory()
        return address
    if backend != "postgresql":
        raise BookTrouble(
            f"A book is kept in an SQLite file or in PostgreSQL, not in {backend!r:.30}; "
            "nothing was opened."
        )
    return address.set(drivername="postgresql+psycopg")


def _memory() -> BookTrouble:
    return BookTrouble(
        "A book needs a file: one in memory would be another one for every thread and gone "
        "afterwards. Nothing was opened; give a path."
    )


def _open_file(
    path: Path, now: datetime, create: bool, zone: ZoneInfo | None, patience_s: float
) -> Book:
    name = str(path)
    try:
        fresh = _prepare_file(path, create)
        only_read = "" if fresh or _may_write(path) else only_for_reading(name)
        engine = _engine_of_file(path, bool(only_read), patience_s)
    except OSError as error:
        raise sentence(error, name) from error
    try:
        _bring_up_to_date(engine, name, path, now, fresh=fresh, only_read=bool(only_read))
    except BaseException:
        engine.dispose()
        if fresh:  # half a new book would be taken for a damaged one next time
            for leftover in (path, _beside(path, "-wal"), _beside(path, "-shm")):
                leftover.unlink(missing_ok=True)
        raise
    return Book(engine, name, only_read=only_read, first_zone=zone)


def _prepare_file(path: Path, create: bool) -> bool:
    """Make the file if asked to; tell whether it is new. Refuse what cannot be a book."""
    if path.is_dir():
        raise BookTrouble(
            f"{path} is a folder, not a book; nothing was changed. Name the file in it."
        )
    if not path.exists():
        if not create:
            raise BookTrouble(
                f"There is no book at {path}; nothing was made. Check the name, or begin a new "
                "book there.",
                title="No book there",
            )
        path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        os.close(os.open(path, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
        return True
    with path.open("rb") as file:
        head = file.read(len(_MAGIC))
    if head != _MAGIC:
        raise BookTrouble(
            f"{path} is not a book of Pondround, or it is damaged at its beginning; it was left "
            "as it is. Open another file, or a copy made before.",
            title="Not a book",
        )
    return False


def _may_write(path: Path) -> bool:
    try:
        with path.open("r+b"):
            return True
    except OSError:
        return False


def _engine_of_file(path: Path, only_read: bool, patience_s: float) -> Engine:
    if not only_read:
        return sqlite_engine(path, patience_s=patience_s)
    # Reading along with a writer needs the writer's side files; without them, in a folder that
    # may not be written, nobody is writing and the file is taken as it stands.
    as_who_we_are = os.access in os.supports_effective_ids
    may_make = os.access(path.parent, os.W_OK, effective_ids=as_who_we_are)
    side_files = _beside(path, "-wal").exists() or may_make
    return sqlite_engine(path, mode="ro" if side_files else "immutable", patience_s=patience_s)


def _beside(path: Path, ending: str) -> Path:
    return path.with_name(path.name + ending)


def _open_server(address: URL, create: bool, zone: ZoneInfo | None, patience_s: float) -> Book:
    name = address.render_as_string(hide_password=True)
    try:
        engine = postgres_engine(address, patience_s=patience_s)
    except ImportError as error:
        raise BookTrouble(
            "A book on PostgreSQL needs the driver psycopg, which is not installed; nothing was "
            'opened. Install it with: pip install "pondround[postgres]"'
        ) from error
    try:
        _bring_up_to_date(engine, name, None, None, fresh=create, only_read=False)
    except BaseException:
        engine.dispose()
        raise
    return Book(engine, name, first_zone=zone)


def _bring_up_to_date(
    engine: Engine,
    name: str,
    path: Path | None,
    now: datetime | None,
    *,
    fresh: bool,
    only_read: bool,
) -> None:
    try:
        with engine.connect() as connection:
            found = schema.number(connection)
            empty = found is None and not inspect(connection).get_table_names()
        if found == schema.HEAD:
            return
        if found is None and not (fresh and empty):
            raise BookTrouble(
                f"{name} is a database, but not a book of Pondround; it was left as it is. "
                "Open another one" + ("." if path else ", or begin a new book in an empty one."),
                title="Not a book",
            )
        if found is not None and found > schema.HEAD:
            raise BookTrouble(
                f"The book {name} was written by a newer Pondround (its tables are number {found}, "
                f"this version knows {schema.HEAD}); it was left as it is. Install the newer "
                "version.",
                title="A newer book",
            )
        if only_read:
            raise BookTrouble(
                f"The book {name} is of an older version and may not be written, so it cannot be "
                "brought up to date; it was left as it is. Open a copy that you may write.",
                title="An older book",
            )
        if found is not None and path is not None and now is not None:
            _copy_beside(path, found, now)
        schema.upgrade(engine)
    except (*LIBRARY_ERRORS, OSError) as error:
        raise sentence(error, name) from error


def _copy_beside(path: Path, number: int, now: datetime) -> Path:
    """A whole copy of the book, made by SQLite itself, so that side files are in it."""
    copy = path.with_name(
        f"{path.stem}.before-upgrade-{number:04}.{now:%Y%m%d-%H%M%S}{path.suffix}"
    )
    os.close(os.open(copy, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    with closing(sqlite3.connect(path)) as source, closing(sqlite3.connect(copy)) as target:
        source.backup(target)
    return copy
