"""Rows out of text whose cells are parted by comma, semicolon, tab or bar."""

from __future__ import annotations

import csv
import re
from collections import Counter
from collections.abc import Iterator, Sequence

from store.exchange.sheets.grid import RawRow
from store.exchange.sheets.marked import unmarked

SEPARATORS = ("\t", ";", ",", "|")
NAMED = {"\t": "tabs", ";": "semicolons", ",": "commas", "|": "bars"}
_LINE = re.compile(r"\r\n|\r|\n")
_SEP_LINE = re.compile(r"\s*\"?sep=(.)\"?\s*", re.IGNORECASE)
_QUOTED = re.compile(r'"([^"]*)"')
_LOOKED_AT = 300
_MAY_HEAD = 5
"""Of the rows that a mark parts alike, how many of the first may be the headings."""
_MOST_CELL = 100_000
_NUMBER = re.compile(r"\s*[<>~]?[-+]?[0-9]*[.,]?[0-9]+\s*")


def lines_of(text: str) -> list[str]:
    """The lines of a text, without their ends: CRLF, LF and CR alike.

    Parameters
    ----------
    text
        The whole text.
    """
    return _LINE.split(text)


def said_separator(first_line: str) -> str:
    """The separator that a first line such as `sep=;` states, or nothing.

    Parameters
    ----------
    first_line
        The first line of the file.
    """
    found = _SEP_LINE.fullmatch(first_line)
    return found[1] if found is not None and found[1] in SEPARATORS else ""


def separator_of(lines: Sequence[str]) -> tuple[str, tuple[str, ...]]:
    """What parts the cells, by the first lines of a file, with what is not certain.

    That mark counts which parts most lines, headings first of all, and into the same number of
    cells; where two do, tab goes before semicolon, and that before comma, since a comma may be a
    decimal mark. What stands in quotation marks parts nothing, and a title filled up with empty
    cells (`Log 2026;;;;`) is looked past.

    Parameters
    ----------
    lines
        Of the file; the first few hundred are looked at.

    Returns
    -------
    tuple of str and tuple of str
        The separator (a comma where nothing parts the lines) and remarks.
    """
    looked = [_QUOTED.sub(_whole, line) for line in lines[:_LOOKED_AT] if line.strip()]
    found = []
    for rank, mark in enumerate(SEPARATORS):
        rows = [line.split(mark) for line in looked]
        parted = [cells for cells in rows if len(cells) > 1]
        widths = Counter(len(cells) for cells in parted)
        if not widths:
            continue
        width, alike = max(widths.items(), key=lambda one: (one[1], one[0]))
        wide = [cells for cells in parted if len(cells) == width and _held(cells) > 1]
        headed = any(map(_is_heading, wide[:_MAY_HEAD]))
        found.append((headed, len(parted), alike, -rank, mark))
    if not found:
        return ",", ()
    found.sort(reverse=True)
    best = found[0]
    doubtful = [one for one in found[1:] if one[:2] == best[:2] and best[0]]
    remarks: tuple[str, ...] = ()
    if doubtful:
        remarks = (
            f"Cells were parted by {NAMED[best[4]]}; {NAMED[doubtful[0][4]]} would part them too. "
            "Look at the columns.",
        )
    return best[4], remarks


def rows_of(lines: Sequence[str], separator: str) -> tuple[list[RawRow], tuple[str, ...]]:
    """The rows of a text that hold something, and what was odd about its quotation marks.

    Where quotation marks do not pair up, or swallow whole rows, every line is read by itself.

    Parameters
    ----------
    lines
        Of the file, without their ends.
    separator
        Between two cells.
    """
    try:
        return [row for row in _strict(lines, separator) if _holds(row.cells)], ()
    except (csv.Error, _Swallowed):
        rows = [
            RawRow(number, tuple(map(unmarked, _alone(line, separator))))
            for number, line in enumerate(lines, start=1)
        ]
        said = (
            "A quotation mark without its partner stands in the file: every line was read by "
            "itself."
        )
        return [row for row in rows if _holds(row.cells)], (said,)


class _Swallowed(Exception):
    """A cell in quotation marks holds whole rows of the sheet."""


def _strict(lines: Sequence[str], separator: str) -> Iterator[RawRow]:
    before = 0
    ended = (f"{line}\n" for line in lines)
    reader = csv.reader(ended, delimiter=separator, strict=True)
    for cells in reader:
        if reader.line_num - before > 1:
            for cell in cells:
                inner = cell.split("\n")
                if len(inner) > 2 and any(
                    line.count(separator) >= max(2, len(cells) - 1) for line in inner
                ):
                    raise _Swallowed
        if any(len(cell) > _MOST_CELL for cell in cells):
            raise _Swallowed
        yield RawRow(before + 1, tuple(map(unmarked, cells)))
        before = reader.line_num


def _alone(line: str, separator: str) -> list[str]:
    try:
        return next(csv.reader([line], delimiter=separator, strict=True), [])
    except csv.Error:
        return line.split(separator)


def _whole(quoted: re.Match[str]) -> str:
    """What stood in quotation marks, with nothing in it that parts cells."""
    return re.sub("[\t;,|]", " ", quoted[1])


def _held(cells: Sequence[str]) -> int:
    return sum(bool(cell.strip()) for cell in cells)


def _is_heading(cells: Sequence[str]) -> bool:
    """Whether a row may be one of headings: two words at least, and no figures by themselves."""
    words = [cell for cell in cells if cell.strip()]
    return len(words) > 1 and not any(_NUMBER.fullmatch(cell) for cell in words)


def _holds(cells: Sequence[str]) -> bool:
    return any(cell.strip() for cell in cells)
