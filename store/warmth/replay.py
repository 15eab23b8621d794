"""The past replayed as if each day were today: how far off the estimates would have been.

Fits are made from time to time as in use, each from readings up to its day alone; every reading is
then estimated from the newest fit that knew nothing of what is hidden. Held against it stand the
pond's last reading and its season.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, NamedTuple
from uuid import UUID

from store.warmth.ahead import estimated, newest
from store.warmth.departure import last_known
from store.warmth.estimate import EIGHTY, RECENT_DAYS
from store.warmth.fit import fit
from store.warmth.season import harmonics
from store.warmth.values import Grid
from store.warmth.widths import widths

if TYPE_CHECKING:
    from store.warmth.fit import Fit
    from store.warmth.values import Floats, Marks, Trait, Whole

LEADS = (1, 3, 7, 14)
AGES = (1, 3, 7, 14, 30, 60)
MOST_OLD_DAYS = 31
"""A forecast is scored where the pond's own last reading was not older than that."""
LEAST_SCORED = 20
"""Of fewer readings nothing is said of a pond."""


@dataclass(frozen=True, slots=True)
class Score:
    """How far off estimates were [°C, root mean square], beside two simpler guesses."""

    days: int
    """Days ahead, or age of the pond's own last reading."""
    n: int
    """How many readings were estimated; 0 leaves the rest None."""
    rmse: float | None
    rmse_last_reading: float | None
    rmse_season: float | None
    coverage_80: float | None
    """Share of the readings that lay inside their interval."""
    n_doubted: int
    """How many of them are doubted by the fit before them."""
    rmse_undoubted: float | None
    """Without these."""
    rmse_last_reading_undoubted: float | None

    @property
    def no_better_than_season(self) -> bool:
        """Whether the season alone would have done as well."""
        return (
            self.rmse is not None
            and self.rmse_season is not None
            and (self.rmse >= self.rmse_season)
        )


class PondScore(NamedTuple):
    """One pond, over all days ahead and ages."""

    pond: UUID
    n: int
    rmse: float
    rmse_last_reading: float
    rmse_season: float
    coverage_80: float


@dataclass(frozen=True, slots=True)
class Replayed:
    """What the replay came to."""

    first: int
    """Ordinal of the first day estimated."""
    last: int
    fits: int
    leads: tuple[Score, ...]
    ages: tuple[Score, ...]
    ponds: tuple[PondScore, ...]
    """Worst first, by how little better than the season they were."""


class _Off(NamedTuple):
    """Errors of one kind, by reading."""

    pond: Floats
    off: Floats
    last: Floats
    season: Floats
    held: Floats
    doubted: Floats


def replay(
    grid: Grid,
    traits: Sequence[Trait],
    first_day: int,
    *,
    every_days: int = 30,
    not_scored: Marks | None = None,
    progress: Callable[[float], None] | None = None,
    halt: Callable[[], bool] | None = None,
) -> Replayed | None:
    """Estimate every reading from a day on as it would have been estimated then.

    Parameters
    ----------
    grid, traits
        As for `store.warmth.fit.fit`.
    first_day
        Ordinal of the first day of which readings are estimated.
    every_days
        How often a fit is made [d].
    not_scored
        Readings that are known to be bad and not held against anybody; they are looked at as
        readings all the same. In step with the grid.
    progress
        Called with the share that is done [0 to 1].
    halt
        Asked between two fits whether to stop; what is done until then is told.

    Returns
    -------
    Replayed or None
        None where nothing could be fitted before any of the readings.
    """
    import numpy as np

    kinds = [(lead, 0) for lead in LEADS] + [(0, age) for age in AGES]
    found: list[list[_Off]] = [[] for _ in kinds]
    longest = max(map(sum, kinds))
    made = list(range(first_day - longest, grid.first_day + grid.days, every_days))
    marked = last_known(~np.isnan(grid.temp_c))
    scored = ~np.isnan(grid.temp_c)
    if not_scored is not None:
        scored &= ~not_scored
    fits = 0
    for at, until in enumerate(made):
        if halt is not None and halt():
            break
        before = grid.until(until)
        fitted = fit(before, traits, width=widths(before, traits)) if before.days > 0 else None
        if fitted is not None:
            fits += 1
            for place, (lead, age) in enumerate(kinds):
                days = (max(until + 1 + lead + age, first_day), until + every_days + lead + age)
                one = _one_fit(grid, scored, marked, fitted, days, lead, age)
                if one is not None:
                    found[place].append(one)
        if progress is not None:
            progress((at + 1) / len(made))
    if not any(found):
        return None
    joined = [
        _Off(*(np.concatenate(parts) for parts in zip(*some, strict=True))) if some else None
        for some in found
    ]
    scores = tuple(_score(lead or age, one) for (lead, age), one in zip(kinds, joined, strict=True))
    return Replayed(
        first_day,
        grid.first_day + grid.days - 1,
        fits,
        scores[: len(LEADS)],
        scores[len(LEADS) :],
        _ponds(grid, [one for one in joined if one is not None]),
    )


def _one_fit(
    grid: Grid,
    scored: Marks,
    marked: Whole,
    fitted: Fit,
    days: tuple[int, int],
    lead: int,
    age: int,
) -> _Off | None:
    """Readings of some days, both ends included, estimated from one fit."""
    import numpy as np

    first, last = days[0], min(days[1], grid.first_day + grid.days - 1)
    if first > last:
        return None
    from_at = first - grid.first_day
    pond, day = np.nonzero(scored[:, from_at : last - grid.first_day + 1])
    day = day + from_at
    seen = day - lead
    own = marked[pond, np.maximum(seen - age, 0)]
    oldest = age + (max(3, age // 2) if age else MOST_OLD_DAYS)
    some = (own >= 0) & (seen - own <= oldest) & (seen >= age)
    some &= (fitted.counted[pond] >= 1.0) & ~(fitted.apart | fitted.air)[pond]
    pond, day, seen, own = pond[some], day[some], seen[some], own[some]
    if not len(pond):
        return None
    start = max(int(seen.min()) - age - RECENT_DAYS, 0)
    part = Grid(
        grid.ponds,
        grid.first_day + start,
        grid.temp_c[:, start : last - grid.first_day + 1],
        grid.noise_c[:, start : last - grid.first_day + 1],
    )
    now = newest(fitted, part)
    targets = (day + grid.first_day)[:, None]
    mean, spread, _ = estimated(fitted, now, pond, seen + grid.first_day, targets, hidden_days=age)
    read = grid.temp_c[pond, day]
    season_c = (harmonics(targets[:, 0]) * fitted.season[pond]).sum(1)
    off = read - mean[:, 0]
    return _Off(
        pond.astype(float),
        off,
        read - grid.temp_c[pond, own],
        read - season_c,
        (np.abs(off) <= EIGHTY * spread[:, 0]).astype(float),
        now.doubted[pond, day - start].astype(float),
    )


def _rms(values: Floats) -> float | None:
    import numpy as np

    return float(np.sqrt(np.mean(np.square(values)))) if len(values) else None


def _score(days: int, one: _Off | None) -> Score:
    if one is None:
        return Score(days, 0, None, None, None, None, 0, None, None)
    good = one.doubted < 0.5
    return Score(
        days,
        len(one.off),
        _rms(one.off),
        _rms(one.last),
        _rms(one.season),
        float(one.held.mean()),
        int(len(good) - good.sum()),
        _rms(one.off[good]),
        _rms(one.last[good]),
    )


def _ponds(grid: Grid, joined: Sequence[_Off]) -> tuple[PondScore, ...]:
    import numpy as np

    every = _Off(*(np.concatenate(parts) for parts in zip(*joined, strict=True)))
    found = []
    for at, pond in enumerate(grid.ponds):
        mine = every.pond == at
        if mine.sum() < LEAST_SCORED:
            continue
        off, last, season = (
            float(np.sqrt(np.mean(np.square(part[mine]))))
            for part in (every.off, every.last, every.season)
        )
        found.append(
            PondScore(pond, int(mine.sum()), off, last, season, float(every.held[mine].mean()))
        )
    found.sort(key=lambda one: (-one.rmse / max(one.rmse_season, 1e-9), one.pond))
    return tuple(found)
