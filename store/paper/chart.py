"""A chart of one series for black and white: its values, limits and gaps, and the same as text."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from itertools import pairwise

from store.text import day_said

GAP_DAYS = 21.0
"""No line is drawn across a longer time without a reading [d]."""
NEWEST_MARKS = 60
"""Marks of the little line in a text [readings]."""
NEWEST_FIGURES = 8
"""Readings that a text tells with their day [readings]."""
_MARKS = "▁▂▃▄▅▆▇█"


@dataclass(frozen=True, slots=True)
class ChartLimit:
    """A limit across the chart, in the unit of its series."""

    value: float
    label: str


@dataclass(frozen=True, slots=True)
class ChartMark:
    """Something that happened, such as a dose or a water change."""

    time: datetime
    label: str


@dataclass(frozen=True, slots=True)
class Chart:
    """One series over a stretch of time, old to new, in the unit in which it is shown.

    Times are local and without a zone. `said` is what each reading is called where it is more than
    its number, such as `below 0.05`, else empty; `hollow` are the places of readings that are drawn
    open, since they lie below what the test shows. `breaks` are places before which no line is
    drawn, as another kit begins there.
    """

    label: str
    unit: str
    decimals: int
    start: datetime
    end: datetime
    times: tuple[datetime, ...]
    values: tuple[float, ...]
    limits: tuple[ChartLimit, ...] = ()
    marks: tuple[ChartMark, ...] = ()
    said: tuple[str, ...] = ()
    hollow: frozenset[int] = frozenset()
    breaks: frozenset[int] = frozenset()
    gap_days: float = GAP_DAYS

    def __post_init__(self) -> None:
        if not self.values or len(self.times) != len(self.values):
            raise ValueError("A chart needs a time for each of its values, and one at least.")
        if self.said and len(self.said) != len(self.values):
            raise ValueError("What readings are called is said of all of them, or of none.")
        if not self.start < self.end:
            raise ValueError("A chart needs an end after its start.")

    @property
    def with_unit(self) -> str:
        """The unit after a number, with the blank before it."""
        return f" {self.unit}" if self.unit else ""

    def figure(self, value: float) -> str:
        """A number as finely as the series is read; one that is smaller keeps a digit."""
        decimals = self.decimals
        while value and decimals < 9 and not float(f"{value:.{decimals}f}"):
            decimals += 1
        return f"{value:.{decimals}f}"

    def called(self, place: int) -> str:
        """What a reading is called, without its unit; what rounds to nothing is below a number."""
        if self.said and self.said[place]:
            return self.said[place]
        value, least = self.values[place], 10.0**-self.decimals
        if value and not float(f"{value:.{self.decimals}f}"):
            return f"below {least:.{self.decimals}f}"
        return self.figure(value)


def runs(chart: Chart) -> tuple[tuple[int, ...], ...]:
    """Places of the readings that a line joins; a new run begins behind each gap.

    Parameters
    ----------
    chart
        The chart.

    Examples
    --------
    >>> days = [datetime(2026, 1, 1), datetime(2026, 1, 8), datetime(2026, 3, 1)]
    >>> runs(Chart("pH", "", 1, days[0], days[2], tuple(days), (7.0, 7.2, 7.1)))
    ((0, 1), (2,))
    """
    gap = timedelta(days=chart.gap_days)
    found: list[list[int]] = [[0]]
    for before, here in pairwise(range(len(chart.values))):
        if here in chart.breaks or chart.times[here] - chart.times[before] > gap:
            found.append([])
        found[-1].append(here)
    return tuple(map(tuple, found))


def scale(chart: Chart) -> tuple[float, float]:
    """Foot and head of the scale: between the nearest limits, so that a harmless line looks flat.

    Parameters
    ----------
    chart
        The chart.

    Returns
    -------
    tuple of float
        Lowest and highest value that is drawn, in the unit of the chart; never the same.
    """
    low, high = min(chart.values), max(chart.values)
    below = [one.value for one in chart.limits if one.value < low]
    above = [one.value for one in chart.limits if one.value > high]
    foot = max(below) if below else min(0.0, low) if chart.unit else low
    head = min(above) if above else high
    room = (head - foot) * 0.06 or max(abs(head), 1.0) * 0.1
    lowest = foot if foot == 0.0 and low >= 0.0 else foot - room
    return lowest, head + room


def drawn_limits(chart: Chart) -> tuple[ChartLimit, ...]:
    """The limits that lie on the scale, the lowest first.

    Parameters
    ----------
    chart
        The chart.
    """
    foot, head = scale(chart)
    shown = (one for one in chart.limits if foot <= one.value <= head)
    return tuple(sorted(shown, key=lambda one: one.value))


def chart_lines(chart: Chart) -> list[str]:
    """The chart in words: a little line of marks, its scale, the newest figures, gaps as gaps.

    Parameters
    ----------
    chart
        The chart.
    """
    foot, head = scale(chart)
    first = max(0, len(chart.values) - NEWEST_MARKS)
    lines = [_line(chart, first, foot, head)]
    count = len(chart.values) - first
    of = f"the newest {count} of {len(chart.values)} readings" if first else _readings(count)
    lines.append(
        f"{of}, old to new, between {chart.figure(foot)} and {chart.figure(head)}"
        f"{chart.with_unit}; … is a gap of more than {chart.gap_days:g} days"
    )
    limits = "; ".join(f"{one.label}{chart.with_unit}" for one in drawn_limits(chart))
    if limits:
        lines.append(f"limits: {limits}")
    lines += _figures(chart)
    return lines


def chart_words(charts: Sequence[Chart]) -> str:
    """What lines, gaps and marks of these charts mean, in a sentence or two.

    Parameters
    ----------
    charts
        All that stand together.
    """
    said = "A gap in the line is time without a reading; broken lines are the limits in force."
    if any(one.hollow for one in charts):
        said += " An open mark is a reading below what the test can show."
    if any(one.start <= mark.time <= one.end for one in charts for mark in one.marks):
        said += " A black triangle is something that was done or given."
    return said


def _readings(count: int) -> str:
    return "1 reading" if count == 1 else f"{count} readings"


def _line(chart: Chart, first: int, foot: float, head: float) -> str:
    parts = []
    for run in runs(chart):
        marks = [_mark(chart.values[place], foot, head) for place in run if place >= first]
        if marks:
            parts.append("".join(marks))
    return " … ".join(parts)


def _mark(value: float, foot: float, head: float) -> str:
    share = (value - foot) / (head - foot)
    return _MARKS[min(len(_MARKS) - 1, max(0, int(share * len(_MARKS))))]


def _figures(chart: Chart) -> Iterator[str]:
    many = len(chart.values)
    newest = range(many - 1, max(-1, many - 1 - NEWEST_FIGURES), -1)
    yield "; ".join(
        f"{day_said(chart.times[place].date())}: {chart.called(place)}{_unit_of(chart, place)}"
        for place in newest
    )
    before = chart.values[: many - len(newest)]
    if before:
        since = day_said(chart.times[0].date())
        yield (
            f"{_readings(len(before))} before that, since {since}: from "
            f"{chart.figure(min(before))} to {chart.figure(max(before))}{chart.with_unit}"
        )


def _unit_of(chart: Chart, place: int) -> str:
    """Words such as `not detected` take no unit."""
    return chart.with_unit if chart.called(place)[-1:].isdigit() else ""
