"""What a chart draws by estimate: a whisker from edge to edge, and a dot of the mean between two.

A measured series is a line without a break; an estimate is a row of whiskers. They are told apart
by their form, on a quarter of a row, so that even a low plot shows how wide the interval is.
"""

from __future__ import annotations

from bisect import bisect_right
from collections.abc import Iterator, Sequence
from datetime import datetime

from tui.widgets.chart_cells import Cells
from tui.widgets.chart_data import ChartData, Fan
from tui.widgets.chart_scale import Scale

FAN_SIGNS = ("⡇⠂⡇⠂ by estimate, 4 in 5 lie within", "⡇⠂⡇⠂ by estimate")
"""What the head says of it, where there is room and where there is little."""
_TODAY = "┊"
_DOTS = (0x01, 0x02, 0x04, 0x40)
_NOTHING = 0x2800
_DAY = 86400.0


def fan_in_sight(data: ChartData) -> Iterator[tuple[float, float]]:
    """Both edges of every day of the fan that is in sight."""
    if data.fan is not None:
        for time, low, high in zip(data.fan.times, data.fan.lows, data.fan.highs, strict=True):
            if data.start <= time <= data.end:
                yield low, high


def put_today(area: Cells, data: ChartData) -> None:
    """An upright line where what has been ends and what is to come begins.

    Parameters
    ----------
    area
        The plot.
    data
        What to show; without a `now` in sight nothing is drawn.
    """
    if data.now is not None and data.start < data.now < data.end:
        column = round(_column(data.now, data, area.width))
        for row in range(area.height):
            area.put(column, row, _TODAY, "axis")


def put_fan(area: Cells, data: ChartData, scale: Scale) -> None:
    """The fan on the first series' scale.

    A whisker a day where days have two columns or more; else one every second column, read off
    between the days beside it.

    Parameters
    ----------
    area
        The plot; what stands there already lies under the fan.
    data
        What to show, from its start to its end.
    scale
        Of the first series.
    """
    fan = data.fan
    if fan is None or not fan.times:
        return
    days = [_column(time, data, area.width) for time in fan.times]
    step = _DAY / (data.end - data.start).total_seconds() * (area.width - 1)
    first, last = max(0, round(days[0])), min(area.width - 1, round(days[-1]))
    whiskers = {round(day) for day in days} if step >= 2.0 else set(range(first, last + 1, 2))
    for column in range(first, last + 1):
        low, mean, high = _between(fan, days, min(max(column, days[0]), days[-1]))
        top, foot = _dot(high, scale, area), _dot(low, scale, area)
        inside = (top, foot) if column in whiskers else (_dot(mean, scale, area),) * 2
        _put_dots(area, column, (top, foot), inside)


def _column(time: datetime, data: ChartData, width: int) -> float:
    return (time - data.start) / (data.end - data.start) * (width - 1)


def _between(fan: Fan, days: Sequence[float], at: float) -> tuple[float, float, float]:
    """Low, mean and high at a column, between the days on either side."""
    after = min(bisect_right(days, at), len(days) - 1)
    before = max(after - 1, 0)
    width = days[after] - days[before]
    share = (at - days[before]) / width if width else 0.0
    low, mean, high = (
        values[before] + share * (values[after] - values[before])
        for values in (fan.lows, fan.means, fan.highs)
    )
    return low, mean, high


def _dot(value: float, scale: Scale, area: Cells) -> int:
    """The row of dots, four to a cell, on which plotext would draw a line through the value."""
    share = (scale.high - value) / (scale.high - scale.low)
    return round(share * (area.height - 1) * 4 + 1.5)


def _put_dots(area: Cells, column: int, rows: tuple[int, int], dots: tuple[int, int]) -> None:
    """The dots between two; from edge to edge the filling of a band gives way, a limit stays."""
    for row in range(max(0, rows[0] // 4), min(area.height, rows[1] // 4 + 1)):
        bits = sum(bit for dot, bit in enumerate(_DOTS, 4 * row) if dots[0] <= dot <= dots[1])
        if bits or area.rows[row][column][1] != "limit":
            area.put(column, row, chr(_NOTHING + bits) if bits else " ", "fan")
