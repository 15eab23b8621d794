"""Where the headings of a sheet stand, and which of its rows are data.

A sheet may have title lines, a line of units, headings that come again with other units, columns
for several ponds side by side, totals and footnotes; each row is told for what it is.
"""

from __future__ import annotations

import hashlib
import re
from dataclasses import dataclass, replace

from store.errors import BadInput
from store.exchange.columns.blocks import Block, blocks_of, by_their_names
from store.exchange.columns.by_cells import by_cells, is_day
from store.exchange.columns.calibration import is_calibration, is_no_sample, says_kind_of_row
from store.exchange.columns.guess import Guess, guess_of, is_title
from store.exchange.columns.shape import Shape
from store.exchange.columns.words import PASSED_OVER, mended, same
from store.exchange.sheets import Grid, RawRow
from store.text import plain
from store.water.words import UNIT

__all__ = ["Block", "Layout", "LeftOut", "Section", "fingerprint", "lay_out"]

_NUMBER = re.compile(r"[<>~]?[-+]?[0-9]*[.,]?[0-9]+")
_TOTAL = re.compile(
    r"(?:grand )?(?:totals?|sum|average|avg|mean|median|min(?:imum)?|max(?:imum)?|st\.?d(?:ev)?|"
    r"count|range|summe|gesamt|mittel(?:wert)?|durchschnitt|moyenne|promedio|gemiddelde)"
    r"(?![^\W_]).{0,30}",
    re.IGNORECASE,
)
_FOOTNOTE = re.compile(r"[*†‡(\[]|[0-9]\)|(?:note|nb|n\.b|remark|anm)[.:]|.*[^.]\.$", re.IGNORECASE)
_ORDER_SAID = re.compile(
    r"[(\[ ]*\b(d{1,2}|m{1,2}|tt|j{2,4}|y{2,4})[./ -](d{1,2}|m{1,2})"
    r"[./ -](y{2,4}|d{1,2}|j{2,4})\b[)\] ]*",
    re.IGNORECASE,
)
_NO_UNIT = frozenset(
    {"-", "--", "ph", "su", "s.u.", "std units", "ph units", "none", "text", "n/a"}
)
_CLOCK_UNIT = re.compile(r"h{1,2}[:.]m{1,2}(?:[:.]s{1,2})?(?: ?[ap]m)?|24 ?h", re.IGNORECASE)
_PLACE_SAID = re.compile(
    r"(?:pond|site|location|tank|place|teich|bassin|vijver)\b(?: ?name)?[ ]?[:=]?[ ]*",
    re.IGNORECASE,
)
_SEARCHED_LINES = 200


@dataclass(frozen=True, slots=True)
class LeftOut:
    """A line that is no data, such as a total or a footnote, with what it says."""

    line: int
    why: str
    text: str


@dataclass(frozen=True, slots=True)
class Section:
    """Rows under one line of headings, with the title lines above it and the units below."""

    above: tuple[RawRow, ...]
    header: RawRow
    units: RawRow | None
    guesses: tuple[Guess, ...]
    blocks: tuple[Block, ...]
    rows: tuple[RawRow, ...]

    @property
    def width(self) -> int:
        """The number of columns up to the last heading."""
        return len(self.guesses)

    @property
    def title(self) -> str:
        """The line above the headings that says `Pond: …`, else the next that is a single cell."""
        for row in reversed(self.above):
            held = [cell.strip() for cell in row.cells if cell.strip()]
            found = _PLACE_SAID.match(held[0]) if held else None
            if found is not None and len(held) == 2 and found.end() == len(held[0]):
                return held[1]
            if found is not None and len(held) == 1 and found[0].rstrip()[-1:] in (":", "="):
                return held[0][found.end() :]
        for row in reversed(self.above):
            held = [cell for cell in row.cells if cell.strip()]
            if len(held) == 1:
                return held[0].strip()
        return ""

    @property
    def head(self) -> tuple[RawRow, ...]:
        """Every line that is needed to read its rows once more."""
        below = () if self.units is None else (self.units,)
        return (*self.above, self.header, *below)


@dataclass(frozen=True, slots=True)
class Layout:
    """A sheet laid out: its sections in order, and the lines that are no data."""

    sections: tuple[Section, ...]
    left_out: tuple[LeftOut, ...]
    order_said: str = ""
    """The order of day and month that a heading states, as in `Date (dd/mm/yyyy)`."""


def lay_out(grid: Grid, shape: Shape | None = None) -> Layout:
    """Find headings, units, blocks, and what is no data.

    Parameters
    ----------
    grid
        One sheet.
    shape
        What a person said; it goes before every guess.

    Returns
    -------
    Layout
        At least one section.

    Raises
    ------
    BadInput
        When no line can be one of headings.
    """
    shape = shape or Shape()
    heads = _heads(grid, shape)
    sections: list[Section] = []
    left_out: list[LeftOut] = []
    above_from = 0
    for place, head in enumerate(heads):
        end = heads[place + 1] if place + 1 < len(heads) else len(grid.rows)
        above = tuple(grid.rows[above_from:head])
        if place + 1 < len(heads):
            above_from = end
            while above_from > head + 1 and _is_words(grid.rows[above_from - 1]):
                above_from -= 1
            end = above_from
        # Headings that come later without a title of their own stand under the one before.
        titled = any(not _is_footnote(row) for row in above)
        over = above if titled or not sections else sections[-1].above
        one = _section(grid, head, end, over, shape)
        rows, out = _sorted_out(one)
        left_out.extend(out)
        if not titled:
            left_out.extend(LeftOut(row.line, "a footnote or title", _text(row)) for row in above)
        again = bool(sections) and not titled and _same_head(sections[-1], one)
        if again:
            left_out.append(LeftOut(one.header.line, "the headings once more", _text(one.header)))
            rows = (*sections[-1].rows, *rows)
            sections[-1] = replace(sections[-1], rows=rows)
        else:
            sections.append(replace(one, rows=rows))
    said_orders = [_order_said(one) for one in sections]
    left_out.sort(key=lambda one: one.line)
    return Layout(tuple(sections), tuple(left_out), next(filter(None, said_orders), ""))


def fingerprint(layout: Layout) -> str:
    """What tells sheets of one source apart from others: their headings, in any order.

    Parameters
    ----------
    layout
        The sheet.

    Returns
    -------
    str
        A hash in 64 letters.
    """
    titles = {same(cell) for cell in layout.sections[0].header.cells} - PASSED_OVER - {""}
    return hashlib.sha256("\n".join(sorted(titles)).encode()).hexdigest()


def _heads(grid: Grid, shape: Shape) -> list[int]:
    """The places of all lines of headings."""
    rows = grid.rows
    if not rows:
        raise BadInput("The sheet has no header line; nothing was brought in.")
    if shape.header_line is not None:
        first = [place for place, row in enumerate(rows) if row.line == shape.header_line]
        if not first:
            raise BadInput(
                f"Line {shape.header_line} of the sheet holds nothing, so it has no headings; "
                "nothing was brought in.",
                field="header_line",
            )
    else:
        first = [
            place
            for place, row in enumerate(rows[:_SEARCHED_LINES])
            if not _has_data(row) and _known(row, shape) >= 2
        ][:1]
        if not first:
            words = [
                place
                for place, row in enumerate(rows[:_SEARCHED_LINES])
                if sum(bool(cell.strip()) for cell in row.cells) > 1 and not _has_data(row)
            ]
            first = words[:1] or [0]
    later = [
        place
        for place in range(first[0] + 1, len(rows))
        if not _has_data(rows[place]) and _known(rows[place], shape) >= 2
    ]
    return first + later


def _known(row: RawRow, shape: Shape) -> int:
    return sum(
        is_title(_without_order(cell)) or (bool(same(cell)) and same(cell) in shape.columns)
        for cell in row.cells
        if cell.strip()
    )


def _has_data(row: RawRow) -> bool:
    return any(_NUMBER.fullmatch(cell.strip()) or is_day(cell) for cell in row.cells)


def _is_words(row: RawRow) -> bool:
    """Whether a row may be a title: words alone, and few."""
    held = [cell for cell in row.cells if cell.strip()]
    few = len(held) == 1 or len(held) * 2 <= len(row.cells)
    return few and not _has_data(row) and not any(_TOTAL.fullmatch(cell.strip()) for cell in held)


def _is_footnote(row: RawRow) -> bool:
    """Whether a line of words rather ends what is above it than heads what is below."""
    held = [cell.strip() for cell in row.cells if cell.strip()]
    return len(held) == 1 and bool(_FOOTNOTE.match(held[0]) or len(held[0]) > 60)


def _section(grid: Grid, head: int, end: int, above: tuple[RawRow, ...], shape: Shape) -> Section:
    header = grid.rows[head]
    titles = [_without_order(cell) for cell in header.cells]
    while titles and not titles[-1].strip():
        titles.pop()
    start, units = head + 1, None
    if start < end and _is_unit_line(grid.rows[start]):
        units = grid.rows[start]
        start += 1
    rows = grid.rows[start:end]
    guesses = [guess_of(title, place, shape) for place, title in enumerate(titles)]
    if units is not None:
        guesses = [_with_unit(one, units.cell(one.column), shape) for one in guesses]
    blocks, guesses = by_their_names(guesses, shape)
    guesses = [
        replace(one, meaning="ignore", heading=None, why="hidden in the file")
        if one.column in grid.hidden_columns and one.sure != "said"
        else one
        for one in guesses
    ]
    guesses = by_cells(guesses, rows)
    if not blocks:
        blocks, guesses = blocks_of(guesses, above, grid.merged)
    return Section(above, header, units, tuple(guesses), blocks, tuple(rows))


def _is_unit_line(row: RawRow) -> bool:
    held = [mended(cell).strip("()[] ") for cell in row.cells if cell.strip()]
    units = [bool(UNIT.fullmatch(cell)) for cell in held]
    spare = [
        cell.casefold() in _NO_UNIT or _CLOCK_UNIT.fullmatch(cell) or _ORDER_SAID.fullmatch(cell)
        for cell in held
    ]
    return any(units) and all(one or other for one, other in zip(units, spare, strict=True))


def _with_unit(guess: Guess, unit: str, shape: Shape) -> Guess:
    text = mended(unit).strip("()[] ")
    if guess.heading is None or guess.heading.unit or guess.sure == "said" or text in ("", "-"):
        return guess
    if text.casefold() in _NO_UNIT:
        return guess
    known = guess_of(f"{guess.title} ({text})", guess.column, shape)
    return replace(known, title=guess.title, why="by its heading and the unit below")


def _sorted_out(section: Section) -> tuple[tuple[RawRow, ...], list[LeftOut]]:
    """The rows that are data, and those that are not."""
    days = [one.column for one in section.guesses if one.meaning in ("date", "taken_at")]
    notes = {one.column for one in section.guesses if one.meaning in ("note", "by", "place")}
    kinds = {one.column for one in section.guesses if says_kind_of_row(one.title)}
    rows, out = [], []
    for row in section.rows:
        held = [(place, cell.strip()) for place, cell in enumerate(row.cells) if cell.strip()]
        place, first = held[0]
        why = ""
        if not any(is_day(row.cell(day)) or row.cell(day)[:1].isdigit() for day in days):
            if _TOTAL.fullmatch(first) and (place not in notes or " " not in first):
                why = "a total, no test"
            elif len(held) == 1 and place <= 1 and place not in notes and _is_remark(first):
                why = "a footnote or title"
        if any(
            is_calibration(cell) or (place in kinds and is_no_sample(cell))
            for place, cell in held
            if place not in notes
        ):
            why = "a calibration, no test"
        if why:
            out.append(LeftOut(row.line, why, _text(row)))
        else:
            rows.append(row)
    return tuple(rows), out


def _text(row: RawRow) -> str:
    return plain(" | ".join(cell.strip() for cell in row.cells if cell.strip()))[:120]


def _is_remark(text: str) -> bool:
    return len(text) > 3 and not _NUMBER.fullmatch(text) and any(map(str.isalpha, text))


def _same_head(one: Section, other: Section) -> bool:
    """Whether the same headings stand once more, as on the next page."""
    if [same(cell) for cell in one.header.cells] != [same(cell) for cell in other.header.cells]:
        return False
    units = [() if each.units is None else each.units.cells for each in (one, other)]
    return units[0] == units[1]


def _order_said(section: Section) -> str:
    cells = [*section.header.cells, *(section.units.cells if section.units is not None else ())]
    for cell in cells:
        found = _ORDER_SAID.search(cell)
        if found is not None:
            letters = "".join(part[0].lower() for part in found.groups())
            letters = letters.replace("t", "d").replace("j", "y")
            if letters in ("dmy", "mdy", "ymd"):
                return letters
    return ""


def _without_order(cell: str) -> str:
    return _ORDER_SAID.sub(" ", cell).strip()
