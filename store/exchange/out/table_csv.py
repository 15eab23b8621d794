"""A table of the book as CSV: UTF-8, one line of headings, safe to open in a spreadsheet."""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, BinaryIO

from sqlalchemy import ColumnElement, Connection, Table

from store.book.book import Book
from store.book.columns import Base
from store.errors import NotFound
from store.exchange.out.cells import cell_of
from store.exchange.out.described import table_names
from store.exchange.out.narrowed import Narrow, conditions
from store.exchange.out.placing import placed
from store.exchange.out.rows import Progress, Told, count_rows, quiet, raw_rows, written_columns

BOM = "\N{ZERO WIDTH NO-BREAK SPACE}".encode()
"""By which spreadsheets know UTF-8; only on files made for them."""


@dataclass(frozen=True, slots=True)
class Written:
    """What was written: rows without the headings, bytes, and their SHA-256."""

    rows: int
    size: int
    sha256: str


class Lines:
    """Rows of cells into a file as CSV, counted and hashed on the way.

    Lines end in CR LF, as RFC 4180 has it; a cell with a separator, a quote or a line end in it is
    quoted.

    Parameters
    ----------
    file
        Open for writing bytes.
    header
        The headings.
    bom
        Begin with the mark by which spreadsheets know UTF-8.
    """

    def __init__(self, file: BinaryIO, header: Sequence[str], *, bom: bool = False) -> None:
        self._file, self._hash = file, hashlib.sha256()
        self._rows = self._size = 0
        if bom:
            self._put(BOM)
        self.add([header])
        self._rows = 0

    def add(self, rows: Iterable[Sequence[Any]]) -> None:
        """Write rows; None becomes an empty cell.

        Parameters
        ----------
        rows
            Numbers stand as the shortest text that is read back as the same number.
        """
        buffer = io.StringIO()
        listed = list(rows)
        csv.writer(buffer, lineterminator="\r\n").writerows(listed)
        self._rows += len(listed)
        self._put(buffer.getvalue().encode())

    def _put(self, data: bytes) -> None:
        self._file.write(data)
        self._hash.update(data)
        self._size += len(data)

    @property
    def rows(self) -> int:
        """How many rows there are so far."""
        return self._rows

    def written(self) -> Written:
        """What is in the file by now."""
        return Written(self._rows, self._size, self._hash.hexdigest())


def header_of(table: Table) -> list[str]:
    """The headings of a table's file.

    Parameters
    ----------
    table
        The table.
    """
    return [one.name for one in written_columns(table)]


def known_table(name: str) -> Table:
    """The table of that name.

    Parameters
    ----------
    name
        As it was typed; blanks and hyphens count as underscores.

    Raises
    ------
    NotFound
        Naming those that are nearest.
    """
    from difflib import get_close_matches

    wanted = name.strip().casefold().replace(" ", "_").replace("-", "_")
    if wanted in Base.metadata.tables:
        return Base.metadata.tables[wanted]
    near = get_close_matches(wanted, table_names(), n=3, cutoff=0.5) or sorted(table_names())
    raise NotFound(f"There is no table “{name:.40}”. There are: {', '.join(near)}.")


def add_rows(
    lines: Lines,
    connection: Connection,
    table: Table,
    *asked: ColumnElement[bool],
    told: Told = quiet,
    before: int = 0,
    whole: int = 0,
    back: bool = True,
) -> None:
    """Write the rows of a table behind its headings.

    Parameters
    ----------
    lines
        The file.
    connection
        Of a reading of the book.
    table
        The table.
    *asked
        Which rows; none for all.
    told
        Is told how far it is.
    before, whole
        Rows that were written before, and all that are to be written.
    back
        Whether the file comes back into a book and keeps all that stands in this one.
    """
    sqlite = connection.dialect.name == "sqlite"
    shown = [cell_of(one, sqlite=sqlite, back=back) for one in written_columns(table)]
    for part in raw_rows(connection, table, *asked):
        by_column = zip(*part, strict=True)
        made = [
            cells if of is None else [None if one is None else of(one) for one in cells]
            for of, cells in zip(shown, by_column, strict=True)
        ]
        lines.add(zip(*made, strict=True))
        told(Progress(table.name, before + lines.rows, whole))


def export_table(
    book: Book,
    name: str,
    path: Path,
    *,
    narrow: Narrow | None = None,
    over: bool = False,
    told: Told = quiet,
) -> Written:
    """Write one table, or part of it, as CSV for a spreadsheet.

    Parameters
    ----------
    book
        The practice's book; it is only read.
    name
        The table.
    path
        The file.
    narrow
        Which rows; None for all, those that are struck through among them.
    over
        Write over a file that is there.
    told
        Is told how far it is.

    Raises
    ------
    NotFound
        There is no such table, or the file cannot be written.
    BadInput
        There is such a file already, or the table cannot be narrowed like this.
    BookTrouble
        The book cannot be read.
    """
    table = known_table(name)
    asked = conditions(table.name, narrow or Narrow(), book.zone)
    with placed(path, over=over) as file, book.reading() as connection:
        return write_table(connection, table, file, *asked, told=told)


def write_table(
    connection: Connection,
    table: Table,
    file: BinaryIO,
    *asked: ColumnElement[bool],
    bom: bool = True,
    told: Told = quiet,
) -> Written:
    """Write one table as CSV for a spreadsheet into a file that is open.

    Parameters
    ----------
    connection
        Of a reading of the book.
    table
        The table.
    file
        Open for writing bytes.
    *asked
        Which rows; none for all.
    bom
        Begin with the mark by which spreadsheets know UTF-8.
    told
        Is told how far it is.
    """
    lines = Lines(file, header_of(table), bom=bom)
    whole = count_rows(connection, table, *asked)
    add_rows(lines, connection, table, *asked, told=told, whole=whole, back=False)
    return lines.written()
