"""Sheets of a workbook (.xlsx) as the text that a person would have typed."""

from __future__ import annotations

import io
import warnings
import zipfile
from collections.abc import Collection
from dataclasses import dataclass, field
from typing import Any

from store.errors import BadInput
from store.exchange.sheets.grid import Grid, Merged, RawRow
from store.exchange.sheets.shown import as_typed
from store.text import plain

MOST_UNPACKED_BYTES = 200_000_000
MOST_PARTS = 5_000
MOST_CELLS = 2_000_000
MOST_PLACES = 10_000_000
_NAMED_FEW = 6


def grids_of(name: str, data: bytes) -> tuple[tuple[Grid, ...], tuple[str, ...]]:
    """Every sheet of a workbook, hidden ones as well, with what is told of all of them.

    Parameters
    ----------
    name
        Of the file, for sentences.
    data
        Its bytes.

    Returns
    -------
    tuple of Grid, tuple of str
        The sheets in their order, and remarks.

    Raises
    ------
    BadInput
        When it is no workbook, or would be too large unpacked.
    """
    formulas = _looked_into(name, data)
    shown, typed = _loaded(name, data, formulas)
    grids = []
    cells = 0
    try:
        for sheet in shown.worksheets:
            cells += len(sheet._cells)
            if cells > MOST_CELLS:
                raise BadInput(
                    f"{name} has more than {MOST_CELLS:,} cells; nothing was brought in. Save the "
                    "sheet that is meant as CSV."
                )
            grids.append(_grid(sheet, typed[sheet.title] if typed is not None else None))
    except BadInput:
        raise
    except Exception as error:
        raise _broken(name) from error
    hidden = [plain(grid.name) for grid in grids if grid.hidden and grid.rows]
    remarks: tuple[str, ...] = ()
    if hidden:
        remarks = (f"Hidden sheets are not read unless they are named: {_few(hidden)}.",)
    return tuple(grids), remarks


def _looked_into(name: str, data: bytes) -> bool:
    """Refuse what is no workbook or far too large; whether it holds formulas."""
    try:
        with zipfile.ZipFile(io.BytesIO(data)) as packed:
            parts = packed.infolist()
            names = {part.filename for part in parts}
            unpacked = sum(part.file_size for part in parts)
            if len(parts) > MOST_PARTS or unpacked > MOST_UNPACKED_BYTES:
                raise BadInput(
                    f"{name} would be {unpacked / 1e6:,.0f} MB unpacked, which is not read; "
                    "nothing was brought in. Save the sheet that is meant as CSV."
                )
            if "mimetype" in names:
                raise BadInput(
                    f"{name} is a sheet of another kind than .xlsx; nothing was brought in. Save "
                    "it as .xlsx or as CSV."
                )
            if "[Content_Types].xml" not in names:
                raise BadInput(
                    f"{name} is a packed file and no workbook and no text; nothing was brought in. "
                    "Unpack it first."
                )
            return any(
                b"<f>" in (inside := packed.read(part)) or b"<f " in inside
                for part in parts
                if part.filename.startswith("xl/worksheets/")
            )
    except BadInput:
        raise
    except Exception as error:  # zipfile has half a dozen of its own
        raise _broken(name) from error


def _loaded(name: str, data: bytes, formulas: bool) -> tuple[Any, Any]:
    """The workbook with values as last reckoned, and with its formulas where it has some."""
    from openpyxl import load_workbook

    try:
        with warnings.catch_warnings():
            warnings.simplefilter("ignore")
            shown = load_workbook(io.BytesIO(data), data_only=True)
            typed = load_workbook(io.BytesIO(data)) if formulas else None
    except Exception as error:  # a stranger's file fails in any way there is
        raise _broken(name) from error
    return shown, typed


@dataclass(slots=True)
class _Seen:
    """What the cells of one sheet hold, and what about them cannot be read."""

    texts: dict[int, dict[int, str]] = field(default_factory=dict)
    struck: set[tuple[int, int]] = field(default_factory=set)
    unreckoned: int = 0
    coloured: int = 0
    noted: int = 0

    def take(self, row: int, column: int, cell: Any, typed: Any) -> None:
        """One cell; `typed` is the sheet with its formulas, where the file has some."""
        text = as_typed(cell)
        self.noted += cell.comment is not None
        # A formula whose result is an empty text has that type; without a result it has none.
        if not text and typed is not None and cell.data_type != "str":
            formula = typed.cell(row, column)
            if formula.data_type == "f":
                text = str(formula.value)
                self.unreckoned += 1
        if not text.strip():
            return
        self.texts.setdefault(row, {})[column - 1] = text
        if cell.has_style:
            if cell.font.strike:
                self.struck.add((row, column - 1))
            self.coloured += cell.fill.patternType == "solid" and text[:1].isdigit()

    def remarks(self, columns: set[int], lines: set[int]) -> list[str]:
        """One sentence for each thing that is passed over."""
        told = []
        if columns:
            told.append(f"Hidden columns: {_few(_letters(columns))}.")
        if lines:
            told.append(f"{len(lines)} hidden rows are among those read.")
        if self.struck:
            places = [f"{_letters({place})[0]}{line}" for line, place in sorted(self.struck)]
            told.append(f"Crossed out in the sheet: {_few(places)}.")
        if self.unreckoned:
            formulas = (
                "1 formula has" if self.unreckoned == 1 else f"{self.unreckoned} formulas have"
            )
            told.append(
                f"{formulas} no result in the file and stand as written. Save the file in the "
                "spreadsheet once."
            )
        if self.coloured:
            figures = "1 figure stands" if self.coloured == 1 else f"{self.coloured} figures stand"
            told.append(
                f"{figures} on a colour; what colours mean is not read. Write it into the notes."
            )
        if self.noted:
            notes = (
                "1 comment hangs on a cell"
                if self.noted == 1
                else (f"{self.noted} comments hang on cells")
            )
            told.append(f"{notes}; what comments say is not read.")
        return told


def _grid(sheet: Any, typed: Any) -> Grid:
    seen = _Seen()
    for (row, column), cell in sheet._cells.items():
        seen.take(row, column, cell, typed)
    if sum(max(cells) + 1 for cells in seen.texts.values()) > MOST_PLACES:
        raise BadInput(
            f"The cells of the sheet “{plain(sheet.title):.40}” lie too far apart to be read; "
            "nothing was brought in. Save the part that is meant as CSV."
        )
    merged = _merged(sheet, seen.texts)
    rows = tuple(
        RawRow(line, tuple(cells.get(place, "") for place in range(max(cells) + 1)))
        for line, cells in sorted(seen.texts.items())
    )
    columns = _hidden_columns(sheet) & {place for cells in seen.texts.values() for place in cells}
    lines = {row for row, one in sheet.row_dimensions.items() if one.hidden} & set(seen.texts)
    return Grid(
        sheet.title,
        rows,
        tuple(seen.remarks(columns, lines)),
        sheet.sheet_state != "visible",
        frozenset(columns),
        frozenset(lines),
        merged,
        frozenset(seen.struck),
    )


def _merged(sheet: Any, texts: dict[int, dict[int, str]]) -> tuple[Merged, ...]:
    """The merged ranges that hold something; what reaches over several rows stands in each."""
    merged = []
    for one in sheet.merged_cells.ranges:
        first, last, place = one.min_row, one.max_row, one.min_col - 1
        text = texts.get(first, {}).get(place)
        if text is None:
            continue
        merged.append(Merged(first, last, place, one.max_col - 1))
        for line in range(first + 1, last + 1):
            if line in texts:
                texts[line].setdefault(place, text)
    return tuple(sorted(merged, key=lambda one: (one.first_line, one.first_column)))


def _hidden_columns(sheet: Any) -> set[int]:
    hidden: set[int] = set()
    for one in sheet.column_dimensions.values():
        if one.hidden and one.min is not None:
            hidden.update(range(one.min - 1, min(one.max or one.min, 16_384)))
    return hidden


def _letters(places: Collection[int]) -> list[str]:
    from openpyxl.utils import get_column_letter

    return [get_column_letter(place + 1) for place in sorted(places)]


def _few(names: list[str]) -> str:
    return ", ".join(f"{one:.40}" for one in names[:_NAMED_FEW]) + (
        " …" if len(names) > _NAMED_FEW else ""
    )


def _broken(name: str) -> BadInput:
    return BadInput(
        f"{name} cannot be read as a workbook; nothing was brought in. Open it in the spreadsheet "
        "and save it again as .xlsx, or as CSV."
    )
