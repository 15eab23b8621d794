"""The season of every pond: a mean and two harmonics of the year, shrunk towards ponds like it.

A pond with a long record speaks for itself; one with a short record leans on what ponds of its
height, depth and place are like. How much it leans follows from how far such ponds scatter (normal
prior on the coefficients, see Gelman et al., Bayesian Data Analysis, chapters 5 and 15, from
memory). Readings that follow one another closely say little more than one: a reading counts by the
gap to the one before it.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from store.warmth.values import Trait

if TYPE_CHECKING:
    from store.warmth.values import Floats, Marks, Whole

HARMONICS = 2
COEFFICIENTS = 1 + 2 * HARMONICS
YEAR_DAYS = 365.25
MEMORY_DAYS = 30.0
"""A reading this long after the last counts for most of a new one; by the replay."""
HALF_LIFE_YEARS = 4.0
"""A reading so old counts half: basins silt up, trees grow, probes are moved; by the replay."""
WIDEST = (5.0, 4.0, 4.0, 1.2, 1.2)
"""How far the coefficients of ponds may scatter before any ponds have been compared [°C]."""
LEAST_SCALE_C = 0.8
"""No open water keeps closer to its season than that on the whole [°C]; common practice of this
project, the steadiest of the open series has 0.7."""
_PRIOR_PONDS = 6.0
_RIDGE = 2.0


class Seasons(NamedTuple):
    """Seasons of ponds, with how well each is known."""

    coefficients: Floats
    """Mean, cosine and sine of the year, of half a year [°C], shape (ponds, 5)."""
    covariance: Floats
    """Of the coefficients [°C²], shape (ponds, 5, 5)."""
    scale_c: Floats
    """Standard deviation of the departures [°C]."""
    counted: Floats
    """How many separate readings each rests on."""


def harmonics(days: Floats | Whole) -> Floats:
    """The year's mean and harmonics on some days.

    Parameters
    ----------
    days
        Ordinals of days, any shape.

    Returns
    -------
    array
        One more axis of length 5: 1, cosine and sine of the year, cosine and sine of half a year.
        Day 1 of the calendar is angle 0 of no particular day: only differences matter.
    """
    import numpy as np

    angle = np.asarray(days, float) * (2.0 * math.pi / YEAR_DAYS)
    parts = [np.ones_like(angle)]
    for times in range(1, HARMONICS + 1):
        parts += [np.cos(times * angle), np.sin(times * angle)]
    return np.stack(parts, -1)


def covariates(traits: Sequence[Trait]) -> Floats:
    """What ponds are alike by: 1, latitude, height, depth, volume, shade, each about 0 with a
    spread of 1, and whether it is air; what nobody typed stands at the middle.

    Parameters
    ----------
    traits
        Of the ponds.
    """
    import numpy as np

    def column(values: Sequence[float | None]) -> Floats:
        found = np.array([math.nan if one is None else one for one in values], float)
        known = found[~np.isnan(found)]
        if not known.size:
            return np.zeros(len(found))
        spread = float(known.std()) or 1.0
        return np.where(np.isnan(found), 0.0, (found - known.mean()) / spread)

    def log(value: float | None) -> float | None:
        return None if value is None or value <= 0.0 else math.log(value)

    return np.stack(
        [
            np.ones(len(traits)),
            column([one.latitude for one in traits]),
            column([one.elevation_m for one in traits]),
            column([log(one.depth_m) for one in traits]),
            column([log(one.volume_l) for one in traits]),
            column([one.shade for one in traits]),
            np.array([float(one.air) for one in traits]),
        ],
        -1,
    )


def counts_of(known: Floats, last: int) -> Floats:
    """How much every reading of a grid counts, by the gap to the reading before it and its age.

    Parameters
    ----------
    known
        1 where a day has a reading, else 0; shape (ponds, days).
    last
        Index of the day that has no age; its own and later days count whole.

    Returns
    -------
    array
        0 to 1, in step.
    """
    import numpy as np

    places = np.arange(known.shape[1], dtype=float)
    at = np.where(known > 0.0, places, -math.inf)
    before = np.full_like(at, -math.inf)
    before[:, 1:] = np.maximum.accumulate(at, 1)[:, :-1]
    gap = np.minimum(places - before, 1e4)
    age_years = np.maximum(last - places, 0.0) / YEAR_DAYS
    fresh = 0.5 ** (age_years / HALF_LIFE_YEARS)
    return np.asarray(known * np.tanh(gap / (2.0 * MEMORY_DAYS)) * fresh)


def seasons(
    temp_c: Floats, counts: Floats, basis: Floats, like: Floats, *, rounds: int = 4
) -> Seasons | None:
    """Seasons by readings and by ponds like them.

    Parameters
    ----------
    temp_c
        [°C], NaN where there is none; shape (ponds, days).
    counts
        How much each reading counts, 0 where there is none; from `counts_of`, or less.
    basis
        `harmonics` of the days, shape (days, 5).
    like
        `covariates` of the ponds.
    rounds
        How often seasons and what ponds are like are worked out from each other.

    Returns
    -------
    Seasons or None
        None where no pond has a record that a season could be learnt from.
    """
    import numpy as np

    known = np.where(np.isnan(temp_c), 0.0, temp_c)
    weight = np.where(np.isnan(temp_c), 0.0, counts)
    pairs = (basis[:, :, None] * basis[:, None, :]).reshape(len(basis), -1)
    gram = (weight @ pairs).reshape(-1, COEFFICIENTS, COEFFICIENTS)
    right = (weight * known) @ basis
    n = weight.sum(1)
    own = _own_record(weight, basis)
    if not own.any():
        return None
    widest = np.diag(np.square(WIDEST))
    spread, centre = widest, np.zeros((len(n), COEFFICIENTS))
    centre[:, 0] = np.average(right[own, 0] / n[own])
    scale2 = np.full(len(n), 4.0)
    found, covariance = centre, np.broadcast_to(widest, gram.shape)
    for _ in range(rounds):
        inverse = np.linalg.inv(spread)
        covariance = np.linalg.inv(gram / scale2[:, None, None] + inverse)
        found = np.einsum("ipq,iq->ip", covariance, right / scale2[:, None] + centre @ inverse)
        scale2 = _scales(known, weight, found, basis, n)
        ridge = _RIDGE * np.eye(like.shape[1])
        ridge[0, 0] = 1e-9
        there = like[own]
        slopes = np.linalg.solve(there.T @ there + ridge, there.T @ found[own])
        centre = like @ slopes
        apart = (found - centre)[own]
        spread = (apart.T @ apart + covariance[own].sum(0) + _PRIOR_PONDS * widest) / (
            own.sum() + _PRIOR_PONDS
        )
    return Seasons(found, covariance, np.sqrt(scale2), n)


def _own_record(weight: Floats, basis: Floats) -> Marks:
    """Ponds whose readings cover enough of a year to speak of a season."""
    import numpy as np

    n = weight.sum(1)
    middle = np.abs((weight @ basis[:, 1:3]) / np.maximum(n, 1e-9)[:, None]).max(1)
    return np.asarray((n >= 2.5) & (middle < 0.8))


def _scales(known: Floats, weight: Floats, found: Floats, basis: Floats, n: Floats) -> Floats:
    """Squared departures, leaning on the typical pond where there are few."""
    import numpy as np

    off = (known - found @ basis.T) ** 2
    total = (weight * off).sum(1)
    mine = total / np.maximum(n, 1e-9)
    enough = n >= 5.0
    typical = float(np.median(mine[enough])) if enough.any() else 4.0
    return np.asarray(np.maximum((total + 5.0 * typical) / (n + 5.0), LEAST_SCALE_C**2))
