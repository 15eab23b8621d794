"""The last year of measured water replayed: better than the last reading by as much as it should be.

The series: NEON daily mean water temperature, see `data/README.md`. Of 32 such series over three
years the replay gives 0.79 and 0.68 of the last reading's error 7 and 14 days ahead, and 0.49 and
0.38 on the day itself where a pond's own last reading is 14 and 30 days old; these fourteen, four
of them beside another of their kind, may be no worse.
"""

from __future__ import annotations

from datetime import date
from functools import lru_cache

import numpy as np
from measured_water import FIRST, measured

from store.warmth.ahead import estimated, newest
from store.warmth.fit import fit
from store.warmth.replay import Replayed, replay
from store.warmth.season import harmonics
from store.warmth.values import Grid

BEGIN = date(2022, 1, 1)
EVERY_DAYS = 120
ONE_IN = 4
AHEAD = {7: 0.79, 14: 0.68}
OLD = {14: 0.49, 30: 0.38}
SELDOM_READ = ("LIRO", "POSE", "PRPO", "TOMB")
"""Each with another site of its kind near by that is read daily."""


@lru_cache(maxsize=1)
def _replayed() -> Replayed:
    water = measured()
    # Every fourth reading is held against its estimate; those of bad spans are only looked at.
    away = water.bad.copy()
    away[:, np.arange(away.shape[1]) % ONE_IN != 0] = True
    found = replay(
        water.grid, water.traits, BEGIN.toordinal(), every_days=EVERY_DAYS, not_scored=away
    )
    assert found is not None
    return found


def test_days_ahead_and_old_readings_against_the_last_reading() -> None:
    for bounds, scores in ((AHEAD, _replayed().leads), (OLD, _replayed().ages)):
        for one in scores:
            assert one.n > 500
            assert one.rmse is not None
            assert one.rmse_last_reading is not None
            assert one.rmse <= bounds.get(one.days, 1.0) * one.rmse_last_reading
            assert not one.no_better_than_season


def test_intervals_hold_four_in_five() -> None:
    for one in (*_replayed().leads, *_replayed().ages):
        if one.days >= 3:
            assert one.coverage_80 is not None
            assert 0.7 <= one.coverage_80 <= 0.9, one.days


def test_ten_readings_in_one_year_are_enough_beside_neighbours() -> None:
    """From the third reading on: better than the last of them, and than the neighbours' season."""
    water = measured()
    year = (date(2021, 1, 1) - FIRST).days
    temp_c, hidden = water.grid.temp_c.copy(), {}
    for site in SELDOM_READ:
        at = water.row(site)
        read = year + np.flatnonzero(~np.isnan(temp_c[at, year : year + 365]))
        kept = read[np.linspace(0, len(read) - 1, 10).astype(int)]
        hidden[at] = kept
        temp_c[at] = np.nan
        temp_c[at, kept] = water.grid.temp_c[at, kept]
    noise_c = np.where(np.isnan(temp_c), np.nan, 0.2)
    known = Grid(water.grid.ponds, water.grid.first_day, temp_c, noise_c)
    off, last, season = [], [], []
    for nth in (2, 4, 6, 8):
        # Fitted to what was known on the day of the pond's newest reading, estimated up to the next.
        for at, kept in hidden.items():
            until, end = int(kept[nth]), int(kept[nth + 1])
            seen = known.until(known.first_day + until)
            fitted = fit(seen, water.traits)
            assert fitted is not None
            days = np.arange(until + 1, end)
            truth = water.grid.temp_c[at, days]
            days, truth = days[~np.isnan(truth)], truth[~np.isnan(truth)]
            now = newest(fitted, known.until(known.first_day + end))
            target = days + known.first_day
            mean, _, _ = estimated(fitted, now, np.full(len(days), at), target, target[:, None])
            near = fitted.neighbours[at][fitted.neighbours[at] >= 0]
            off.append(truth - mean[:, 0])
            last.append(truth - temp_c[at, until])
            season.append(truth - (harmonics(target) @ fitted.season[near].T).mean(1))
    own, reading, others = (
        float(np.sqrt(np.square(np.concatenate(one)).mean())) for one in (off, last, season)
    )
    assert own < 0.8 * reading
    assert own < 0.8 * others
