"""Seasons and fading departures over measured water, against simpler forecasts made plainly here.

The series: NEON daily mean water temperature, see `data/README.md`. How such forecasts are scored
follows the practice of the NEON forecasting challenge (Thomas et al. 2023, Frontiers in Ecology and
the Environment 21, 112-113, from memory): against persistence and against the mean of the day of
the year. Every year is forecast from the other years. The figures for one day and one year of
Hop Brook were reckoned with pandas and numpy from the same series, without this project.
"""

from __future__ import annotations

from datetime import date, timedelta

import numpy as np
import pytest
from measured_water import FIRST, measured
from numpy.typing import NDArray

from store.warmth.departure import fades
from store.warmth.season import counts_of, covariates, harmonics, seasons

Floats = NDArray[np.float64]
WITHIN_DAYS = 7
LEADS = (7, 14)
DAYS = tuple(FIRST + timedelta(days=at) for at in range(measured().grid.days))
YEAR = np.array([day.year for day in DAYS])


def _place_in_year(day: date) -> int:
    """0 to 364; 29 February counts as the 28th."""
    same = (
        day.replace(year=2021, day=28)
        if (day.month, day.day) == (2, 29)
        else day.replace(year=2021)
    )
    return same.timetuple().tm_yday - 1


PLACE = np.array([_place_in_year(day) for day in DAYS])


def _climatology(temp_c: Floats, left_out: int) -> tuple[Floats, Floats]:
    """Mean and number of a site's values of other years within 7 days of the day of the year."""
    total, n, years = np.zeros(365), np.zeros(365), np.zeros((365, 6), bool)
    for at in np.flatnonzero(~np.isnan(temp_c) & (left_out != YEAR)):
        near = (PLACE[at] + np.arange(-WITHIN_DAYS, WITHIN_DAYS + 1)) % 365
        total[near] += temp_c[at]
        n[near] += 1
        years[near, YEAR[at] - FIRST.year] = True
    enough = (n >= 10) & (years.sum(1) >= 2)
    mean = np.where(enough, total / np.maximum(n, 1), np.nan)
    return mean[PLACE], n[PLACE]


def _damped(temp_c: Floats, left_out: int) -> tuple[Floats, float]:
    """The climatology of every day, and by how much its anomalies fade in a day."""
    mean, _ = _climatology(temp_c, left_out)
    off = temp_c - mean
    today, next_day = off[:-1], off[1:]
    both = ~np.isnan(today) & ~np.isnan(next_day)
    both &= (YEAR[:-1] != left_out) & (YEAR[1:] != left_out)
    return mean, float((today * next_day)[both].sum() / np.square(today[both]).sum())


def _errors(temp_c: Floats, mean: Floats, left: float, lead: int, year: int) -> Floats:
    """Errors of all forecasts for a year: last reading, mean of the day, faded departure from it."""
    target = np.flatnonzero(year == YEAR)
    target = target[target >= lead]
    now, then, season, before = (
        temp_c[target],
        temp_c[target - lead],
        mean[target],
        mean[target - lead],
    )
    errors = np.array([now - then, now - season, now - season - left * (then - before)])
    return np.asarray(errors[:, ~np.isnan(errors).any(0)])


def test_the_plain_forecast_is_that_of_the_figures() -> None:
    """One forecast by hand: Hop Brook, 15 June 2021, a week ahead."""
    temp_c = measured().grid.temp_c[measured().row("HOPB")]
    day = (date(2021, 6, 15) - FIRST).days
    mean, n = _climatology(temp_c, 2021)
    _, fade = _damped(temp_c, 2021)
    assert (mean[day], n[day]) == (pytest.approx(16.1716, abs=5e-5), 45)
    assert mean[day - 7] == pytest.approx(15.5098, abs=5e-5)
    assert fade == pytest.approx(0.88391, abs=5e-6)
    assert mean[day] + fade**7 * (temp_c[day - 7] - mean[day - 7]) == pytest.approx(
        18.0434, abs=5e-5
    )
    errors = _errors(temp_c, mean, fade**7, 7, 2021)
    assert errors.shape[1] == 365
    assert np.sqrt(np.square(errors).mean(1)) == pytest.approx([2.792, 2.433, 2.289], abs=5e-4)


def test_own_seasons_and_fading_meet_the_baselines() -> None:
    """A week and a fortnight ahead, every year from the others, bad spans left out.

    Of 31 such series damped climatology reaches 0.83 and 0.74 of the error of the last reading, and
    damped harmonics 0.80 and 0.71.
    """
    water = measured()
    clean = np.where(water.bad, np.nan, water.grid.temp_c)
    like = covariates(water.traits)
    days = np.arange(len(DAYS)) + FIRST.toordinal()
    basis = harmonics(days)
    plain: dict[int, list[Floats]] = {lead: [] for lead in LEADS}
    own: dict[int, list[Floats]] = {lead: [] for lead in LEADS}
    for year in range(2018, 2023):
        others = np.where(year == YEAR, np.nan, clean)
        known = (~np.isnan(others)).astype(float)
        found = seasons(others, counts_of(known, len(DAYS) - 1), basis, like)
        assert found is not None
        for at, temp_c in enumerate(clean):
            if np.isnan(temp_c).all():
                continue
            mean, fade = _damped(temp_c, year)
            season = basis @ found.coefficients[at]
            season[np.isnan(mean)] = np.nan  # the same forecasts are scored
            for lead in LEADS:
                plain[lead].append(_errors(temp_c, mean, fade**lead, lead, year))
                left = float(fades(np.array([float(lead)]))[0])
                own[lead].append(_errors(temp_c, season, left, lead, year))
    for lead, of_31_series in zip(LEADS, (0.83, 0.74), strict=True):
        last, mean_of_day, damped = np.sqrt(np.square(np.concatenate(plain[lead], 1)).mean(1))
        same, season, faded = np.sqrt(np.square(np.concatenate(own[lead], 1)).mean(1))
        assert same == pytest.approx(last)
        assert faded <= damped
        assert season <= mean_of_day
        assert faded <= of_31_series * last
