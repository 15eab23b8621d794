"""A fit: what the records of all ponds say of each, from which estimates are made in no time.

It rests on readings up to a day and nothing later. It is reckoned from readings alone and can be
thrown away and made anew at any time.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING
from uuid import UUID

from store.warmth.doubts import oddness, strangers
from store.warmth.likeness import beforehand, likeness
from store.warmth.season import LEAST_SCALE_C, counts_of, covariates, harmonics, seasons

if TYPE_CHECKING:
    from store.warmth.season import Seasons
    from store.warmth.values import Floats, Grid, Marks, Trait, Whole

LEAST_COUNTED = 1.5
"""A pond with fewer separate readings of its own lends nothing to others."""
_FAR = 5.0


@dataclass(frozen=True, slots=True)
class Fit:
    """Everything estimates need beside the newest readings."""

    ponds: tuple[UUID, ...]
    until: int
    """Ordinal of the last day whose readings were looked at."""
    season: Floats
    """Coefficients of `harmonics` [°C], shape (ponds, 5)."""
    season_covariance: Floats
    scale_c: Floats
    """Usual departure from the season [°C]."""
    counted: Floats
    """How many separate readings each season rests on."""
    neighbours: Whole
    likeness: Floats
    width: Floats
    """By how much the errors of a pond are wider than reckoned: of today, of days to come,
    and beside a fresh reading of its own; shape (ponds, 3)."""
    apart: Marks
    """Ponds whose water does not follow the weather: indoors, heated."""
    air: Marks
    """What is no pond but a series of air temperatures."""
    strange: Whole
    """Ponds whose readings have not gone as those of ponds close by, `RESTLESS` or `FLAT`, else 0:
    others do not lean on them."""
    doubted: Whole
    """Pond and day (ordinal) of readings that are doubted, shape (doubts, 2)."""


def fit(
    grid: Grid,
    traits: Sequence[Trait],
    *,
    width: Floats | None = None,
    progress: Callable[[float], None] | None = None,
) -> Fit | None:
    """What the records of all ponds say of each.

    Parameters
    ----------
    grid
        Readings; all of them are looked at.
    traits
        Of the ponds of the grid, in their order.
    width
        From `store.warmth.widths.widths`; None for as reckoned.
    progress
        Called with the share that is done [0 to 1].

    Returns
    -------
    Fit or None
        None where no pond has a record that a season could be learnt from.
    """
    import numpy as np

    def done(share: float) -> None:
        if progress is not None:
            progress(share)

    days = np.arange(grid.first_day, grid.first_day + grid.days, dtype=float)
    basis = harmonics(days)
    like = covariates(traits)
    expected = beforehand(traits)
    apart = np.array([bool(one.apart) for one in traits], bool)
    air = np.array([one.air for one in traits], bool)
    known = ~np.isnan(grid.temp_c)
    counts = counts_of(known.astype(float), grid.days - 1)
    wide = np.ones((len(traits), 3)) if width is None else width
    first = seasons(grid.temp_c, counts, basis, like)
    if first is None:
        return None
    doubted = np.zeros(known.shape, bool)
    for _ in range(2):  # a reading far off bends the season that it is far off from
        departure = (grid.temp_c - first.coefficients @ basis.T) / first.scale_c[:, None]
        doubted = known & (np.abs(np.nan_to_num(departure)) > _FAR)
        first = seasons(grid.temp_c, counts * ~doubted, basis, like) or first
    done(0.1)
    strange = np.zeros(len(traits), int)
    found, close, odd_cells = first, None, doubted
    for turn in range(2):
        departure, noise = _departures(grid, found, basis)
        alone = (found.counted < LEAST_COUNTED) | (strange > 0)
        close = likeness(np.where(odd_cells, np.nan, departure), counts, expected, apart, alone)
        strange = strangers(found, close, expected, apart | air)
        done(0.2 + 0.4 * turn)
        odd = oddness(
            departure, noise, _season_variance(found, basis), close.neighbours, close.matrix,
            known & ~(apart | air)[:, None], odd_cells, found.scale_c,
        )  # fmt: skip
        odd_cells = np.zeros(known.shape, bool)
        odd_cells[odd.pond[odd.doubted], odd.day[odd.doubted]] = True
        done(0.5 + 0.3 * turn)
        # What the neighbours' weather explains is taken away before the season is learnt.
        aside, weight = grid.temp_c.copy(), counts * ~odd_cells
        aside[odd.pond, odd.day] -= odd.expected * found.scale_c[odd.pond]
        weight[odd.pond, odd.day] /= np.maximum(odd.variance, 0.15)
        again = seasons(aside, weight, basis, like)
        if again is not None:
            plain = np.where(odd_cells, np.nan, grid.temp_c)
            found = again._replace(scale_c=_scale(plain, counts, again, basis, first))
    assert close is not None
    departure, _ = _departures(grid, found, basis)
    alone = (found.counted < LEAST_COUNTED) | (strange > 0)
    close = likeness(np.where(odd_cells, np.nan, departure), counts, expected, apart, alone)
    done(1.0)
    at = np.argwhere(odd_cells)
    at[:, 1] += grid.first_day
    return Fit(
        grid.ponds, grid.first_day + grid.days - 1, found.coefficients, found.covariance,
        found.scale_c, found.counted, close.neighbours, close.matrix, wide, apart, air, strange, at,
    )  # fmt: skip


def _departures(grid: Grid, found: Seasons, basis: Floats) -> tuple[Floats, Floats]:
    scale = found.scale_c[:, None]
    return (grid.temp_c - found.coefficients @ basis.T) / scale, (grid.noise_c / scale) ** 2


def _season_variance(found: Seasons, basis: Floats) -> Floats:
    import numpy as np

    pairs = (basis[:, :, None] * basis[:, None, :]).reshape(len(basis), -1)
    flat = found.covariance.reshape(len(found.covariance), -1)
    return np.asarray(flat @ pairs.T / (found.scale_c**2)[:, None])


def _scale(temp_c: Floats, counts: Floats, found: Seasons, basis: Floats, first: Seasons) -> Floats:
    """The usual departure from the season, leaning on what it was where little is counted."""
    import numpy as np

    off = (temp_c - found.coefficients @ basis.T) ** 2
    weight = np.where(np.isnan(off), 0.0, counts)
    total = (weight * np.nan_to_num(off)).sum(1)
    found = np.sqrt((total + 5.0 * first.scale_c**2) / (weight.sum(1) + 5.0))
    return np.asarray(np.maximum(found, LEAST_SCALE_C))
