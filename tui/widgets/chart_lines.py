"""The lines of a chart: plotext draws them on a bare canvas of the plot's size."""

from __future__ import annotations

import re
from collections.abc import Iterable, Sequence
from math import isfinite

from tui.widgets.chart_cells import Cells
from tui.widgets.chart_data import ChartData, Series
from tui.widgets.chart_scale import Scale

FIRST_MARKER, SECOND_MARKER = "braille", "•"
_ALONE = "●"
_COLOURS = re.compile("\x1b\\[[0-9;]*m")
_BLANK = frozenset(" ⠀")
_DAY = 86400.0


def put_lines(area: Cells, data: ChartData, scales: Sequence[Scale]) -> None:
    """The measured series and the forecast on their scales, gaps left open.

    Parameters
    ----------
    area
        The plot; what stands there already lies under the lines.
    data
        What to show, from its start to its end.
    scales
        Of the series, in their order.
    """
    layers = [
        (series, scale, part, marker)
        for series, scale, part, marker in zip(
            data.series, scales, ("first", "second"), (FIRST_MARKER, SECOND_MARKER), strict=False
        )
    ]
    if data.forecast is not None:
        layers.insert(0, (data.forecast, scales[0], "forecast", FIRST_MARKER))
    # The first series is drawn last: where two lines cross it is the one in sight.
    for series, scale, part, marker in reversed(layers):
        runs = list(_runs(series, data, area.width))
        for row, line in enumerate(_plotted(runs, data, scale, marker, area)):
            for column, character in enumerate(line):
                if character not in _BLANK:
                    area.put(column, row, character, part)
        for run in runs:
            if len(run) == 1:
                seconds, value = run[0]
                column = round(seconds / _seconds(data) * (area.width - 1))
                area.put(column, scale.row(value, area.height), _ALONE, part)


def _seconds(data: ChartData) -> float:
    return (data.end - data.start).total_seconds()


def _runs(series: Series, data: ChartData, width: int) -> Iterable[list[tuple[float, float]]]:
    """Stretches without a gap, as seconds from the start and values; thinned where crowded.

    A stretch reaches one reading beyond either edge, so that its line runs out of sight. Of many
    readings in one cell the lowest and the highest are kept.
    """
    points = sorted(
        ((time - data.start).total_seconds(), value)
        for time, value in zip(series.times, series.values, strict=True)
    )
    run: list[tuple[float, float]] = []
    for point in [*points, None]:
        broken = point is None or not isfinite(point[1])
        if run and (broken or (point and point[0] - run[-1][0] > data.gap_days * _DAY)):
            yield from _in_sight(run, _seconds(data), width)
            run = []
        if point is not None and not broken:
            run.append(point)


def _in_sight(
    run: list[tuple[float, float]], seconds: float, width: int
) -> Iterable[list[tuple[float, float]]]:
    inside = [place for place, (at, _) in enumerate(run) if 0 <= at <= seconds]
    if inside:
        first, last = max(0, inside[0] - 1), inside[-1] + 2
    else:
        # Both neighbours out of sight: the line still crosses.
        after = next((place for place, (at, _) in enumerate(run) if at > seconds), None)
        if not after:
            return
        first, last = after - 1, after + 1
    run = run[first:last]
    if len(run) > 8 * width:
        run = _thinned(run, seconds / (2 * width))
    yield run


def _thinned(run: list[tuple[float, float]], step: float) -> list[tuple[float, float]]:
    buckets: dict[int, list[tuple[float, float]]] = {}
    for point in run:
        buckets.setdefault(int(point[0] // step), []).append(point)
    kept: list[tuple[float, float]] = []
    for points in buckets.values():
        ends = {
            min(points, key=lambda point: point[1]), max(points, key=lambda point: point[1])
        }  # fmt: skip
        kept += sorted(ends)
    return kept


def _plotted(
    runs: Sequence[list[tuple[float, float]]],
    data: ChartData,
    scale: Scale,
    marker: str,
    area: Cells,
) -> list[str]:
    """The lines as plotext draws them on a bare canvas, one text a row."""
    # 135 ms to import: only where a chart is drawn.
    import plotext

    points = [point for run in runs for point in run]
    if not points:
        return []
    # The plot is as large as its place, whatever the terminal behind it tells of its own size.
    plotext.terminal.limit(False, False)
    figure = plotext.figure
    figure.clear()
    figure.plot_size(area.width, area.height)
    figure.axes(False)
    figure.legend(False)
    figure.ruler("x", "lower").lim(0.0, _seconds(data)).ticks([])
    figure.ruler("y", "left").lim(scale.low, scale.high).ticks([])
    signal = figure.signal(
        [seconds for seconds, _ in points], [value for _, value in points], marker=marker
    )
    signal.lines(True)
    place = 0
    for run in runs:
        signal.line(place, False)
        place += len(run)
    figure.draw(signal)
    return _COLOURS.sub("", str(figure.build())).splitlines()[: area.height]
