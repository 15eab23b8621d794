"""The chart of a pond's page: which series is shown, which over it, in the widget's own values."""

from __future__ import annotations

from datetime import timedelta
from math import isinf, nan
from typing import TYPE_CHECKING

from tui.widgets.chart_data import Band, ChartData, Fan, Limit, Mark, Series

if TYPE_CHECKING:
    from store.watch.chart import ChartSeries, PondChart
    from store.watch.chart_ahead import EstimatedSeries

FIRST_DAYS = 90
OF_THE_WATER = "temperature_c"
"""The series that an estimate goes on from."""
_BEYOND_C = 60.0
"""Where the open end of a window is drawn: outside any pond [°C]."""


def chart_data(
    chart: PondChart, first: str, second: str | None, *, estimated: bool = True
) -> ChartData | None:
    """What the widget draws: one series with its limits and windows, a second one over it.

    The last 90 days are in sight at first; everything read can be zoomed out to. The temperature
    goes on by estimate into the days to come, where there is an estimate and it is asked for.
    `None` where nothing can be drawn.
    """
    by_code = {series.code: series for series in chart.series}
    shown = by_code.get(first)
    if shown is None:
        return None
    chosen = [_series(shown)]
    if second is not None and second != first and second in by_code:
        chosen.append(_series(by_code[second]))
    start = chart.end - timedelta(days=FIRST_DAYS)
    if shown.times[-1] < start:  # nothing lately: the 90 days up to the last reading
        start = shown.times[-1] - timedelta(days=FIRST_DAYS)
    fan = _fan(chart.estimated) if estimated and first == OF_THE_WATER else None
    return ChartData(
        series=tuple(chosen),
        start=start,
        end=chart.end if fan is None else max(chart.end, fan.times[-1]),
        fan=fan,
        now=None if fan is None else chart.end,
        limits=tuple(Limit(limit.value, limit.label) for limit in shown.limits),
        bands=tuple(
            Band(
                -_BEYOND_C if isinf(band.low) else band.low,
                _BEYOND_C if isinf(band.high) else band.high,
                band.label,
            )
            for band in shown.bands
        ),
        marks=tuple(Mark(event.time, event.label) for event in chart.events),
    )


def _fan(estimated: EstimatedSeries | None) -> Fan | None:
    if estimated is None or not estimated.times:
        return None
    return Fan(estimated.times, estimated.means, estimated.lows, estimated.highs)


def _series(series: ChartSeries) -> Series:
    times, values = list(series.times), list(series.values)
    for place in reversed(series.breaks):  # what is no number breaks the line
        times.insert(place, times[place - 1] + (times[place] - times[place - 1]) / 2)
        values.insert(place, nan)
    return Series(series.label, series.unit, tuple(times), tuple(values), series.decimals)


def next_code(
    chart: PondChart, code: str | None, by: int, *, skip: str | None = None
) -> str | None:
    """The code of the series after (or before) this one, round and round; `None` without any."""
    codes = [series.code for series in chart.series if series.code != skip]
    if not codes:
        return None
    if code not in codes:
        return codes[0 if by > 0 else -1]
    return codes[(codes.index(code) + by) % len(codes)]
