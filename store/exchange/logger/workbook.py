"""A logger's series out of a workbook: its longest sheet as text, read like any other file."""

from __future__ import annotations

import csv
import tempfile
from pathlib import Path

from store.errors import BadInput
from store.exchange.sheets import Grid, read_file
from store.text import plain

SIGN = b"PK\x03\x04"
"""How a workbook (.xlsx) begins."""
_NAME = "rows.csv"


class SheetText:
    """The longest sheet of a workbook as a text, which is gone when nobody holds it any more.

    Every row stands on the line that it has in the sheet.

    Parameters
    ----------
    path
        The workbook.

    Raises
    ------
    BadInput
        It is too large, broken or empty.
    """

    def __init__(self, path: Path) -> None:
        book = read_file(path)
        grid = max(book.grids, key=lambda one: len(one.rows), default=None)
        if grid is None or not grid.rows:
            raise BadInput(f"{path.name} has no row of values; nothing was brought in.")
        self._folder = tempfile.TemporaryDirectory(prefix="pondround-", ignore_cleanup_errors=True)
        self.path = Path(self._folder.name) / _NAME
        self.told = (*_told(grid, len(book.grids)), *book.remarks, *grid.remarks)
        with self.path.open("w", encoding="utf-8", newline="") as file:
            writer = csv.writer(file, lineterminator="\n")
            line = 1
            for row in grid.rows:
                file.write("\n" * (row.line - line))
                writer.writerow(
                    "" if (row.line, place) in grid.struck else " ".join(cell.split())
                    for place, cell in enumerate(row.cells)
                )
                line = row.line + 1
        self.size_bytes = self.path.stat().st_size


def _told(grid: Grid, sheets: int) -> tuple[str, ...]:
    told = []
    if sheets > 1:
        told.append(f"Of {sheets} sheets the longest was read: “{plain(grid.name):.40}”.")
    if grid.struck:
        told.append(f"{len(grid.struck)} cells are crossed out; they were taken for empty ones.")
    return tuple(told)
