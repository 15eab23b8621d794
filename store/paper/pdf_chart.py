"""A chart drawn on a page in black and white: a line with its limits, gaps left open."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from store.paper.chart import Chart, drawn_limits, runs, scale

if TYPE_CHECKING:
    from fpdf import FPDF

CHART_MM = 53.0
"""How high a chart stands with its axis [mm]."""
_PLOT_MM = 38.0
_LEFT_MM = 17.0
_RIGHT_MM = 3.0
_PT = 7.5
_TEXT_MM = 3.2
_THIN_MM, _LINE_MM = 0.15, 0.35
_DOT_MM = 0.55
_DASH_MM = 1.4
_MONTHS = ("Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec")
_TICKS_MM = 16.0
"""No two words under the axis stand nearer than this."""


class _Plot:
    """Where a time and a value lie on the page [mm]."""

    def __init__(self, sheet: FPDF, chart: Chart) -> None:
        self.left = sheet.l_margin + _LEFT_MM
        self.right = sheet.w - sheet.r_margin - _RIGHT_MM
        self.top = sheet.y + 2.0 * _TEXT_MM + 1.2
        self.foot = self.top + _PLOT_MM
        self._low, self._high = scale(chart)
        self._start, self._whole = chart.start, (chart.end - chart.start).total_seconds()

    def x(self, at: datetime) -> float:
        share = (at - self._start).total_seconds() / self._whole
        return self.left + (self.right - self.left) * min(1.0, max(0.0, share))

    def y(self, value: float) -> float:
        share = (value - self._low) / (self._high - self._low)
        return self.foot - (self.foot - self.top) * min(1.0, max(0.0, share))


def draw_chart(sheet: FPDF, chart: Chart, family: str) -> None:
    """Draw a chart from the place where the sheet stands, over the width between the margins.

    Parameters
    ----------
    sheet
        The sheet; the chart fits on what is left of the page.
    chart
        The chart; every letter has a picture in the typeface.
    family
        The typeface.
    """
    plot = _Plot(sheet, chart)
    top_mm = sheet.y
    sheet.set_draw_color(0)
    sheet.set_fill_color(0)
    sheet.set_font(family, "", _PT)
    sheet.set_xy(sheet.l_margin, top_mm)
    said = chart.unit or chart.label
    sheet.cell(_LEFT_MM * 3.0, _TEXT_MM, said)
    _axes(sheet, chart, plot)
    _limits(sheet, chart, plot)
    _marks(sheet, chart, plot, sheet.l_margin + sheet.get_string_width(said) + 4.0)
    _readings(sheet, chart, plot)
    _limit_words(sheet, chart, plot)
    sheet.set_line_width(0.2)
    sheet.set_fill_color(255)
    sheet.set_xy(sheet.l_margin, top_mm + CHART_MM)


def _axes(sheet: FPDF, chart: Chart, plot: _Plot) -> None:
    sheet.set_line_width(_THIN_MM)
    sheet.line(plot.left, plot.top, plot.left, plot.foot)
    sheet.line(plot.left, plot.foot, plot.right, plot.foot)
    low, high = min(chart.values), max(chart.values)
    taken = [plot.y(one.value) for one in drawn_limits(chart)]
    for value in dict.fromkeys((low, high)):
        y = plot.y(value)
        # A number of the scale gives way to that of a limit.
        if all(abs(y - other) >= _TEXT_MM for other in taken):
            _number(sheet, chart, plot, value)
            taken.append(y)
    foot, _ = scale(chart)
    if foot == 0.0 and all(abs(plot.foot - other) >= _TEXT_MM for other in taken):
        _number(sheet, chart, plot, 0.0)
    last = -_TICKS_MM
    for at in _ticks(chart):
        x = plot.x(at)
        sheet.line(x, plot.foot, x, plot.foot + 1.0)
        if x - last < _TICKS_MM:
            continue
        said = f"{at.day} {_MONTHS[at.month - 1]}"
        if at.month == 1 or last < 0.0:
            said += f" {at.year}"
        width = sheet.get_string_width(said) + 2.0 * sheet.c_margin
        left = min(max(plot.left, x - width / 2.0), plot.right - width)
        sheet.set_xy(left, plot.foot + 1.2)
        sheet.cell(width, _TEXT_MM, said, align="C")
        last = x


def _ticks(chart: Chart) -> Iterator[datetime]:
    """The first of each month; days of a short stretch."""
    days = (chart.end - chart.start).days
    if days < 45:
        step = max(1, days // 6)
        at = datetime.combine(chart.start.date(), datetime.min.time())
        while at <= chart.end:
            if at >= chart.start:
                yield at
            at += timedelta(days=step)
        return
    year, month = chart.start.year, chart.start.month
    step = max(1, round(days / 30.4 / 9))
    while (at := datetime(year, month, 1)) <= chart.end:  # noqa: DTZ001 - local, as the chart is
        if at >= chart.start:
            yield at
        year, month = year + (month - 1 + step) // 12, (month - 1 + step) % 12 + 1


def _number(sheet: FPDF, chart: Chart, plot: _Plot, value: float) -> None:
    sheet.set_xy(sheet.l_margin, plot.y(value) - _TEXT_MM / 2.0)
    sheet.cell(_LEFT_MM - 0.5, _TEXT_MM, chart.figure(value), align="R")


def _limits(sheet: FPDF, chart: Chart, plot: _Plot) -> None:
    """A broken line for each, with its number beside the axis where there is room."""
    taken: list[float] = []
    sheet.set_line_width(_THIN_MM)
    for limit in drawn_limits(chart):
        y = plot.y(limit.value)
        sheet.set_dash_pattern(dash=_DASH_MM, gap=_DASH_MM * 0.7)
        sheet.line(plot.left, y, plot.right, y)
        sheet.set_dash_pattern()
        if all(abs(y - other) >= _TEXT_MM for other in taken):
            _number(sheet, chart, plot, limit.value)
            taken.append(y)


def _limit_words(sheet: FPDF, chart: Chart, plot: _Plot) -> None:
    """What each limit is, beside its line where neither readings nor another word stand.

    They come last and stand on white, so that no other limit runs through them.
    """
    taken = list(_drawn(chart, plot))
    lines = [plot.y(one.value) for one in drawn_limits(chart)]
    for limit, y in zip(drawn_limits(chart), lines, strict=True):
        width = sheet.get_string_width(limit.label) + 2.0 * sheet.c_margin
        near = any(0.0 < y - other < _TEXT_MM + 0.4 for other in lines)
        above, under = y - _TEXT_MM - 0.1, y + 0.3
        middle = (plot.left + plot.right - width) / 2.0
        spots = [
            (left, top)
            for top in ((under, above) if near else (above, under))
            for left in (plot.right - width, plot.left + 0.5, middle)
            if top + _TEXT_MM < plot.foot
        ]
        hidden = [sum(_inside(one, left, top, width) for one in taken) for left, top in spots]
        left, top = spots[hidden.index(min(hidden))]
        _word(sheet, left, top, width, limit.label, on_white=not min(hidden))
        taken += [(left + width * share, top + _TEXT_MM / 2.0) for share in (0.0, 0.5, 1.0)]


def _drawn(chart: Chart, plot: _Plot) -> Iterator[tuple[float, float]]:
    """Places along the line of readings, a few of every stretch."""
    for run in runs(chart):
        ends = [(plot.x(chart.times[place]), plot.y(chart.values[place])) for place in run]
        yield ends[0]
        for (x0, y0), (x1, y1) in pairwise(ends):
            steps = max(1, min(40, int(max(abs(x1 - x0), abs(y1 - y0)) / 1.5)))
            for step in range(1, steps + 1):
                yield x0 + (x1 - x0) * step / steps, y0 + (y1 - y0) * step / steps


def _inside(place: tuple[float, float], left: float, top: float, width: float) -> bool:
    x, y = place
    return left - 0.5 <= x <= left + width + 0.5 and top - 0.3 <= y <= top + _TEXT_MM + 0.3


def _marks(sheet: FPDF, chart: Chart, plot: _Plot, left_mm: float) -> None:
    """A small triangle on the axis for each, with a dotted line up to its name above the chart."""
    last, top_mm = left_mm, plot.top - 2.0 * _TEXT_MM - 1.2
    for one in chart.marks:
        if not chart.start <= one.time <= chart.end:
            continue
        x = plot.x(one.time)
        corners = ((x, plot.foot - 2.0), (x - 1.0, plot.foot), (x + 1.0, plot.foot))
        sheet.polygon(corners, style="F")
        sheet.set_line_width(_THIN_MM)
        sheet.set_dash_pattern(dash=0.3, gap=0.9)
        sheet.line(x, top_mm + _TEXT_MM, x, plot.foot - 2.0)
        sheet.set_dash_pattern()
        width = sheet.get_string_width(one.label) + 2.0 * sheet.c_margin
        left = min(x - sheet.c_margin, plot.right - width)
        if left >= last:
            _word(sheet, left, top_mm, width, one.label)
            last = left + width


def _word(
    sheet: FPDF, left: float, top: float, width: float, said: str, *, on_white: bool = True
) -> None:
    """A word, on white where that hides no reading."""
    sheet.set_fill_color(255)
    sheet.set_xy(left, top)
    sheet.cell(width, _TEXT_MM, said, fill=on_white)
    sheet.set_fill_color(0)


def _readings(sheet: FPDF, chart: Chart, plot: _Plot) -> None:
    places = [
        (plot.x(at), plot.y(value)) for at, value in zip(chart.times, chart.values, strict=True)
    ]
    sheet.set_line_width(_LINE_MM)
    for run in runs(chart):
        _joined(sheet, [places[place] for place in run])
    crowded = len(places) > 120
    sheet.set_line_width(_THIN_MM)
    for place, (x, y) in enumerate(places):
        if place in chart.hollow:
            sheet.set_fill_color(255)
            sheet.circle(x, y, _DOT_MM * 1.3, style="DF")
            sheet.set_fill_color(0)
        elif not crowded:
            sheet.circle(x, y, _DOT_MM, style="F")
    if crowded:
        for run in runs(chart):
            if len(run) == 1:
                sheet.circle(*places[run[0]], _DOT_MM, style="F")


def _joined(sheet: FPDF, points: Sequence[tuple[float, float]]) -> None:
    if len(points) > 1:
        sheet.polyline(points)
