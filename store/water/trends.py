"""How readings move: slopes, swings, daily means, degree-days, days until a floor is reached."""

from __future__ import annotations

import math
from collections import deque
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta, tzinfo
from statistics import median

_DAY = timedelta(hours=24)


@dataclass(frozen=True, slots=True)
class Slope:
    """A robust slope and the number of readings behind it."""

    per_day: float
    n: int


@dataclass(frozen=True, slots=True)
class Change:
    """The two readings that lie furthest apart within 24 hours; `size` is the later less the
    earlier."""

    size: float
    from_time: datetime
    to_time: datetime
    from_value: float
    to_value: float


def theil_sen(
    times_days: Sequence[float],
    values: Sequence[float],
    groups: Sequence[object] | None = None,
) -> Slope | None:
    """The usual slope of readings over time, which one odd reading cannot turn.

    The median of the slopes between all pairs of readings (Theil 1950, Sen 1968).

    Parameters
    ----------
    times_days
        Times of the readings, in any order [days].
    values
        The readings, in step with the times [any unit]; NaN counts as missing.
    groups
        What each reading was made with, in step with the times: only readings of equal groups are
        paired, so that a step between two kits is no slope. All are paired when it is left out.

    Returns
    -------
    Slope or None
        Slope [unit of the values per day]; None without two readings at different times.

    Notes
    -----
    Work grows with the square of the number of readings: meant for some dozens.

    Examples
    --------
    >>> theil_sen([0.0, 1.0, 2.0, 3.0], [10.0, 11.0, 40.0, 13.0]).per_day
    1.0

    References
    ----------
    Theil 1950, Proc. K. Ned. Akad. Wet. 53; Sen 1968, J. Am. Stat. Assoc. 63:1379-1389.
    """
    points = [
        (day, value, group)
        for day, value, group in zip(
            times_days, values, groups or (None,) * len(values), strict=True
        )
        if math.isfinite(day) and math.isfinite(value)
    ]
    slopes = [
        (later_value - value) / (later_day - day)
        for index, (day, value, group) in enumerate(points)
        for later_day, later_value, later_group in points[index + 1 :]
        if later_day != day and later_group == group
    ]
    return Slope(per_day=median(slopes), n=len(points)) if slopes else None


def largest_change_24h(times: Sequence[datetime], values: Sequence[float]) -> Change | None:
    """The largest change between any two readings not more than 24 hours apart.

    The window slides: a fall from evening to morning counts, though midnight lies between.

    Parameters
    ----------
    times
        Times of the readings, in any order, all aware or all naive.
    values
        The readings, in step with the times [any unit]; NaN counts as missing.

    Returns
    -------
    Change or None
        The change [unit of the values]; None without two readings within 24 hours. Of equal
        changes, the earliest.
    """
    points = sorted(
        ((time, value) for time, value in zip(times, values, strict=True) if math.isfinite(value)),
        key=lambda point: point[0],
    )
    lowest: deque[tuple[datetime, float]] = deque()
    highest: deque[tuple[datetime, float]] = deque()
    best: Change | None = None
    for time, value in points:
        for window in (lowest, highest):
            while window and time - window[0][0] > _DAY:
                window.popleft()
        for window in (lowest, highest):
            if window:
                before, size = window[0], value - window[0][1]
                if best is None or abs(size) > abs(best.size):
                    best = Change(size, before[0], time, before[1], value)
        while lowest and lowest[-1][1] > value:
            lowest.pop()
        lowest.append((time, value))
        while highest and highest[-1][1] < value:
            highest.pop()
        highest.append((time, value))
    return best


def degree_days(daily: Iterable[float | None], base: float = 0.0) -> float:
    """The sum of the degrees by which each day's mean lies above a base.

    Parameters
    ----------
    daily
        Daily mean temperatures [°C]; None and NaN are missing days and add nothing.
    base
        Temperature above which degrees count [°C].

    Returns
    -------
    float
        Degree-days [°C x days].

    Examples
    --------
    >>> degree_days([12.0, 8.0, None, 14.0], base=10.0)
    6.0
    """
    return math.fsum(
        mean - base for mean in daily if mean is not None and math.isfinite(mean) and mean > base
    )


def days_to_floor(value: float, slope_per_day: float, floor: float) -> float | None:
    """The days until a falling reading reaches a floor at its present slope.

    Parameters
    ----------
    value
        The reading now [any unit].
    slope_per_day
        Its slope [unit of the value per day].
    floor
        The floor [unit of the value].

    Returns
    -------
    float or None
        Days; 0 at or below the floor, None where the reading does not fall.

    Examples
    --------
    >>> days_to_floor(80.0, -1.5, 50.0)
    20.0
    """
    if value <= floor:
        return 0.0
    return (floor - value) / slope_per_day if slope_per_day < 0.0 else None


def daily_means(
    times: Sequence[datetime], values: Sequence[float], zone: tzinfo
) -> dict[date, float]:
    """The mean of each calendar day, in the practice's time zone.

    Parameters
    ----------
    times
        Aware times of the readings, in any order.
    values
        The readings, in step with the times [any unit]; NaN counts as missing.
    zone
        The zone whose midnight parts the days.

    Returns
    -------
    dict[date, float]
        Day to plain mean of its readings [unit of the values], in the order of days; a day
        without a reading is not there.
    """
    by_day: dict[date, list[float]] = {}
    for time, value in zip(times, values, strict=True):
        if math.isfinite(value):
            by_day.setdefault(time.astimezone(zone).date(), []).append(value)
    return {day: math.fsum(by_day[day]) / len(by_day[day]) for day in sorted(by_day)}
