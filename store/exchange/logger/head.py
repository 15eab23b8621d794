"""The beginning of a logger's file: title lines, header, units, and where the values begin."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass

from store.errors import BadInput
from store.exchange.logger.columns import AT_NAMES, clean_title, is_name, is_unit
from store.exchange.logger.head_clock import clock_said
from store.exchange.logger.pieces import Source, text_of
from store.exchange.logger.stamps import clock_layout, day_layout, read_stamp
from store.exchange.logger.zones import ANY_WORD, Per, offset_column
from store.exchange.plain.planned import same

_LOOKED_AT = 400
_MOST_COLUMNS = 500
_COMMENT = re.compile(r"^\s*(?:#+|//+|!+|\*+|%+|;+)\s*(?=\S)")
_NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d+)?|[.,]\d+)(?:[eE][+-]?\d+)?")
_SINCE_1970 = re.compile(r"\b(?:unix|epoch|posix)", re.I)
_EPOCH_NAMES = re.compile(r"\b(?:unix|epoch|posix|time|date)|stamp|\b(?:utc|at)\b|time\b", re.I)
_SERIAL = re.compile(
    r"(?:\bs/n|\bserial(?: ?(?:no|number|num|nr))?\.?|\bseriennummer)\s*[:#=,;\t]*\s*\"?"
    r"([A-Za-z0-9][A-Za-z0-9-]{2,30})", re.I
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Head:
    """What the beginning of a file says."""

    separator: str
    header: tuple[str, ...]
    """Cleaned headings, with the units of a second line in brackets."""
    width: int
    """How many cells a row of values has."""
    first_line: int
    """The line on which the rows begin."""
    at: int | None
    """The column of day, or of day and time."""
    clock: int | None
    """The column of the time of day, where it stands apart."""
    decimal: str
    """`.` or `,`, or nothing where the rows do not tell."""
    twelve_hours: bool
    """The clock of the file runs to twelve and marks the halves of the day."""
    offset_min: int | None
    """The offset from UTC that title lines or the header name."""
    zone: str
    """The name of a time zone that title lines give."""
    serial: str
    titles: int
    """How many lines stand before the header."""
    descending: bool
    """The newest row stands first."""
    sample: tuple[tuple[str, ...], ...]
    offset_at: int | None = None
    """The column in which every row names its own offset from UTC."""
    offset_per: Per = "h"
    """In what a bare number of that column counts."""
    zone_word: str = ""
    """The short name of a clock that title lines or the header give, in small letters."""


def cells_of(line: str, separator: str) -> list[str]:
    """The cells of one line; a quotation mark without its partner ends with the line.

    Parameters
    ----------
    line
        Without its end.
    separator
        Between two cells.
    """
    if '"' not in line:
        return line.split(separator)
    try:
        # A return within the line would be taken for the end of it.
        return next(csv.reader([line.replace("\r", " ")], delimiter=separator), [""])
    except csv.Error:
        return line.split(separator)


def read_head(source: Source) -> Head:
    """What the beginning of a file says.

    Parameters
    ----------
    source
        The file.

    Raises
    ------
    BadInput
        When it holds no header.
    """
    first = next(source.pieces(400_000), None)
    lines = [] if first is None else [text_of(line) for line in first.data.split(b"\n", _LOOKED_AT)]
    lines = [line.rstrip("\r") for line in lines[:_LOOKED_AT]]
    filled = [place for place, line in enumerate(lines) if line.strip(' ,;\t"')]
    if not filled:
        raise BadInput(
            f"{source.path.name} has no header line; nothing was brought in. A line above the "
            "values names the columns."
        )
    separator, rows, at = _rows(lines)
    if at is None:
        return _without_rows(source, lines, filled[0])
    begins = rows[0]
    sample = tuple(tuple(cell.strip() for cell in cells_of(lines[row], separator)) for row in rows)
    width = Counter(len(cells) for cells in sample).most_common(1)[0][0]
    named, titles = _header(lines, begins, separator, width)
    if len(named) > _MOST_COLUMNS:
        raise BadInput(f"{source.path.name} has {len(named)} columns; nothing was brought in.")
    if not named:
        raise BadInput(
            f"{source.path.name} has no header line; nothing was brought in. A line above the "
            "values names the columns."
        )
    at = _better_at(named, sample, at)
    if _is_epoch(sample[0][at]):
        # A long number under no heading of time may be anything.
        at = next(
            (column for column, cell in enumerate(sample[0][: len(named)])
             if _is_epoch(cell) and _EPOCH_NAMES.search(named[column])), None
        )  # fmt: skip
    clock = None if at is None else _clock_column(named, sample, at)
    headings = [named[place] for place in (at, clock) if place is not None]
    said = clock_said(lines[:titles], headings)
    apart: tuple[int | None, Per] = (None, "h")
    if at is not None and not _in_utc(headings, sample, at):
        apart = offset_column(named, sample, {at, clock}) or apart
    return Head(
        separator, named, width, begins + 1, at, clock, _decimal(sample, separator, {at, clock}),
        at is not None and any(_half(cells, at, clock) for cells in sample),
        said.offset_min, said.zone,
        _serial(lines[:begins]), titles, at is not None and _descends(sample, at, clock), sample,
        apart[0], apart[1], said.word,
    )  # fmt: skip


def _in_utc(headings: Sequence[str], sample: Sequence[Sequence[str]], at: int) -> bool:
    """Whether times stand in UTC already, so that a column of offsets tells of another clock."""
    return any(re.search(r"\b(?:utc|gmt)\b", title, re.I) for title in headings) or any(
        not isinstance(one := read_stamp(row[at], "", "dmy", ANY_WORD), str)
        and one.offset_min is not None
        for row in sample[:20]
    )


def _rows(lines: Sequence[str]) -> tuple[str, list[int], int | None]:
    """The separator, the places of the rows of values, and the column in which their day stands."""
    best: tuple[int, int, str, list[int], int | None] = (0, 0, ",", [], None)
    for separator in (",", ";", "\t", "|"):
        found: dict[int, list[int]] = {}
        cells_seen = 0
        for place, line in enumerate(lines):
            cells = cells_of(line, separator)
            if len(cells) < 2 or _comments(line, separator):
                continue
            column = _day_column([cell.strip() for cell in cells[:8]])
            if column is not None:
                found.setdefault(column, []).append(place)
                cells_seen += len(cells)
        if not found:
            continue
        column, places = max(found.items(), key=lambda item: (len(item[1]), -item[0]))
        if (len(places), cells_seen) > best[:2]:
            best = (len(places), cells_seen, separator, places, column)
    return best[2], best[3], best[4]


def _day_column(cells: Sequence[str]) -> int | None:
    """The first cell that is a day; eight bare figures may be a serial number: they come last.

    Behind them come seconds since 1970, which may be a number of anything.
    """
    days = [
        column
        for column, cell in enumerate(cells)
        if day_layout(cell, "dmy") or day_layout(cell, "ymd")
    ]
    ticks = [column for column in days if _ticks(cells[column])]
    bare = [column for column in days if cells[column].isdigit() and column not in ticks]
    sure = [column for column in days if column not in bare and column not in ticks]
    likely = [column for column in bare if "1950" <= cells[column][:4] <= "2100"]
    epochs = [column for column in ticks if _is_epoch(cells[column])]
    return next(iter(sure or likely or epochs), None)


def _ticks(cell: str) -> bool:
    """Whether a cell is written as seconds since 1970 are, or thousandths of them."""
    layout = day_layout(cell, "ymd")
    return layout is not None and layout.epoch is not None


def _is_epoch(cell: str) -> bool:
    """Whether a cell may be an instant in seconds since 1970, or in thousandths of them."""
    return _ticks(cell) and not isinstance(read_stamp(cell, "", "ymd"), str)


def _comments(line: str, separator: str) -> bool:
    """Whether a line begins with the mark of a comment that is no separator of cells."""
    return _COMMENT.match(line) is not None and not line.lstrip().startswith(separator)


def _header(
    lines: Sequence[str], begins: int, separator: str, width: int
) -> tuple[tuple[str, ...], int]:
    """The headings with their units, and the place of the line that holds them."""
    above: list[tuple[int, list[str]]] = []
    for place in range(begins - 1, -1, -1):
        line = lines[place]
        # A column of numbers may itself be headed by the mark of a comment.
        first = clean_title(cells_of(line, separator)[0])
        if _comments(line, separator) and first not in ("#", "No."):
            line = _COMMENT.sub("", line)
        cells = [clean_title(cell) for cell in cells_of(line, separator)]
        if not any(cells):
            continue
        if sum(map(is_name, cells)) == 0 and not all(is_unit(cell) for cell in cells):
            if above or len(cells) < min(2, width):
                break
            above.append((place, cells))
            continue
        above.append((place, cells))
        if any(is_name(cell) for cell in cells) and not all(is_unit(cell) for cell in cells):
            break
        if len(above) == 3:
            break
    named = [one for one in above if any(map(is_name, one[1])) and not all(map(is_unit, one[1]))]
    if not named:
        # No word of it is known, but it stands where headings stand.
        named = [
            one for one in above if len(one[1]) == width and not any(map(_NUMBER.fullmatch, one[1]))
        ]
    if not named:
        return (), 0
    place, cells = max(named, key=lambda one: sum(map(is_name, one[1])))
    units = next(
        (one for at, one in above if at > place and all(is_unit(cell) for cell in one)), []
    )
    while cells and not cells[-1] and len(cells) > width:
        cells = cells[:-1]
    joined = [
        f"{cell} ({units[column].strip(' ()[]')})"
        if column < len(units) and cell and units[column].strip(" ()[]-")
        and units[column].strip(" ()[]") not in cell
        else cell
        for column, cell in enumerate(cells)
    ]  # fmt: skip
    joined += [""] * (width - len(joined))
    return tuple(joined), place


def _without_rows(source: Source, lines: Sequence[str], first: int) -> Head:
    """A file that has a header and no row of values."""
    separator = max(",;\t", key=lines[first].count)
    named = tuple(clean_title(cell) for cell in cells_of(lines[first], separator))
    while named and not named[-1]:
        named = named[:-1]
    at = next((place for place, name in enumerate(named) if _is_at(name)), None)
    return Head(
        separator, named, len(named), first + 2, at, None, "", False, None, "", "", first, False, ()
    )


def _is_at(title: str) -> bool:
    return (
        same(title) in AT_NAMES
        or re.match(r"(?:date|time|datum|zeit|fecha)\b", title, re.I) is not None
        or _EPOCH_NAMES.match(title) is not None
    )


def _better_at(named: Sequence[str], sample: Sequence[Sequence[str]], at: int) -> int:
    """Of several columns with days the one whose instants are sure, else the first."""
    for column, title in enumerate(named):
        cells = [row[column] for row in sample[:20] if column < len(row) and row[column]]
        if _SINCE_1970.search(title) and cells and all(map(_is_epoch, cells)):
            return column
    for column, title in enumerate(named):
        if column != at and re.search(r"\b(?:utc|gmt)\b", title, re.I) and _is_at(title):
            cells = [row[column] for row in sample[:20] if column < len(row)]
            if cells and all(
                day_layout(cell, "dmy") or day_layout(cell, "ymd") for cell in cells if cell
            ):
                return column
    return at


def _clock_column(named: Sequence[str], sample: Sequence[Sequence[str]], at: int) -> int | None:
    cells = [row[at] for row in sample[:50]]
    layouts = [day_layout(cell, "dmy") or day_layout(cell, "ymd") for cell in cells]
    if any(one is not None and one.has_clock for one in layouts):
        midnight = all(re.search(r"[T ]0?0:00(?::00)?$", cell) for cell in cells if cell)
        if not midnight:
            return None
    for column in range(len(named)):
        if column == at:
            continue
        seen = [row[column] for row in sample[:50] if column < len(row) and row[column]]
        # `12.30` is a time only under a heading that says so.
        named_so = re.search(r"time|clock|zeit|hora|heure|ora|tijd|tid", named[column], re.I)
        if (
            seen
            and all(clock_layout(cell) is not None for cell in seen)
            and (named_so or (column == at + 1 and all(":" in cell for cell in seen)))
        ):
            return column
    return None


def _half(cells: Sequence[str], at: int, clock: int | None) -> bool:
    for column in (clock, at):
        if column is None or column >= len(cells):
            continue
        layout = (
            clock_layout(cells[column])
            if column == clock
            else (day_layout(cells[column], "dmy") or day_layout(cells[column], "ymd"))
        )
        if layout is not None and layout.half:
            return True
    return False


def _decimal(sample: Sequence[Sequence[str]], separator: str, taken: set[int | None]) -> str:
    points = commas = 0
    for cells in sample:
        for column, cell in enumerate(cells):
            if column in taken or _NUMBER.fullmatch(cell) is None:
                continue
            points += "." in cell
            commas += "," in cell and re.fullmatch(r"[+-]?[1-9]\d{0,2},\d{3}", cell) is None
    if points and commas:
        return ""
    if commas:
        return ","
    return "." if points or separator == "," else ""


def _serial(lines: Sequence[str]) -> str:
    for line in lines:
        if found := _SERIAL.search(line):
            return found[1]
    return ""


def _descends(sample: Sequence[Sequence[str]], at: int, clock: int | None) -> bool:
    """Whether times run backwards from row to row, in whichever order their days are read."""
    up = down = 0
    before = None
    for cells in sample[:200]:
        said = cells[clock] if clock is not None and clock < len(cells) else ""
        stamp = next(
            (one for order in ("ymd", "dmy", "mdy")
             if not isinstance(one := read_stamp(cells[at], said, order, ANY_WORD), str)), None
        )  # fmt: skip
        if stamp is None:
            continue
        if before is not None:
            up += stamp.wall_ms > before
            down += stamp.wall_ms < before
        before = stamp.wall_ms
    return down >= 3 and down > 2 * up
