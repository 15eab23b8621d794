"""A folder that an older version wrote, as a folder of today.

Its rows go into a book that is thrown away, made with the tables of that number by the same
migrations that bring an older book up to date; then it is brought up to date like any other and
written out again. So it is what the older book would be, had it been opened today.
"""

from __future__ import annotations

import csv
import tempfile
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import datetime
from pathlib import Path

from sqlalchemy import Column, Engine, MetaData, Table

from store.book import schema
from store.book.book import Book
from store.book.engines import sqlite_engine
from store.book.tables_of_then import tables_of_then
from store.book.trouble import LIBRARY_ERRORS, sentence
from store.exchange.back.filling import fill
from store.exchange.back.whole import refuse_changed
from store.exchange.out.book_folder import export_book
from store.exchange.out.folder import Manifest, file_of
from store.exchange.out.rows import Progress, Told

_NAME = "the book in between"
_STAGES = 3


def check_older(folder: Path, manifest: Manifest) -> tuple[str, ...]:
    """Look whether a folder of an older number is whole and as it was written.

    Parameters
    ----------
    folder
        As `store.exchange.out.book_folder.export_book` of that version wrote it.
    manifest
        Its manifest.

    Returns
    -------
    tuple of str
        What is to be remarked of it.

    Raises
    ------
    BadInput
        Files are missing, strange or changed.
    """
    with _made(manifest.schema) as (_engine, tables):
        return _remarked(manifest, refuse_changed(folder, manifest, tables))


@contextmanager
def folder_of_today(
    folder: Path, manifest: Manifest, now: datetime, told: Told
) -> Iterator[tuple[Path, Manifest, tuple[str, ...]]]:
    """The same book as a folder of this version; it is gone when the context ends.

    Parameters
    ----------
    folder
        As an older version wrote it.
    manifest
        Its manifest.
    now
        The present instant, with a time zone.
    told
        Is told how far it is, up to two thirds of the rows: the last third is the place's.

    Yields
    ------
    tuple
        The folder, its manifest, and what is to be remarked.

    Raises
    ------
    BadInput
        The folder is not as it was written, or holds what a book of its number cannot hold.
    BookTrouble
        It cannot be brought up to date.
    """
    with _made(manifest.schema) as (engine, tables):
        remarks = _remarked(manifest, refuse_changed(folder, manifest, tables))
        as_written = {name: _as_headed(one, folder) for name, one in tables.items()}
        first = _stage(told, 0, manifest.rows)
        fill(engine, _NAME, as_written, folder, manifest, first, own_copy=False)
        try:
            schema.upgrade(engine)
        except LIBRARY_ERRORS as error:
            raise sentence(error, _NAME) from error
        with tempfile.TemporaryDirectory(prefix="pondround-") as away:
            written = export_book(
                Book(engine, _NAME), Path(away) / "book", now, told=_stage(told, 1, manifest.rows)
            )
            yield written.path, written.manifest, remarks


def last_stage(told: Told, rows: int) -> Told:
    """Tells of the third stage, in which the folder of today is brought in.

    Parameters
    ----------
    told
        Is told of the whole.
    rows
        Rows of the older folder.
    """
    return _stage(told, _STAGES - 1, rows)


def _stage(told: Told, number: int, rows: int) -> Told:
    def tells(one: Progress) -> None:
        done = rows * one.done // one.whole if one.whole else 0
        told(Progress(one.table, (number * rows + done) // _STAGES, rows))

    return tells


@contextmanager
def _made(number: int) -> Iterator[tuple[Engine, dict[str, Table]]]:
    """A book of a number in a folder that is thrown away, and its tables."""
    with tempfile.TemporaryDirectory(prefix="pondround-") as away:
        path = Path(away) / "then.pondround"
        path.touch(mode=0o600)
        engine = sqlite_engine(path)
        try:
            try:
                schema.upgrade(engine, number)
                with engine.connect() as connection:
                    tables = tables_of_then(connection)
            except LIBRARY_ERRORS as error:
                raise sentence(error, _NAME) from error
            yield engine, tables
        finally:
            engine.dispose()


def _as_headed(table: Table, folder: Path) -> Table:
    """The table with its columns in the order of its file, which only the older version knew."""
    path = folder / file_of(table.name)
    try:
        with path.open(encoding="utf-8-sig", newline="") as file:
            names = next(csv.reader(file), [])
    except (UnicodeDecodeError, csv.Error):
        names = []
    if sorted(names) != sorted(one.name for one in table.columns):
        return table  # the reader refuses the file, and says why
    return Table(
        table.name,
        MetaData(),
        *(Column(one, table.c[one].type, nullable=table.c[one].nullable) for one in names),
    )


def _remarked(manifest: Manifest, remarks: tuple[str, ...]) -> tuple[str, ...]:
    return (
        *remarks,
        f"The folder was written by an older version, with tables of number {manifest.schema}; "
        f"they are brought up to number {schema.HEAD}, as opening that book would.",
    )
