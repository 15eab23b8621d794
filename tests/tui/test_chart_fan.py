"""What a chart shows by estimate: told from what was measured by its characters alone."""

from __future__ import annotations

from dataclasses import replace
from datetime import datetime, timedelta

import pytest
from paper import Paper
from rich.cells import cell_len

from tui.widgets.chart import TimeChart
from tui.widgets.chart_canvas import draw
from tui.widgets.chart_data import Band, ChartData, Fan, Limit, Series
from tui.widgets.chart_scale import value_scale

NOW = datetime(2026, 11, 25, 7)  # noqa: DTZ001 - local, like every series
START = NOW - timedelta(days=90)
MEASURED = Series(
    "temperature", "°C", tuple(START + timedelta(days=7 * n) for n in range(12)),
    tuple(17.0 - 0.8 * n for n in range(12)),
)  # fmt: skip
NOON = NOW.replace(hour=12)
DAYS = tuple(NOON + timedelta(days=n) for n in range(-12, 15))
MEANS = tuple(8.0 - 0.1 * n for n in range(27))
WIDE = tuple(0.6 + 0.1 * n for n in range(27))
FAN = Fan(
    DAYS, MEANS,
    tuple(mean - wide for mean, wide in zip(MEANS, WIDE, strict=True)),
    tuple(mean + wide for mean, wide in zip(MEANS, WIDE, strict=True)),
)  # fmt: skip
WITH = ChartData((MEASURED,), START, DAYS[-1], fan=FAN, now=NOW)
FULL = "⡇"


def lines(data: ChartData, width: int = 78, height: int = 9) -> list[str]:
    return ["".join(character for character, _ in row) for row in draw(data, width, height)]


def cells(
    data: ChartData, part: str, width: int = 78, height: int = 9
) -> dict[tuple[int, int], str]:
    return {
        (column, row - 1): character
        for row, line in enumerate(draw(data, width, height))
        for column, (character, belongs) in enumerate(line)
        if belongs == part and row
    }  # fmt: skip


def dots(found: dict[tuple[int, int], str], column: int) -> list[int]:
    """Rows of dots of a column, four to a cell, of the left half of its cells."""
    return [
        4 * row + place
        for (at, row), character in sorted(found.items(), key=lambda one: one[0][1])
        if at == column and character != " "
        for place, bit in enumerate((0x01, 0x02, 0x04, 0x40))
        if (ord(character) - 0x2800) & bit
    ]


@pytest.mark.parametrize(("width", "height"), [(78, 8), (118, 19), (58, 7)])
def test_whiskers_and_dots_are_no_line(width: int, height: int) -> None:
    """Seen without colour: no cell of the estimate has a dot in its right half, a line has."""
    fan, line = (cells(WITH, part, width, height) for part in ("fan", "first"))
    half = {character: (ord(character) - 0x2800) & 0xB8 for character in fan.values()}
    assert len(half) > 3
    assert all(character == " " or not right for character, right in half.items())
    right = [character for character in line.values() if (ord(character) - 0x2800) & 0xB8]
    assert len(right) > 0.9 * len(line)
    shown = lines(WITH, width, height)
    assert "⡇⠂⡇⠂ by estimate" in shown[0]
    assert {cell_len(line) for line in shown} == {width}


def test_a_whisker_reaches_from_edge_to_edge_and_the_mean_stands_between() -> None:
    height, left = 25, 3
    scale = value_scale([*MEASURED.values, *FAN.lows, *FAN.highs], height - 3, 1)
    found = cells(WITH, "fan", 78, height)
    columns = sorted({column for column, _ in found})
    per_dot = (scale.high - scale.low) / (4 * (height - 4))
    checked = 0
    for column in columns:
        time = START + (DAYS[-1] - START) * ((column - left) / (78 - left - 1))
        day = (time - DAYS[0]) / timedelta(days=1)
        mean, wide = 8.0 - 0.1 * day, 0.6 + 0.1 * day
        put = [scale.high - (dot - 1.5) * per_dot for dot in dots(found, column)]
        if len(put) == 1:
            assert put[0] == pytest.approx(mean, abs=per_dot), column
        else:
            assert max(put) == pytest.approx(mean + wide, abs=1.5 * per_dot), column
            assert min(put) == pytest.approx(mean - wide, abs=1.5 * per_dot), column
            checked += 1
    assert checked >= len(columns) // 2 - 1


def test_zoomed_in_every_day_has_one_whisker() -> None:
    close = replace(WITH, start=NOW - timedelta(days=5), end=NOW + timedelta(days=5))
    found = cells(close, "fan", 118, 19)
    whiskers = [
        column for column in {column for column, _ in found} if len(dots(found, column)) > 1
    ]
    assert len(whiskers) == 10


def test_what_was_measured_stays_as_it_is_and_so_do_windows_and_limits() -> None:
    narrow = Fan(DAYS, (10.0,) * 27, (9.0,) * 27, (12.0,) * 27)
    told = replace(WITH, fan=narrow, now=None, bands=(Band(9, 15, "gill fluke"),),
                   limits=(Limit(11.0, "limit 11"),))  # fmt: skip
    alone = replace(told, fan=None)
    assert cells(told, "first") == cells(alone, "first")
    assert "gill fluke" in "".join(lines(told))
    assert "limit 11" in "".join(lines(told))
    under = {column for column, _ in cells(told, "fan", 78, 19)}
    crossing = {column for column, _ in cells(told, "limit", 78, 19) if column >= min(under)}
    assert len(crossing) >= len(under) // 2, "a limit is seen between the whiskers"


def test_today_is_named_and_no_date_runs_into_it() -> None:
    for width in range(40, 130, 7):
        shown = lines(WITH, width, 9)
        column = shown[-2].index("┼")
        assert shown[-1][: column + 5].rstrip().endswith("today"), width
        assert " today " in f" {shown[-1]} "
        assert any(line[column] == "┊" for line in shown[1:-2])
    assert "today" not in "".join(lines(replace(WITH, now=None)))


def test_a_fan_alone_in_sight_is_drawn() -> None:
    ahead = replace(WITH, start=NOW + timedelta(days=2), end=NOW + timedelta(days=12))
    assert cells(ahead, "fan")
    assert "No reading" not in "".join(lines(ahead))


async def test_zooming_keeps_today_where_it_is() -> None:
    chart = TimeChart(WITH)
    async with Paper(chart).run_test(size=(80, 12)):
        before = chart.window
        assert before is not None
        chart.zoom(2)
        assert chart.window is not None
        start, end = chart.window
        share = (NOW - before[0]) / (before[1] - before[0])
        assert (NOW - start) / (end - start) == pytest.approx(share)
        assert end - start == (before[1] - before[0]) / 2
        chart.zoom(0.01)
        assert chart.window == before


def test_a_fan_needs_both_edges() -> None:
    with pytest.raises(ValueError, match="both edges"):
        Fan(DAYS, MEANS, FAN.lows, FAN.highs[1:])
