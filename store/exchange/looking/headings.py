"""Lines of a file that may be its headings, for a person to say what no reader knows."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from store.exchange.sheets.grid import RawRow
from store.exchange.sheets.head import head_of
from store.text import plain

_FIGURES = re.compile(r"[<>~]?[-+]?[0-9][0-9.,:/ -]*")
_MOST = 15


@dataclass(frozen=True, slots=True)
class HeadLine:
    """A line with its cells, and those of the line below it."""

    line: int
    cells: tuple[str, ...]
    below: tuple[str, ...]


def head_lines(path: Path, sheet: str | None = None) -> tuple[HeadLine, ...]:
    """The first lines with two cells at least, the likeliest to be headings in front.

    Parameters
    ----------
    path
        The file.
    sheet
        Which sheet of a workbook; the first that holds something where None.

    Returns
    -------
    tuple of HeadLine
        Most words and fewest figures first; empty where no line has two cells.

    Raises
    ------
    BadInput
        The file cannot be read.
    """
    sheets = head_of(path).sheets
    wanted = [one for one in sheets if sheet is None or one.name == sheet] or list(sheets)
    rows = [row for row in wanted[0].rows[: 2 * _MOST] if _words(row) + _figures(row) > 1]
    found = [
        HeadLine(
            row.line,
            tuple(plain(cell).strip() for cell in row.cells),
            tuple(plain(cell).strip() for cell in (rows[at + 1].cells if rows[at + 1 :] else ())),
        )
        for at, row in enumerate(rows[:_MOST])
    ]
    by_line = {row.line: row for row in rows}
    return tuple(
        sorted(found, key=lambda one: _figures(by_line[one.line]) - _words(by_line[one.line]))
    )


def _figures(row: RawRow) -> int:
    return sum(_FIGURES.fullmatch(cell.strip()) is not None for cell in row.cells if cell.strip())


def _words(row: RawRow) -> int:
    return sum(bool(cell.strip()) for cell in row.cells) - _figures(row)
