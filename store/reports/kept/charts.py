"""The charts of a pond as they are drawn on paper."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from datetime import datetime
from zoneinfo import ZoneInfo

from store.paper.chart import Chart, ChartLimit, ChartMark
from store.reports.kept.water import NH3, is_below, value_said
from store.watch.chart import ChartEvent, ChartSeries, PondChart
from store.water.understood import ReadingValue
from store.water.water_tests import WaterTest

CHARTED = (
    "temperature_c", "ph", NH3, "nitrite_mg_l", "oxygen_mg_l", "alkalinity_mg_l"
)  # fmt: skip
"""What is charted in any case where there are readings of it, in this order."""
LEAST_DAYS = 2
"""Readings of one day alone make no course of anything."""
_MARKED = ("water changed", "salt added", "fish added", "dose", "filter washed or rebuilt")
_WORDS = {"un-ionised ammonia": "harmful (un-ionised) ammonia"}
_LEVEL_WORDS = {"act": "urgent", "watch": "take care"}


def paper_charts(
    chart: PondChart,
    doses: Sequence[ChartEvent],
    tests: Sequence[WaterTest],
    zone: ZoneInfo,
    *,
    beside: Collection[str] = (),
) -> tuple[Chart, ...]:
    """The series of a pond as charts for black and white.

    Parameters
    ----------
    chart
        The series with their limits and events.
    doses
        Doses of courses.
    tests
        Those of the stretch, for what lay below what a test shows.
    zone
        Of the practice.
    beside
        Further codes that are charted.
    """
    series = {one.code: one for one in chart.series}
    happened = sorted((*chart.events, *doses), key=lambda one: one.time)
    marks = tuple(
        ChartMark(one.time, _short(one.label))
        for one in happened
        if one.label in _MARKED or one.kind == "dose"
    )
    below = _below(tests, zone)
    wanted = dict.fromkeys((*CHARTED, *beside))
    return tuple(
        _chart(series[code], chart, marks, below)
        for code in wanted
        if code in series and len({at.date() for at in series[code].times}) >= LEAST_DAYS
    )


def _short(label: str) -> str:
    return "filter washed" if label.startswith("filter") else label


def _below(
    tests: Sequence[WaterTest], zone: ZoneInfo
) -> Mapping[tuple[str, datetime], ReadingValue]:
    """Readings below what their test shows, by code and local time."""
    found = {}
    for test in tests:
        at = test.taken_at.astimezone(zone).replace(tzinfo=None)
        for code, reading in test.readings.items():
            if is_below(reading):
                found[code, at] = reading
    return found


def _chart(
    series: ChartSeries,
    chart: PondChart,
    marks: tuple[ChartMark, ...],
    below: Mapping[tuple[str, datetime], ReadingValue],
) -> Chart:
    rests_on = "tan_mg_l" if series.code == NH3 else series.code
    hollow = {
        place: below[rests_on, at]
        for place, at in enumerate(series.times)
        if (rests_on, at) in below
    }
    shown = Chart(
        label=_WORDS.get(series.label, series.label),
        unit=series.unit,
        decimals=series.decimals,
        start=chart.start,
        end=chart.end,
        times=series.times,
        values=series.values,
        limits=tuple(ChartLimit(one.value, _limit(one.label)) for one in series.limits),
        marks=marks,
        hollow=frozenset(hollow),
        breaks=frozenset(series.breaks),
    )
    if not hollow:
        return shown
    said = tuple(
        _called(shown, place, hollow[place]) if place in hollow else ""
        for place in range(len(series.values))
    )
    return Chart(
        shown.label, shown.unit, shown.decimals, shown.start, shown.end, shown.times,
        shown.values, shown.limits, shown.marks, said, shown.hollow, shown.breaks,
    )  # fmt: skip


def _called(chart: Chart, place: int, reading: ReadingValue) -> str:
    if reading.high is None:
        return value_said(reading)
    called = chart.called(place)
    return called if called.startswith("below") else f"below {called}"


def _limit(label: str) -> str:
    """A limit in words for an owner: `take care above 0.016`, `urgent above 0.05`."""
    level, _, rest = label.partition(" ")
    return f"{_LEVEL_WORDS.get(level, level)} {rest.partition(' (')[0]}"
