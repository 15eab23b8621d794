"""The published points of a series: what they say at a temperature, and how that is told.

Three ways lead from one point to the next: straight in days, straight in the logarithm of days, and
straight in the rate, which is the sum of degrees above a base. For the same points they stand in
that order from long to short, so the first and the last bound what may be said.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from store.facts.entry import Standing
from store.facts.life_cycles import Point, Series
from store.facts.sources import cite_with_standing
from store.water.given import figures

WEAKEST_LAST: tuple[Standing, ...] = ("published", "from memory", "common practice")


@dataclass(frozen=True, slots=True)
class Estimate:
    """Days at one temperature from one series: `low_days` straight in the rate, `days` straight in
    the logarithm, `high_days` straight in days; `points` are the one or two it stands between."""

    low_days: float
    days: float
    high_days: float
    points: tuple[Point, ...]
    series: Series


def at(series: Series, temp_c: float) -> Estimate | None:
    """The days of one series at a temperature.

    Parameters
    ----------
    series
        Points of one publication.
    temp_c
        Water temperature [°C].

    Returns
    -------
    Estimate or None
        Days; None outside the outermost points.
    """
    for point in series.points:
        if point.temp_c == temp_c:
            middle = _middle(point)
            return Estimate(point.low_days, middle, point.high_days, (point,), series)
    for cold, warm in pairwise(series.points):
        if cold.temp_c < temp_c < warm.temp_c:
            share = (temp_c - cold.temp_c) / (warm.temp_c - cold.temp_c)
            return Estimate(
                1.0 / ((1.0 - share) / cold.low_days + share / warm.low_days),
                _middle(cold) ** (1.0 - share) * _middle(warm) ** share,
                (1.0 - share) * cold.high_days + share * warm.high_days,
                (cold, warm),
                series,
            )
    return None


def estimates(series: Iterable[Series], temp_c: float) -> tuple[Estimate, ...]:
    """The estimates of all series that have a temperature, in their order.

    Parameters
    ----------
    series
        Series of one stage.
    temp_c
        Water temperature [°C].
    """
    return tuple(found for one in series if (found := at(one, temp_c)) is not None)


def band(series: Iterable[Series]) -> str:
    """The temperatures that some series cover, in words.

    Parameters
    ----------
    series
        Series of one stage.
    """
    spans: list[list[float]] = []
    for low, high in sorted((one.points[0].temp_c, one.points[-1].temp_c) for one in series):
        if spans and low <= spans[-1][1]:
            spans[-1][1] = max(spans[-1][1], high)
        else:
            spans.append([low, high])
    return " and ".join(
        f"{figures(low)} °C" if low == high else f"{figures(low)} to {figures(high)} °C"
        for low, high in spans
    )


def said_days(days: float) -> str:
    """Days as they are said: hours under one day, else two figures and no more.

    Parameters
    ----------
    days
        The time [days].

    Examples
    --------
    >>> said_days(0.417), said_days(1.5), said_days(7.55), said_days(30.7)
    ('10 h', '1.5 d', '7.5 d', '31 d')
    """
    return f"{days * 24.0:.0f} h" if days < 1.0 else f"{figures(days, 2)} d"


def said_near(series: Series, temp_c: float) -> str:
    """The points of a series that a temperature stands between, or the nearest one, in words.

    Parameters
    ----------
    series
        The series.
    temp_c
        Water temperature [°C].
    """
    found = at(series, temp_c)
    end = series.points[0 if temp_c < series.points[0].temp_c else -1]
    points = (end,) if found is None else found.points
    return f"{series.of}: {', '.join(said_point(point) for point in points)}"


def said_point(point: Point) -> str:
    """A published point in words.

    Parameters
    ----------
    point
        The point.
    """
    factor, unit = (24.0, "h") if point.high_days < 1.0 else (1.0, "d")
    low, high = figures(point.low_days * factor, 3), figures(point.high_days * factor, 3)
    return f"{low if low == high else f'{low} to {high}'} {unit} at {figures(point.temp_c)} °C"


def weakest(standings: Iterable[Standing]) -> Standing:
    """The standing of what rests on several figures: that of the weakest.

    Parameters
    ----------
    standings
        Standing of each figure; at least one.
    """
    return max(standings, key=WEAKEST_LAST.index)


def cited(series: Iterable[Series]) -> str:
    """The publications of some series on one line, each once.

    Parameters
    ----------
    series
        The series that a figure rests on.
    """
    return "; ".join(dict.fromkeys(cite_with_standing(one.source, one.standing) for one in series))


def _middle(point: Point) -> float:
    if point.low_days == point.high_days:
        return point.low_days
    return math.sqrt(point.low_days * point.high_days)
