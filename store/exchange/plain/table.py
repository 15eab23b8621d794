"""Reading a plain file of rows: comma or semicolon, UTF-8, a header line."""

from __future__ import annotations

import csv
import hashlib
import io
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from store.errors import BadInput
from store.exchange.sheets.marked import marked, unmarked
from store.text import plain

_MOST_COLUMNS = 500
_UTF16 = (b"\xff\xfe", b"\xfe\xff")


@dataclass(frozen=True, slots=True)
class Row:
    """One row with the number of the line on which it begins; as many cells as the header has."""

    line: int
    cells: tuple[str, ...]
    surplus: bool = False
    """The row has more cells than the header: what stands where is not certain."""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A file whose header was read; the rows are read as they are asked for.

    With semicolons between the cells a comma is the decimal mark, as spreadsheets write it in the
    countries that use one.
    """

    path: Path
    sha256: str
    separator: str
    header: tuple[str, ...]
    encoding: str

    @property
    def decimal_comma(self) -> bool:
        """Whether a comma within a number is its decimal mark."""
        return self.separator == ";"

    def rows(self) -> Iterator[Row]:
        """The rows behind the header, one at a time; rows that hold nothing are passed over.

        Raises
        ------
        BadInput
            When the file cannot be read to its end.
        """
        width = len(self.header)
        lines = _cells(self.path, self.encoding, self.separator)
        next(lines)
        for line, cells in lines:
            if not any(cell.strip() for cell in cells):
                continue
            surplus = any(cell.strip() for cell in cells[width:])
            fitted = (*cells[:width], *[""] * (width - len(cells)))
            yield Row(line, fitted if not surplus else tuple(cells), surplus)


def open_sheet(path: Path) -> Sheet:
    """A file, its header and its fingerprint.

    Parameters
    ----------
    path
        The file.

    Returns
    -------
    Sheet
        The separator is the one of comma, semicolon and tab that the header holds most of.

    Raises
    ------
    BadInput
        When the file is not there, is empty, or is not text in UTF-8.
    """
    try:
        with path.open("rb") as file:
            head = file.read(4096)
            file.seek(0)
            sha256 = hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise BadInput(
            f"{path} cannot be read ({error.strerror or error}); nothing was brought in. "
            "Check the name and try again.",
            title="No such file",
        ) from error
    encoding = "utf-16" if head.startswith(_UTF16) else "utf-8-sig"
    if encoding == "utf-8-sig" and b"\0" in head:
        raise BadInput(
            f"{path.name} is no text; nothing was brought in. Save the sheet as CSV (UTF-8)."
        )
    separator = _separator(path, encoding)
    header: tuple[str, ...] = ()
    for _, cells in _cells(path, encoding, separator):
        header = tuple(cell.strip() for cell in cells)
        break
    while header and not header[-1]:
        header = header[:-1]
    if not header:
        raise BadInput(
            f"{path.name} has no header line; nothing was brought in. The first line names the "
            "columns."
        )
    if len(header) > _MOST_COLUMNS:
        raise BadInput(f"{path.name} has {len(header)} columns; nothing was brought in.")
    return Sheet(path, sha256, separator, header, encoding)


def sheet_text(header: Sequence[str], rows: Iterable[Sequence[str]], separator: str = ",") -> str:
    """A file of rows as text.

    Parameters
    ----------
    header
        The names of the columns.
    rows
        The cells.
    separator
        Between two cells.

    Returns
    -------
    str
        With a line feed behind every row; harmless, and no cell of it is a formula.
    """
    text = io.StringIO()
    writer = csv.writer(text, delimiter=separator, lineterminator="\n")
    for row in (header, *rows):
        writer.writerow([marked(plain(cell, lines=True)) for cell in row])
    return text.getvalue()


def _separator(path: Path, encoding: str) -> str:
    try:
        with path.open(encoding=encoding, newline="") as file:
            first = file.readline(65536)
    except UnicodeError as error:
        raise _not_utf8(path) from error
    except OSError as error:
        raise BadInput(f"{path} cannot be read ({error.strerror or error}).") from error
    return max(",;\t", key=first.count)


def _cells(path: Path, encoding: str, separator: str) -> Iterator[tuple[int, list[str]]]:
    """Line number and cells of every row, the header among them."""
    before = 0
    try:
        with path.open(encoding=encoding, newline="") as file:
            # A NUL byte ends a row for some readers; none belongs into a sheet.
            reader = csv.reader((line.replace("\0", "") for line in file), delimiter=separator)
            for cells in reader:
                yield before + 1, list(map(unmarked, cells))
                before = reader.line_num
    except UnicodeError as error:
        raise _not_utf8(path) from error
    except csv.Error as error:
        raise BadInput(
            f"Line {before + 1} of {path.name} cannot be read as a row ({error}); nothing was "
            "brought in. A quotation mark without its partner is the usual reason."
        ) from error
    except OSError as error:
        raise BadInput(f"{path} cannot be read ({error.strerror or error}).") from error


def _not_utf8(path: Path) -> BadInput:
    return BadInput(
        f"{path.name} is not written in UTF-8; nothing was brought in. Save the sheet again and "
        "choose CSV UTF-8 in the spreadsheet."
    )
