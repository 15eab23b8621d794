"""One agent over many ponds: the middle, its interval, and ponds that are told apart."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy import stats

from store.errors import BadInput
from store.exams.over_ponds import PondResult, over_ponds
from store.exams.reduction import reduction


def pond(name: str, before: list[int], after: list[int]) -> PondResult:
    return PondResult(name, reduction(before, after, same_fish=False, seed=1, draws=2000))


def ponds(*left: int) -> list[PondResult]:
    """One pond for each number left of a hundred."""
    return [
        pond(f"pond {place}", [100, 101, 99], [n, n, n]) for place, n in enumerate(left, start=1)
    ]


@settings(max_examples=25, deadline=None)
@given(left=st.lists(st.integers(1, 150), min_size=2, max_size=14), factor=st.integers(2, 9))
def test_the_scale_of_one_pond_changes_nothing_and_the_median_lies_within(left, factor) -> None:
    one = over_ponds(ponds(*left))
    scaled = [pond("pond 1", [100 * factor, 101 * factor, 99 * factor], [left[0] * factor] * 3)]
    other = over_ponds([*scaled, *ponds(*left)[1:]])
    assert other.median == pytest.approx(one.median)
    assert other.worst_first[0].pond == one.worst_first[0].pond
    if one.limits is not None:
        assert one.limits.low <= one.median <= one.limits.high
        assert one.reached >= 0.95
    assert (one.limits is None) == (len(left) < 6)


@pytest.mark.parametrize(("count", "place"), [(6, 1), (8, 1), (9, 2), (11, 2), (12, 3), (15, 4)])
def test_places_of_the_interval_against_scipy(count: int, place: int) -> None:
    """The interval of the median by ordered values, against scipy's binomial."""
    answer = over_ponds(ponds(*range(1, count + 1)))
    values = sorted(100.0 - n for n in range(1, count + 1))
    assert (answer.limits.low, answer.limits.high) == pytest.approx(
        (values[place - 1], values[-place])
    )
    assert answer.reached == pytest.approx(1 - 2 * stats.binom.cdf(place - 1, count, 0.5))
    assert 1 - 2 * stats.binom.cdf(place, count, 0.5) < 0.95


def test_the_lowest_comes_first_and_is_named() -> None:
    answer = over_ponds(ponds(5, 60, 10))
    assert [one.pond for one in answer.worst_first] == ["pond 2", "pond 3", "pond 1"]
    assert answer.median == pytest.approx(90.0)
    assert "lowest pond 2, 40 %" in answer.said
    assert any("no interval of 95 %" in one for one in answer.remarks)


def test_ponds_where_nothing_may_have_changed_are_named() -> None:
    answer = over_ponds([*ponds(5), pond("Mill", [10, 60, 30], [30, 20, 50])])
    assert answer.no_change == ("Mill",)
    assert any("at Mill: look at dose" in one for one in answer.remarks)


def test_what_cannot_be_reckoned_is_told_and_not_dropped() -> None:
    answer = over_ponds([*ponds(5), PondResult("Elm", None, "nothing was counted before.")])
    assert [one.pond for one in answer.apart] == ["Elm"]
    assert "Not reckoned: Elm: nothing was counted before." in answer.remarks
    assert "One pond only" in answer.said
    none = over_ponds([PondResult("Elm", None)])
    assert none.said == "Of 1 courses none can be reckoned."


def test_no_course_at_all() -> None:
    with pytest.raises(BadInput):
        over_ponds([])
