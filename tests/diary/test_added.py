"""Distances, drives, and what one more visit adds to the way of a day."""

from __future__ import annotations

from itertools import permutations
from math import pi

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.diary.booking.added import (
    UNKNOWN_DRIVE_MIN,
    Call,
    added_way,
    drive_min,
    said_drive,
    way_km,
)
from store.travel.place import EARTH_RADIUS_KM, Place, distance_km, place_of

PLACES = st.builds(Place, st.floats(-90, 90), st.floats(-180, 180))
NEAR = st.builds(Place, st.floats(51, 53), st.floats(-1, 1))
STARTS = st.none() | NEAR


@st.composite
def days(draw: st.DrawFn) -> list[Call]:
    minutes = draw(st.lists(st.integers(0, 1439), unique=True, max_size=6))
    return [Call(draw(NEAR), minute) for minute in minutes]


@given(PLACES, PLACES, PLACES)
def test_a_distance_is_one(one: Place, other: Place, third: Place) -> None:
    km = distance_km(one, other)
    assert 0.0 <= km <= pi * EARTH_RADIUS_KM * (1 + 1e-12)
    assert distance_km(other, one) == pytest.approx(km, abs=1e-9)
    assert distance_km(one, one) == 0.0
    assert km <= distance_km(one, third) + distance_km(third, other) + 1e-6


@given(st.floats(-90, 90), st.floats(-180, 180), st.floats(-90, 90))
def test_a_place_has_many_names_at_the_date_line_and_the_poles(
    latitude: float, longitude: float, other: float
) -> None:
    assert distance_km(Place(latitude, 180), Place(latitude, -180)) == pytest.approx(0, abs=1e-6)
    assert distance_km(Place(90, longitude), Place(90, 0)) == pytest.approx(0, abs=1e-6)
    east, west = Place(latitude, 179.99), Place(other, -179.99)
    shifted = Place(latitude, -0.01), Place(other, 0.01)
    assert distance_km(east, west) == pytest.approx(distance_km(*shifted), abs=0.01)


def test_a_place_needs_both_of_its_numbers() -> None:
    assert place_of(51.5, None) is None
    assert place_of(None, 0.1) is None
    assert place_of(0.0, 0.0) == Place(0.0, 0.0)


@given(st.floats(0, 20_000), st.floats(0, 20_000))
def test_a_longer_way_never_takes_less_time(one_km: float, other_km: float) -> None:
    shorter, longer = sorted((one_km, other_km))
    assert drive_min(shorter) <= drive_min(longer)
    assert drive_min(one_km) >= one_km * 1.3 / 40 * 60 - 1e-3


def test_minutes_of_a_drive_are_rounded_up_and_an_unknown_one_is_not_none() -> None:
    assert drive_min(40 / 1.3) == 60
    assert drive_min(0.001) == 1
    assert drive_min(None) == UNKNOWN_DRIVE_MIN
    assert "40 km/h" in said_drive()
    assert "1.3 times" in said_drive()
    assert "common practice" in said_drive()


@given(days(), NEAR, st.integers(0, 1439), STARTS)
def test_what_is_added_is_the_difference_of_the_two_ways(
    calls: list[Call], here: Place, minute: int, start: Place | None
) -> None:
    if any(one.minute == minute for one in calls):
        return
    added = added_way(calls, here, minute, start)
    if not calls and start is None:
        assert added is None
        return
    difference = way_km([*calls, Call(here, minute)], start) - way_km(calls, start)
    assert added == pytest.approx(difference, abs=1e-6)


@given(days(), NEAR, st.integers(0, 1439), STARTS)
def test_a_free_hour_never_costs_more_than_a_fixed_one_and_nothing_is_ever_gained(
    calls: list[Call], here: Place, minute: int, start: Place | None
) -> None:
    fixed, free = added_way(calls, here, minute, start), added_way(calls, here, None, start)
    assert (fixed is None) == (free is None)
    if fixed is not None and free is not None:
        assert 0.0 <= free <= fixed + 1e-9


@given(days(), NEAR, st.integers(0, 1439), STARTS)
def test_the_order_in_which_visits_are_told_does_not_matter(
    calls: list[Call], here: Place, minute: int, start: Place | None
) -> None:
    told = {
        round(added_way(list(order), here, minute, start) or 0.0, 9)
        for order in list(permutations(calls))[:20]
    }
    assert len(told) == 1


def test_between_two_visits_only_the_detour_counts_and_behind_both_all_of_it() -> None:
    here = Place(0.0, 0.5)
    calls = [Call(Place(0.0, 0.0), 540), Call(Place(0.0, 1.0), 660)]
    assert added_way(calls, here, 600, None) == pytest.approx(0.0, abs=1e-9)
    behind = added_way(calls, here, 700, None)
    assert behind == pytest.approx(distance_km(Place(0.0, 1.0), here))
    with_home = added_way(calls, here, 700, Place(0.0, 0.0))
    assert with_home == pytest.approx(0.0, abs=1e-9), "on the way home"


def test_visits_without_an_hour_stand_where_they_add_least() -> None:
    west, middle, east = (Place(0.0, lon) for lon in (0.0, 1.0, 2.0))
    calls = [Call(east, 720), Call(middle, None), Call(west, 540)]
    assert way_km(calls) == pytest.approx(distance_km(west, east))
    # Between nine and twelve the way may pass on either side of the visit without an hour.
    assert added_way(calls, Place(0.0, 0.5), 600, None) == pytest.approx(0.0, abs=1e-9)
    assert added_way(calls, Place(0.0, 1.5), 600, None) == pytest.approx(0.0, abs=1e-9)
    assert added_way([Call(middle, None)], west, 600, None) == pytest.approx(
        distance_km(west, middle)
    )


def test_the_start_alone_is_a_way_there_and_back() -> None:
    home, here = Place(51.0, 0.0), Place(51.2, 0.3)
    assert added_way([], here, 600, home) == pytest.approx(2 * distance_km(home, here))
    assert way_km([], home) == 0.0
