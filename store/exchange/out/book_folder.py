"""The whole book as one folder: a CSV a table, a README, a dictionary, a manifest."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from importlib import metadata
from pathlib import Path

from sqlalchemy import Connection, select

from store.book.book import Book
from store.book.columns import Base
from store.book.schema import HEAD
from store.errors import BadInput
from store.exchange.out.cells import safe
from store.exchange.out.described import table_names
from store.exchange.out.folder import (
    DICTIONARY,
    MANIFEST,
    PARAMETERS,
    README,
    Manifest,
    file_of,
    manifest_text,
)
from store.exchange.out.folder_said import (
    DICTIONARY_HEADER,
    PARAMETERS_HEADER,
    dictionary_rows,
    parameter_rows,
    readme,
)
from store.exchange.out.placing import placed_folder
from store.exchange.out.rows import Told, count_rows, quiet
from store.exchange.out.table_csv import Lines, Written, add_rows, header_of


@dataclass(frozen=True, slots=True)
class BookWritten:
    """Where the book was written to, and what stands there."""

    path: Path
    manifest: Manifest


def export_book(
    book: Book, path: Path, now: datetime, *, over: bool = False, told: Told = quiet
) -> BookWritten:
    """Write the whole book into a folder of plain files, as it is at one moment.

    It is written beside its place and moved there when it is whole.

    Parameters
    ----------
    book
        The practice's book; it is only read, and others may go on writing.
    path
        The folder; it is made.
    now
        The present instant, with a time zone.
    over
        Replace a folder that was written like this before; no other one is ever touched.
    told
        Is told how far it is.

    Raises
    ------
    BadInput
        There is something at `path` already, or `now` has no time zone.
    NotFound
        It cannot be written there.
    BookTrouble
        The book cannot be read.
    """
    if now.tzinfo is None:
        raise BadInput("The present time needs a time zone.")
    with placed_folder(path, over=over, ours=MANIFEST) as folder, book.reading() as connection:
        manifest = _write(connection, folder, now.astimezone(UTC), told)
    return BookWritten(path, manifest)


def book_rows(connection: Connection) -> dict[str, int]:
    """How many rows each table of the book has, in the order in which they are written.

    Parameters
    ----------
    connection
        Of a reading of the book.
    """
    return {name: count_rows(connection, Base.metadata.tables[name]) for name in table_names()}


def _write(connection: Connection, folder: Path, now: datetime, told: Told) -> Manifest:
    (folder / "tables").mkdir()
    counts = book_rows(connection)
    whole, before = sum(counts.values()), 0
    tables: dict[str, Written] = {}
    for name in counts:
        table = Base.metadata.tables[name]
        with (folder / file_of(name)).open("wb") as file:
            lines = Lines(file, header_of(table))
            add_rows(lines, connection, table, told=told, before=before, whole=whole)
            tables[name] = lines.written()
        before += tables[name].rows
    practice, version = practice_name(connection), own_version()
    beside = {
        DICTIONARY: _small(folder / DICTIONARY, DICTIONARY_HEADER, dictionary_rows()),
        PARAMETERS: _small(folder / PARAMETERS, PARAMETERS_HEADER, parameter_rows()),
        README: _text(folder / README, readme(practice, now, version, HEAD, tables)),
    }
    manifest = Manifest(practice, HEAD, now, version, tables, beside)
    _text(folder / MANIFEST, manifest_text(manifest) + "\n")
    return manifest


def _small(path: Path, header: Sequence[str], rows: Iterable[Sequence[str]]) -> Written:
    with path.open("wb") as file:
        lines = Lines(file, header)
        lines.add([[safe(cell) for cell in row] for row in rows])
        return lines.written()


def _text(path: Path, text: str) -> Written:
    data = text.encode()
    path.write_bytes(data)
    return Written(text.count("\n"), len(data), hashlib.sha256(data).hexdigest())


def practice_name(connection: Connection) -> str:
    """The name of the practice; empty where none has been begun.

    Parameters
    ----------
    connection
        Of a reading of the book.
    """
    table = Base.metadata.tables["practice"]
    query = select(table.c.name).where(table.c.struck_at.is_(None)).limit(1)
    return str(connection.execute(query).scalar() or "")


def own_version() -> str:
    """The version of Pondround that writes."""
    try:
        return metadata.version("pondround")
    except metadata.PackageNotFoundError:
        return "of no version"
