"""What must hold of every estimate, whatever was read."""

from __future__ import annotations

import math
from datetime import date
from uuid import UUID

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from made_ponds import (
    DAYS,
    FIRST,
    NOISE_C,
    PONDS,
    fitted,
    grid,
    key,
    traits,
    water,
    with_reading,
)

from store.warmth.estimate import (
    APART,
    DAYS_AHEAD,
    EIGHTY,
    NOT_YET,
    TOO_LITTLE,
    Ahead,
    Estimates,
    below,
)
from store.warmth.fit import Fit, fit
from store.warmth.season import harmonics
from store.warmth.values import Grid, Value, grid_of
from store.warmth.widths import widths

UNTIL = DAYS - 60
TODAY = FIRST + UNTIL + 20


def recent(today: int = TODAY) -> Grid:
    whole = grid()
    first = today - 65 - FIRST
    last = today - FIRST + 1
    return Grid(
        whole.ponds, FIRST + first, whole.temp_c[:, first:last], whole.noise_c[:, first:last]
    )


def known() -> Fit:
    return fitted(UNTIL)


def of(readings: Grid, pond: int, today: int = TODAY) -> Ahead:
    found = Estimates(known(), readings, today).ahead(key(pond))
    assert found is not None
    return found


@settings(max_examples=25)
@given(
    st.integers(0, PONDS - 1),
    st.integers(0, 65),
    st.floats(-5.0, 60.0),
)
def test_an_estimate_lies_inside_the_physical_range(pond: int, age: int, temp_c: float) -> None:
    readings = with_reading(recent(), pond, TODAY - age, temp_c)
    for one in range(PONDS):
        found = of(readings, one)
        assert all(0.0 <= mean <= 40.0 for mean in found.means_c)
        assert all(0.0 < spread < 20.0 for spread in found.spreads_c)


@settings(max_examples=25)
@given(st.integers(0, PONDS - 1), st.integers(0, PONDS - 1), st.integers(0, 12))
def test_a_nearer_reading_never_widens_an_interval(asked: int, read: int, age: int) -> None:
    readings = recent()
    bare = Grid(readings.ponds, readings.first_day, readings.temp_c.copy(), readings.noise_c.copy())
    bare.temp_c[read, -13:] = np.nan
    bare.noise_c[read, -13:] = np.nan
    usual = float(water()[read, TODAY - age - FIRST])
    more = with_reading(bare, read, TODAY - age, usual)
    before, after = of(bare, asked), of(more, asked)
    # Of a pond with more readings than are used the oldest gives way: a hair's breadth at most.
    for day in range(TODAY, TODAY + DAYS_AHEAD + 1):
        assert after.at(day)[1] <= before.at(day)[1] * 1.002


@settings(max_examples=12)
@given(st.integers(1, 40), st.integers(0, 39))
def test_the_nearer_of_two_readings_says_more(older: int, nearer: int) -> None:
    """Of a pond read once and nobody else: else it matters also who else was read on the day."""
    nearer = min(nearer, older - 1)
    nothing = recent()
    nothing.temp_c[:], nothing.noise_c[:] = np.nan, np.nan
    far = with_reading(nothing, 0, TODAY - older, 12.0)
    near = with_reading(nothing, 0, TODAY - nearer, 12.0)
    for day in range(TODAY, TODAY + DAYS_AHEAD + 1):
        assert of(near, 0).at(day)[1] < of(far, 0).at(day)[1]


def test_shuffling_the_ponds_changes_nothing() -> None:
    whole = grid(until=UNTIL)
    values = [
        Value(whole.ponds[pond], FIRST + int(day), float(whole.temp_c[pond, day]), NOISE_C)
        for pond, day in np.argwhere(~np.isnan(whole.temp_c))
    ]
    mixed = [values[at] for at in np.random.default_rng(5).permutation(len(values))]
    last = FIRST + UNTIL - 1
    one = grid_of(values, whole.ponds, FIRST, last)
    other = grid_of(mixed, tuple(reversed(whole.ponds)), FIRST, last)
    assert one.ponds == other.ponds
    np.testing.assert_array_equal(one.temp_c, other.temp_c)
    np.testing.assert_array_equal(one.temp_c, whole.temp_c)


def test_other_names_for_the_ponds_change_no_number() -> None:
    """The order of the keys decides where a pond stands; where it stands must not matter."""
    backwards = np.arange(PONDS)[::-1]
    whole, now = grid(until=UNTIL), recent()
    mirrored = Grid(whole.ponds, FIRST, whole.temp_c[backwards], whole.noise_c[backwards])
    kinds = [traits()[at] for at in backwards]
    turned = fit(mirrored, kinds, width=widths(mirrored, kinds))
    assert turned is not None
    other = Estimates(
        turned,
        Grid(now.ponds, now.first_day, now.temp_c[backwards], now.noise_c[backwards]),
        TODAY,
    )
    straight = Estimates(known(), now, TODAY)
    np.testing.assert_allclose(other.mean_c[backwards], straight.mean_c, atol=2e-3)
    np.testing.assert_allclose(other.spread_c[backwards], straight.spread_c, atol=2e-3)


@settings(max_examples=20)
@given(st.integers(0, PONDS - 1), st.floats(-4.0, 4.0))
def test_its_own_fresh_reading_wins(pond: int, off_c: float) -> None:
    bare = recent()
    bare.temp_c[pond, -1], bare.noise_c[pond, -1] = np.nan, np.nan
    usual = of(bare, pond).at(TODAY)[0]
    read = max(usual + off_c, 0.0)
    found = of(with_reading(bare, pond, TODAY, read), pond).at(TODAY)
    assert abs(found[0] - read) < abs(found[0] - usual) + 1e-9 or abs(read - usual) < 0.2
    for other in range(PONDS):
        if other != pond:
            lent = of(with_reading(bare, other, TODAY, read), pond).at(TODAY)
            assert lent[1] > found[1]


def test_nothing_of_the_future_is_seen() -> None:
    readings = recent()
    mean = Estimates(known(), readings, TODAY).mean_c
    longer = Grid(
        readings.ponds,
        readings.first_day,
        np.concatenate([readings.temp_c, np.full((PONDS, 5), 33.0)], 1),
        np.concatenate([readings.noise_c, np.full((PONDS, 5), 0.1)], 1),
    )
    np.testing.assert_array_equal(Estimates(known(), longer, TODAY).mean_c, mean)
    changed = grid()
    changed.temp_c[:, UNTIL:] = 33.0
    before = changed.until(FIRST + UNTIL - 1)
    again = fit(before, traits(), width=widths(before, traits()))
    assert again is not None
    np.testing.assert_array_equal(again.season, known().season)


def test_estimates_beat_the_last_reading_and_hold_what_they_say() -> None:
    """Of invented water: that it works at all; how well it works is told by open series."""
    off, last, held = [], [], []
    for today in range(FIRST + 420, FIRST + DAYS - 8, 14):
        now = Estimates(fitted(420), recent(today), today)
        for pond in range(PONDS):
            ahead = now.ahead(key(pond))
            told = now.told(key(pond))
            assert ahead is not None
            assert told is not None
            assert told.own_last_c is not None
            mean_c, spread_c = ahead.at(today + 7)
            true = float(water()[pond, today + 7 - FIRST])
            off.append(true - mean_c)
            last.append(true - told.own_last_c)
            held.append(abs(true - mean_c) < EIGHTY * spread_c)
    assert np.sqrt(np.mean(np.square(off))) < 0.9 * np.sqrt(np.mean(np.square(last)))
    assert 0.6 < np.mean(held) < 0.95


def test_too_little_known_gives_no_number() -> None:
    whole = grid(until=UNTIL)
    new = with_reading(whole, 3, FIRST + UNTIL - 2, 11.0)
    new.temp_c[3, : UNTIL - 3] = np.nan
    new.temp_c[4] = np.nan
    found = fit(new, traits({5: "indoor"}))
    assert found is not None
    now = Estimates(found, new, FIRST + UNTIL)
    assert now.why_not(key(5)) == APART
    assert now.why_not(key(4)) == TOO_LITTLE
    assert now.why_not(UUID(int=5)) == NOT_YET
    assert now.why_not(key(0)) == ""
    assert now.ahead(key(4)) is None
    assert now.told(key(5)) is None
    assert set(now) == {key(at) for at in range(PONDS)} - {
        key(at) for at in range(PONDS) if now.why_not(key(at))
    }


def test_no_pond_lets_nothing_be_learnt() -> None:
    nothing = Grid((key(0),), FIRST, np.full((1, 50), np.nan), np.full((1, 50), np.nan))
    assert fit(nothing, traits()[:1]) is None
    three = with_reading(with_reading(nothing, 0, FIRST + 3, 9.0), 0, FIRST + 30, 12.0)
    assert fit(three, traits()[:1]) is None


def test_what_it_rests_on_is_told() -> None:
    now = Estimates(known(), recent(), TODAY)
    told = now.told(key(2))
    assert told is not None
    assert told.today == date.fromordinal(TODAY)
    assert [one.day.toordinal() for one in told.days] == list(range(TODAY - 14, TODAY + 15))
    assert told.of_today.low_c < told.of_today.mean_c < told.of_today.high_c
    assert told.season_c == pytest.approx(
        float(harmonics(np.array([TODAY]))[0] @ known().season[2]), abs=1e-9
    )
    assert told.neighbours
    assert told.own_last_on is not None
    assert [one.likeness for one in told.neighbours] == sorted(
        (one.likeness for one in told.neighbours), reverse=True
    )
    assert all(0.25 <= one.likeness < 1.0 for one in told.neighbours)
    assert not told.own_doubted


def test_the_chance_of_a_band_is_that_of_a_normal_value() -> None:
    """Against the standard normal table: 0.8413 below 1, 0.8 within 1.2816 on both sides."""
    assert below(1.0, 0.0, 1.0) == pytest.approx(0.8413, abs=5e-5)
    one = Ahead(10, 11, [15.0, 16.0], [2.0, 1.0])
    assert one.inside(11, 16.0 - 1.2816, 16.0 + 1.2816) == pytest.approx(0.8, abs=1e-4)
    assert one.inside(10, 17.0, math.inf) == pytest.approx(1 - 0.8413, abs=5e-5)
    assert one.inside(10, -math.inf, math.inf) == 1.0
