"""Estimates for days on which nobody has read: from a fit and the newest readings."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from store.warmth.departure import Known, gathered, guess, last_known
from store.warmth.doubts import oddness
from store.warmth.season import harmonics

if TYPE_CHECKING:
    from store.warmth.fit import Fit
    from store.warmth.values import Floats, Grid, Marks, Whole

COLDEST_C, WARMEST_C = 0.0, 40.0
"""Open fresh water below 0 is ice; no pond with fish is warmer."""
OWN_NOISE_C = 0.2
"""A pond's own reading is believed about its own water nearly as it was read: at another hour of
the day the same pond would be read alike, while about other ponds the hour is noise [°C]."""
LEAST_SPREAD_C = 0.4
"""No estimate is surer than that: a thermometer and the hour differ by as much; common practice of
this project [°C]."""
FAR_AHEAD_DAYS = 7.0
"""From so many days ahead on the width is that of days to come."""
FRESH_DAYS = 4.0
"""A reading of its own so many days before the day that is told makes the width no narrower."""


@dataclass(frozen=True, slots=True)
class Newest:
    """The newest readings as departures from the season, doubtful ones marked."""

    first_day: int
    temp_c: Floats
    departure: Floats
    noise: Floats
    own_noise: Floats
    """As `noise`, of a reading about its own pond."""
    doubted: Marks
    off: Floats
    """How far each lies from what season and neighbours say, in standard deviations; NaN where it
    was not asked."""
    last: Whole
    own_last: Whole


def newest(fitted: Fit, grid: Grid) -> Newest:
    """The newest readings held against a fit; those after it are examined for doubts.

    Parameters
    ----------
    fitted
        The fit; its ponds are those of the grid.
    grid
        Readings, at least of the last 64 days.
    """
    import numpy as np

    days = np.arange(grid.first_day, grid.first_day + grid.days, dtype=float)
    basis = harmonics(days)
    scale = fitted.scale_c[:, None]
    departure = (grid.temp_c - fitted.season @ basis.T) / scale
    noise = (grid.noise_c / scale) ** 2
    doubted = np.zeros(departure.shape, bool)
    if len(fitted.doubted):
        at = fitted.doubted[:, 1] - grid.first_day
        inside = (at >= 0) & (at < grid.days)
        doubted[fitted.doubted[inside, 0], at[inside]] = True
    off = np.full(departure.shape, np.nan)
    # Of the day of the fit itself some may have been read after it.
    after = days >= fitted.until
    if after.any():
        asked = np.broadcast_to(after & ~(fitted.apart | fitted.air)[:, None], departure.shape)
        pairs = (basis[:, :, None] * basis[:, None, :]).reshape(len(basis), -1)
        flat = fitted.season_covariance.reshape(len(scale), pairs.shape[1])
        of_season = flat @ pairs.T / scale**2
        odd = oddness(
            departure, noise, of_season, fitted.neighbours, fitted.likeness, asked, doubted,
            fitted.scale_c,
        )  # fmt: skip
        off[odd.pond, odd.day] = odd.off
        doubted[odd.pond[odd.doubted], odd.day[odd.doubted]] = True
    known = ~np.isnan(departure)
    own_noise = np.minimum(noise, (OWN_NOISE_C / scale) ** 2)
    return Newest(
        grid.first_day, grid.temp_c, departure, noise, own_noise, doubted, off,
        last_known(known & ~doubted), last_known(known),
    )  # fmt: skip


def estimated(
    fitted: Fit,
    now: Newest,
    pond: Whole,
    seen_from: Whole,
    targets: Whole,
    *,
    hidden_days: int = 0,
) -> tuple[Floats, Floats, Known]:
    """Temperature on some days, seen from others.

    Parameters
    ----------
    fitted, now
        A fit and the newest readings.
    pond
        Of each estimate, index into the fit.
    seen_from
        Ordinal of the day on which it is made: nothing later is looked at.
    targets
        Ordinals of the days it is for, shape (estimates, days).
    hidden_days
        The pond's own readings of so many last days are not looked at.

    Returns
    -------
    tuple
        Mean and standard deviation [°C], shape (estimates, days), and what they rest on.
    """
    import numpy as np

    known = gathered(
        now.departure, now.noise, now.last, pond, seen_from - now.first_day, fitted.neighbours,
        own_last=now.own_last, own_noise=now.own_noise,
        hidden_days=hidden_days,
    )  # fmt: skip
    mean, variance = guess(known, pond, fitted.likeness, targets - now.first_day)
    basis = harmonics(targets)
    scale = fitted.scale_c[pond][:, None]
    of_season = np.einsum("nhp,npq,nhq->nh", basis, fitted.season_covariance[pond], basis)
    season_c = np.einsum("nhp,np->nh", basis, fitted.season[pond])
    mean_c = np.clip(season_c + scale * mean, COLDEST_C, WARMEST_C)
    spread_c = np.sqrt(variance * scale**2 + of_season)
    wide_c = spread_c * _width(
        fitted, known, pond, targets - seen_from[:, None], seen_from - now.first_day
    )
    return mean_c, np.maximum(wide_c, LEAST_SPREAD_C), known


def _width(fitted: Fit, known: Known, pond: Whole, ahead_days: Whole, day: Whole) -> Floats:
    """By how much spreads are widened: of days to come, of today, and where the pond itself was
    read within a few days of the day that is told."""
    import numpy as np

    own = np.where(known.marked & (known.slot == 0), known.day, -(10**6)).max(1, initial=-(10**6))
    since = ahead_days + (day - own)[:, None]
    today, later, near = (fitted.width[pond, at, None] for at in range(3))
    usual = today + (later - today) * np.clip(ahead_days / FAR_AHEAD_DAYS, 0.0, 1.0)
    share = np.clip((since - 1) / (FRESH_DAYS - 1), 0.0, 1.0)
    return np.asarray(np.minimum(near, usual) * (1.0 - share) + usual * share)
