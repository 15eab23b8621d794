"""Readings that the water cannot have had, by what the neighbours' water did.

A reading is doubted where it lies too far from what the season and the neighbours say (the pond's
own other readings are not asked: a probe that drifts agrees with itself), or where a run of them
lies off to one side. A doubted reading stays a reading in the book; it is only not believed about
other ponds, nor about the pond's own days to come.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from store.warmth.departure import gathered, guess, last_known

if TYPE_CHECKING:
    from store.warmth.likeness import Likeness
    from store.warmth.season import Seasons
    from store.warmth.values import Floats, Marks, Whole

FAR = 4.5
"""So many standard deviations off, one reading alone is doubted."""
FAR_IN_A_RUN = 2.4
"""So many off to one side on average over a run, the run is doubted."""
FAR_C = 3.0
"""And nearer than that nothing is doubted, however steady a pond is [°C]."""
RUN_READINGS = 5
RUN_DAYS = 21
_PASSES = 2
RESTLESS, FLAT = 1, 2
"""What is strange about a pond: it swings more than ponds close by and not with them (the probe
may hang in the air), or it hardly follows the year (heated, or indoors)."""
_CLOSE_BY = 0.7
_ENOUGH = 2.5
_GOES_WITH = 0.55
_SWINGS = 1.4
_FLAT_SHARE = 1.0 / 3.0


class Oddness(NamedTuple):
    """How far readings lie from what season and neighbours say, in standard deviations."""

    pond: Whole
    day: Whole
    off: Floats
    doubted: Marks
    expected: Floats
    """What season and neighbours say, in units of the pond's usual departure from its season."""
    variance: Floats


def oddness(
    departure: Floats,
    noise: Floats,
    of_season: Floats,
    neighbours: Whole,
    matrix: Floats,
    asked: Marks,
    doubted: Marks,
    scale_c: Floats,
) -> Oddness:
    """Readings against what season and neighbours say of their day; nothing later is looked at.

    Parameters
    ----------
    departure, noise
        By pond and day, in units of the pond's usual departure; NaN where there is no reading.
    of_season
        Variance of the season itself in the same units, by pond and day.
    neighbours, matrix
        From `store.warmth.likeness.likeness`.
    asked
        Readings to be told of.
    doubted
        Readings doubted already: not asked about others.
    scale_c
        By pond: its usual departure [°C].
    """
    import numpy as np

    known = ~np.isnan(departure)
    pond, day = np.nonzero(asked & known)
    mine = departure[pond, day]
    out = doubted.copy()
    off = expected = variance = np.zeros(len(pond))
    found = np.zeros(len(pond), bool)
    for _ in range(_PASSES):
        last = last_known(known & ~out)
        about = gathered(departure, noise, last, pond, day, neighbours, own=False, nearest=True)
        mean, spread = guess(about, pond, matrix, day[:, None])
        expected, variance = mean[:, 0], spread[:, 0]
        all_in = variance + of_season[pond, day] + noise[pond, day]
        off = (mine - expected) / np.sqrt(all_in)
        far = np.abs(mine - expected) * scale_c[pond] > FAR_C
        found = far & ((np.abs(off) > FAR) | _in_a_run(pond, day, off))
        out = doubted.copy()
        out[pond[found], day[found]] = True
    return Oddness(pond, day, off, found, expected, variance)


def _in_a_run(pond: Whole, day: Whole, off: Floats) -> Marks:
    """Readings at the end of a run that lies off to one side; they stand by pond and day."""
    import numpy as np

    clipped = np.clip(off, -FAR, FAR)
    total = np.concatenate([[0.0], np.cumsum(clipped)])
    at = np.arange(len(pond))
    first = np.maximum(at - RUN_READINGS + 1, 0)
    whole = (at - first + 1 == RUN_READINGS) & (pond[first] == pond)
    whole &= day - day[first] >= RUN_READINGS - 1
    close = whole & (day - day[first] <= RUN_DAYS)
    mean = (total[at + 1] - total[first]) / RUN_READINGS
    return np.asarray(close & (np.abs(mean) > FAR_IN_A_RUN) & (np.abs(off) > 0.6 * FAR_IN_A_RUN))


def strangers(found: Seasons, close: Likeness, expected: Floats, apart: Marks) -> Whole:
    """Ponds whose whole record goes with nobody's close by: `RESTLESS`, `FLAT`, else 0.

    Parameters
    ----------
    found
        Seasons of the ponds.
    close
        How alike they have been.
    expected
        How alike they were expected to be, from `store.warmth.likeness.beforehand`.
    apart
        Ponds that are not asked, nor others held against them.
    """
    import numpy as np

    asked = (found.counted >= _ENOUGH) & ~apart
    near = (expected >= _CLOSE_BY) & asked[:, None] & asked[None, :]
    near &= close.separate >= _ENOUGH
    np.fill_diagonal(near, False)
    height = np.hypot(found.coefficients[:, 1], found.coefficients[:, 2])
    strange = np.zeros(len(asked), dtype=np.int64)
    for pond in np.flatnonzero(near.any(1)):
        if height[pond] < _FLAT_SHARE * np.median(height[near[pond]]):
            strange[pond] = FLAT
    near &= (strange != FLAT)[:, None] & (strange != FLAT)[None, :]
    for pond in np.flatnonzero(near.any(1)):
        others = near[pond]
        swings = found.scale_c[pond] > _SWINGS * np.median(found.scale_c[others])
        if swings and close.alike[pond, others].max() < _GOES_WITH:
            strange[pond] = RESTLESS
    return strange
