"""The water of a pond since the last dose, day by day, and what may be expected of the days ahead.

What is not known adds nothing to a sum. What is expected comes as two lines, one colder and one
warmer, so that a day is never said as if the weather were known.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from statistics import fmean

from store.courses.food.withdrawal import HIGHEST_C
from store.water.given import figures

GAP_DAYS = 14
"""Readings so far apart or nearer are joined by the lower of the two; the practice's own choice."""
EXPECT_DAYS = 14
"""An older reading tells nothing of the days ahead; the practice's own choice."""
TREND_DAYS = 14
"""The trend is taken over so many days before the newest reading, as for temperature windows."""
TREND_LEAST = 3
"""Fewer readings make no trend, as for temperature windows."""
RUNS_DAYS = 21
"""For so long a trend is carried on, then the water stays as it is; the practice's own choice."""
NO_TREND_C = 3.0
"""How much colder and warmer it may be where there is no trend; the practice's own choice."""
TREND_C = 1.0
"""How much colder and warmer than the trend it may be in any case; the practice's own choice."""
LOWEST_C = -5.0
_Z_90 = 1.645
"""Of the normal distribution, for limits that hold in nine cases of ten."""


@dataclass(frozen=True, slots=True)
class WaterSince:
    """The water from the day after the last dose on [°C].

    `known_c` ends with the newest day that is known, `to_today_c` with today; None is a day without
    knowledge. `colder_c` goes on where `to_today_c` ends, `warmer_c` where `known_c` ends; the last
    of each stays. Both are empty where nothing can be expected. `said` tells how it was done.
    """

    last_dose: date
    known_c: tuple[float | None, ...]
    to_today_c: tuple[float | None, ...]
    newest: date | None
    measured_days: int
    filled_days: int
    missing_days: int
    colder_c: tuple[float, ...]
    warmer_c: tuple[float, ...]
    said: tuple[str, ...]


def water_since(daily_c: Mapping[date, float], last_dose: date, today: date) -> WaterSince:
    """The water since the last dose, from the pond's own record.

    A day between two readings that are not more than `GAP_DAYS` apart takes the lower of them; any
    other day without a reading is not known. Ahead, the newest reading is carried on with the
    limits of Sen's slope for `RUNS_DAYS` days: warmer from `TREND_C` above it; colder from
    `TREND_C` below the lower of it and the mean of the trend's days, and never rising.

    Parameters
    ----------
    daily_c
        Daily mean water temperatures by calendar day, also of days before the last dose [°C].
        Water above 40 °C or below -5 °C is a slip and counts as no reading.
    last_dose
        Day of the very last dose.
    today
        The practice's calendar day; later days are left out.

    Returns
    -------
    WaterSince
        Temperatures [°C] and numbers of days.

    Notes
    -----
    A warmer newest reading never makes any day of either line colder.

    Examples
    --------
    >>> found = water_since(
    ...     {date(2026, 5, 3): 12.0, date(2026, 5, 6): 15.0}, date(2026, 5, 3), date(2026, 5, 7)
    ... )
    >>> found.to_today_c, found.colder_c[0], found.warmer_c[0]
    ((12.0, 12.0, 15.0, None), 12.0, 18.0)

    References
    ----------
    Sen 1968, J. Am. Stat. Assoc. 63:1379-1389; Gilbert 1987, Statistical Methods for Environmental
    Pollution Monitoring, section 16.5, for the limits of the slope.
    """
    record = {
        day: temp_c
        for day, temp_c in sorted(daily_c.items())
        if day <= today and math.isfinite(temp_c) and LOWEST_C <= temp_c <= HIGHEST_C
    }
    slips = sum(day <= today and day > last_dose and day not in record for day in daily_c)
    days = list(record)
    newest = days[-1] if days else None
    known: list[float | None] = []
    filled = 0
    for day in _span(last_dose, min(today, newest) if newest else last_dose):
        temp_c = record.get(day)
        if temp_c is None and (between := _joined(days, day)) is not None:
            temp_c, filled = min(record[one] for one in between), filled + 1
        known.append(temp_c)
    to_today = [*known, *([None] * (max(0, (today - last_dose).days) - len(known)))]
    colder, warmer, ahead = _ahead(record, newest, last_dose, today)
    missing = sum(one is None for one in to_today)
    said = []
    if filled:
        said.append(
            f"{_days(filled)} between readings not more than {GAP_DAYS} days apart: counted with "
            "the lower of the two."
        )
    if missing:
        said.append(f"{_days(missing)} without knowledge of the water: counted with nothing.")
    if slips:
        said.append(f"{_days(slips)} with a temperature that cannot be: left out.")
    return WaterSince(
        last_dose=last_dose,
        known_c=tuple(known),
        to_today_c=tuple(to_today),
        newest=newest,
        measured_days=len(known) - filled - sum(one is None for one in known),
        filled_days=filled,
        missing_days=missing,
        colder_c=colder,
        warmer_c=warmer,
        said=(*said, ahead),
    )


def slope_limits(days: Sequence[float], temps_c: Sequence[float]) -> tuple[float, float]:
    """Between which slopes the trend of some readings lies in nine cases of ten.

    Of all slopes between two readings, in order, those whose places lie half of
    1.645 x sqrt(n (n - 1) (2 n + 5) / 18) to either side of the middle; with few readings the least
    and the greatest.

    Parameters
    ----------
    days
        When the readings were taken, each at another time [days].
    temps_c
        The readings, in step with the days [°C]; at least two.

    Returns
    -------
    tuple of two floats
        Lower and upper slope [°C per day]; a warmer newest reading makes neither of them lower.

    Examples
    --------
    >>> slope_limits([0.0, 1.0, 2.0], [10.0, 11.0, 14.0])
    (1.0, 3.0)

    References
    ----------
    Sen 1968; Gilbert 1987, section 16.5.
    """
    slopes = sorted(
        (temps_c[late] - temps_c[early]) / (days[late] - days[early])
        for late in range(len(days))
        for early in range(late)
    )
    n, many = len(days), len(slopes)
    half = _Z_90 * math.sqrt(n * (n - 1) * (2 * n + 5) / 18.0) / 2.0
    lower = max(0, math.floor(many / 2.0 - half) - 1)
    upper = min(many - 1, math.ceil(many / 2.0 + half))
    return slopes[lower], slopes[upper]


def _span(after: date, until: date) -> list[date]:
    return [after + timedelta(days=n) for n in range(1, (until - after).days + 1)]


def _joined(days: Sequence[date], day: date) -> tuple[date, date] | None:
    """The readings before and after a day, where they are near enough to be joined."""
    before = max((one for one in days if one < day), default=None)
    after = min((one for one in days if one > day), default=None)
    if before is None or after is None or (after - before).days > GAP_DAYS:
        return None
    return before, after


def _ahead(
    record: Mapping[date, float], newest: date | None, last_dose: date, today: date
) -> tuple[tuple[float, ...], tuple[float, ...], str]:
    """The colder and the warmer line, and how they were made."""
    if newest is None:
        return (
            (),
            (),
            "No reading of the water temperature: nothing is expected, so no day is given.",
        )
    age = (today - newest).days
    if age > EXPECT_DAYS:
        return (), (), (
            f"The newest water temperature is {age} days old: nothing is expected of the days "
            "ahead, so no day is given. Read the temperature."
        )  # fmt: skip
    recent = [day for day in record if (newest - day).days <= TREND_DAYS]
    temps = [record[day] for day in recent]
    if len(recent) < TREND_LEAST:
        low_from, down = record[newest] - NO_TREND_C, 0.0
        high, up = record[newest] + NO_TREND_C, 0.0
        said = (
            f"Ahead: {figures(record[newest])} °C, the newest reading, and for want of a trend "
            f"{figures(NO_TREND_C)} °C colder for the later day, warmer for the earlier one."
        )
    else:
        lower, up = slope_limits([(day - newest).days for day in recent], temps)
        down, high = min(0.0, lower), record[newest] + TREND_C
        low_from = min(record[newest], fmean(temps)) - TREND_C
        said = (
            f"Ahead: the trend of the last {TREND_DAYS} days, {_per_day(down)} from "
            f"{figures(low_from, 3)} °C for the later day, {_per_day(up)} from {figures(high, 3)} "
            f"°C for the earlier one; after {RUNS_DAYS} days the water stays as it is."
        )
    return (
        _line(low_from, down, (max(today, last_dose) - newest).days),
        _line(high, up, max(0, (last_dose - newest).days)),
        said,
    )


def _line(from_c: float, per_day: float, begins_days: int) -> tuple[float, ...]:
    """Temperatures from the day after `begins_days` after the newest reading until they stay."""
    ends = max(RUNS_DAYS, begins_days + 1)
    return tuple(
        min(HIGHEST_C, max(0.0, from_c + per_day * min(day, RUNS_DAYS)))
        for day in range(begins_days + 1, ends + 1)
    )


def _per_day(slope: float) -> str:
    return f"{'+' if slope > 0 else '−' if slope < 0 else '±'}{figures(abs(slope), 2)} °C a day"


def _days(count: int) -> str:
    return f"{count} day" if count == 1 else f"{count} days"
