"""Rows of one shape, thousands at a time; whatever is out of shape is left to the careful reader.

Cells are sorted by their shape, that is by the text with every figure replaced by a zero. The
careful reader's own layout of that shape then reads all of them at once. A number of at most 15
figures is a whole number divided by a power of ten, both exact, so that the quotient is the very
float that Python reads from the text (IEEE 754, round to nearest).
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from store.exchange.logger.pieces import text_of
from store.exchange.logger.rows import How, is_bad
from store.exchange.logger.stamps import (
    DAY_MS,
    EPOCH_S,
    Layout,
    Span,
    clock_layout,
    day_layout,
)
from store.exchange.logger.zones import NO_OFFSET
from store.exchange.plain.moments import Order

Ints = NDArray[np.int64]
Floats = NDArray[np.float64]
Marks = NDArray[np.bool_]
_Bytes = NDArray[np.uint8]

_SHAPES = 40
_MOST_OFFSETS = 200
_WIDEST = 48
_FIGURES = 15
_ZERO, _NINE = 48, 57
_BLANKS = (32, 9, 13)
_LINE_FEED, _QUOTE = 10, 34


@dataclass(slots=True)
class Rows:
    """Rows in the order of the file; values in the unit of the file, NaN where none stands."""

    line: Ints
    wall_ms: Ints
    offset_min: Ints
    has_clock: Marks
    marked: Marks
    values: Floats
    """One row a row, one column a column of values."""


@dataclass(slots=True)
class Cut:
    """What was read at once, and which rows of the piece were not."""

    rows: Rows
    odd: Marks
    starts: Ints
    ends: Ints


def fast_rows(data: bytes, lines: Ints, how: How) -> Cut:
    """The rows of a piece that are of known shapes.

    Parameters
    ----------
    data
        Whole lines in UTF-8.
    lines
        On which each row begins in the file.
    how
        How the rows of the file are to be read.

    Returns
    -------
    Cut
        As many rows as lines; what stands in those that are odd means nothing.
    """
    raw = np.frombuffer(data, np.uint8)
    raw_ends = np.flatnonzero(raw == _LINE_FEED)
    raw_starts = np.concatenate(([0], raw_ends[:-1] + 1))
    n = len(raw_ends)
    odd = np.zeros(n, np.bool_)
    buf, starts, ends = raw, raw_starts, raw_ends
    separator = ord(how.head.separator)
    if b'"' in data:
        odd |= _quoted_oddly(raw, raw_starts, raw_ends, separator)
        buf = raw[raw != _QUOTE]
        ends = np.flatnonzero(buf == _LINE_FEED)
        starts = np.concatenate(([0], ends[:-1] + 1))
    marks = np.flatnonzero(buf == separator)
    begin = np.searchsorted(marks, starts)
    odd |= np.searchsorted(marks, ends) - begin != how.head.width - 1
    cells = _Cells(buf, starts, ends, marks, begin, how.head.width, ~odd)
    rows = Rows(
        lines, np.zeros(n, np.int64),
        np.full(n, NO_OFFSET, np.int64), np.ones(n, np.bool_), np.zeros(n, np.bool_),
        np.full((n, len(how.roles.columns)), np.nan),
    )  # fmt: skip
    _read_times(cells, rows, how)
    if how.head.offset_at is not None:
        _read_offsets(cells, how.head.offset_at, rows, how)
    for place, column in enumerate(how.roles.columns):
        _read_numbers(cells, column.place, rows.values[:, place], how.mark)
    for column_place in how.roles.status:
        _read_status(cells, column_place, rows.marked)
    fine = cells.fine
    # A row without any value may be one in which the logger says what happened to it.
    fine &= ~np.isnan(rows.values).all(axis=1)
    return Cut(rows, ~fine, raw_starts, raw_ends)


def _quoted_oddly(buf: _Bytes, starts: Ints, ends: Ints, separator: int) -> Marks:
    """Rows in which a quotation mark does anything but stand round a whole plain cell."""
    quotes = np.flatnonzero(buf == _QUOTE)
    edge = np.zeros(256, np.bool_)
    edge[[separator, _LINE_FEED]] = True
    before = edge[buf[np.maximum(quotes - 1, 0)]] | (quotes == 0)
    edge[13] = True
    after = edge[buf[np.minimum(quotes + 1, len(buf) - 1)]]
    row = np.searchsorted(ends, quotes)
    first = np.searchsorted(quotes, starts)
    opens = (np.arange(len(quotes)) - first[row]) % 2 == 0
    odd = np.zeros(len(ends), np.bool_)
    odd[row[np.where(opens, ~before, ~after)]] = True
    count = np.searchsorted(quotes, ends) - first
    odd |= count % 2 == 1
    marks = np.flatnonzero(buf == separator)
    if len(marks):
        of = np.searchsorted(ends, marks)
        inside = (np.searchsorted(quotes, marks) - first[of]) % 2 == 1
        odd[of[inside]] = True
    return odd


class _Cells:
    """The cells of the rows that are still fine."""

    def __init__(
        self, buf: _Bytes, starts: Ints, ends: Ints, marks: Ints, begin: Ints, width: int,
        fine: Marks,
    ) -> None:  # fmt: skip
        self.buf, self.starts, self.ends = buf, starts, ends
        self.marks, self.begin, self.width, self.fine = marks, begin, width, fine

    def bounds(self, column: int) -> tuple[Ints, Ints, Ints]:
        """The fine rows, and where their cell of a column begins and ends without blanks."""
        rows = np.flatnonzero(self.fine)
        begin = self.begin[rows]
        start = self.starts[rows] if column == 0 else self.marks[begin + column - 1] + 1
        end = self.ends[rows] if column == self.width - 1 else self.marks[begin + column]
        return rows, *self._trimmed(start, end)

    def _trimmed(self, start: Ints, end: Ints) -> tuple[Ints, Ints]:
        blank = np.zeros(256, np.bool_)
        blank[list(_BLANKS)] = True
        last = len(self.buf) - 1
        for _ in range(_WIDEST):
            more = blank[self.buf[np.minimum(start, last)]] & (start < end)
            if not more.any():
                break
            start = start + more
        for _ in range(_WIDEST):
            more = blank[self.buf[end - 1]] & (start < end)
            if not more.any():
                break
            end = end - more
        return start, end

    def shapes(self, column: int) -> Iterator[tuple[Ints, _Bytes, bytes]]:
        """The fine rows by the shape of their cell: rows, cells as bytes, shape.

        Rows of shapes beyond the first ones are fine no longer, and neither are too wide cells.
        """
        if column >= self.width:
            return
        rows, start, end = self.bounds(column)
        width = end - start
        self.fine[rows[width > _WIDEST]] = False
        for wide in np.unique(width):
            if wide > _WIDEST:
                break
            of = np.flatnonzero(width == wide)
            if wide == 0:
                yield rows[of], np.empty((len(of), 0), np.uint8), b""
                continue
            window = np.lib.stride_tricks.sliding_window_view(self.buf, int(wide))
            cells = window[start[of]]
            shape = np.where((cells >= _ZERO) & (cells <= _NINE), np.uint8(_ZERO), cells)
            left = np.arange(len(of))
            for _ in range(_SHAPES):
                if not len(left):
                    break
                first = shape[left[0]]
                same = (shape[left] == first).all(axis=1)
                here = left[same]
                yield rows[of[here]], cells[here] if len(here) < len(of) else cells, first.tobytes()
                left = left[~same]
            self.fine[rows[of[left]]] = False


def _read_times(cells: _Cells, rows: Rows, how: How) -> None:
    head = how.head
    if head.at is None:
        cells.fine[:] = False
        return
    for of, text, shape in cells.shapes(head.at):
        layout = _day_of(shape, how.order)
        apart = head.clock is not None
        if layout is None or (
            layout.has_clock and (apart or (head.twelve_hours and not layout.half))
        ):
            cells.fine[of] = False
            continue
        if layout.epoch is not None:
            rows.wall_ms[of], good = _since_1970(text, layout)
            rows.offset_min[of] = 0
            cells.fine[of[~good]] = False
            continue
        day_ms, good = _days(text, layout)
        if layout.has_clock:
            clock_ms, offset, fits = _clocks(text, layout, how)
            day_ms, good = day_ms + clock_ms, good & fits
            rows.offset_min[of] = offset
        else:
            rows.has_clock[of] = False
        rows.wall_ms[of] = day_ms
        cells.fine[of[~good]] = False
    if head.clock is None:
        return
    for of, text, shape in cells.shapes(head.clock):
        if not shape:
            continue
        layout = _clock_of(shape)
        if layout is None or (head.twelve_hours and not layout.half):
            cells.fine[of] = False
            continue
        clock_ms, offset, good = _clocks(text, layout, how)
        rows.wall_ms[of] += clock_ms
        rows.offset_min[of] = offset
        rows.has_clock[of] = True
        cells.fine[of[~good]] = False


def _read_offsets(cells: _Cells, column: int, rows: Rows, how: How) -> None:
    """The offsets that stand in a column of their own; there are few different ones."""
    for of, text, shape in cells.shapes(column):
        if not shape:
            cells.fine[of] = False
            continue
        whole = np.ascontiguousarray(text).view(f"S{text.shape[1]}").ravel()
        kinds, which = np.unique(whole, return_inverse=True)
        if len(kinds) > _MOST_OFFSETS:
            cells.fine[of] = False
            continue
        found = [how.offset_of(text_of(kind)) for kind in kinds.tolist()]
        minutes = np.array([NO_OFFSET if one is None else one for one in found], np.int64)
        cells.fine[of[np.array([one is None for one in found])[which]]] = False
        own = rows.offset_min[of]
        rows.offset_min[of] = np.where(own == NO_OFFSET, minutes[which], own)


@lru_cache(maxsize=512)
def _day_of(shape: bytes, order: Order) -> Layout | None:
    return _in_bytes(shape, lambda text: day_layout(text, order))


@lru_cache(maxsize=512)
def _clock_of(shape: bytes) -> Layout | None:
    return _in_bytes(shape, clock_layout)


def _in_bytes(shape: bytes, read: Any) -> Layout | None:
    """The layout of a shape with its places counted in bytes."""
    try:
        text = shape.decode("utf-8")
    except UnicodeDecodeError:
        return None
    layout: Layout | None = read(text)
    if layout is None or text.isascii():
        return layout
    moved = {}
    for name in ("year", "month", "day", "hour", "minute", "second", "fraction", "offset_hour",
                 "offset_minute", "epoch"):  # fmt: skip
        span: Span | None = getattr(layout, name)
        if span is not None:
            if not text[span[0] : span[1]].isascii():
                return None  # figures of another script
            moved[name] = (len(text[: span[0]].encode()), len(text[: span[1]].encode()))
    return Layout(
        **moved, month_said=layout.month_said, half=layout.half, offset_sign=layout.offset_sign,
        zone=layout.zone,
    )  # fmt: skip


def _figures(text: _Bytes, span: Span | None) -> Ints:
    if span is None:
        return np.zeros(len(text), np.int64)
    number = np.zeros(len(text), np.int64)
    for place in range(*span):
        number = number * 10 + (text[:, place].astype(np.int64) - _ZERO)
    return number


_MONTH_DAYS = np.array([0, 31, 29, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31])


def _days(text: _Bytes, layout: Layout) -> tuple[Ints, Marks]:
    """Midnight of the days [ms], and which of them the calendar has."""
    year, day = _figures(text, layout.year), _figures(text, layout.day)
    month = _figures(text, layout.month) if layout.month else np.full(len(text), layout.month_said)
    if layout.year is not None and layout.year[1] - layout.year[0] == 2:
        year = year + 2000
    good = (year > 1900) & (year < 2199) & (month >= 1) & (month <= 12) & (day >= 1)
    good &= day <= _MONTH_DAYS[np.clip(month, 0, 12)]
    leap = (year % 4 == 0) & ((year % 100 != 0) | (year % 400 == 0))
    good &= ~((month == 2) & (day == 29) & ~leap)
    # Days of the civil calendar, counted from March so that the leap day comes last.
    shifted = year - (month <= 2)
    era = shifted // 400
    of_era = shifted - era * 400
    of_year = (153 * (month + np.where(month > 2, -3, 9)) + 2) // 5 + day - 1
    days = era * 146_097 + of_era * 365 + of_era // 4 - of_era // 100 + of_year - 719_468
    return days * DAY_MS, good


def _since_1970(text: _Bytes, layout: Layout) -> tuple[Ints, Marks]:
    """Instants of seconds since 1970 or of thousandths of them [ms], and which are taken."""
    assert layout.epoch is not None
    at = _figures(text, layout.epoch)
    if layout.epoch[1] - layout.epoch[0] == 10:
        at = at * 1000
    good = (at >= 1000 * EPOCH_S[0]) & (at < 1000 * EPOCH_S[1])
    return at + _thousandths(text, layout), good


def _thousandths(text: _Bytes, layout: Layout) -> Ints:
    if layout.fraction is None:
        return np.zeros(len(text), np.int64)
    start, end = layout.fraction
    end = min(end, start + 3)
    tenfold: int = 10 ** (3 - (end - start))
    return _figures(text, (start, end)) * tenfold


def _clocks(text: _Bytes, layout: Layout, how: How) -> tuple[Ints, Ints, Marks]:
    """Times of day [ms], offsets from UTC [min], and which of them a clock shows."""
    hour, minute = _figures(text, layout.hour), _figures(text, layout.minute)
    second = _figures(text, layout.second)
    good = (minute <= 59) & (second <= 59)
    if layout.half:
        good &= (hour >= 1) & (hour <= 12)
        hour = hour % 12 + (12 if layout.half == "p" else 0)
    ms = ((hour * 60 + minute) * 60 + second) * 1000 + _thousandths(text, layout)
    good &= (hour <= 23) | (ms == DAY_MS)
    offset = np.full(len(text), how.words.get(layout.zone, NO_OFFSET), np.int64)
    good &= not layout.zone or layout.zone in how.words
    if layout.offset_sign:
        minutes = 60 * _figures(text, layout.offset_hour) + _figures(text, layout.offset_minute)
        good &= minutes < 1440
        offset = layout.offset_sign * minutes
    return ms, offset, good


@lru_cache(maxsize=4096)
def _number_shape(shape: bytes, mark: str) -> tuple[int, int, int] | None:
    """Sign, place of the decimal mark and count of figures of a number, or nothing."""
    found = re.fullmatch(rb"([+-]?)(0*)(?:([.,])(0*))?", shape)
    if (
        found is None
        or not (found[2] or found[4])
        or len(found[2]) + len(found[4] or b"") > _FIGURES
    ):
        return None
    if found[3] and found[3] != mark.encode():
        return None
    return (-1 if found[1] == b"-" else 1), found.end(2), len(found[4] or b"")


def _read_numbers(cells: _Cells, column: int, into: Floats, mark: str) -> None:
    for of, text, shape in cells.shapes(column):
        if not shape:
            continue
        known = _number_shape(shape, mark)
        if known is None:
            cells.fine[of] = False
            continue
        sign, point, decimals = known
        whole = _figures(text, (int(shape[:1] in b"+-"), point))
        if decimals:
            for place in range(point + 1, point + 1 + decimals):
                whole = whole * 10 + (text[:, place].astype(np.int64) - _ZERO)
        into[of] = sign * (whole / np.float64(10**decimals))


def _read_status(cells: _Cells, column: int, marked: Marks) -> None:
    for of, _, shape in cells.shapes(column):
        marked[of] |= is_bad(text_of(shape))  # no word of these has a figure in it
