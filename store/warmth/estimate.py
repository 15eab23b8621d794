"""What is told of a pond that nobody has read today: a value, its interval, and what it rests on.

An estimate is never a measurement: it is not stored, not shown without its interval, and answers no
question that asks for a measured temperature.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, NamedTuple
from uuid import UUID

from store.warmth.ahead import estimated, newest
from store.warmth.season import harmonics

if TYPE_CHECKING:
    from store.warmth.ahead import Newest
    from store.warmth.departure import Known
    from store.warmth.fit import Fit
    from store.warmth.values import Floats, Grid

EIGHTY = 1.2815515655446004
"""Half the width of an interval that holds four in five, in standard deviations."""
DAYS_BACK, DAYS_AHEAD = 14, 14
WIDEST_SPREAD_C = 3.0
"""An estimate of today with a wider spread says too little to be shown [°C]."""
RECENT_DAYS = 66
"""Readings of so many days are looked at beside a fit."""

NOT_YET = "not yet"
APART = "apart"
TOO_LITTLE = "too little"
"""Why there is no estimate; `store.warmth.words` says it in a sentence."""


class Ahead(NamedTuple):
    """A pond's temperature by day, as the rules look at it."""

    first: int
    """Ordinal of the first day."""
    today: int
    means_c: Sequence[float]
    spreads_c: Sequence[float]
    """Standard deviations [°C]."""

    def at(self, day: int) -> tuple[float, float]:
        """Mean and standard deviation of a day by its ordinal [°C]."""
        return self.means_c[day - self.first], self.spreads_c[day - self.first]

    def inside(self, day: int, low_c: float, high_c: float) -> float:
        """The chance that the water of a day lies in a band, 0 to 1; ends may be infinite."""
        mean_c, spread_c = self.at(day)
        return below(high_c, mean_c, spread_c) - below(low_c, mean_c, spread_c)


class EstimatedDay(NamedTuple):
    """One day of an estimate [°C]; four in five lie between `low_c` and `high_c`."""

    day: date
    mean_c: float
    low_c: float
    high_c: float


class Neighbour(NamedTuple):
    """A pond whose readings an estimate rests on."""

    pond: UUID
    likeness: float
    """How closely the two have gone together, up to 1."""
    last_on: date | None
    last_off_c: float | None
    """How far its newest reading lay from its own season [°C]."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """A pond's temperature of today and of days to come, with what it rests on."""

    pond: UUID
    today: date
    days: tuple[EstimatedDay, ...]
    """Of `DAYS_BACK` days before today up to `DAYS_AHEAD` days after it."""
    season_c: float
    """What the pond's season says of today [°C]."""
    counted: float
    """How many separate readings the season rests on."""
    own_last_on: date | None
    own_last_c: float | None
    neighbours: tuple[Neighbour, ...]
    """Those of whom a reading of the last month is at hand, most alike first."""
    own_doubted: bool
    """Whether the pond's own newest reading is doubted."""

    @property
    def of_today(self) -> EstimatedDay:
        """The day of today."""
        return next(one for one in self.days if one.day == self.today)


class Doubt(NamedTuple):
    """A run of readings of a pond that the water cannot have had, so far as anybody can tell."""

    pond: UUID
    first: date
    last: date
    readings: int
    read_c: float
    """Of the reading furthest off [°C]."""
    expected_c: float
    """What season and neighbours said of that day [°C]."""
    fahrenheit: bool
    """Whether the same figures read as Fahrenheit would fit."""


def below(limit_c: float, mean_c: float, spread_c: float) -> float:
    """The chance that a normal value lies below a limit, 0 to 1.

    Parameters
    ----------
    limit_c
        The limit [°C]; may be infinite.
    mean_c, spread_c
        Mean and standard deviation of the value [°C].
    """
    if math.isinf(limit_c):
        return 1.0 if limit_c > 0.0 else 0.0
    return 0.5 * (1.0 + math.erf((limit_c - mean_c) / (spread_c * math.sqrt(2.0))))


class Estimates:
    """Estimates of all ponds of a fit, seen from one day.

    Parameters
    ----------
    fitted
        The fit.
    recent
        Readings of the ponds of the fit over the last `RECENT_DAYS` at least; what lies after
        `today` is not looked at.
    today
        Ordinal of the day it is.
    ahead_days
        How many days after today are told.
    """

    def __init__(self, fitted: Fit, recent: Grid, today: int, ahead_days: int = DAYS_AHEAD) -> None:
        import numpy as np

        recent = recent.until(today)
        self.today, self.fitted = today, fitted
        self.first = today - DAYS_BACK
        self._place = {pond: at for at, pond in enumerate(fitted.ponds)}
        self._recent: Newest = newest(fitted, recent)
        everyone = np.arange(len(fitted.ponds))
        span = np.arange(self.first, today + ahead_days + 1)
        targets = np.broadcast_to(span, (len(everyone), len(span)))
        mean, spread, known = estimated(
            fitted, self._recent, everyone, np.full(len(everyone), today), targets
        )
        self.mean_c: Floats = mean
        self.spread_c: Floats = spread
        self._known: Known = known
        self._means: list[list[float]] = mean.tolist()
        self._spreads: list[list[float]] = spread.tolist()
        lends = known.marked.any(1)
        own = (known.marked & (known.slot == 0)).any(1)
        wide = spread[:, DAYS_BACK] > WIDEST_SPREAD_C
        little = wide | ((fitted.counted < 1.0) & ~(lends & own))
        self._why = np.where(fitted.apart | fitted.air, 2, np.where(little, 1, 0)).tolist()

    def __iter__(self) -> Iterator[UUID]:
        return (pond for pond, why in zip(self.fitted.ponds, self._why, strict=True) if not why)

    def why_not(self, pond: UUID) -> str:
        """`NOT_YET`, `APART`, `TOO_LITTLE`; empty where there is an estimate."""
        at = self._place.get(pond)
        return NOT_YET if at is None else ("", TOO_LITTLE, APART)[self._why[at]]

    def ahead(self, pond: UUID) -> Ahead | None:
        """A pond's days for the rules; None where there is no estimate."""
        at = self._place.get(pond)
        if at is None or self._why[at]:
            return None
        return Ahead(self.first, self.today, self._means[at], self._spreads[at])

    def told(self, pond: UUID) -> Estimate | None:
        """A pond's estimate with what it rests on; None where there is none."""
        import numpy as np

        ahead = self.ahead(pond)
        if ahead is None:
            return None
        at = self._place[pond]
        fitted, recent = self.fitted, self._recent
        days = tuple(
            EstimatedDay(
                date.fromordinal(ahead.first + index),
                mean,
                max(mean - EIGHTY * spread, 0.0),
                mean + EIGHTY * spread,
            )
            for index, (mean, spread) in enumerate(zip(ahead.means_c, ahead.spreads_c, strict=True))
        )
        season_c = float(harmonics(np.array([self.today]))[0] @ fitted.season[at])
        own = int(recent.own_last[at, -1]) if recent.own_last.shape[1] else -1
        neighbours = []
        for slot, other in enumerate(fitted.neighbours[at].tolist(), 1):
            if other < 0:
                continue
            last = int(recent.last[other, -1])
            if last < 0 or recent.first_day + last < self.today - 30:
                continue
            neighbours.append(
                Neighbour(
                    fitted.ponds[other],
                    float(fitted.likeness[at, 0, slot]),
                    date.fromordinal(recent.first_day + last),
                    float(recent.departure[other, last] * fitted.scale_c[other]),
                )
            )
        return Estimate(
            pond,
            date.fromordinal(self.today),
            days,
            season_c,
            float(fitted.counted[at]),
            None if own < 0 else date.fromordinal(recent.first_day + own),
            None if own < 0 else float(recent.temp_c[at, own]),
            tuple(neighbours),
            own >= 0 and bool(recent.doubted[at, own]),
        )

    def doubts(self, pond: UUID) -> tuple[Doubt, ...]:
        """Runs of doubted readings of a pond within the last `RECENT_DAYS`, old to new."""
        import numpy as np

        at = self._place.get(pond)
        if at is None:
            return ()
        recent, fitted = self._recent, self.fitted
        days = np.flatnonzero(recent.doubted[at])
        if not len(days):
            return ()
        runs = np.split(days, np.flatnonzero(np.diff(days) > 10) + 1)
        found = []
        season = harmonics(np.arange(recent.first_day, self.today + 1)) @ fitted.season[at]
        for run in runs:
            worst = int(run[np.argmax(np.abs(recent.departure[at, run]))])
            read, usual = float(recent.temp_c[at, worst]), float(season[worst])
            found.append(
                Doubt(
                    fitted.ponds[at],
                    date.fromordinal(recent.first_day + int(run[0])),
                    date.fromordinal(recent.first_day + int(run[-1])),
                    len(run),
                    read,
                    usual,
                    abs((read - 32.0) / 1.8 - usual) < 2.0 * float(fitted.scale_c[at]),
                )
            )
        return tuple(found)

    def strange(self, pond: UUID) -> int:
        """`RESTLESS` or `FLAT` of `store.warmth.doubts` where a pond's whole record goes with
        nobody's close by, else 0; others do not lean on it."""
        at = self._place.get(pond)
        return 0 if at is None else int(self.fitted.strange[at])
