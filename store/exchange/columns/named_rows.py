"""The rows of a sheet of named columns: data, lines that are none, and rows that are astray."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from store.exchange.columns.layout import LeftOut
from store.exchange.columns.lines import DITTO, TOTAL, has_data, is_day, line_text
from store.exchange.columns.named_columns import IGNORE, NamedColumn, SheetKind, known_in
from store.exchange.columns.question import Answer, Question
from store.exchange.columns.said import Said
from store.exchange.columns.words import same
from store.exchange.sheets import Grid, RawRow
from store.text import plain


@dataclass(frozen=True, slots=True)
class NamedRow:
    """A data row: cells by place, those carried from above filled in; the raw row beside it."""

    raw: RawRow
    filled: Mapping[int, str]
    columns: tuple[NamedColumn, ...]
    under: str = ""
    """The nearest line above it that holds one cell of words; it may name a pond."""
    titled: int = 0
    """The line of `under` where it stands below the headings."""
    stated: Mapping[str, str] = field(default_factory=dict)
    """What a line above the headings says of every row, by role, where there is no column."""

    @property
    def line(self) -> int:
        """On which line of the file it begins."""
        return self.raw.line

    def cell(self, column: NamedColumn) -> str:
        """The cell of a column, without blanks at its ends."""
        return self.filled.get(column.place, self.raw.cell(column.place).strip())

    def text(self, role: str) -> str:
        """The cells of a role in one text, or what is stated above; else empty."""
        held = [self.cell(one) for one in self.columns if one.meaning == role]
        return "; ".join(cell for cell in held if cell) or self.stated.get(role, "")

    def own(self, role: str) -> str:
        """As `text`, without what is carried from the row above."""
        held = [self.raw.cell(one.place).strip() for one in self.columns if one.meaning == role]
        return "; ".join(cell for cell in held if cell)


class Sorting:
    """The rows of a sheet sorted into data, lines that are none, and rows that are astray."""

    def __init__(
        self, grid: Grid, kind: SheetKind, columns: tuple[NamedColumn, ...], said: Said,
        header: RawRow, stated: Mapping[str, str], *, loose: bool,
    ) -> None:  # fmt: skip
        self.grid, self.kind, self.columns, self.said = grid, kind, columns, said
        self.header, self.stated, self.loose = header, stated, loose
        self.rows: list[NamedRow] = []
        self.astray: list[tuple[RawRow, str]] = []
        self.left_out: list[LeftOut] = []
        self._above: dict[int, str] = {}
        self._blank: dict[int, list[int]] = {}
        self._titles = [same(cell) for cell in header.cells]
        self._carried = [
            one for one in columns
            if one.meaning in kind.roles and kind.roles[one.meaning].carried
        ]  # fmt: skip
        self._first = next((one.place for one in columns if one.why != "passed over"), 0)
        self._days = [one.place for one in columns if one.meaning == "date"]

    def sort(self, above: Sequence[RawRow], rows: Sequence[RawRow]) -> None:
        """Sort every row, down the sheet."""
        under, titled, other_heads = "", 0, False
        for row in above:
            held = [cell.strip() for cell in row.cells if cell.strip()]
            under = held[0] if len(held) == 1 else under
        for row in rows:
            if [same(cell) for cell in row.cells if cell.strip()] == list(
                filter(None, self._titles)
            ):
                self._leave(row, "the headings once more")
                other_heads = False
            elif not has_data(row) and known_in(row, self.kind, self.said) >= 2:
                other_heads = True
                self.astray.append((row, "Other headings begin here; save them as a file apart."))
            elif why := self._no_data(row):
                self._leave(row, why)
                if why == "a footnote or title":
                    under = next(cell.strip() for cell in row.cells if cell.strip())
                    titled = row.line
            elif other_heads:
                self.astray.append((row, "The row stands under other headings than the first."))
            elif reason := self._why_not(row):
                self._fill(row)
                self.astray.append((row, reason))
            else:
                filled = self._fill(row)
                self.rows.append(NamedRow(row, filled, self.columns, under, titled, self.stated))

    def _leave(self, row: RawRow, why: str) -> None:
        self.left_out.append(LeftOut(row.line, why, line_text(row)))

    def _fill(self, row: RawRow) -> Mapping[int, str]:
        filled = {}
        for one in self._carried:
            text = row.cell(one.place).strip()
            above = self._above.get(one.place, "")
            blank = self.said.get("blank", one.title)
            if above and (DITTO.fullmatch(text) or (not text and blank == "same")):
                filled[one.place] = above
            else:
                if not text and above and not blank:
                    self._blank.setdefault(one.place, []).append(row.line)
                if text or blank == "none":
                    self._above[one.place] = text
        return filled

    def _no_data(self, row: RawRow) -> str:
        held = [(place, cell.strip()) for place, cell in enumerate(row.cells) if cell.strip()]
        place, first = held[0]
        if any(is_day(row.cell(day)) for day in self._days):
            return ""
        if TOTAL.fullmatch(first):
            return "a total"
        alone = len(held) == 1 and (place <= self._first or place >= len(self.columns))
        if alone and len(first) > 3 and any(map(str.isalpha, first)):
            return "a footnote or title"
        return ""

    def _why_not(self, row: RawRow) -> str:
        width = len(self._titles)
        if not self.loose and any(cell.strip() for cell in row.cells[width:]):
            return "The row has more cells than the header, so none is certain."
        if row.line == self.grid.open_line and len(row.cells) < width:
            return "The file ends within this row, so it may have been cut off."
        for one in self.columns:
            if one.meaning != IGNORE and (row.line, one.place) in self.grid.struck:
                return f"“{plain(row.cell(one.place)):.40}” is crossed out in the sheet."
        return ""

    def blanks(self) -> list[Question]:
        """Whether blank cells mean the ones above, once for each column where it may be."""
        asked = []
        for one in self._carried:
            lines = self._blank.get(one.place)
            if not lines:
                continue
            number = len(lines)
            label = self.kind.label(one.meaning)
            asked.append(
                Question(
                    "blank",
                    f"{number} {'row has' if number == 1 else 'rows have'} no {label} (line "
                    f"{lines[0]} first). Does a blank mean the same as above?",
                    (
                        Answer("same", "a blank means the same as above"),
                        Answer("none", "a blank means that it was not written"),
                    ),
                    about=one.title,
                )
            )
        return asked
