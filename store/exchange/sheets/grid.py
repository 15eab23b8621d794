"""What a file holds before anybody has said what it means."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from store.errors import BadInput
from store.text import plain


@dataclass(frozen=True, slots=True)
class RawRow:
    """One row: the line (of a workbook: the row) on which it begins, and its cells as typed.

    Rows differ in length; a missing cell is an empty one.
    """

    line: int
    cells: tuple[str, ...]

    def cell(self, place: int) -> str:
        """The cell of a column, counted from 0; empty where the row is shorter."""
        return self.cells[place] if 0 <= place < len(self.cells) else ""


@dataclass(frozen=True, slots=True)
class Merged:
    """Cells that a workbook shows as one: lines as in `RawRow.line`, columns counted from 0."""

    first_line: int
    last_line: int
    first_column: int
    last_column: int


@dataclass(frozen=True, slots=True)
class Grid:
    """One sheet. Rows that hold nothing are left out; the lines of the others show the gap.

    A cell merged over several rows stands in each of them; one merged over several columns stands
    in the first of them, and `merged` tells how far it reaches.
    """

    name: str
    rows: tuple[RawRow, ...]
    remarks: tuple[str, ...] = ()
    hidden: bool = False
    hidden_columns: frozenset[int] = frozenset()
    hidden_lines: frozenset[int] = frozenset()
    merged: tuple[Merged, ...] = ()
    struck: frozenset[tuple[int, int]] = frozenset()
    """Line and column of cells whose text is crossed out."""
    open_line: int | None = None
    """The last line of a text that does not end it: the file may have been cut within it."""

    @property
    def width(self) -> int:
        """The number of columns of its longest row."""
        return max((len(row.cells) for row in self.rows), default=0)


@dataclass(frozen=True, slots=True)
class SheetFile:
    """A file of one or more sheets, as it was read."""

    path: Path
    sha256: str
    grids: tuple[Grid, ...]
    remarks: tuple[str, ...] = ()
    """What is not certain or was passed over, in sentences; those of one sheet stand there."""
    encoding: str = ""
    """Of a text file; empty for a workbook."""
    separator: str = ""
    """Between the cells of a text file; empty for a workbook."""

    @property
    def workbook(self) -> bool:
        """Whether it came from a spreadsheet's own format: numbers and dates are such."""
        return not self.separator

    def grid(self, name: str | None = None) -> Grid:
        """A sheet by its name, or the only one that is shown and holds something.

        Parameters
        ----------
        name
            As written on its tab; case does not matter.

        Raises
        ------
        BadInput
            When there is no such sheet, or it has to be said which is meant; `field` is `sheet`.
        """
        names = ", ".join(f"“{plain(one.name):.40}”" for one in self.grids if one.rows)
        shown = [one for one in self.grids if one.rows and not one.hidden]
        if name is not None:
            wanted = plain(name).strip().casefold()
            shown = [one for one in self.grids if plain(one.name).strip().casefold() == wanted]
            if not shown:
                raise BadInput(
                    f"{plain(self.path.name)} has no sheet “{plain(name):.40}”, only {names}; "
                    "nothing was brought in.",
                    field="sheet",
                )
        if len(shown) == 1:
            return shown[0]
        if not shown:
            hidden = f" It has hidden sheets: {names}; name the one that is meant." if names else ""
            raise BadInput(
                f"{plain(self.path.name)} holds nothing that is shown; nothing was brought in."
                + hidden,
                field="sheet",
            )
        raise BadInput(
            f"{plain(self.path.name)} has several sheets: {names}. Which one is meant? Nothing was "
            "brought in.",
            field="sheet",
        )
