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
from store.paper.paper import BOX, Paper, Part, fact
from store.paper.pdf_chart import CHART_MM, draw_chart
from store.paper.pdf_table import begins_mm, draw_table
from store.paper.table import Table

if TYPE_CHECKING:
    from fpdf import FPDF

Format = Literal["A4", "Letter"]

FONT_PACKAGE = "font_source_sans_pro"
_FACES = {"": "SourceSansPro-Regular.ttf", "B": "SourceSansPro-Bold.ttf"}
_FAMILY = "sheet"
_MARGIN_MM = 18.0
_TEXT_PT, _HEAD_PT, _TITLE_PT, _FOOT_PT = 10.5, 12.5, 18.0, 8.5
_WALL_PT, _WALL_HEAD_PT, _WALL_TITLE_PT = 13.0, 16.0, 22.0
"""What hangs on a wall is read from a metre."""
_LINE_MM = 5.1
_INDENT_MM = 6.0
_NAME_MM = 26.0
_KEPT_LINES = 8
"""A line that breaks into no more than these stands on one page as a whole."""
_KEEP_MOST_MM = 120.0
"""A day or a label moves to the next page as a whole, up to this height."""
_SHORT_MM = 34.0
"""Any part that is no higher than this moves to the next page as a whole."""
_BEGIN_MM = 130.0
"""Parts that keep together and are longer than a page begin where at least this is left."""
_PAGE_NUMBER_MM = 30.0
_RULE_MM = 7.5
"""Height of a line to write on."""
_NO_PICTURE = (
    "Some letters have no picture in this print and stand as ?. The sheet as text has them."
)
_PARAGRAPHS = ("words", "table", "chart")
_UNSEEN = dict.fromkeys((0x200C, 0x200D, 0xFE0E, 0xFE0F))


@dataclass(frozen=True, slots=True)
class _Print:
    """How large everything is printed [pt, mm], and what is known of broken lines."""

    text_pt: float
    head_pt: float
    title_pt: float
    line_mm: float
    known: dict[tuple[float, str], int]
    """Into how many lines a text breaks, by the width it has [mm]."""

    @property
    def name_mm(self) -> float:
        """Width of the column of names [mm]."""
        return _NAME_MM * self.text_pt / _TEXT_PT


def _print_of(paper: Paper) -> _Print:
    if paper.wall:
        line_mm = _LINE_MM * _WALL_PT / _TEXT_PT
        return _Print(_WALL_PT, _WALL_HEAD_PT, _WALL_TITLE_PT, line_mm, {})
    return _Print(_TEXT_PT, _HEAD_PT, _TITLE_PT, _LINE_MM, {})


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
            self.cell(0, 5.0, _cut(self, shown(paper.foot)), align="L")
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
    by = _print_of(paper)
    _head(
        sheet, shown(paper.title), [(shown(name), shown(value)) for name, value in paper.head], by
    )
    parts = [
        replace(
            one,
            title=shown(one.title),
            lines=tuple(map(shown, (*one.lines, *one.pictured))),
            table=None if one.table is None else _table_shown(one.table, shown),
            chart=None if one.chart is None else _chart_shown(one.chart, shown),
        )
        for one in paper.parts
    ]
    for place, part in enumerate(parts):
        if part.level == 1:
            sheet.running = ""
            _begin(sheet, parts[place:], by)
        _part(sheet, part, by, parts[place + 1] if place + 1 < len(parts) else None)
        if part.keeps:
            sheet.running = part.title
    sheet.running = ""
    if not_shown:
        _part(sheet, Part("", (_NO_PICTURE,), "words"), by, None)
    return PdfSheet(bytes(sheet.output()), sheet.pages_count, "".join(not_shown))


def _cut(sheet: FPDF, foot: str) -> str:
    """The foot, as far as it leaves room for the number of the page."""
    room_mm, said = sheet.epw - _PAGE_NUMBER_MM, foot
    while said and sheet.get_string_width(said) > room_mm:
        foot = foot[:-1].rstrip()
        said = f"{foot}…"
    return said


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
    boxed = {BOX: "☐"}
    rows = tuple(tuple(shown(boxed.get(cell, cell)) for cell in row) for row in table.rows)
    return replace(table, columns=tuple(map(shown, table.columns)), rows=rows,
                   again=shown(table.again))  # fmt: skip


def _chart_shown(chart: Chart, shown: Callable[[str], str]) -> Chart:
    return replace(
        chart,
        label=shown(chart.label),
        unit=shown(chart.unit),
        limits=tuple(replace(one, label=shown(one.label)) for one in chart.limits),
        marks=tuple(replace(one, label=shown(one.label)) for one in chart.marks),
    )


def _head(sheet: FPDF, title: str, rows: list[tuple[str, str]], by: _Print) -> None:
    sheet.set_font(_FAMILY, "B", by.title_pt)
    _words(sheet, title, by.line_mm * 1.6)
    sheet.ln(1.0)
    for name, value in rows:
        sheet.set_font(_FAMILY, "B", by.text_pt)
        sheet.cell(by.name_mm, by.line_mm, name)
        sheet.set_font(_FAMILY, "", by.text_pt)
        _words(sheet, value, by.line_mm)
    sheet.ln(1.5)
    sheet.line(sheet.l_margin, sheet.y, sheet.w - sheet.r_margin, sheet.y)


def _begin(sheet: FPDF, parts: Sequence[Part], by: _Print) -> None:
    """A new page where a part wants one, or does not fit on this one with what is under it."""
    first = parts[0]
    if first.fresh and sheet.y > sheet.t_margin + by.line_mm:
        sheet.add_page()
    if not first.keeps:
        return
    under = takewhile(lambda one: one.level == 2, parts[1:])
    whole_mm = 6.0 + sum(_body_mm(sheet, one, by) + _heading_mm(one, by) for one in (first, *under))
    left_mm = sheet.h - sheet.b_margin - sheet.y
    fits_mm = sheet.h - sheet.t_margin - sheet.b_margin
    if whole_mm > left_mm and (whole_mm <= fits_mm or left_mm < _BEGIN_MM):
        sheet.add_page()
    if sheet.y > sheet.t_margin + by.line_mm:
        sheet.ln(5.0)
        sheet.line(sheet.l_margin, sheet.y, sheet.w - sheet.r_margin, sheet.y)


def _part(sheet: FPDF, part: Part, by: _Print, under: Part | None) -> None:
    needed_mm = _needed_mm(sheet, part, by)
    if under is not None and under.level == 2 and part.level == 1 and part.shape == "words":
        needed_mm += _needed_mm(sheet, under, by)  # words that only lead on to what is under them
    if sheet.will_page_break(min(needed_mm, sheet.eph)):
        sheet.add_page()
    sheet.ln(3.0 if part.level == 1 else 1.5)
    sheet.set_font(_FAMILY, "B", by.head_pt if part.level == 1 else by.text_pt)
    if part.title:
        _words(sheet, part.title, by.line_mm * (1.25 if part.level == 1 else 1.0))
    sheet.set_font(_FAMILY, "", by.text_pt)
    if part.table is not None:
        draw_table(
            sheet, part.table, _FAMILY, part.title or part.table.again, most_pt=_table_pt(by)
        )
        sheet.set_font(_FAMILY, "", by.text_pt)
    if part.chart is not None:
        draw_chart(sheet, part.chart, _FAMILY)
        sheet.set_font(_FAMILY, "", by.text_pt)
    top_mm = sheet.y
    for number, line in enumerate(part.lines, start=1):
        if part.shape == "blanks":
            _blank(sheet, line, by)
            continue
        _whole(sheet, part, line, by)
        if part.shape == "facts":
            _words(sheet, _fact(sheet, line, by), by.line_mm)
            continue
        if part.shape == "label":
            sheet.set_x(sheet.l_margin + _INDENT_MM)
            sheet.set_font(_FAMILY, "B" if number == 1 else "", by.text_pt)
        elif part.shape not in _PARAGRAPHS:
            mark = {"points": "•", "checks": "☐", "steps": f"{number}."}[part.shape]
            sheet.cell(_INDENT_MM, by.line_mm, mark)
        _words(sheet, line, by.line_mm)
    if part.shape == "label" and sheet.y > top_mm:
        sheet.rect(sheet.l_margin, top_mm, sheet.epw, sheet.y - top_mm)


def _table_pt(by: _Print) -> float:
    return by.text_pt - 0.5


def _whole(sheet: FPDF, part: Part, line: str, by: _Print) -> None:
    """A new page where a line that is not long would be torn apart by the end of this one."""
    broken = _broken(sheet, part, line, by)
    if broken <= _KEPT_LINES and sheet.will_page_break(broken * by.line_mm):
        sheet.add_page()


def _fact(sheet: FPDF, line: str, by: _Print) -> str:
    """Print the name of a line of `Name: value` in its column, and give what goes beside it."""
    name, value = fact(line)
    if sheet.will_page_break(by.line_mm):
        sheet.add_page()
    sheet.set_font(_FAMILY, "B", by.text_pt)
    sheet.cell(by.name_mm, by.line_mm, name)
    sheet.set_font(_FAMILY, "", by.text_pt)
    return value


def _blank(sheet: FPDF, line: str, by: _Print) -> None:
    """Words with a rule behind them to the right margin."""
    if sheet.will_page_break(_RULE_MM):
        sheet.add_page()
        sheet.set_font(_FAMILY, "", by.text_pt)
    if line:
        sheet.cell(sheet.get_string_width(line) + 3.0, _RULE_MM, line)
    foot_mm = sheet.y + _RULE_MM - 1.2
    sheet.line(sheet.x, foot_mm, sheet.w - sheet.r_margin, foot_mm)
    sheet.ln(_RULE_MM)


def _needed_mm(sheet: FPDF, part: Part, by: _Print) -> float:
    """What must be left on the page for a part to begin there.

    All of a day, a label or a short part; else the heading with what comes first under it, so that
    no heading stands alone.
    """
    heading_mm = _heading_mm(part, by) if part.title else 3.0
    if part.chart is not None:
        return heading_mm + _body_mm(sheet, part, by)
    if part.table is not None:
        return heading_mm + begins_mm(sheet, part.table, _FAMILY, most_pt=_table_pt(by))
    whole_mm = heading_mm + _body_mm(sheet, part, by)
    together = part.level == 2 or part.shape == "label"
    if whole_mm < (_KEEP_MOST_MM if together else _SHORT_MM):
        return whole_mm
    first_mm = sum(_broken(sheet, part, line, by) * by.line_mm for line in part.lines[:2])
    return heading_mm + min(first_mm, _KEEP_MOST_MM)


def _heading_mm(part: Part, by: _Print) -> float:
    """How high the heading of a part stands, with the room before it."""
    return 3.0 + 1.25 * by.line_mm if part.level == 1 else 1.5 + by.line_mm


def _body_mm(sheet: FPDF, part: Part, by: _Print) -> float:
    """How high the lines of a part stand."""
    if part.shape == "blanks":
        return _RULE_MM * len(part.lines)
    whole_mm = 0.0 if part.chart is None else CHART_MM
    if part.table is not None:
        whole_mm += by.line_mm * (len(part.table.rows) + 1)
    return whole_mm + by.line_mm * sum(_broken(sheet, part, line, by) for line in part.lines)


def _broken(sheet: FPDF, part: Part, line: str, by: _Print) -> int:
    """Into how many lines a line of a part breaks."""
    facts = part.shape == "facts"
    aside_mm = by.name_mm if facts else 0.0 if part.shape in _PARAGRAPHS else _INDENT_MM
    width_mm, said = sheet.epw - aside_mm, fact(line)[1] if facts else line
    if (width_mm, said) not in by.known:
        sheet.set_font(_FAMILY, "", by.text_pt)
        broken = sheet.multi_cell(width_mm, by.line_mm, said, dry_run=True, output="LINES")
        by.known[width_mm, said] = max(1, len(broken)) if isinstance(broken, list) else 1
    return by.known[width_mm, said]


def _words(sheet: FPDF, text: str, height_mm: float) -> None:
    width_mm = sheet.w - sheet.r_margin - sheet.x
    sheet.multi_cell(width_mm, height_mm, text, align="L", new_x="LMARGIN", new_y="NEXT")
