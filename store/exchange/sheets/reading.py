"""A file from the disk: text or workbook, within limits of size, with its fingerprint."""

from __future__ import annotations

import hashlib
import io
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from store.errors import BadInput
from store.exchange.sheets.delimited import (
    NAMED,
    lines_of,
    rows_of,
    said_separator,
    separator_of,
)
from store.exchange.sheets.encoding import Written, encoding_of
from store.exchange.sheets.grid import Grid, SheetFile
from store.text import plain

MOST_BYTES = 64_000_000
MOST_COLUMNS = 2_000
_CHUNK = 1 << 20
_HEAD_LETTERS = 200_000
_SPOILT = "\N{REPLACEMENT CHARACTER}"


def read_file(
    path: Path,
    *,
    separator: str | None = None,
    encoding: str | None = None,
    most_bytes: int = MOST_BYTES,
) -> SheetFile:
    """Every sheet of a file as raw cells; of text there is one.

    Parameters
    ----------
    path
        CSV of any kind, or a workbook (.xlsx, .xlsm); the content decides, not the name.
    separator
        Between the cells of a text, where a person has said it; else it is found.
    encoding
        Of a text, where a person has said it; else it is found.
    most_bytes
        The longest file that is read [bytes].

    Returns
    -------
    SheetFile
        With remarks on all that is not certain.

    Raises
    ------
    BadInput
        When the file is not there, too large, or neither text nor workbook.

    Notes
    -----
    A text is held in memory as a whole; for files of millions of rows use `how_written` and read
    on by yourself.
    """
    data = _bytes(path, most_bytes)
    sha256 = hashlib.sha256(data).hexdigest()
    name = plain(path.name)
    if data.startswith(b"PK\x03\x04"):
        from store.exchange.sheets.workbook import grids_of

        grids, remarks = grids_of(name, data)
        return SheetFile(path, sha256, grids, remarks)
    written = _written(name, data, encoding)
    text = _text(name, data, written)
    remarks = written.remarks
    ended = text.rstrip("\0\x1a")
    if "\0" in ended:
        remarks = (*remarks, _holes(name))
    lines = lines_of(ended.replace("\0", _SPOILT))
    said = said_separator(lines[0])
    found, doubts = (said, ()) if said else separator_of(lines)
    if said:
        lines[0] = ""
    if separator is not None:
        found, doubts = separator, ()
    rows, odd = rows_of(lines, found)
    width = max((len(row.cells) for row in rows), default=0)
    if width > MOST_COLUMNS:
        raise BadInput(
            f"{name} has {width:,} columns, parted by {NAMED.get(found, found)}; "
            f"{MOST_COLUMNS:,} are read. Nothing was brought in."
        )
    last = rows[-1].line if rows and lines[-1].strip() else None
    grid = Grid("", tuple(rows), open_line=last)
    return SheetFile(path, sha256, (grid,), (*remarks, *doubts, *odd), written.encoding, found)


def how_written(path: Path) -> Written:
    """Encoding and separator of a text file of any length; memory does not grow with it.

    Parameters
    ----------
    path
        The file.

    Returns
    -------
    Written
        For `open(path, encoding=…, errors=…, newline="")`. The whole file was looked at for the
        encoding, its beginning for the separator.

    Raises
    ------
    BadInput
        When the file is not there, or is no text.
    """
    name = plain(path.name)
    try:
        with path.open("rb") as file:
            written = encoding_of(name, _chunks(file))
        with path.open(encoding=written.encoding, errors=written.errors, newline="") as text:
            lines = lines_of(text.read(_HEAD_LETTERS))
    except OSError as error:
        raise _unreadable(path, error) from error
    said = said_separator(lines[0])
    found, doubts = (said, ()) if said else separator_of(lines[:-1] or lines)
    return replace(written, separator=found, remarks=(*written.remarks, *doubts))


def _bytes(path: Path, most: int) -> bytes:
    try:
        with path.open("rb") as file:
            data = file.read(most + 1)
    except OSError as error:
        raise _unreadable(path, error) from error
    if len(data) > most:
        raise BadInput(
            f"{plain(path.name)} is larger than {most / 1e6:,.0f} MB; nothing was brought in. "
            "Save the part that is needed as a file of its own."
        )
    if not data.strip(b"\0\r\n\t ;,\xef\xbb\xbf\xff\xfe"):
        raise BadInput(
            f"{plain(path.name)} holds nothing and has no header line; nothing was brought in."
        )
    return data


def _written(name: str, data: bytes, encoding: str | None) -> Written:
    if encoding is None:
        return encoding_of(name, [data])
    try:
        "".encode(encoding)
        data[:4].decode(encoding, "replace")
    except (LookupError, UnicodeError) as error:
        raise BadInput(
            f"There is no encoding “{plain(encoding):.40}”.", field="encoding"
        ) from error
    return Written(encoding, "replace")


def _text(name: str, data: bytes, written: Written) -> str:
    try:
        return data.decode(written.encoding, written.errors)
    except UnicodeError as error:
        raise BadInput(
            f"{name} cannot be read as {written.encoding}; nothing was brought in. Save the sheet "
            "again as CSV UTF-8."
        ) from error


def _holes(name: str) -> str:
    return f"{name} has empty bytes in it; a cell with one, shown as {_SPOILT}, is not read."


def _chunks(file: io.BufferedReader) -> Iterator[bytes]:
    while chunk := file.read(_CHUNK):
        yield chunk


def _unreadable(path: Path, error: OSError) -> BadInput:
    return BadInput(
        f"{plain(str(path))} cannot be read ({error.strerror or error}); nothing was brought in. "
        "Check the name and try again.",
        title="No such file",
    )
