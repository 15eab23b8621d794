"""A table drawn on a page: thin rules between its rows, its head again on every page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from store.paper.table import Table

if TYPE_CHECKING:
    from fpdf import FPDF

_LEAST_PT = 8.5
"""Where a table is too wide for larger print it becomes no smaller than this [pt]."""
_STEP_PT = 0.5
_LINE_MM_PT = 0.482
"""Height of a line for every point of the print [mm/pt]."""
_TEXT_MM = 46.0
"""Columns of words may be broken to this width before the print becomes smaller."""
_GAP_MM = 2.2
_ROW_MM = 1.0
"""Room above and under the words of a row, together."""
_LEAST_MM = 9.0
_LONGEST_WORD_MM = 28.0
_RULE_MM = 0.1


def draw_table(
    sheet: FPDF, table: Table, family: str, title: str = "", *, most_pt: float = 10.0
) -> None:
    """Draw a table from the place where the sheet stands; a row stays on one page where it can.

    Parameters
    ----------
    sheet
        The sheet.
    table
        Its cells; every letter has a picture in the typeface.
    family
        The typeface.
    title
        What stands above the head where the table goes on on a new page.
    most_pt
        How large it is printed where it is not too wide for that [pt].
    """
    sheet.ln(0.8)
    plan = _planned(sheet, table, family, most_pt)
    _head(sheet, table, plan)
    for row in table.rows:
        sheet.set_font(family, "", plan.pt)
        broken = _row_broken(sheet, row, plan)
        height_mm = plan.line_mm * max(map(len, broken)) + _ROW_MM
        # A row that is higher than a page is cut where the page ends, and goes on.
        while sheet.will_page_break(min(height_mm, plan.line_mm + _ROW_MM)) or (
            sheet.will_page_break(height_mm) and height_mm < sheet.eph / 2.0
        ):
            _go_on(sheet, table, plan, title)
        broken, rest = _fitting(sheet, broken, plan)
        _row(sheet, table, broken, plan)
        while any(rest):
            _go_on(sheet, table, plan, title)
            broken, rest = _fitting(sheet, rest, plan)
            _row(sheet, table, broken, plan)
        _rule(sheet)
    sheet.ln(1.0)


def begins_mm(sheet: FPDF, table: Table, family: str, *, most_pt: float = 10.0) -> float:
    """How high its head and its first rows stand: less must not be left on a page [mm].

    Parameters
    ----------
    sheet
        The sheet.
    table
        Its cells.
    family
        The typeface.
    most_pt
        How large it is printed where it is not too wide for that [pt].
    """
    plan = _planned(sheet, table, family, most_pt)
    sheet.set_font(family, "B", plan.pt)
    lines = max(map(len, _row_broken(sheet, table.columns, plan)))
    sheet.set_font(family, "", plan.pt)
    first = table.rows[:2]
    lines += sum(max(map(len, _row_broken(sheet, row, plan))) for row in first)
    whole_mm = plan.line_mm * lines + _ROW_MM * (1 + len(first)) + 0.8
    return min(whole_mm, sheet.eph / 2.0)


@dataclass(frozen=True, slots=True)
class _Plan:
    """How a table is printed: its typeface, its size, and how wide each column is [mm]."""

    family: str
    pt: float
    widths_mm: tuple[float, ...]

    @property
    def line_mm(self) -> float:
        """Height of a line [mm]."""
        return self.pt * _LINE_MM_PT


def _planned(sheet: FPDF, table: Table, family: str, most_pt: float) -> _Plan:
    """The largest print in which no number is broken and no word has less than it needs."""
    wished = _wished(sheet, table, family)
    pt = most_pt
    while pt > _LEAST_PT and not _fits(sheet, table, wished, pt):
        pt = max(_LEAST_PT, pt - _STEP_PT)
    return _Plan(family, pt, tuple(_widths_mm(sheet, table, wished, pt)))


def _fits(sheet: FPDF, table: Table, wished: _Wished, pt: float) -> bool:
    natural, least = wished.at(pt)
    needed = sum(
        whole if place in table.right else max(low, min(whole, _TEXT_MM))
        for place, (whole, low) in enumerate(zip(natural, least, strict=True))
    )
    return needed <= sheet.epw + _GAP_MM


def _row_broken(sheet: FPDF, row: Sequence[str], plan: _Plan) -> list[list[str]]:
    return [
        _broken(sheet, cell, width_mm - _GAP_MM, plan)
        for cell, width_mm in zip(row, plan.widths_mm, strict=True)
    ]


def _go_on(sheet: FPDF, table: Table, plan: _Plan, title: str) -> None:
    sheet.add_page()
    if title:
        sheet.set_font(plan.family, "B", plan.pt)
        sheet.cell(0, plan.line_mm + 1.0, f"{title} (continued)", new_x="LMARGIN", new_y="NEXT")
    _head(sheet, table, plan)
    sheet.set_font(plan.family, "", plan.pt)


def _fitting(
    sheet: FPDF, broken: list[list[str]], plan: _Plan
) -> tuple[list[list[str]], list[list[str]]]:
    """The lines of a row that fit on this page, and the rest."""
    room = int((sheet.h - sheet.b_margin - sheet.y - _ROW_MM) / plan.line_mm)
    room = max(1, room)
    return [one[:room] for one in broken], [one[room:] for one in broken]


def _head(sheet: FPDF, table: Table, plan: _Plan) -> None:
    sheet.set_font(plan.family, "B", plan.pt)
    _row(sheet, table, _row_broken(sheet, table.columns, plan), plan)
    sheet.set_line_width(_RULE_MM * 4)
    _rule(sheet)
    sheet.set_line_width(_RULE_MM)


def _row(sheet: FPDF, table: Table, broken: Sequence[Sequence[str]], plan: _Plan) -> None:
    top_mm, left_mm = sheet.y + _ROW_MM / 2.0, sheet.l_margin
    for place, (lines, width_mm) in enumerate(zip(broken, plan.widths_mm, strict=True)):
        align = "R" if place in table.right else "L"
        for nth, line in enumerate(lines):
            sheet.set_xy(left_mm, top_mm + nth * plan.line_mm)
            sheet.cell(width_mm - _GAP_MM, plan.line_mm, line, align=align)
        left_mm += width_mm
    sheet.set_xy(sheet.l_margin, top_mm + plan.line_mm * max(map(len, broken)) + _ROW_MM / 2.0)


def _rule(sheet: FPDF) -> None:
    sheet.line(sheet.l_margin, sheet.y, sheet.w - sheet.r_margin, sheet.y)


def _broken(sheet: FPDF, cell: str, width_mm: float, plan: _Plan) -> list[str]:
    """The lines of a cell; most fit on one, and need not be broken."""
    if sheet.get_string_width(cell) <= width_mm - 2.0 * sheet.c_margin:
        return [cell]
    lines = sheet.multi_cell(width_mm, plan.line_mm, cell, dry_run=True, output="LINES", align="L")
    return list(lines) if isinstance(lines, list) and lines else [cell]


@dataclass(frozen=True, slots=True)
class _Wished:
    """How wide columns are without a break, and their longest words [mm at a point of print]."""

    whole: tuple[float, ...]
    words: tuple[float, ...]
    around_mm: float

    def at(self, pt: float) -> tuple[list[float], list[float]]:
        """What each column wishes for at a size of print, and how narrow it may become [mm]."""
        least = [
            max(_LEAST_MM, min(word * pt, _LONGEST_WORD_MM) + self.around_mm) for word in self.words
        ]
        natural = [
            max(whole * pt + self.around_mm, low)
            for whole, low in zip(self.whole, least, strict=True)
        ]
        return natural, least


def _wished(sheet: FPDF, table: Table, family: str) -> _Wished:
    """Measured once: letters grow evenly with the size of the print."""
    wide = sheet.get_string_width
    sheet.set_font(family, "B", 1.0)
    whole = [max(map(wide, name.split() or [""])) for name in table.columns]
    if not table.rows:
        whole = list(map(wide, table.columns))
    words = list(whole) if table.rows else [0.0] * len(whole)
    sheet.set_font(family, "", 1.0)
    for place, column in enumerate(zip(*table.rows, strict=True)):
        cells = set(column)
        whole[place] = max(whole[place], *map(wide, cells))
        longest = {max(cell.split(), key=len, default="") for cell in cells}
        words[place] = max(words[place], *map(wide, longest))
    return _Wished(tuple(whole), tuple(words), 2.0 * sheet.c_margin + _GAP_MM + 0.2)


def _widths_mm(sheet: FPDF, table: Table, wished: _Wished, pt: float) -> list[float]:
    """How wide each column is: what its words need, the widest giving way first."""
    natural, least = wished.at(pt)
    room = sheet.epw + _GAP_MM
    while sum(natural) > room + 1e-6:
        over = [place for place in range(len(natural)) if natural[place] > least[place] + 1e-6]
        if not over:
            return [one * room / sum(natural) for one in natural]
        give = max(over, key=lambda place: natural[place])
        cut = min(natural[give] - least[give], sum(natural) - room, 3.0)
        natural[give] -= cut
    left_over = room - sum(natural)
    texts = [place for place in range(len(natural)) if place not in table.right]
    if texts and left_over > 0.0:
        natural[texts[-1]] += left_over
    return natural
