"""The chart over time: lines, gaps, limits, bands, marks, zoom."""

from __future__ import annotations

import math
import subprocess
import sys
from datetime import datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from paper import HARMFUL, HOSTILE, Paper
from rich.cells import cell_len
from screen_text import looks_as, screen_lines, screen_text

from tui.themes import DAY, NIGHT
from tui.widgets.chart import TimeChart
from tui.widgets.chart_canvas import draw
from tui.widgets.chart_data import Band, ChartData, Limit, Mark, Series
from tui.widgets.chart_scale import said_span, time_ticks, value_scale

END = datetime(2026, 11, 25, 7)  # noqa: DTZ001 - local, like every series
START = END - timedelta(days=90)


def series(
    values: list[float], *, every: float = 7, label: str = "un-ionised NH3", unit: str = "mg/L",
    decimals: int = 2, first: float = 0,
) -> Series:  # fmt: skip
    times = tuple(START + timedelta(days=first + every * n) for n in range(len(values)))
    return Series(label, unit, times, tuple(values), decimals)


TEMPERATURE = series(
    [round(13 + 9 * math.sin(n / 30), 1) for n in range(90)], every=1, label="temperature",
    unit="°C", decimals=1,
)  # fmt: skip
AMMONIA = series([0.01 + 0.008 * n for n in range(13)])
ONE = ChartData((AMMONIA,), START, END, limits=(Limit(0.05, "limit 0.05"),),
                marks=(Mark(START + timedelta(days=50), "water change"),))  # fmt: skip
TWO = ChartData(
    (TEMPERATURE, AMMONIA), START, END,
    bands=(Band(15, 25, "gill fluke 15–25 °C"), Band(19, 21, "white spot")),
    marks=(Mark(START + timedelta(days=30), "dose"),),
)  # fmt: skip


def text(data: ChartData, width: int = 80, height: int = 12) -> list[str]:
    return ["".join(character for character, _ in row) for row in draw(data, width, height)]


def parts(data: ChartData, part: str, width: int = 80, height: int = 12) -> set[tuple[int, int]]:
    return {
        (column, row)
        for row, line in enumerate(draw(data, width, height))
        for column, (_, belongs) in enumerate(line)
        if belongs == part
    }


@pytest.mark.parametrize(
    ("name", "data", "size", "theme"),
    [("one", ONE, (80, 10), NIGHT), ("two", TWO, (80, 10), NIGHT), ("two", TWO, (120, 25), DAY)],
)
async def test_it_looks_as_it_was_looked_at(
    name: str, data: ChartData, size: tuple[int, int], theme: str
) -> None:
    async with Paper(TimeChart(data), theme=theme).run_test(size=size) as pilot:
        await pilot.pause()
        await looks_as(pilot, f"chart_{name}_{size[0]}")


def test_every_line_is_as_wide_as_the_place() -> None:
    for width in (1, 19, 20, 43, 80, 200):
        for height in (1, 4, 5, 8, 30):
            lines = text(TWO, width, height)
            assert len(lines) == height
            assert {cell_len(line) for line in lines} == {width}


def test_lines_and_scale_agree_to_the_row() -> None:
    for value in (0.0, 1.3, 2.5, 4.9, 7.7, 10.0):
        data = ChartData((series([0.0, 10.0, *[value] * 6], decimals=1),), START, END)
        scale = value_scale([0.0, 10.0, value], 9, 1)
        rows = {row for column, row in parts(data, "first") if 40 < column < 48}
        assert rows == {1 + scale.row(value, 9)}, value


@pytest.mark.parametrize(("width", "height"), [(80, 10), (120, 25), (240, 60)])
def test_the_plot_is_as_large_as_its_place(width: int, height: int) -> None:
    whole = ChartData((series([0.0, 10.0], every=90, decimals=1),), START, END, gap_days=100)
    drawn = parts(whole, "first", width, height)
    assert max(column for column, row in drawn if row) == width - 1
    scale = value_scale([0.0, 10.0], height - 3, 1)
    assert {row for _, row in drawn if row} == set(
        range(1 + scale.row(10.0, height - 3), 2 + scale.row(0.0, height - 3))
    )


def test_a_limit_is_a_line_with_its_name() -> None:
    lines = text(ONE)
    line = next(line for line in lines if "limit 0.05" in line)
    assert line.startswith("0.05┤")
    assert line.count("╌") > 30


def test_a_limit_far_away_flattens_a_harmless_line() -> None:
    flat = ChartData((series([10, 12, 11, 10], decimals=0),), START, END,
                     limits=(Limit(500, "limit 500"),))  # fmt: skip
    assert any("limit 500" in line for line in text(flat)[:3])
    assert {row for _, row in parts(flat, "first") if row} == {9}


def test_what_does_not_fit_on_the_scale_is_still_named() -> None:
    cold = ChartData((series([4.0, 6.0, 5.0], decimals=1),), START, END,
                     bands=(Band(15, 25, "gill fluke"), Band(-9, -5, "ice")))  # fmt: skip
    lines = text(cold)
    assert "↑ gill fluke" in lines[1]
    assert "↓ ice" in lines[9]
    assert not parts(cold, "band")


def test_no_line_across_a_gap() -> None:
    values = [15.0] * 20 + [math.nan] * 40 + [15.0] * 30
    flat = series(values, every=1, decimals=1)
    kept = [(t, v) for t, v in zip(flat.times, flat.values, strict=True) if math.isfinite(v)]
    holed = Series("t", "°C", tuple(t for t, _ in kept), tuple(v for _, v in kept))
    for data in (
        ChartData((flat,), START, END),
        ChartData((holed,), START, END),
    ):
        columns = {column for column, row in parts(data, "first") if row}
        assert not columns & set(range(24, 52))
        assert len(columns) > 35
    whole = ChartData((holed,), START, END, gap_days=60)
    assert set(range(24, 52)) <= {column for column, row in parts(whole, "first") if row}


def test_a_single_reading_can_be_seen() -> None:
    alone = ChartData((series([0.02], first=45),), START, END)
    assert "●" in "".join(text(alone))


def test_two_series_are_told_apart_without_colour() -> None:
    lines = text(TWO)
    assert lines[0].startswith("⠤⠤ temperature, °C")
    assert lines[0].endswith("un-ionised NH3, mg/L ••")
    body = "".join(lines[1:10])
    assert "•" in body
    assert any("⠀" < character <= "⣿" for character in body)
    assert any(line.rstrip().endswith("├0.10") for line in lines)


def test_bands_are_filled_and_named_and_the_narrower_one_is_in_sight() -> None:
    body = "\n".join(text(TWO, 120, 25))
    assert "gill fluke 15–25 °C" in body
    assert "white spot" in body
    assert body.count("░") > 200
    assert body.count("·") > 60


def test_a_mark_stands_on_the_axis_above_its_name() -> None:
    lines = text(ONE)
    column = lines[-3].index("▲")
    assert lines[-1][column:].startswith("water change")
    crowded = ChartData((AMMONIA,), START, END,
                        marks=tuple(Mark(START + timedelta(days=50 + n), "dose") for n in range(3)))  # fmt: skip
    assert text(crowded)[-3].count("▲") == 3
    assert set(text(crowded)[-1].split()) == {"dose"}  # no name runs into another
    outside = ChartData((AMMONIA,), START, END, marks=(Mark(END + timedelta(days=1), "dose"),))
    assert "▲" not in "".join(text(outside))


def test_a_forecast_is_told_apart_by_its_part() -> None:
    ahead = series([20.0, 22.0, 24.0], every=5, first=75, label="forecast", unit="°C")
    data = ChartData((series([15.0, 17.0, 19.0], every=5, first=60),), START, END, forecast=ahead)
    assert parts(data, "forecast")
    assert min(c for c, _ in parts(data, "forecast")) > min(c for c, r in parts(data, "first") if r)


@pytest.mark.parametrize(
    ("days", "words"),
    [
        (1, "07:00"), (2, "25 Nov"), (10, "22 Nov"), (90, "23 Nov"), (365, "Nov"), (365, "2026"),
        (5 * 365, "2024"), (40 * 365, "2000"),
    ],
)  # fmt: skip
def test_dates_on_the_axis_are_said_as_people_say_them(days: int, words: str) -> None:
    names = [name for _, name in time_ticks(END - timedelta(days=days), END, 74)]
    if words != "07:00":
        assert words in names
    assert 2 <= len(names) <= 11


@given(
    st.integers(1, 20000),
    st.integers(20, 200),
    st.datetimes(END - timedelta(days=9000), END),
)
def test_ticks_always_have_room(hours: int, width: int, start: datetime) -> None:
    end = start + timedelta(hours=hours)
    ticks = time_ticks(start, end, width)
    assert all(start <= time <= end for time, _ in ticks)
    assert len(ticks) <= max(1, width // 7)


@given(
    st.lists(st.floats(-1e6, 1e6), min_size=1, max_size=20), st.integers(3, 30), st.integers(0, 3),
    st.lists(st.floats(-1e6, 1e6), max_size=3),
)  # fmt: skip
def test_every_value_lies_on_the_scale(
    values: list[float], height: int, decimals: int, limits: list[float]
) -> None:
    scale = value_scale(values, height, decimals, [Limit(value, "") for value in limits])
    assert scale.low < scale.high
    assert all(scale.low <= value <= scale.high for value in values)
    assert all(0 <= scale.row(value, height) < height for value in values)
    assert len(scale.ticks) <= 8
    assert len(scale.ticks) >= 2 or height < 5, "one tick alone is no scale"
    rows = [scale.row(value, height) for value, _ in scale.ticks]
    assert len(set(rows)) == len(rows) or height < 5, "every tick has a row of its own"


def test_many_readings_are_thinned_without_losing_their_ends() -> None:
    hours = 24 * 365 * 5
    values = [15.0] * hours
    values[hours // 2] = 30.0
    start = END - timedelta(hours=hours)
    times = tuple(start + timedelta(hours=n) for n in range(hours))
    data = ChartData((Series("t", "°C", times, tuple(values)),), start, END, gap_days=2)
    assert {row for _, row in parts(data, "first")} >= {1, 2, 5, 9}
    assert len({column for column, row in parts(data, "first") if row == 9}) > 70


async def test_zoom_and_pan_stay_within_what_there_is() -> None:
    chart = TimeChart(ONE)
    async with Paper(chart).run_test(size=(80, 12)) as pilot:
        assert chart.window == (START, END)
        chart.zoom(2)
        assert chart.window == (END - timedelta(days=45), END)
        chart.pan(-0.5)
        assert chart.window == (END - timedelta(days=67.5), END - timedelta(days=22.5))
        chart.pan(-9)
        assert chart.window == (START, START + timedelta(days=45))
        chart.zoom(0.1)
        assert chart.window == (START, END)
        chart.pan(3)
        assert chart.window == (START, END)
        chart.zoom(1e9)
        assert chart.window == (END - timedelta(days=1), END)
        await pilot.pause()
        assert "No reading from 24 Nov – 25 Nov 2026" in screen_text(pilot.app)
        chart.show(ONE, keep_window=True)
        assert chart.window == (END - timedelta(days=1), END)
        chart.whole()
        assert chart.window == (START, END)
        chart.show(None)
        chart.zoom(2)
        chart.pan(1)
        assert chart.window is None
        await pilot.pause()
        assert not screen_text(pilot.app).strip()


async def test_an_empty_chart_says_what_to_do() -> None:
    data = ChartData((), START, END, empty="No water test yet. Press t to enter one [/nope].")
    async with Paper(TimeChart(data)).run_test(size=(30, 10)) as pilot:
        await pilot.pause()
        assert [line for line in screen_lines(pilot.app) if line] == [
            "  No water test yet. Press t",
            "  to enter one [/nope].",
        ]


@pytest.mark.parametrize("name", HOSTILE)
async def test_strange_text_is_shown_literally(name: str) -> None:
    data = ChartData(
        (Series(name, name, AMMONIA.times, AMMONIA.values), Series(name, name, AMMONIA.times, AMMONIA.values)),
        START, END, limits=(Limit(0.05, name),), bands=(Band(0.02, 0.03, name),),
        marks=(Mark(START + timedelta(days=3), name),), empty=name,
    )  # fmt: skip
    async with Paper(TimeChart(data)).run_test(size=(80, 14), notifications=True) as pilot:
        await pilot.pause()
        assert not any(HARMFUL & set(line) for line in screen_lines(pilot.app))
        assert all(
            strip.cell_length == 80 for strip in pilot.app.screen._compositor.render_strips()
        )
        if name == "[/nope]":
            assert screen_text(pilot.app).count(name) >= 5
        assert {cell_len(line) for line in text(data)} == {80}


@given(
    st.lists(st.floats(allow_nan=True, allow_infinity=True, width=32), max_size=30),
    st.integers(1, 60), st.integers(1, 20),
)  # fmt: skip
@settings(max_examples=40, deadline=None)
def test_no_reading_breaks_the_chart(values: list[float], width: int, height: int) -> None:
    data = ChartData((series(values, every=3),), START, END, limits=(Limit(0.5, "limit"),))
    assert {cell_len(line) for line in text(data, width, height)} == {width}


def test_plotext_is_loaded_only_where_a_chart_is_drawn() -> None:
    code = "import sys, tui.widgets.chart, tui.widgets.grid; print('plotext' in sys.modules)"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


def test_what_makes_no_chart_is_refused() -> None:
    with pytest.raises(ValueError, match="two series"):
        ChartData((AMMONIA,) * 3, START, END)
    with pytest.raises(ValueError, match="end after"):
        ChartData((AMMONIA,), END, START)
    with pytest.raises(ValueError, match="time for every value"):
        Series("t", "°C", (START,), ())


def test_a_span_names_each_year_once() -> None:
    assert said_span(START, END) == "27 Aug – 25 Nov 2026"
    assert said_span(START - timedelta(days=365), END) == "27 Aug 2025 – 25 Nov 2026"
