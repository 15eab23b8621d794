"""The ground a chart is drawn on: rows of cells, each a character and the part it belongs to."""

from __future__ import annotations

from typing import TypeAlias

from rich.cells import cell_len, chop_cells

Cell: TypeAlias = tuple[str, str]
"""A character, and `axis`, `text`, `first`, `second`, `limit`, `band`, `band-text`, `mark`,
`forecast`, `fan` or an empty string. The second cell of a wide character holds no character."""


class Cells:
    """Rows of cells to write on."""

    def __init__(self, width: int, height: int) -> None:
        self.width, self.height = width, height
        self.rows: list[list[Cell]] = [[(" ", "")] * width for _ in range(height)]

    def put(self, column: int, row: int, text: str, part: str) -> None:
        """Write a text; what lies outside is left out."""
        if not 0 <= row < self.height:
            return
        line = self.rows[row]
        for character in chop_cells(text, 1):
            size = cell_len(character)
            if column >= 0 and column + size <= self.width and size:
                line[column] = (character, part)
                for extra in range(1, size):
                    line[column + extra] = ("", part)
            column += size

    def free(self, column: int, row: int, length: int) -> bool:
        """No line and no word stands there."""
        return (
            0 <= row < self.height
            and column >= 0
            and column + length <= self.width
            and all(part in _GROUND for _, part in self.rows[row][column : column + length])
        )


_GROUND = frozenset({"", "band", "limit"})
