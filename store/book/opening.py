"""Finding a book, opening it, bringing it up to date."""

from __future__ import annotations

import errno
import os
import stat
from contextlib import suppress
from datetime import datetime
from pathlib import Path
from zoneinfo import ZoneInfo

from sqlalchemy import URL, Engine, inspect, make_url, text
from sqlalchemy.exc import ArgumentError

from store.book import schema
from store.book.address import without_passwords
from store.book.backup.making import back_up
from store.book.backup.marked import MARK
from store.book.book import Book
from store.book.engines import Mode, postgres_engine, sqlite_engine
from store.book.files.beside import move_into_place, neighbour, remove, side_file
from store.book.files.file_trouble import file_trouble
from store.book.files.network_folder import (
    Folder,
    folder_of,
    locks_work,
    over_a_network,
    without_locks,
)
from store.book.trouble import LIBRARY_ERRORS, only_for_reading, sentence
from store.errors import BookTrouble, NoBookYet, PondroundError


def open_book(
    url: str | Path,
    *,
    now: datetime,
    create: bool = False,
    zone: ZoneInfo | None = None,
    patience_s: float = 5.0,
    backups: Path | None = None,
) -> Book:
    """Open a book and bring its tables up to date.

    Before an older book is changed a verified backup of it is made: beside itself, one on a server
    in the folder of `backups`.

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
    backups
        Where the backup of an older book on a server goes; None leaves it to the server.

    Returns
    -------
    Book
        Open. A file that may not be written opens for reading, see `Book.only_read`.

    Raises
    ------
    NoBookYet
        When a database on a server is empty.
    BookTrouble
        When there is no book, it is no book, damaged, newer than this version, locked, or cannot be
        reached. What is there stays as it is.
    """
    address = _address(str(url))
    if address.get_backend_name() == "sqlite":
        return _open_file(Path(address.database or ""), now, create, zone, patience_s)
    return _open_server(address, now, create, zone, patience_s, backups)


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
    try:
        if not _is_there(path, create):
            _make(path, now, patience_s)
        mode, only_read, remark = _how(path)
        marks = _look(path, mode, patience_s)
        if mode == "rw" and "bag" in marks:
            mode = "bag"
        if MARK in marks and not only_read:
            mode, only_read = (
                _mode_for_reading(path, mode != "unlocked"),
                _A_BACKUP.format(path=path),
            )
        engine = sqlite_engine(path, mode=mode, patience_s=patience_s)
        engine.update_execution_options(**{_REMARK: remark})
        try:
            _bring_up_to_date(engine, str(path), path, now, fresh=False, only_read=bool(only_read))
        except BaseException:
            engine.dispose()
            raise
    except (*LIBRARY_ERRORS, OSError) as error:
        raise _file_sentence(error, path) from error
    return Book(engine, str(path), only_read=only_read, first_zone=zone)


_REMARK = "pondround_remark"
_A_BACKUP = (
    "{path} is a backup and stays as it was made; nothing was saved. To go on with it make a book "
    "of it: pondround restore FILE --to NEW."
)


def remark_of(book: Book) -> str:
    """What a person should know of where the book lies, to be said once when it is opened.

    Parameters
    ----------
    book
        The book.

    Returns
    -------
    str
        A warning in words; empty where all is well.
    """
    return str(book.engine.get_execution_options().get(_REMARK, ""))


def _file_sentence(error: BaseException, path: Path) -> PondroundError:
    cause = getattr(error, "orig", None) or error
    return file_trouble(cause, path) or sentence(error, str(path))


def _is_there(path: Path, create: bool) -> bool:
    """Whether there is a file to open. Refuse what cannot be a book."""
    try:
        found = path.stat()
    except FileNotFoundError:
        if path.is_symlink():
            raise BookTrouble(
                f"{path} points at {path.readlink()}, which is not there; nothing was made. "
                "Connect the disk or folder that holds the book, or name another file.",
                title="No book there",
            ) from None
        if create:
            return False
        raise BookTrouble(
            f"There is no book at {path}; nothing was made. Check the name, or begin a new "
            "book there.",
            title="No book there",
        ) from None
    if stat.S_ISDIR(found.st_mode):
        raise BookTrouble(
            f"{path} is a folder, not a book; nothing was changed. Name the file in it."
        )
    if not stat.S_ISREG(found.st_mode):
        raise BookTrouble(
            f"{path} is no file but a pipe, a device or the like; it was left as it is. Name a "
            "file.",
            title="Not a book",
        )
    if found.st_size == 0:
        raise BookTrouble(
            f"{path} is not a book of Pondround, or it is damaged at its beginning; it was left "
            "as it is. Open another file, or a copy made before.",
            title="Not a book",
        )
    if not _allowed(path, os.R_OK):
        raise PermissionError(errno.EACCES, "not to be read", str(path))
    return True


def _make(path: Path, now: datetime, patience_s: float) -> None:
    """Make a new book beside its place and move it there when it is whole."""
    path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    _refuse_left_over(path)
    folder = folder_of(path)
    if folder.network and not _locks_hold(folder, path):
        raise BookTrouble(without_locks(str(path)), title="Locks do not work there")
    beside = neighbour(path, "being-made")
    try:
        mode: Mode = "network" if folder.network else "rw"
        # With the usual journal all of it is in the file at once, nothing in a file beside it.
        engine = sqlite_engine(beside, mode=mode, patience_s=patience_s, keep_journal=True)
        try:
            _bring_up_to_date(engine, str(path), beside, now, fresh=True, only_read=False)
        finally:
            engine.dispose()
        with suppress(FileExistsError):  # somebody made one meanwhile, and that is opened
            move_into_place(beside, path)
    finally:
        remove(beside)


def _refuse_left_over(path: Path) -> None:
    for ending in ("-wal", "-journal"):
        left = side_file(path, ending)
        if left.exists() and left.stat().st_size > 0:
            raise BookTrouble(
                f"There is no book at {path}, but {left.name} beside it holds entries of one; "
                "nothing was made. Put the book back beside it, or begin one by another name.",
                title="No book there",
            )


def _how(path: Path) -> tuple[Mode, str, str]:
    """How the file is opened, why it can only be read, and what to say of its place."""
    name = str(path)
    folder = folder_of(path)
    locked = not folder.network or _locks_hold(folder, path)
    if not _allowed(path):
        return _mode_for_reading(path, locked), only_for_reading(name), ""
    if not _allowed(path.resolve().parent):  # no place for the journal
        sentence_of_folder = (
            f"The folder of the book {name} may not be written by you, which writing the book "
            "needs; nothing was saved. Ask for permission to write there, or open a copy."
        )
        return _mode_for_reading(path, locked), sentence_of_folder, ""
    if not locked:
        return "unlocked", without_locks(name), ""
    if folder.network:
        return "network", "", over_a_network(name)
    return "rw", "", ""


def _locks_hold(folder: Folder, path: Path) -> bool:
    return not folder.one_computer and locks_work(path.resolve().parent)


def _allowed(path: Path, what: int = os.W_OK) -> bool:
    # A file is not opened for it: closing it would let go of the locks that this program holds
    # on it, where it is open already.
    return os.access(path, what, effective_ids=os.access in os.supports_effective_ids)


def _mode_for_reading(path: Path, locked: bool) -> Mode:
    # Reading along with a writer needs the writer's side files; without them, in a folder that
    # may not be written, nobody is writing and the file is taken as it stands.
    if not locked:
        return "unlocked"
    side_files = side_file(path.resolve(), "-wal").exists() or _allowed(path.resolve().parent)
    return "ro" if side_files else "immutable"


def _look(path: Path, mode: Mode, patience_s: float) -> set[str]:
    """Refuse what is no book, or a newer one, before anything in the file is touched.

    Gives whether it is a `bag` or a `backup`.
    """
    engine = sqlite_engine(path, mode=mode, patience_s=patience_s, keep_journal=True)
    try:
        with engine.connect() as connection:
            found = schema.number(connection)
            _refuse(str(path), found, server=False)
            marks = text("SELECT key FROM book_meta WHERE key IN ('bag', :backup)")
            return set(connection.execute(marks, {"backup": MARK}).scalars())
    finally:
        engine.dispose()


def _open_server(
    address: URL, now: datetime, create: bool, zone: ZoneInfo | None, patience_s: float,
    backups: Path | None,
) -> Book:  # fmt: skip
    name = without_passwords(address.render_as_string(hide_password=True))
    try:
        engine = postgres_engine(address, patience_s=patience_s)
    except ImportError as error:
        raise BookTrouble(
            "A book on PostgreSQL needs the driver psycopg, which is not installed; nothing was "
            'opened. Install it with: pip install "pondround[postgres]"'
        ) from error
    try:
        _bring_up_to_date(engine, name, None, now, fresh=create, only_read=False, backups=backups)
    except BaseException:
        engine.dispose()
        raise
    return Book(engine, name, first_zone=zone)


def _bring_up_to_date(
    engine: Engine,
    name: str,
    path: Path | None,
    now: datetime,
    *,
    fresh: bool,
    only_read: bool,
    backups: Path | None = None,
) -> None:
    try:
        with engine.connect() as connection:
            found = schema.number(connection)
            empty = found is None and not inspect(connection).get_table_names()
        if found == schema.HEAD:
            return
        if empty and not fresh and path is None:
            raise NoBookYet(
                f"There is no book in the database {name} yet; nothing was made there. "
                "“pondround” begins one, “pondround restore FILE --to ADDRESS” brings one back."
            )
        if not (found is None and fresh and empty):
            _refuse(name, found, server=path is None)
        if only_read:
            raise BookTrouble(
                f"The book {name} is of an older version and may not be written, so it cannot be "
                "brought up to date; it was left as it is. Open a copy that you may write; of a "
                "backup “pondround restore” makes one.",
                title="An older book",
            )
        if found is not None and path is not None:
            back_up(engine, name, path.parent, now, "upgrade", ending=path.suffix, stem=path.stem)
        elif found is not None and backups is not None:
            back_up(engine, name, backups, now, "upgrade")
        schema.upgrade(engine)
    except (*LIBRARY_ERRORS, OSError) as error:
        raise sentence(error, name) from error


def _refuse(name: str, found: int | None, *, server: bool) -> None:
    if found is None:
        raise BookTrouble(
            f"{name} is a database, but not a book of Pondround; it was left as it is. "
            "Open another one" + (", or begin a new book in an empty one." if server else "."),
            title="Not a book",
        )
    if found > schema.HEAD:
        raise BookTrouble(
            f"The book {name} was written by a newer Pondround (its tables are number {found}, "
            f"this version knows {schema.HEAD}); it was left as it is. Install the newer "
            "version.",
            title="A newer book",
        )
