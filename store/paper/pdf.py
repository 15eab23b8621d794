"""A sheet of paper as PDF, with a typeface that has °, ×, µ and Latin, Greek and Cyrillic letters.

The typeface is Source Sans (SIL Open Font Licence), from the package `font-source-sans-pro`. What
it has no picture for is printed as `?`, and the sheet says so. The libraries are loaded here, when
a sheet is printed, and nowhere else: they take half a second.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import UTC, datetime, time
from importlib import resources
from itertools import takewhile
from pathlib import Path
from typing import TYPE_CHECKING, Literal

from store.errors import PondroundError
from store.paper.chart import Chart
from store.paper.paper import Paper, Part, fact
from store.paper.pdf_chart import CHART_MM, draw_chart
from store.paper.pdf_table import draw_table
from store.paper.table import Table

if TYPE_CHECKING:
    from fpdf import FPDF

Format = Literal["A4", "Letter"]

FONT_PACKAGE = "font_source_sans_pro"
_FACES = {"": "SourceSansPro-Regular.ttf", "B": "SourceSansPro-Bold.ttf"}
_FAMILY = "sheet"
_MARGIN_MM = 18.0
_TEXT_PT, _HEAD_PT, _TITLE_PT, _FOOT_PT = 10.5, 12.5, 18.0, 8.5
_LINE_MM = 5.1
_INDENT_MM = 6.0
_NAME_MM = 26.0
_KEEP_MM = 22.0
"""A heading moves to the next page when less than this is left under it."""
_KEEP_MOST_MM = 120.0
"""A day or a label moves to the next page as a whole, up to this height."""
_BEGIN_MM = 130.0
"""Parts that keep together and are longer than a page begin where at least this is left."""
_FACT_MM = 26.0
_RULE_MM = 7.5
"""Height of a line to write on."""
_NO_PICTURE = (
    "Some letters have no picture in this print and stand as ?. The sheet as text has them."
)
_Known = dict[tuple[float, str], int]
"""Into how many lines a text breaks, by the width it has [mm]."""
_PARAGRAPHS = ("words", "table", "chart")
_UNSEEN = dict.fromkeys((0x200C, 0x200D, 0xFE0E, 0xFE0F))


@dataclass(frozen=True, slots=True)
class PdfSheet:
    """A printed sheet. `not_shown` are the characters that became `?`, each once."""

    data: bytes
    pages: int
    not_shown: str


def as_pdf(paper: Paper, *, page: Format = "A4") -> PdfSheet:
    """The sheet as PDF; the same sheet gives the same bytes.

    Parameters
    ----------
    paper
        The sheet.
    page
        Size of the page, `A4` or `Letter`.

    Returns
    -------
    PdfSheet
        The bytes, how many pages they hold, and what could not be shown.

    Raises
    ------
    PondroundError
        The typeface is not installed; text and Markdown can still be had.
    """
    faces = _faces()
    from fpdf import FPDF  # 0.4 s
    from fpdf.fonts import TTFFont

    not_shown: dict[str, None] = {}

    class Sheet(FPDF):
        running = ""
        """What goes on from the page before, named at the head of a page."""

        def header(self) -> None:
            if self.running:
                self.set_font(_FAMILY, "B", _FOOT_PT)
                self.cell(0, _LINE_MM, f"{self.running} (continued)", new_x="LMARGIN", new_y="NEXT")

        def footer(self) -> None:
            self.set_y(-_MARGIN_MM + 4.0)
            self.set_font(_FAMILY, "", _FOOT_PT)
            self.cell(0, 5.0, shown(paper.foot), align="L")
            self.set_x(self.l_margin)
            self.cell(0, 5.0, f"page {self.page_no()} of {{nb}}", align="R")

    def shown(text: str) -> str:
        return _shown(text, has, not_shown)

    sheet = Sheet(format=page)
    for style, path in faces.items():
        sheet.add_font(_FAMILY, style, path)
    letters = [set(font.cmap) for font in sheet.fonts.values() if isinstance(font, TTFFont)]
    has = frozenset(set.intersection(*letters))
    sheet.set_margin(_MARGIN_MM)
    sheet.set_auto_page_break(True, _MARGIN_MM)
    sheet.set_creation_date(datetime.combine(paper.written_on, time(12, tzinfo=UTC)))
    sheet.set_title(shown(paper.title))
    sheet.set_lang("en")
    sheet.add_page()
    _head(sheet, shown(paper.title), [(shown(name), shown(value)) for name, value in paper.head])
    parts = [
        replace(
            one,
            title=shown(one.title),
            lines=tuple(map(shown, one.lines)),
            table=None if one.table is None else _table_shown(one.table, shown),
            chart=None if one.chart is None else _chart_shown(one.chart, shown),
        )
        for one in paper.parts
    ]
    known: _Known = {}
    for place, part in enumerate(parts):
        if part.level == 1:
            sheet.running = ""
            _begin(sheet, parts[place:], known)
        _part(sheet, part, known)
        if part.keeps:
            sheet.running = part.title
    sheet.running = ""
    if not_shown:
        _part(sheet, Part("", (_NO_PICTURE,), "words"), known)
    return PdfSheet(bytes(sheet.output()), sheet.pages_count, "".join(not_shown))


def _faces() -> dict[str, Path]:
    try:
        folder = Path(str(resources.files(FONT_PACKAGE))) / "files"
    except ModuleNotFoundError as error:
        raise PondroundError(
            "The typeface for print is not installed, so no PDF was made. The same sheet can be "
            "had as text or Markdown.",
            title="No PDF",
        ) from error
    return {style: folder / name for style, name in _FACES.items()}


def _shown(text: str, has: Iterable[int], not_shown: dict[str, None]) -> str:
    found = []
    for letter in text.translate(_UNSEEN):
        if ord(letter) in has or letter == "\n":
            found.append(letter)
        else:
            not_shown[letter] = None
            found.append("?")
    return "".join(found)


def _table_shown(table: Table, shown: Callable[[str], str]) -> Table:
    rows = tuple(tuple(map(shown, row)) for row in table.rows)
    return replace(table, columns=tuple(map(shown, table.columns)), rows=rows)


def _chart_shown(chart: Chart, shown: Callable[[str], str]) -> Chart:
    return replace(
        chart,
        label=shown(chart.label),
        unit=shown(chart.unit),
        limits=tuple(replace(one, label=shown(one.label)) for one in chart.limits),
        marks=tuple(replace(one, label=shown(one.label)) for one in chart.marks),
    )


def _head(sheet: FPDF, title: str, rows: list[tuple[str, str]]) -> None:
    sheet.set_font(_FAMILY, "B", _TITLE_PT)
    _words(sheet, title, _LINE_MM * 1.6)
    sheet.ln(1.0)
    for name, value in rows:
        sheet.set_font(_FAMILY, "B", _TEXT_PT)
        sheet.cell(_NAME_MM, _LINE_MM, name)
        sheet.set_font(_FAMILY, "", _TEXT_PT)
        _words(sheet, value, _LINE_MM)
    sheet.ln(1.5)
    sheet.line(sheet.l_margin, sheet.y, sheet.w - sheet.r_margin, sheet.y)


def _begin(sheet: FPDF, parts: Sequence[Part], known: _Known) -> None:
    """A new page where a part wants one, or does not fit on this one with what is under it."""
    first = parts[0]
    if first.fresh and sheet.y > sheet.t_margin + _LINE_MM:
        sheet.add_page()
    if not first.keeps:
        return
    under = takewhile(lambda one: one.level == 2, parts[1:])
    whole_mm = 6.0 + sum(_body_mm(sheet, one, known) + _heading_mm(one) for one in (first, *under))
    left_mm = sheet.h - sheet.b_margin - sheet.y
    fits_mm = sheet.h - sheet.t_margin - sheet.b_margin
    if whole_mm > left_mm and (whole_mm <= fits_mm or left_mm < _BEGIN_MM):
        sheet.add_page()
    if sheet.y > sheet.t_margin + _LINE_MM:
        sheet.ln(5.0)
        sheet.line(sheet.l_margin, sheet.y, sheet.w - sheet.r_margin, sheet.y)


def _part(sheet: FPDF, part: Part, known: _Known) -> None:
    if sheet.will_page_break(_needed_mm(sheet, part, known)):
        sheet.add_page()
    sheet.ln(3.0 if part.level == 1 else 1.5)
    sheet.set_font(_FAMILY, "B", _HEAD_PT if part.level == 1 else _TEXT_PT)
    if part.title:
        _words(sheet, part.title, _LINE_MM * (1.25 if part.level == 1 else 1.0))
    sheet.set_font(_FAMILY, "", _TEXT_PT)
    if part.table is not None:
        draw_table(sheet, part.table, _FAMILY, part.title)
        sheet.set_font(_FAMILY, "", _TEXT_PT)
    if part.chart is not None:
        draw_chart(sheet, part.chart, _FAMILY)
        sheet.set_font(_FAMILY, "", _TEXT_PT)
    top_mm = sheet.y
    for number, line in enumerate(part.lines, start=1):
        if part.shape == "blanks":
            _blank(sheet, line)
            continue
        if part.shape == "facts":
            _words(sheet, _fact(sheet, line), _LINE_MM)
            continue
        if part.shape == "label":
            sheet.set_x(sheet.l_margin + _INDENT_MM)
        elif part.shape not in _PARAGRAPHS:
            mark = {"points": "•", "checks": "☐", "steps": f"{number}."}[part.shape]
            sheet.cell(_INDENT_MM, _LINE_MM, mark)
        _words(sheet, line, _LINE_MM)
    if part.shape == "label" and sheet.y > top_mm:
        sheet.rect(sheet.l_margin, top_mm, sheet.epw, sheet.y - top_mm)


def _fact(sheet: FPDF, line: str) -> str:
    """Print the name of a line of `Name: value` in its column, and give what goes beside it."""
    name, value = fact(line)
    if sheet.will_page_break(_LINE_MM):
        sheet.add_page()
    sheet.set_font(_FAMILY, "B", _TEXT_PT)
    sheet.cell(_FACT_MM, _LINE_MM, name)
    sheet.set_font(_FAMILY, "", _TEXT_PT)
    return value


def _blank(sheet: FPDF, line: str) -> None:
    """Words with a rule behind them to the right margin."""
    if sheet.will_page_break(_RULE_MM):
        sheet.add_page()
    if line:
        sheet.cell(sheet.get_string_width(line) + 3.0, _RULE_MM, line)
    foot_mm = sheet.y + _RULE_MM - 1.2
    sheet.line(sheet.x, foot_mm, sheet.w - sheet.r_margin, foot_mm)
    sheet.ln(_RULE_MM)


def _needed_mm(sheet: FPDF, part: Part, known: _Known) -> float:
    """What must be left on the page for a part to begin there: all of a day or a label."""
    if part.chart is not None:
        return 2.5 * _LINE_MM + _body_mm(sheet, part, known)
    if part.table is not None or (part.level == 1 and part.shape != "label"):
        return _KEEP_MM
    whole_mm = 2.5 * _LINE_MM + _body_mm(sheet, part, known)
    return whole_mm if whole_mm < _KEEP_MOST_MM else _KEEP_MM


def _heading_mm(part: Part) -> float:
    """How high the heading of a part stands, with the room before it."""
    return 3.0 + 1.25 * _LINE_MM if part.level == 1 else 1.5 + _LINE_MM


def _body_mm(sheet: FPDF, part: Part, known: _Known) -> float:
    """How high the lines of a part stand."""
    if part.shape == "blanks":
        return _RULE_MM * len(part.lines)
    sheet.set_font(_FAMILY, "", _TEXT_PT)
    width_mm = sheet.epw - (_FACT_MM if part.shape == "facts" else _INDENT_MM)
    whole_mm = 0.0 if part.chart is None else CHART_MM
    if part.table is not None:
        whole_mm += _LINE_MM * (len(part.table.rows) + 1)
    for line in part.lines:
        said = fact(line)[1] if part.shape == "facts" else line
        if (width_mm, said) not in known:
            broken = sheet.multi_cell(width_mm, _LINE_MM, said, dry_run=True, output="LINES")
            known[width_mm, said] = len(broken) if isinstance(broken, list) else 1
        whole_mm += _LINE_MM * known[width_mm, said]
    return whole_mm


def _words(sheet: FPDF, text: str, height_mm: float) -> None:
    width_mm = sheet.w - sheet.r_margin - sheet.x
    sheet.multi_cell(width_mm, height_mm, text, align="L", new_x="LMARGIN", new_y="NEXT")
