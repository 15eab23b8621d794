"""Volumes: they scale, their bounds hold them, and the salt method knows its meter."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from store.errors import BadInput
from store.water.shapes import circle, depth_grid, ellipse, l_shape, rectangle, sloping_floor
from store.water.volume import by_salt, difference_percent, salt_to_raise_g, stated, with_filter

quick = settings(deadline=None, max_examples=100, derandomize=True)
SIZE_M = st.floats(0.2, 100.0)
PART = st.floats(0.05, 0.9)

SHAPES = {
    "rectangle": lambda a, b, c, part, error_m: rectangle(a, b, c, error_m),
    "circle": lambda a, b, c, part, error_m: circle(a, c, error_m),
    "ellipse": lambda a, b, c, part, error_m: ellipse(a, b, c, error_m),
    "l-shape": lambda a, b, c, part, error_m: l_shape(a, b, part * a, part * b, c, error_m=error_m),
    "slope": lambda a, b, c, part, error_m: sloping_floor(a, b, part * c, c, error_m),
    "grid": lambda a, b, c, part, error_m: depth_grid([[c, part * c], [0.0, c]], a, b, error_m),
}


@pytest.mark.parametrize("shape", SHAPES)
@quick
@given(SIZE_M, SIZE_M, SIZE_M, PART)
def test_twice_the_size_is_eight_times_the_water(shape, a, b, c, part):
    once = SHAPES[shape](a, b, c, part, 0.05)
    twice = SHAPES[shape](2 * a, 2 * b, 2 * c, part, 0.05)
    assert twice.litres == pytest.approx(8.0 * once.litres, rel=1e-9)


@pytest.mark.parametrize("shape", SHAPES)
@quick
@given(st.tuples(SIZE_M, SIZE_M, SIZE_M, PART), st.floats(0.0, 0.5))
def test_bounds_hold_the_volume_and_widen_with_the_error(shape, sizes, error_m):
    volume = SHAPES[shape](*sizes, error_m)
    wider = SHAPES[shape](*sizes, error_m + 0.1)
    slack = 1.0 + 1e-12
    assert 0.0 <= volume.low_l <= volume.litres * slack
    assert volume.litres <= volume.high_l * slack
    assert wider.low_l <= volume.low_l * slack
    assert wider.high_l > volume.high_l


def test_shapes_agree_where_they_are_the_same_pond():
    assert ellipse(4.0, 4.0, 1.5).litres == pytest.approx(circle(4.0, 1.5).litres)
    assert sloping_floor(6.0, 3.0, 1.2, 1.2).litres == pytest.approx(
        rectangle(6.0, 3.0, 1.2).litres
    )
    assert depth_grid([[1.2] * 6] * 3, 1.0, 1.0).litres == pytest.approx(
        rectangle(6.0, 3.0, 1.2).litres
    )
    two = rectangle(6.0, 2.0, 1.0).litres + rectangle(4.0, 2.0, 1.0).litres
    assert l_shape(6.0, 4.0, 2.0, 2.0, 1.0).litres == pytest.approx(two)


def test_bounds_by_hand():
    volume = rectangle(5.0, 3.0, 1.5, 0.05)
    assert volume.low_l == pytest.approx(4.95 * 2.95 * 1.45 * 1000.0)
    assert volume.high_l == pytest.approx(5.05 * 3.05 * 1.55 * 1000.0)
    # The corner of an L is missing water: too large a corner makes the pond smaller.
    volume = l_shape(6.0, 4.0, 2.0, 2.0, 1.0, error_m=0.1)
    assert volume.low_l == pytest.approx((5.9 * 3.9 - 2.1 * 2.1) * 0.9 * 1000.0)
    # Dry cells of a grid stay dry.
    volume = depth_grid([[0.0, 1.0]], 2.0, 2.0, 0.1)
    assert (volume.low_l, volume.high_l) == (pytest.approx(3600.0), pytest.approx(4400.0))


@pytest.mark.parametrize("bad", [0.0, -1.0, math.nan, math.inf])
@pytest.mark.parametrize(
    "call",
    [
        lambda bad: rectangle(bad, 1.0, 1.0),
        lambda bad: rectangle(1.0, 1.0, bad),
        lambda bad: circle(bad, 1.0),
        lambda bad: ellipse(1.0, bad, 1.0),
        lambda bad: l_shape(4.0, 4.0, 1.0, 1.0, bad),
        lambda bad: sloping_floor(4.0, 4.0, 0.5, bad),
        lambda bad: depth_grid([[1.0]], bad, 1.0),
        lambda bad: by_salt(bad, 0.0, 1.0, 0.1),
        lambda bad: by_salt(1000.0, 0.0, 1.0, bad),
        lambda bad: by_salt(1000.0, 0.0, 1.0, 0.1, purity=bad),
        lambda bad: salt_to_raise_g(bad, 0.0, 1.0),
        stated,
    ],
)
def test_a_size_that_cannot_be_is_refused(call, bad):
    with pytest.raises(BadInput):
        call(bad)


@pytest.mark.parametrize(
    "call",
    [
        lambda: depth_grid([], 1.0, 1.0),
        lambda: depth_grid([[0.0, 0.0]], 1.0, 1.0),
        lambda: depth_grid([[1.0, -0.1]], 1.0, 1.0),
        lambda: sloping_floor(4.0, 4.0, -0.1, 1.0),
        lambda: l_shape(4.0, 4.0, 4.0, 1.0, 1.0),
        lambda: l_shape(4.0, 4.0, 1.0, 4.1, 1.0),
        lambda: l_shape(4.0, 4.0, math.nan, 1.0, 1.0),
        lambda: rectangle(1.0, 1.0, 1.0, -0.1),
        lambda: stated(1000.0, 101.0),
    ],
)
def test_a_shape_that_cannot_be_is_refused(call):
    with pytest.raises(BadInput):
        call()


def test_a_slope_may_begin_at_the_bank():
    assert sloping_floor(4.0, 2.0, 0.0, 1.0).litres == pytest.approx(4000.0)


@quick
@given(st.floats(100.0, 1e6), st.floats(0.0, 5.0), st.floats(0.01, 0.2), st.floats(3.01, 100.0))
def test_salt_gives_bounds_that_hold_the_volume(salt_g, before, step, steps):
    volume = by_salt(salt_g, before, before + steps * step, step)
    assert 0.0 < volume.low_l < volume.litres < volume.high_l < math.inf
    assert by_salt(2 * salt_g, before, before + steps * step, step).litres == pytest.approx(
        2.0 * volume.litres
    )
    back_g = salt_to_raise_g(volume.litres, before, before + steps * step)
    assert back_g == pytest.approx(salt_g, rel=1e-6)


def test_three_steps_of_the_meter_are_the_least():
    # 0.3 - 0.0 is exactly three steps of 0.1, though not in binary.
    assert by_salt(3000.0, 0.4, 0.7, 0.1).litres == pytest.approx(10_000.0)
    with pytest.raises(BadInput, match="less than three steps"):
        by_salt(3000.0, 0.4, 0.6, 0.1)
    with pytest.raises(BadInput, match="did not rise"):
        by_salt(3000.0, 0.4, 0.4, 0.1)


def test_impure_salt_makes_less_of_a_pond():
    pure, impure = by_salt(1e4, 0.0, 1.0, 0.1), by_salt(1e4, 0.0, 1.0, 0.1, purity=0.97)
    assert impure.litres == pytest.approx(0.97 * pure.litres)
    assert "× 0.97" in impure.workings


def test_salt_asks_how_long_it_mixed():
    assert "not stated" in by_salt(1e4, 0.0, 1.0, 0.1).remarks[0]
    assert "after 2 h" in by_salt(1e4, 0.0, 1.0, 0.1, hours_mixed=2.0).remarks[0]
    assert by_salt(1e4, 0.0, 1.0, 0.1, hours_mixed=24.0).remarks == ()


def test_salt_already_there_needs_none():
    assert salt_to_raise_g(10_000.0, 3.0, 1.0) == 0.0


def test_the_filter_is_counted_once():
    volume = with_filter(rectangle(5.0, 3.0, 1.5), 500.0)
    assert volume.litres == 23_000.0
    assert volume.low_l == rectangle(5.0, 3.0, 1.5).low_l + 500.0
    with pytest.raises(BadInput, match="counted already"):
        with_filter(by_salt(1e4, 0.0, 1.0, 0.1), 500.0)


def test_a_stated_volume_carries_its_doubt():
    volume = stated(20_000.0)
    assert (volume.low_l, volume.high_l) == (14_000.0, 26_000.0)
    assert "not measured" in volume.remarks[0]


@quick
@given(st.floats(1.0, 1e9), st.floats(1.0, 1e9))
def test_a_difference_is_the_same_from_both_sides(a_l, b_l):
    assert difference_percent(a_l, b_l) == difference_percent(b_l, a_l) >= 0.0
    assert difference_percent(a_l, a_l) == 0.0
