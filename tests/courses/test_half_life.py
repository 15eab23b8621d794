"""Half-lives: between their points, falling with pH, silent where nothing is published."""

from __future__ import annotations

import math

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from store.courses.baths.half_life import trichlorfon_bounds, trichlorfon_half_life
from store.errors import BadInput

quick = settings(deadline=None, max_examples=150, derandomize=True)
PH = st.floats(7.0, 9.0)
TEMP = st.floats(22.0, 25.0)
WARM = st.floats(25.0, 37.5)


@quick
@given(PH, PH, TEMP)
def test_more_alkaline_water_breaks_it_down_faster(one, other, temp_c):
    low, high = sorted((one, other))
    assume(high - low > 1e-6)
    assert (
        trichlorfon_half_life(high, temp_c).half_life_h
        < trichlorfon_half_life(low, temp_c).half_life_h
    )


@quick
@given(st.floats(7.0, 8.0), WARM, WARM)
def test_warmer_water_breaks_it_down_faster(ph, one, other):
    low, high = sorted((one, other))
    assume(high - low > 1e-6)
    assert trichlorfon_half_life(ph, high).half_life_h < trichlorfon_half_life(ph, low).half_life_h


@quick
@given(st.floats(7.0, 8.0), st.floats(22.0, 37.5))
def test_it_lies_within_what_the_points_say_by_order(ph, temp_c):
    answer = trichlorfon_half_life(ph, temp_c)
    slack = 1.0 + 1e-9
    assert answer.low_h is None or answer.low_h <= answer.half_life_h * slack
    assert answer.high_h is None or answer.half_life_h <= answer.high_h * slack
    assert 1 <= len(answer.points) <= 4


@quick
@given(st.floats(0.0, 14.0), st.floats(-2.0, 50.0))
def test_bounds_are_in_order_everywhere_and_name_their_points(ph, temp_c):
    bounds = trichlorfon_bounds(ph, temp_c)
    if bounds.low_h is not None and bounds.high_h is not None:
        assert bounds.low_h <= bounds.high_h
    assert bool(bounds.points) == (bounds.low_h is not None or bounds.high_h is not None)
    assert bounds.says


@quick
@given(st.floats(0.0, 14.0), st.floats(-2.0, 50.0))
def test_nothing_is_reckoned_outside(ph, temp_c):
    inside = (7.0 <= ph <= 9.0 and 22.0 <= temp_c <= 25.0) or (
        7.0 <= ph <= 8.0 and 25.0 <= temp_c <= 37.5
    )
    if inside:
        assert trichlorfon_half_life(ph, temp_c).half_life_h > 0.0
        return
    with pytest.raises(BadInput, match=r"pH 7-9 at 22-25 °C, and pH 7-8 up to 37\.5 °C"):
        trichlorfon_half_life(ph, temp_c)


@pytest.mark.parametrize(
    ("ph", "temp_c", "field", "said"),
    [
        (6.8, 19.0, "pH", "at least 46 h"),
        (9.5, 25.0, "pH", "at most 30 min"),
        (8.5, 15.0, "temperature", "longer than the 88 min of 25 °C"),
        (8.5, 30.0, "pH", "at most 34 h"),
        (7.5, 45.0, "temperature", "at most 6.43 h"),
    ],
)
def test_a_refusal_says_what_is_known_all_the_same(ph, temp_c, field, said):
    with pytest.raises(BadInput, match=said) as raised:
        trichlorfon_half_life(ph, temp_c)
    assert raised.value.field == field
    assert "without any loss" in raised.value.message


def test_a_figure_printed_as_less_than_is_no_lower_bound():
    assert trichlorfon_bounds(9.0, 20.0).low_h == pytest.approx(31.0 / 60.0, abs=1e-4)
    assert trichlorfon_bounds(9.5, 23.0).high_h == 0.5
    answer = trichlorfon_half_life(8.9, 22.0)
    assert any("less than" in one for one in answer.remarks)
    assert not any("printed as 'less" in one for one in trichlorfon_half_life(8.9, 25.0).remarks)


def test_publications_that_disagree_are_both_shown():
    bounds = trichlorfon_bounds(9.0, 23.5)
    assert (bounds.low_h, bounds.high_h) == (0.5, pytest.approx(31.0 / 60.0, abs=1e-4))
    assert any("disagree" in one for one in bounds.remarks)


@pytest.mark.parametrize("bad", [math.nan, math.inf, -3.0, 99.0])
def test_what_cannot_be_is_refused_at_its_field(bad):
    for reckon in (trichlorfon_half_life, trichlorfon_bounds):
        with pytest.raises(BadInput) as raised:
            reckon(bad, 24.0)
        assert raised.value.field == "pH"
        with pytest.raises(BadInput) as raised:
            reckon(8.0, bad)
        assert raised.value.field == "temperature"
