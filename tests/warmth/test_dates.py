"""When a sum of the water is met: what must hold of every path, and what the words say."""

from __future__ import annotations

from datetime import date

from hypothesis import given, settings
from hypothesis import strategies as st

from store.warmth.dates import Path, Reached, degree_days, last_of, onwards, reached, said
from store.warmth.estimate import EIGHTY, Ahead

FIRST = date(2026, 5, 4).toordinal()
END = date.max.toordinal()
MEANS = st.lists(st.floats(-2.0, 30.0), min_size=1, max_size=60)
SPREADS = st.floats(0.0, 5.0)


def path(means_c: list[float], spread_c: float, by_c: float = 0.0) -> Path:
    ahead = Ahead(FIRST, FIRST, [one + by_c for one in means_c], [spread_c] * len(means_c))
    return onwards((), FIRST, ahead)


def order(found: Reached) -> tuple[int, int, int]:
    """Earliest, expected, latest; a day that is not reached comes after all others."""
    days = (found.earliest, found.expected, found.latest)
    early, expected, late = (END if one is None else one.toordinal() for one in days)
    return early, expected, late


def half_rate(temp_c: float) -> float | None:
    """A stage that does not develop below 4 °C and takes 40 days at 20 °C, rising throughout."""
    return None if temp_c < 4.0 else temp_c / 800.0


@settings(max_examples=60, deadline=None)
@given(MEANS, SPREADS, SPREADS, st.floats(0.0, 4.0), st.floats(0.01, 400.0))
def test_the_days_stand_in_order_and_move_as_the_water_does(
    means_c: list[float], spread_c: float, more_c: float, warmer_c: float, need: float
) -> None:
    for rate, sum_needed in ((degree_days, need), (half_rate, need / 400.0)):
        early, expected, late = order(reached(path(means_c, spread_c), sum_needed, rate))
        assert early <= expected <= late
        wide = order(reached(path(means_c, spread_c + more_c), sum_needed, rate))
        assert wide[0] <= early, "more spread never narrows"
        assert wide[1] == expected
        assert wide[2] >= late
        warm = order(reached(path(means_c, spread_c, warmer_c), sum_needed, rate))
        assert all(one <= other for one, other in zip(warm, (early, expected, late), strict=True))


def test_what_was_measured_is_never_replaced() -> None:
    ahead = Ahead(FIRST + 2, FIRST + 4, [10.0] * 8, [1.0] * 8)
    found = onwards((15.0, None, None, 16.0), FIRST, ahead)
    assert found.mean_c[:5] == (15.0, None, 10.0, 16.0, 10.0), "unknown before the estimate begins"
    assert found.low_c[3] == found.high_c[3] == 16.0
    assert found.low_c[4] == 10.0 - EIGHTY
    assert len(found.mean_c) == 10


def test_errors_go_together_so_that_a_sum_of_a_month_is_days_wide() -> None:
    """500 degree-days at 18 °C are met on day 28 (500 / 18 = 27.8); at 18 ± 1.28 on 26 and 30."""
    found = reached(path([18.0] * 60, 1.0), 500.0)
    assert [day - FIRST + 1 for day in order(found)] == [26, 28, 30]
    assert said(found) == "between 29 May and 2 Jun 2026"
    assert said(found.later(1)) == "between 30 May and 3 Jun 2026"


def test_a_sum_that_is_not_met_is_told_so() -> None:
    found = reached(path([10.0] * 10, 1.0), 100.0)
    assert (found.expected, found.latest) == (date(2026, 5, 13), None)
    assert said(found) == "not before 12 May 2026, and perhaps not by 13 May 2026"
    assert said(reached(path([10.0] * 10, 1.0), 500.0)) == "not by 13 May 2026"
    assert said(reached(path([10.0] * 10, 0.0), 50.0)) == "on 8 May 2026"
    assert reached(path([10.0], 0.0), 0.0).expected == date(2026, 5, 3), "nothing was due"
    both = last_of((found, reached(path([10.0] * 10, 0.0), 95.0)))
    assert both is not None
    assert (both.earliest, both.expected, both.latest) == (
        date(2026, 5, 13), date(2026, 5, 13), None,
    )  # fmt: skip
    assert last_of(()) is None
