"""Bad spans of measured water are doubted, and good water is not.

The series: NEON daily mean water temperature, see `data/README.md`; the spans are a judgement from
the series, told in `measured_water.py`.
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np
import pytest
from measured_water import BAD, measured
from numpy.typing import NDArray

from store.warmth.ahead import newest
from store.warmth.doubts import RESTLESS
from store.warmth.fit import Fit, fit

WHOLE = "KING"
LEAST_CERTAIN = "HOPB 2020"
MOST_DOUBTED_OF_GOOD = 0.03


@lru_cache(maxsize=1)
def _fitted() -> tuple[Fit, NDArray[np.bool_]]:
    grid = measured().grid
    fitted = fit(grid, measured().traits)
    assert fitted is not None
    doubted = np.zeros(grid.temp_c.shape, bool)
    doubted[fitted.doubted[:, 0], fitted.doubted[:, 1] - grid.first_day] = True
    return fitted, doubted


@pytest.mark.parametrize("span", [name for name in BAD if name not in (WHOLE, LEAST_CERTAIN)])
def test_a_probe_that_reads_no_water_is_doubted(span: str) -> None:
    site, first, last = BAD[span]
    water, (_, doubted) = measured(), _fitted()
    days = slice(
        first.toordinal() - water.grid.first_day, last.toordinal() - water.grid.first_day + 1
    )
    read = ~np.isnan(water.grid.temp_c[water.row(site), days])
    assert read.any()
    assert doubted[water.row(site), days][read].mean() > 0.5


def test_a_brook_that_dries_goes_with_nobody() -> None:
    """King's Creek runs dry, and its probe then hangs in the air: its whole record is strange."""
    fitted, _ = _fitted()
    king = measured().row(WHOLE)
    assert fitted.strange[king] == RESTLESS
    assert not (fitted.neighbours == king).any()


def test_the_least_certain_span_is_doubted_once_a_run_of_it_is_known() -> None:
    """Hop Brook in September 2020, as it came in: its nearest neighbours here lie 500 km away, so
    that one day that cold is not beyond doubt; all of it lies to one side and far out, and the
    run of them is doubted before it ends."""
    site, first, last = BAD[LEAST_CERTAIN]
    water = measured()
    before = fit(water.grid.until(first.toordinal() - 1), water.traits)
    assert before is not None
    told = newest(before, water.grid.until(last.toordinal()))
    day = first.toordinal() - water.grid.first_day
    assert told.doubted[water.row(site), day:].any()
    off = told.off[water.row(site), day : day + (last - first).days + 1]
    assert off.max() < -1.2816  # not one of the eight within four in five
    assert off.mean() < -2.0


def test_good_water_is_hardly_ever_doubted() -> None:
    water, (_, doubted) = measured(), _fitted()
    good = ~np.isnan(water.grid.temp_c) & ~water.bad
    for site in water.sites:
        if site != WHOLE:
            at = water.row(site)
            assert doubted[at, good[at]].mean() < MOST_DOUBTED_OF_GOOD, site
