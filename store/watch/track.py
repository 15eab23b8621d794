"""The daily temperatures of a pond, put in order once for every band they are held against.

One value a day goes in: the daily mean of a logger, or the tests of that day. A day without a value
is a missing day: nothing is filled in.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from itertools import pairwise

from store.errors import BadInput
from store.watch.window_settings import USUAL_SETTINGS, WindowSettings
from store.water.trends import theil_sen


@dataclass(frozen=True, slots=True)
class Track:
    """The last unbroken piece of a pond's temperatures, made once and held against many bands.

    Days are ordinals, old to new. `before_c` is the last value ahead of the gap
    that opens the piece.
    """

    today: date
    days: tuple[int, ...]
    temps_c: tuple[float, ...]
    before_c: float | None
    slope_c_per_day: float | None


def ordered(days: Sequence[date], temps_c: Sequence[float | None]) -> list[tuple[int, float]]:
    """Day ordinals with their values, old to new, without the missing ones.

    Parameters
    ----------
    days
        Calendar days, in any order, each once.
    temps_c
        Daily mean temperature, in step with the days [°C]; None and NaN are missing days.

    Raises
    ------
    BadInput
        A day stands twice, or the lengths differ.
    """
    if len(days) != len(temps_c):
        raise BadInput(
            f"There are {len(days)} days and {len(temps_c)} temperatures; each day needs one. "
            "Nothing was reckoned."
        )
    values = [
        (day.toordinal(), temp)
        for day, temp in zip(days, temps_c, strict=True)
        if temp is not None and math.isfinite(temp)
    ]
    for one, following in pairwise(values):
        if one[0] >= following[0]:
            values.sort(key=lambda value: value[0])
            break
    for one, following in pairwise(values):
        if one[0] == following[0]:
            day = date.fromordinal(one[0])
            raise BadInput(
                f"{day} has two temperatures; a day counts with one, its mean. "
                "Nothing was reckoned."
            )
    return values


def track(
    days: Sequence[date],
    temps_c: Sequence[float | None],
    today: date,
    settings: WindowSettings = USUAL_SETTINGS,
) -> Track:
    """The last unbroken piece of a pond's temperatures, with its trend.

    Parameters
    ----------
    days
        Calendar days, in any order, each once; days after today are left out.
    temps_c
        Daily mean temperature, in step with the days [°C]; None and NaN are missing days.
    today
        The practice's calendar day.
    settings
        Which gap parts two pieces, and over which days the trend is taken.

    Raises
    ------
    BadInput
        A day stands twice, or the lengths differ.
    """
    return last_piece(ordered(days, temps_c), today, settings)


def last_piece(
    values: Sequence[tuple[int, float]], today: date, settings: WindowSettings = USUAL_SETTINGS
) -> Track:
    """As `track`, for day ordinals with their values that are in order already, each day once.

    Parameters
    ----------
    values
        Days as ordinals with daily mean temperature [°C], old to new.
    today, settings
        As for `track`.
    """
    until = today.toordinal()
    if values and values[-1][0] > until:
        values = [value for value in values if value[0] <= until]
    if not values:
        return Track(today, (), (), None, None)
    days, temps_c = zip(*values, strict=True)
    first = len(days) - 1
    while first > 0 and days[first] - days[first - 1] <= settings.max_gap_days:
        first -= 1
    before_c = temps_c[first - 1] if first > 0 else None
    days, temps_c = days[first:], temps_c[first:]
    slope = None
    recent = len(days) - bisect_left(days, days[-1] - settings.trend_days)
    if recent >= settings.trend_least_values:
        found = theil_sen(days[-recent:], temps_c[-recent:])
        slope = None if found is None else found.per_day
    return Track(today, days, temps_c, before_c, slope)


def rising_in_spring(
    seen: Track,
    settings: WindowSettings = USUAL_SETTINGS,
) -> bool:
    """True when the water rises after a cold spell, whatever the calendar says.

    Parameters
    ----------
    seen
        The pond's temperatures, from `track`.
    settings
        How cold, how long ago, and how fast a rise counts.

    Returns
    -------
    bool
        The trend is at least `rising_least_c_per_day`, and some day of the last
        `cold_within_days` was below `cold_below_c`.
    """
    slope = seen.slope_c_per_day
    if slope is None or slope < settings.rising_least_c_per_day:
        return False
    from_day = seen.today.toordinal() - settings.cold_within_days
    return any(
        temp < settings.cold_below_c
        for day, temp in zip(seen.days, seen.temps_c, strict=True)
        if day >= from_day
    )


def first_day_at_least(
    days: Sequence[date], temps_c: Sequence[float | None], at_least_c: float, run_days: int = 1
) -> date | None:
    """The first day of the first run of days that were all at least so warm.

    Parameters
    ----------
    days
        Calendar days, in any order, each once.
    temps_c
        Daily mean temperature, in step with the days [°C]; None and NaN are missing days.
    at_least_c
        The temperature [°C]; a day at exactly this counts.
    run_days
        How many calendar days in a row, all with a value [days]; 1 asks for the first day alone.

    Returns
    -------
    date or None
        First day of the run; None when there is none.

    Raises
    ------
    BadInput
        A day stands twice, or the lengths differ.
    """
    run = 0
    last = 0
    for day, temp in ordered(days, temps_c):
        warm = temp >= at_least_c
        run = (run + 1 if day == last + 1 else 1) if warm else 0
        last = day
        if run == run_days:
            return date.fromordinal(day) - timedelta(days=run_days - 1)
    return None
