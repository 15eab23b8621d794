"""A folder that a whole book was written to, brought back into an empty place: the same records.

Keys, revisions, people, times, the log and struck rows come back as they were, on SQLite and on
PostgreSQL, from either to the other. It is all one transaction: the whole book or nothing. Only
what is written from then on is a chain of its own, as in a book that is restored from a backup.
"""

from __future__ import annotations

import shutil
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from sqlalchemy import Table, make_url
from sqlalchemy.exc import ArgumentError

from store.book import schema
from store.book.address import without_passwords
from store.book.columns import Base
from store.book.engines import postgres_engine
from store.book.opening import open_book
from store.book.trouble import LIBRARY_ERRORS, sentence
from store.errors import BadInput, BookTrouble
from store.exchange.back.filling import fill, full, is_empty
from store.exchange.back.whole import refuse_changed
from store.exchange.out.described import table_names
from store.exchange.out.folder import Manifest, read_manifest
from store.exchange.out.placing import MARKED
from store.exchange.out.rows import Told, quiet


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
        It is none of ours, of a newer schema number, or files are missing, strange or changed; the
        sentence names them.
    """
    manifest = read_manifest(folder)
    _refuse_schema(manifest.schema)
    if manifest.schema < schema.HEAD:
        from store.exchange.back.older import check_older

        return BroughtBack(manifest, check_older(folder, manifest))
    return BroughtBack(manifest, refuse_changed(folder, manifest, table_names()))


def bring_back(folder: Path, place: str, now: datetime, *, told: Told = quiet) -> BroughtBack:
    """Make the book of a folder at a place where there is none.

    Parameters
    ----------
    folder
        As `store.exchange.out.book_folder.export_book` of this version or an older one wrote it.
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
        The folder is not as it was written, of a newer schema number, or holds what a book cannot
        hold. There is no book at the place afterwards.
    BookTrouble
        There is a book already, or the place cannot be written.
    """
    manifest = read_manifest(folder)
    _refuse_schema(manifest.schema)
    if manifest.schema == schema.HEAD:
        found = check_folder(folder)
        _place(folder, manifest, place, now, told)
        return found
    from store.exchange.back.older import folder_of_today, last_stage

    _refuse_taken(place)
    with folder_of_today(folder, manifest, now, told) as (of_today, written, remarks):
        _place(of_today, written, place, now, last_stage(told, manifest.rows))
    return BroughtBack(manifest, remarks)


def _place(folder: Path, manifest: Manifest, place: str, now: datetime, told: Told) -> None:
    """A book of this version made of a folder of this version."""
    _refuse_taken(place)
    path = _file_at(place)
    if path is None:
        with open_book(place, now=now, create=True) as book:
            fill(book.engine, book.name, _tables(), folder, manifest, told, own_copy=True)
        return
    with _new_beside(path) as beside:
        with open_book(beside, now=now, create=True) as book:
            fill(book.engine, book.name, _tables(), folder, manifest, told, own_copy=True)
        _refuse_side_files(beside)
        _refuse_file(path)
        beside.rename(path)


def _tables() -> dict[str, Table]:
    return {name: Base.metadata.tables[name] for name in table_names()}


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
    if 1 <= number <= schema.HEAD:
        return
    if number < 1:
        raise BadInput(
            "The manifest of the folder names no number of tables that a book ever had, so nothing "
            "in it is certain. Nothing was brought in; take the folder as it was written.",
            field="file",
        )
    raise BadInput(
        f"The folder was written by a newer Pondround: its tables are number {number}, this "
        f"version has {schema.HEAD}. Nothing was brought in. Bring it in with that version.",
        field="file",
        title="A folder of a newer version",
    )


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


def _refuse_taken(place: str) -> None:
    path = _file_at(place)
    if path is None:
        _refuse_full_server(place)
    else:
        _refuse_file(path)


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
    name = without_passwords(address.render_as_string(hide_password=True))
    try:
        with engine.connect() as connection:
            number = schema.number(connection)
            if number is not None and (
                number != schema.HEAD or not is_empty(connection, _tables())
            ):
                raise full(name)
    except LIBRARY_ERRORS as error:
        raise sentence(error, name) from error
    finally:
        engine.dispose()


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
