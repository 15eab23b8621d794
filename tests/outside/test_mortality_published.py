"""Deaths of 26 koi on four days, and published ways to speak of them.

The case is invented, its answer computed: day rates 7.69, 12.50, 19.05 and 11.76 %, cumulative
42.31 %, exact interval 23.4 to 63.1 %. Day rates do not add up (51.0); what survives multiplies.
"""

from __future__ import annotations

from datetime import date, timedelta

import pytest
from scipy import stats

from store.exams.beside import beside
from store.exams.mortality import mortality
from store.watch.stock import Count, Move

COUNTED = date(2026, 6, 9)
KOI = mortality(
    [Count(COUNTED, "koi", 26), Count(COUNTED, "goldfish", 40)],
    [
        Move(COUNTED + timedelta(days=place), "died", dead, "koi")
        for place, dead in enumerate((2, 3, 4, 2), start=1)
    ],
    COUNTED + timedelta(days=1),
    COUNTED + timedelta(days=4),
    species="koi",
)


def test_the_rate_of_each_day() -> None:
    rates = [100.0 * one.share for one in KOI.days if one.share is not None]
    assert rates == pytest.approx([7.69, 12.50, 19.05, 11.76], abs=0.005)
    assert sum(rates) == pytest.approx(51.0, abs=0.05)


def test_the_cumulative_share_with_its_exact_interval() -> None:
    assert (KOI.dead, KOI.of) == (11, 26)
    assert 100.0 * KOI.share == pytest.approx(42.31, abs=0.005)
    assert 100.0 * KOI.interval.low == pytest.approx(23.4, abs=0.05)
    assert 100.0 * KOI.interval.high == pytest.approx(63.1, abs=0.05)
    theirs = stats.binomtest(11, 26).proportion_ci(0.95, method="exact")
    assert (KOI.interval.low, KOI.interval.high) == pytest.approx((theirs.low, theirs.high))


def test_more_than_one_percent_a_day_for_four_days_is_a_mortality_event_by_a_licence() -> None:
    """Fisheries and Oceans Canada, fish stocking licence, Part A."""
    found = {one.code: one for one in beside(KOI)}
    assert found["canada_stocking"].reached
    assert found["canada_stocking"].source.startswith("Fisheries and Oceans Canada")
