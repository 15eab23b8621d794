"""A table drawn on a page: thin rules between its rows, its head again on every page."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from store.paper.table import Table

if TYPE_CHECKING:
    from fpdf import FPDF

_PT = 8.5
_LINE_MM = 4.1
_GAP_MM = 2.2
_ROW_MM = 1.0
"""Room above and under the words of a row, together."""
_LEAST_MM = 9.0
_RULE_MM = 0.1


def draw_table(sheet: FPDF, table: Table, family: str, title: str = "") -> None:
    """Draw a table from the place where the sheet stands.

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
    """
    sheet.ln(0.8)
    sheet.set_font(family, "", _PT)
    widths = _widths_mm(sheet, table, family)
    _head(sheet, table, widths, family)
    for row in table.rows:
        sheet.set_font(family, "", _PT)
        broken = [
            _broken(sheet, cell, width_mm - _GAP_MM)
            for cell, width_mm in zip(row, widths, strict=True)
        ]
        height_mm = _LINE_MM * max(map(len, broken)) + _ROW_MM
        # A row that is higher than a page is cut where the page ends, and goes on.
        while sheet.will_page_break(min(height_mm, _LINE_MM + _ROW_MM)) or (
            sheet.will_page_break(height_mm) and height_mm < sheet.eph / 2.0
        ):
            _go_on(sheet, table, widths, family, title)
        broken, rest = _fitting(sheet, broken)
        _row(sheet, table, broken, widths)
        while any(rest):
            _go_on(sheet, table, widths, family, title)
            broken, rest = _fitting(sheet, rest)
            _row(sheet, table, broken, widths)
        _rule(sheet)
    sheet.ln(1.0)


def _go_on(sheet: FPDF, table: Table, widths: Sequence[float], family: str, title: str) -> None:
    sheet.add_page()
    if title:
        sheet.set_font(family, "B", _PT)
        sheet.cell(0, _LINE_MM + 1.0, f"{title} (continued)", new_x="LMARGIN", new_y="NEXT")
    _head(sheet, table, widths, family)
    sheet.set_font(family, "", _PT)


def _fitting(sheet: FPDF, broken: list[list[str]]) -> tuple[list[list[str]], list[list[str]]]:
    """The lines of a row that fit on this page, and the rest."""
    room = int((sheet.h - sheet.b_margin - sheet.y - _ROW_MM) / _LINE_MM)
    room = max(1, room)
    return [one[:room] for one in broken], [one[room:] for one in broken]


def _head(sheet: FPDF, table: Table, widths: Sequence[float], family: str) -> None:
    sheet.set_font(family, "B", _PT)
    broken = [
        _broken(sheet, cell, width_mm - _GAP_MM)
        for cell, width_mm in zip(table.columns, widths, strict=True)
    ]
    _row(sheet, table, broken, widths)
    sheet.set_line_width(_RULE_MM * 3)
    _rule(sheet)
    sheet.set_line_width(_RULE_MM)


def _row(
    sheet: FPDF, table: Table, broken: Sequence[Sequence[str]], widths: Sequence[float]
) -> None:
    top_mm, left_mm = sheet.y + _ROW_MM / 2.0, sheet.l_margin
    for place, (lines, width_mm) in enumerate(zip(broken, widths, strict=True)):
        align = "R" if place in table.right else "L"
        for nth, line in enumerate(lines):
            sheet.set_xy(left_mm, top_mm + nth * _LINE_MM)
            sheet.cell(width_mm - _GAP_MM, _LINE_MM, line, align=align)
        left_mm += width_mm
    sheet.set_xy(sheet.l_margin, top_mm + _LINE_MM * max(map(len, broken)) + _ROW_MM / 2.0)


def _rule(sheet: FPDF) -> None:
    sheet.line(sheet.l_margin, sheet.y, sheet.w - sheet.r_margin, sheet.y)


def _broken(sheet: FPDF, cell: str, width_mm: float) -> list[str]:
    """The lines of a cell; most fit on one, and need not be broken."""
    if sheet.get_string_width(cell) <= width_mm - 2.0 * sheet.c_margin:
        return [cell]
    lines = sheet.multi_cell(width_mm, _LINE_MM, cell, dry_run=True, output="LINES", align="L")
    return list(lines) if isinstance(lines, list) else [cell]


def _widths_mm(sheet: FPDF, table: Table, family: str) -> list[float]:
    """How wide each column is: what its words need, the widest giving way first."""
    around = 2.0 * sheet.c_margin + _GAP_MM + 0.2
    sheet.set_font(family, "B", _PT)
    heads = [sheet.get_string_width(name) for name in table.columns]
    words = [max(map(sheet.get_string_width, name.split() or [""])) for name in table.columns]
    sheet.set_font(family, "", _PT)
    natural, least = [], []
    for place, column in enumerate(zip(*table.rows, strict=True) if table.rows else ()):
        widest = max(sheet.get_string_width(cell) for cell in column)
        word = max(
            (sheet.get_string_width(one) for cell in column for one in cell.split()), default=0.0
        )
        natural.append(max(widest, words[place]) + around)
        least.append(max(_LEAST_MM, min(max(word, words[place]), 28.0) + around))
    if not natural:
        natural = [one + around for one in heads]
        least = [_LEAST_MM] * len(natural)
    natural = [max(whole, low) for whole, low in zip(natural, least, strict=True)]
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
