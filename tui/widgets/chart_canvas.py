"""A chart as rows of cells, each a character and the part it belongs to.

plotext draws the lines on a bare canvas of the plot's size; bands, limits, marks and the words are
set around and under them, so that each has its own cells and can be read without colour.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime
from math import isfinite

from rich.cells import cell_len

from tui.widgets.chart_cells import Cell, Cells
from tui.widgets.chart_data import Band, ChartData, Mark, Series
from tui.widgets.chart_fan import FAN_SIGNS, fan_in_sight, put_fan, put_today
from tui.widgets.chart_lines import put_lines
from tui.widgets.chart_scale import Scale, said_span, time_ticks, value_scale
from tui.widgets.literal import cut, fit, one_line, wrapped

FIRST_SIGN, SECOND_SIGN = "⠤⠤", "••"
_FILLS = "░·:"
_LIMIT = "╌"
_LONGEST_NAME, _SHORT_NAME = 26, 16
"""Cells of a mark's name where there is room, and where it stands in the way of the next one."""


@dataclass(frozen=True, slots=True)
class _Plot:
    """Where the plot lies, and the time it covers."""

    left: int
    top: int
    width: int
    height: int
    start: datetime
    end: datetime

    def column(self, time: datetime) -> int:
        """The column of the whole chart."""
        share = (time - self.start) / (self.end - self.start)
        return self.left + round(share * (self.width - 1))


def draw(data: ChartData, width: int, height: int) -> list[list[Cell]]:
    """The chart of that size; the sentence for an empty one where nothing is in sight.

    Parameters
    ----------
    data
        What to show, from its start to its end.
    width, height
        Cells. Under 20 × 5 only what fits is drawn.
    """
    cells = Cells(width, height)
    seen = any(_seen(one, data) for one in _all(data)) or any(fan_in_sight(data))
    if width < 20 or height < 5 or not seen:
        _say_empty(cells, data)
        return cells.rows
    marked = [mark for mark in data.marks if data.start <= mark.time <= data.end]
    below = 3 if marked and height >= 8 else 2
    scales = _scales(data, height - 1 - below)
    gutters = [_gutter(scale, width) for scale in scales]
    plot = _Plot(
        left=gutters[0],
        top=1,
        width=width - sum(gutters),
        height=height - 1 - below,
        start=data.start,
        end=data.end,
    )
    area = Cells(plot.width, plot.height)
    _put_bands(area, data.bands, scales[0])
    for limit in data.limits:
        area.put(0, scales[0].row(limit.value, plot.height), _LIMIT * plot.width, "limit")
    put_today(area, data)
    put_fan(area, data, scales[0])
    put_lines(area, data, scales)
    _put_names(area, data, scales[0])
    for row, line in enumerate(area.rows):
        cells.rows[plot.top + row][plot.left : plot.left + plot.width] = line
    _put_head(cells, data)
    _put_value_axes(cells, plot, scales)
    _put_time_axis(cells, plot, data)
    if marked:
        _put_marks(cells, plot, marked, words=below == 3)
    return cells.rows


def _gutter(scale: Scale, width: int) -> int:
    # A number nobody would expect in a pond must not push the plot out of its place.
    return 1 + min(width // 3, max((len(name) for _, name in scale.ticks), default=0))


def _all(data: ChartData) -> tuple[Series, ...]:
    return data.series if data.forecast is None else (*data.series, data.forecast)


def _seen(series: Series, data: ChartData) -> list[float]:
    return [
        value
        for time, value in zip(series.times, series.values, strict=True)
        if data.start <= time <= data.end and isfinite(value)
    ]


def _say_empty(cells: Cells, data: ChartData) -> None:
    anything = any(isfinite(value) for series in data.series for value in series.values)
    sentence = (
        f"No reading from {said_span(data.start, data.end)}. Move in time, or zoom out."
        if anything
        else one_line(data.empty)
    )
    lines = wrapped(sentence, max(1, cells.width - 2))
    for row, line in enumerate(lines, max(0, (cells.height - len(lines)) // 2)):
        cells.put(1, row, line, "text")


def _scales(data: ChartData, height: int) -> list[Scale]:
    first, *others = data.series
    values = _seen(first, data) + (_seen(data.forecast, data) if data.forecast else [])
    values += [value for ends in fan_in_sight(data) for value in ends]
    scales = [value_scale(values, height, first.decimals, data.limits, data.bands)]
    return scales + [value_scale(_seen(other, data), height, other.decimals) for other in others]


def _put_head(cells: Cells, data: ChartData) -> None:
    first, *others = data.series
    left = f"{FIRST_SIGN} {_named(first)}"
    right = f"{_named(others[0])} {SECOND_SIGN}" if others else ""
    span = said_span(data.start, data.end)
    left = cut(left, cells.width if not right else cells.width // 2 - 1)
    right = cut(right, cells.width // 2 - 1)
    cells.put(0, 0, left, "first")
    cells.put(cells.width - cell_len(right), 0, right, "second")
    used = cell_len(left), cell_len(right)
    for sign in FAN_SIGNS if any(fan_in_sight(data)) else ():
        if sum(used) + cell_len(sign) + 4 <= cells.width:
            cells.put(used[0] + 2, 0, sign, "fan")
            used = used[0] + 2 + cell_len(sign), used[1]
            break
    if sum(used) + cell_len(span) + 4 <= cells.width:
        free = cells.width - sum(used)
        column = (
            cells.width - cell_len(span) if not right else used[0] + (free - cell_len(span)) // 2
        )
        cells.put(column, 0, span, "text")


def _named(series: Series) -> str:
    label, unit = one_line(series.label), one_line(series.unit)
    return f"{label}, {unit}" if unit else label


def _put_value_axes(cells: Cells, plot: _Plot, scales: Sequence[Scale]) -> None:
    right = plot.left + plot.width
    for row in range(plot.height):
        cells.put(plot.left - 1, plot.top + row, "│", "axis")
        if len(scales) > 1:
            cells.put(right, plot.top + row, "│", "axis")
    for value, name in scales[0].ticks:
        row = scales[0].row(value, plot.height)
        if 0 <= row < plot.height:
            shown = fit(name, plot.left - 1, "right")
            cells.put(0, plot.top + row, shown, "text")
            cells.put(plot.left - 1, plot.top + row, "┤", "axis")
    for value, name in scales[1].ticks if len(scales) > 1 else ():
        row = scales[1].row(value, plot.height)
        if 0 <= row < plot.height:
            cells.put(right, plot.top + row, "├", "axis")
            shown = cut(name, cells.width - right - 1)
            cells.put(right + 1, plot.top + row, shown, "text")


def _put_time_axis(cells: Cells, plot: _Plot, data: ChartData) -> None:
    row = plot.top + plot.height
    cells.put(plot.left - 1, row, "└" + "─" * plot.width, "axis")
    kept = range(0)  # where the word for today stands: no date beside it may touch it
    if data.now is not None and plot.start < data.now < plot.end:
        kept = _put_name_of_time(cells, row, plot.column(data.now), "┼", "today")
    last = -1
    for time, name in time_ticks(plot.start, plot.end, plot.width):
        column = plot.column(time)
        start = min(max(0, column - len(name) // 2), cells.width - len(name))
        if kept and start < kept.stop and start + len(name) > kept.start:
            continue
        cells.put(column, row, "┬", "axis")
        if start > last:
            cells.put(start, row + 1, name, "text")
            last = start + len(name)


def _put_name_of_time(cells: Cells, row: int, column: int, sign: str, name: str) -> range:
    """A sign on the axis with its name below; the cells that the name keeps free of others."""
    cells.put(column, row, sign, "axis")
    start = min(max(0, column - len(name) // 2), cells.width - len(name))
    cells.put(start, row + 1, name, "text")
    return range(start - 1, start + len(name) + 1)


def _put_marks(cells: Cells, plot: _Plot, marks: Iterable[Mark], *, words: bool) -> None:
    row = plot.top + plot.height
    placed = sorted((plot.column(mark.time), one_line(mark.label)) for mark in marks)
    for column, _ in placed:
        cells.put(column, row, "▲", "mark")
    last = -1
    for number, (column, label) in enumerate(placed if words else ()):
        name = cut(label, _LONGEST_NAME)
        length = cell_len(name)
        after = placed[number + 1][0] if number + 1 < len(placed) else cells.width + 1
        if column + length < after:
            start = column
        elif last < column + 1 - length:
            start = column + 1 - length  # no room up to the next mark: the name ends at its own
        else:
            name = cut(label, _SHORT_NAME)
            start = min(column, cells.width - cell_len(name))
        if start > last:
            cells.put(start, row + 2, name, "mark")
            last = start + cell_len(name)


def _put_bands(area: Cells, bands: Sequence[Band], scale: Scale) -> None:
    # Where two overlap the narrower one is in sight; each has a filling of its own.
    by_height = sorted(enumerate(bands), key=lambda entry: entry[1].low - entry[1].high)
    for number, band in by_height:
        fill = _FILLS[number % len(_FILLS)]
        top, foot = scale.row(band.high, area.height), scale.row(band.low, area.height)
        for row in range(max(0, top), min(area.height - 1, foot) + 1):
            area.put(0, row, fill * area.width, "band")


def _put_names(area: Cells, data: ChartData, scale: Scale) -> None:
    for limit in data.limits:
        row = scale.row(limit.value, area.height)
        name = one_line(limit.label)
        if not 0 <= row < area.height:
            name, row = _beyond(name, row, area)
        _put_name(area, name, [row], "limit-text", from_left=False)
    for band in data.bands:
        top, foot = scale.row(band.high, area.height), scale.row(band.low, area.height)
        name = one_line(band.label)
        if foot < 0 or top >= area.height:
            name, row = _beyond(name, foot, area)
            rows = [row]
        else:
            rows = list(range(max(0, top), min(area.height - 1, foot) + 1))
        _put_name(area, name, rows, "band-text", from_left=True)


def _beyond(name: str, row: int, area: Cells) -> tuple[str, int]:
    return (f"↑ {name}", 0) if row < 0 else (f"↓ {name}", area.height - 1)


def _put_name(area: Cells, name: str, rows: Sequence[int], part: str, *, from_left: bool) -> None:
    """Where no line runs; over the line in the worst case, since a name must be readable."""
    name = f" {cut(name, area.width - 2)} "
    length = cell_len(name)
    columns = range(1, area.width - length) if from_left else range(area.width - length - 1, 0, -1)
    for row in rows:
        for column in columns:
            if area.free(column, row, length):
                area.put(column, row, name, part)
                return
    area.put(1 if from_left else area.width - length - 1, rows[0], name, part)
