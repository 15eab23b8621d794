"""Days of the air out of the values of a weather file."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import UTC, date, timedelta, tzinfo

import numpy as np
from numpy.typing import NDArray

from store.exchange.logger.clock import midnights
from store.exchange.logger.keep import instant_of
from store.exchange.logger.spool import VALUE, Spool, Table, one_an_instant

HOUR_MS = 3_600_000
DAILY_MS = 20 * HOUR_MS
"""Values that are usually farther apart than this are of whole days [ms]."""
SELDOM_MS = 6 * HOUR_MS
"""Values farther apart than this, but not of whole days, tell too little of a day [ms]."""
LEAST_HOURS = 18.0
"""So many hours of a day must be covered by its values [h] (common practice: three quarters)."""
_FIRST_DAY = date(1970, 1, 1)


@dataclass(frozen=True, slots=True)
class DayOfAir:
    """One day [°C]; `n` values of the file stand behind it, lowest and highest where known."""

    day: date
    n: int
    mean_c: float
    low_c: float | None
    high_c: float | None
    line: int = field(default=0, compare=False)
    """Where it stands in the file first."""


def values_of(spool: Spool) -> Table:
    """The values of a column by time, of those of one instant the first.

    Parameters
    ----------
    spool
        In the order of the file.
    """
    blocks = [block for block, _again in one_an_instant(spool)]
    return np.concatenate(blocks) if blocks else np.empty(0, VALUE)


def usual_step_ms(values: Table) -> int:
    """How far apart values usually are [ms]; 0 for one value or none.

    Parameters
    ----------
    values
        Rows of the type `VALUE` by time.
    """
    steps = np.diff(values["at"])
    return int(np.median(steps)) if len(steps) else 0


def whole_days(
    mean: Table | None, low: Table | None, high: Table | None, zone: tzinfo
) -> Iterator[DayOfAir]:
    """Days out of a file with a row a day.

    Parameters
    ----------
    mean, low, high
        Rows of the type `VALUE` by time; None where the file has no such column.
    zone
        In which the file writes its days.

    Yields
    ------
    DayOfAir
        Where the file has no mean it is the middle of lowest and highest, as weather services
        without hourly values have it (common practice); it may be off by some tenths of a degree.
        A day of which no mean can be told is left out. Lowest and highest that do not lie around
        the mean are left empty.
    """
    by_day = [_by_day(one, zone) for one in (mean, low, high)]
    for day in sorted(set().union(*by_day)):
        lines = [one[day][1] for one in by_day if day in one]
        at_mean, at_low, at_high = (one[day][0] if day in one else None for one in by_day)
        if at_mean is None and at_low is not None and at_high is not None:
            at_mean = (at_low + at_high) / 2
        if at_mean is None:
            continue
        fits = (at_low is None or at_low <= at_mean) and (at_high is None or at_mean <= at_high)
        low_c, high_c = (at_low, at_high) if fits else (None, None)
        yield DayOfAir(day, 1, at_mean, low_c, high_c, min(lines))


def _by_day(values: Table | None, zone: tzinfo) -> dict[date, tuple[float, int]]:
    """The first value of each day, and its line."""
    found: dict[date, tuple[float, int]] = {}
    if values is not None:
        for at, line, value in values.tolist():
            found.setdefault(instant_of(at).astimezone(zone).date(), (value, line))
    return found


def writes_in_utc(values: Table) -> bool:
    """Whether all values of a file with a row a day stand at midnight of UTC.

    Parameters
    ----------
    values
        Rows of the type `VALUE` by time.
    """
    return bool(len(values)) and all(
        instant_of(at).astimezone(UTC).time().isoformat() == "00:00:00"
        for at in values["at"].tolist()
    )


def reckoned_air(values: Table, step_ms: int, zone: tzinfo) -> tuple[list[DayOfAir], int]:
    """Days out of a file with several values a day, and how many days have too few.

    Parameters
    ----------
    values
        Rows of the type `VALUE` by time [°C].
    step_ms
        How far apart they usually are [ms].
    zone
        The practice's time zone.

    Returns
    -------
    list of DayOfAir, int
        The mean is that of the hours (of the steps, where they are longer), each of which is the
        mean of its values: hours with many values weigh no more than others. Days of which less
        than `LEAST_HOURS` are covered are only counted.
    """
    if not len(values):
        return [], 0
    slot_ms = max(HOUR_MS, min(step_ms, SELDOM_MS))
    numbers, begins = midnights(int(values["at"][0]), int(values["at"][-1]), zone)
    edges = np.searchsorted(values["at"], begins)
    days, too_few = [], 0
    for place, number in enumerate(numbers):
        rows = values[edges[place] : edges[place + 1]]
        if not len(rows):
            continue
        slots = (rows["at"] - begins[place]) // slot_ms
        means = _means(slots, rows["value"])
        # A day on which the clock changes has 23 or 25 hours.
        if len(means) * slot_ms / HOUR_MS < LEAST_HOURS:
            too_few += 1
            continue
        low, high = float(rows["value"].min()), float(rows["value"].max())
        mean = min(max(math.fsum(means.tolist()) / len(means), low), high)
        day, line = _FIRST_DAY + timedelta(days=number), int(rows["line"].min())
        days.append(DayOfAir(day, len(rows), mean, low, high, line))
    return days, too_few


def _means(slots: NDArray[np.int64], values: NDArray[np.float64]) -> NDArray[np.float64]:
    _slot, which = np.unique(slots, return_inverse=True)
    return np.asarray(np.bincount(which, values) / np.bincount(which), np.float64)
