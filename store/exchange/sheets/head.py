"""The beginning of any file: a few dozen rows of it, however long it is."""

from __future__ import annotations

import difflib
import os
import stat
import warnings
import zipfile
from collections.abc import Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import BinaryIO

from store.errors import BadInput
from store.exchange.sheets.delimited import lines_of, rows_of, said_separator, separator_of
from store.exchange.sheets.encoding import encoding_of
from store.exchange.sheets.grid import RawRow
from store.exchange.sheets.shown import as_typed
from store.exchange.sheets.workbook import MOST_PARTS, MOST_UNPACKED_BYTES
from store.text import plain

HEAD_BYTES = 131_072
MOST_ROWS = 120
_MOST_COLUMNS = 60
_MOST_SHEETS = 8
_NAMED = 3
_OTHER = (
    (b"SQLite format 3\0", "is a book, no file to bring in. Open it with pondround --book"),
    (b"\xff\xd8\xff", "is a picture; what it shows has to be typed"),
    (b"\x89PNG", "is a picture; what it shows has to be typed"),
    (b"BEGIN:VCALENDAR", "is a calendar. Days off are brought in from the diary: o, then i"),
)
_SHEETS = frozenset({".csv", ".tsv", ".txt", ".xlsx", ".xlsm", ".dat", ".log"})


@dataclass(frozen=True, slots=True)
class SheetHead:
    """The first rows of one sheet; `name` is empty for a text."""

    name: str
    rows: tuple[RawRow, ...]


@dataclass(frozen=True, slots=True)
class FileHead:
    """The beginning of a file: its sheets, its length, and the first lines of a text."""

    sheets: tuple[SheetHead, ...]
    size_bytes: int
    lines: tuple[str, ...] = ()


def head_of(path: Path) -> FileHead:
    """The first rows of every sheet that is shown; of a text only its first bytes are read.

    Parameters
    ----------
    path
        The file.

    Returns
    -------
    FileHead
        At most `MOST_ROWS` rows a sheet.

    Raises
    ------
    BadInput
        There is no such file, it cannot be opened, holds nothing, or is neither text nor workbook.
    """
    name = plain(path.name)
    try:
        found = path.stat()
        if stat.S_ISDIR(found.st_mode):
            raise BadInput(_folder(path), title="That is a folder")
        if not stat.S_ISREG(found.st_mode):
            raise BadInput(f"{plain(str(path))} is no file that can be read. Name another.")
        with path.open("rb") as file:
            data = file.read(HEAD_BYTES)
            if data.startswith(b"PK\x03\x04"):
                return FileHead(_of_workbook(name, file), found.st_size)
    except (OSError, ValueError) as error:
        raise _unopened(path, error) from error
    if name.startswith(("~$", ".~lock.")):
        raise BadInput(f"{name} is what a spreadsheet leaves while a file is open, not the file.")
    if not data.strip(b"\0\r\n\t ;,\xef\xbb\xbf\xff\xfe"):
        raise BadInput(f"{name} is empty: there is nothing in it to bring in.", title="Empty file")
    for mark, what in _OTHER:
        if data.startswith(mark):
            raise BadInput(f"{name} {what}.")
    cut = len(data) < found.st_size
    if cut and (end := data.rfind(b"\n")) > 0:
        data = data[: end + 1]
    written = encoding_of(name, [data])
    text = data.decode(written.encoding, "replace").replace("\0", "")
    lines = lines_of(text)[: MOST_ROWS + 1]
    said = said_separator(lines[0])
    first = tuple(lines)
    if said:
        lines[0] = ""
    rows, _ = rows_of(lines, said or separator_of(lines)[0])
    kept = tuple(RawRow(one.line, one.cells[:_MOST_COLUMNS]) for one in rows[:MOST_ROWS])
    return FileHead((SheetHead("", kept),), found.st_size, first)


def _of_workbook(name: str, file: BinaryIO) -> tuple[SheetHead, ...]:
    # 0.2 s to import, for workbooks alone
    from openpyxl import load_workbook

    file.seek(0)
    try:
        with zipfile.ZipFile(file) as packed:
            parts = packed.infolist()
            names = {part.filename for part in parts}
            unpacked = sum(part.file_size for part in parts)
        if "xl/workbook.xml" not in names:
            raise BadInput(
                f"{name} is no workbook that can be read here. Save the sheet as .xlsx or as CSV."
            )
        if len(parts) > MOST_PARTS or unpacked > MOST_UNPACKED_BYTES:
            raise BadInput(
                f"{name} would be {unpacked / 1e6:,.0f} MB unpacked, which is not read. Save the "
                "sheet that is meant as CSV."
            )
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            book = load_workbook(file, read_only=True, data_only=True)
            try:
                sheets = [one for one in book.worksheets if one.sheet_state == "visible"]
                heads = [_of_sheet(one) for one in sheets[:_MOST_SHEETS]]
            finally:
                book.close()
    except BadInput:
        raise
    except Exception as error:  # a stranger's file fails in any way there is
        raise BadInput(
            f"{name} cannot be read as a workbook. Open it in the spreadsheet and save it again "
            "as .xlsx, or as CSV."
        ) from error
    held = tuple(one for one in heads if one.rows)
    if not held:
        raise BadInput(f"{name} is empty: no sheet of it holds anything.", title="Empty file")
    return held


def _of_sheet(sheet: object) -> SheetHead:
    rows = []
    found = sheet.iter_rows(max_row=MOST_ROWS, max_col=_MOST_COLUMNS)  # type: ignore[attr-defined]
    for line, cells in enumerate(found, start=1):
        texts = [as_typed(cell) for cell in cells]
        if any(text.strip() for text in texts):
            rows.append(RawRow(line, tuple(texts)))
    return SheetHead(plain(sheet.title), tuple(rows))  # type: ignore[attr-defined]


def _folder(path: Path) -> str:
    files = sheets_in(path)
    few = ", ".join(files[:_NAMED])
    said = f" The newest sheets in it: {few}." if files else " There is no sheet in it."
    return f"{plain(str(path))} is a folder. Name the file in it.{said}"


def sheets_in(folder: Path) -> list[str]:
    """The files of a folder that may be sheets, by name, the newest first.

    Parameters
    ----------
    folder
        The folder; one that cannot be looked into holds none.
    """
    found = []
    with suppress(OSError), os.scandir(folder) as inside:
        for one in inside:
            with suppress(OSError):
                hidden = one.name.startswith((".", "~$"))
                if not hidden and Path(one.name).suffix.lower() in _SHEETS and one.is_file():
                    found.append((one.stat().st_mtime, plain(one.name)))
    return [name for _, name in sorted(found, reverse=True)]


def _unopened(path: Path, error: OSError | ValueError) -> BadInput:
    said = plain(str(path))
    if isinstance(error, FileNotFoundError | NotADirectoryError):
        like = _alike(path)
        meant = f" Is {like[0]} meant?" if like else " Look at the name and the folder."
        return BadInput(f"There is no file {said}.{meant}", title="No such file")
    if isinstance(error, PermissionError):
        return BadInput(
            f"{said} may not be read: another program has locked it, or it belongs to somebody "
            "else. Close it there, or copy it to a folder of your own.",
            title="The file is locked",
        )
    why = getattr(error, "strerror", None) or str(error)
    return BadInput(f"{said} cannot be read ({plain(str(why))}). Look at the name.")


def _alike(path: Path) -> Sequence[str]:
    """Sheets in the same folder whose names are nearly the same."""
    names = sheets_in(path.parent)
    folded = {name.casefold(): name for name in names}
    found = difflib.get_close_matches(path.name.casefold(), list(folded), n=1, cutoff=0.7)
    if not found and not path.suffix:
        found = [one for one in folded if Path(one).stem == path.name.casefold()][:1]
    return [folded[one] for one in found]
