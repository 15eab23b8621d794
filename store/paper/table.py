"""A table on a sheet: its cells, and the same as lines of text or as Markdown."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence
from dataclasses import dataclass

_GAPS = ("  ", " ")
"""Between columns; the narrow one where they would not fit beside each other otherwise."""
_LEAST = 4
"""No column of text becomes narrower [cells]."""
_LONGEST_WORD = 14


@dataclass(frozen=True, slots=True)
class Table:
    """Cells under their columns; the columns in `right` hold numbers and stand to the right.

    `again` is what it is called where it goes on on a new page and the part has no title.
    """

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    right: frozenset[int] = frozenset()
    again: str = ""

    def __post_init__(self) -> None:
        if not self.columns or any(len(row) != len(self.columns) for row in self.rows):
            raise ValueError("Every row of a table has a cell for each of its columns.")


def table_lines(table: Table, width: int) -> list[str]:
    """The table as lines of text; where it is too wide for that, a line of names a row.

    Parameters
    ----------
    table
        The table.
    width
        Longest line [count].

    Examples
    --------
    >>> for line in table_lines(Table(("Day", "pH"), (("Mon", "7.9"), ("Tue", "8.2"))), 40):
    ...     print(line)
    Day  pH
    ---  ---
    Mon  7.9
    Tue  8.2
    """
    for gap in _GAPS:
        widths = _widths(table, width - len(gap) * (len(table.columns) - 1))
        if widths is not None:
            lines = _row(table, table.columns, widths, gap)
            lines.append(gap.join("-" * each for each in widths))
            for row in table.rows:
                lines += _row(table, row, widths, gap)
            return lines
    return [short for row in table.rows for short in _told(table.columns, row, width)]


def table_markdown(table: Table) -> str:
    """The table as Markdown; its cells must be safe in Markdown already.

    Parameters
    ----------
    table
        The table.
    """
    under = ["---:" if place in table.right else "---" for place in range(len(table.columns))]
    rows = (table.columns, tuple(under), *table.rows)
    return "\n".join(f"| {' | '.join(cell or ' ' for cell in row)} |" for row in rows)


def _widths(table: Table, room: int) -> list[int] | None:
    """How wide each column is within so many cells; None where the words do not fit."""
    cells = list(zip(table.columns, *table.rows, strict=True))
    natural = [max(3, *map(len, column)) for column in cells]
    least = [
        min(whole, max(_LEAST, *(_longest_word(cell) for cell in column)))
        for whole, column in zip(natural, cells, strict=True)
    ]
    if sum(least) > room:
        return None
    while sum(natural) > room:
        give = max(
            (place for place in range(len(natural)) if natural[place] > least[place]),
            key=lambda place: natural[place],
        )
        natural[give] -= 1
    return natural


def _longest_word(cell: str) -> int:
    return min(_LONGEST_WORD, max((len(word) for word in cell.split()), default=0))


def _row(table: Table, row: Sequence[str], widths: Sequence[int], gap: str) -> list[str]:
    broken = [
        textwrap.wrap(cell, each, break_on_hyphens=False) or [""]
        for cell, each in zip(row, widths, strict=True)
    ]
    lines = []
    for nth in range(max(map(len, broken))):
        parts = [column[nth] if nth < len(column) else "" for column in broken]
        padded = [
            part.rjust(each) if place in table.right else part.ljust(each)
            for place, (part, each) in enumerate(zip(parts, widths, strict=True))
        ]
        lines.append(gap.join(padded).rstrip())
    return lines


def _told(columns: Sequence[str], row: Sequence[str], width: int) -> list[str]:
    said = "; ".join(
        f"{name} {cell}" if name else cell for name, cell in zip(columns, row, strict=True) if cell
    )
    return textwrap.wrap(said, width, initial_indent="- ", subsequent_indent="  ",
                         break_on_hyphens=False)  # fmt: skip
