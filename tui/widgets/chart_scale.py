"""The scales of a chart: how high it reaches, where its ticks stand, how its dates are said."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from math import ceil, floor, isfinite, log10

from tui.said import MONTHS
from tui.widgets.chart_data import Band, Limit

_DAY = 86400.0


@dataclass(frozen=True, slots=True)
class Scale:
    """Values from the bottom row's middle to the top row's middle, with ticks between."""

    low: float
    high: float
    ticks: tuple[tuple[float, str], ...]

    def row(self, value: float, height: int) -> int:
        """The row of a plot of that height, counted from the top; it may lie outside."""
        return round((self.high - value) / (self.high - self.low) * (height - 1))


def value_scale(
    values: Sequence[float],
    height: int,
    decimals: int,
    limits: Sequence[Limit] = (),
    bands: Sequence[Band] = (),
) -> Scale:
    """The scale that shows the values and, where they do not become a flat line by it, the rest.

    The nearest limit is always within, so that a harmless line looks harmless. Another limit, and
    the nearest edge of a band, is within as long as the values keep a fifth of the height.

    Parameters
    ----------
    values
        Those in sight; numbers that are none are left out.
    height
        Rows of the plot.
    decimals
        Digits of the instrument; a flat line is given a height of some of them.
    limits, bands
        What else should be in sight.
    """
    seen = (
        [value for value in values if isfinite(value)] or [limit.value for limit in limits] or [0]
    )
    low, high = min(seen), max(seen)
    least = 4 * 10.0**-decimals
    if high - low < least:
        middle = (low + high) / 2
        low, high = middle - least / 2, middle + least / 2
        if min(seen) >= 0 > low:
            low, high = 0.0, least
    span = high - low
    edges = sorted((limit.value for limit in limits), key=lambda edge: _away(edge, low, high))
    edges += [min((band.low, band.high), key=lambda edge: _away(edge, low, high)) for band in bands]
    for number, edge in enumerate(edges):
        wider_low, wider_high = min(low, edge), max(high, edge)
        forced = number == 0 and bool(limits)
        if isfinite(edge) and (forced or span / (wider_high - wider_low) >= 0.2):
            low, high = wider_low, wider_high
    room = (high - low) * 0.04
    low, high = (0.0 if low >= 0 > low - room else low - room), high + room
    return Scale(low, high, _value_ticks(low, high, height))


def _away(edge: float, low: float, high: float) -> float:
    return max(low - edge, edge - high, 0.0)


def _value_ticks(low: float, high: float, height: int) -> tuple[tuple[float, str], ...]:
    wanted = max(2, min(6, height // 2))
    rough = (high - low) / wanted
    power = 10.0 ** floor(log10(rough))
    steps = [part * power for part in (0.5, 1, 2, 5, 10)]
    usual = next(n for n, step in enumerate(steps) if step >= rough * 0.999)
    step = steps[usual]
    # One tick alone is no scale: a smaller step then, where each has a row of its own.
    for smaller in reversed(steps[: usual + 1]):
        first, last = _ends(low, high, smaller)
        if last > first and smaller * (height - 1) > 1.01 * (high - low):
            step = smaller
            break
    first, last = _ends(low, high, step)
    digits = max(0, -floor(log10(step) + 1e-9))
    # Adding 0.0 keeps a minus sign away from zero.
    return tuple(
        (number * step, f"{number * step + 0.0:.{digits}f}") for number in range(first, last + 1)
    )


def _ends(low: float, high: float, step: float) -> tuple[int, int]:
    """The lowest and the highest multiple of the step that lie on the scale."""
    return ceil(low / step - 1e-9), floor(high / step + 1e-9)


def time_ticks(start: datetime, end: datetime, width: int) -> list[tuple[datetime, str]]:
    """The moments to name on a time axis of `width` cells, each with its words.

    Hours within a few days, then days, Mondays, first days of months, years: the closest for which
    the words have room. A year is named where it begins.
    """
    for spacing, moments in (
        *((8, _hours(start, end, step)) for step in (1, 3, 6, 12)),
        *((9, _days(start, end, step)) for step in (1, 2)),
        *((9, _weeks(start, end, step)) for step in (1, 2)),
        *((7, _months(start, end, step)) for step in (1, 2, 3, 6)),
    ):
        if len(named := _upto(moments, width // spacing)) <= width // spacing and named:
            return named
    step = 1
    while len(years := list(_years(start, end, step))) > max(1, width // 7):
        step *= 2
    return years


def _upto(moments: Iterator[tuple[datetime, str]], most: int) -> list[tuple[datetime, str]]:
    taken: list[tuple[datetime, str]] = []
    for moment in moments:
        taken.append(moment)
        if len(taken) > most:
            break
    return taken


def _midnight(moment: datetime) -> datetime:
    return moment.replace(hour=0, minute=0, second=0, microsecond=0)


def _day_name(day: datetime) -> str:
    return f"{day.day} {MONTHS[day.month - 1]}"


def _hours(start: datetime, end: datetime, step: int) -> Iterator[tuple[datetime, str]]:
    moment = _midnight(start)
    while moment <= end:
        if moment >= start:
            yield moment, _day_name(moment) if moment.hour == 0 else f"{moment.hour:02d}:00"
        moment += timedelta(hours=step)


def _days(start: datetime, end: datetime, step: int) -> Iterator[tuple[datetime, str]]:
    moment = _midnight(start)
    while moment <= end:
        # Counted from a fixed day, so that the ticks stay on their days while the chart is moved.
        if moment >= start and moment.toordinal() % step == 0:
            yield moment, _day_name(moment)
        moment += timedelta(days=1)


def _weeks(start: datetime, end: datetime, step: int) -> Iterator[tuple[datetime, str]]:
    moment = _midnight(start) - timedelta(days=start.weekday())
    while moment <= end:
        if moment >= start and moment.toordinal() // 7 % step == 0:
            yield moment, _day_name(moment)
        moment += timedelta(days=7)


def _months(start: datetime, end: datetime, step: int) -> Iterator[tuple[datetime, str]]:
    year, month = start.year, start.month
    while (moment := datetime(year, month, 1)) <= end:  # noqa: DTZ001 - local, like the series
        if moment >= start and (month - 1) % step == 0:
            yield moment, str(year) if month == 1 else MONTHS[month - 1]
        year, month = (year + 1, 1) if month == 12 else (year, month + 1)


def _years(start: datetime, end: datetime, step: int) -> Iterator[tuple[datetime, str]]:
    for year in range(start.year, end.year + 1):
        moment = datetime(year, 1, 1)  # noqa: DTZ001 - local, like the series
        if moment >= start and year % step == 0:
            yield moment, str(year)


def said_span(start: datetime, end: datetime) -> str:
    """The stretch of time in words, `27 Aug – 25 Nov 2026`."""
    first = _day_name(start) + (f" {start.year}" if start.year != end.year else "")
    return f"{first} – {_day_name(end)} {end.year}"
