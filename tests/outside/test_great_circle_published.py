"""Straight distances against a published tour, a published geodesic and the closed forms."""

from __future__ import annotations

from itertools import pairwise
from math import acos, atan2, cos, pi, radians, sin, sqrt
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.diary.booking.added import Added, Call, added_way, way_min
from store.diary.booking.ways import Ways
from store.travel.place import EARTH_RADIUS_KM, Place, distance_km
from store.travel.ways import Driven, Stop, site_end

# TSPLIB: Reinelt, G. 1991, TSPLIB, a traveling salesman problem library, ORSA Journal on Computing
# 3 (4), 376–384. Instance ulysses22 (Grötschel and Padberg), degrees and minutes as DDD.MM, in the
# order of its published optimal tour, whose length is 7013.
_ULYSSES22 = (
    (38.24, 20.42), (37.51, 15.17), (38.15, 15.35), (38.47, 15.13), (38.42, 13.11), (37.56, 12.19),
    (35.49, 14.32), (33.48, 10.54), (36.08, -5.21), (41.23, 9.10), (41.17, 13.05), (40.44, 13.57),
    (40.33, 14.15), (40.37, 14.23), (39.36, 19.56), (40.56, 25.32), (39.57, 26.15), (38.09, 24.36),
    (37.57, 22.56), (36.26, 23.12), (36.09, 23.00), (37.52, 20.44),
)  # fmt: skip
_TOUR_KM = 7013
_THEIR_RADIUS_KM = 6378.388
"""The radius by which TSPLIB defines its distances; each is cut to whole kilometres after adding 1.
"""


def _degrees(ddd_mm: float) -> float:
    whole = int(ddd_mm)
    return whole + (ddd_mm - whole) * 100.0 / 60.0


_TOUR = [Place(_degrees(lat), _degrees(lon)) for lat, lon in _ULYSSES22]


def test_the_length_of_a_published_tour() -> None:
    legs = pairwise([*_TOUR, _TOUR[0]])
    scale = _THEIR_RADIUS_KM / EARTH_RADIUS_KM
    assert sum(int(distance_km(one, other) * scale + 1.0) for one, other in legs) == _TOUR_KM


def test_each_place_of_the_tour_costs_its_own_detour_and_nowhere_less() -> None:
    """With the published distances as the practice's table: put back where it adds least, no place
    costs more than in the optimal tour, nor less, or that tour would not be the shortest."""
    scale = _THEIR_RADIUS_KM / EARTH_RADIUS_KM
    stops = [Stop(site_end(UUID(int=at)), "", None) for at in range(len(_TOUR))]
    km = {
        (one.end, other.end): int(distance_km(_TOUR[i], _TOUR[j]) * scale + 1.0)
        for i, one in enumerate(stops)
        for j, other in enumerate(stops)
        if i != j
    }
    ways = Ways({pair: Driven(float(long), float(long), "TSPLIB") for pair, long in km.items()})
    start = stops[0]
    every = [Call(one, at) for at, one in enumerate(stops) if at]
    assert way_min(every, ways, start, start) == _TOUR_KM
    for left_out in range(1, len(stops)):
        rest = [one for one in every if one.minute != left_out]
        here, own = stops[left_out], _TOUR_KM - way_min(rest, ways, start, start)
        in_order = added_way(rest, here, left_out, ways, start, start)
        free = added_way(rest, here, None, ways, start, start)
        assert in_order == free == Added(own, float(own), "table")


def _dms(degrees: int, minutes: int, seconds: float) -> float:
    size = abs(degrees) + minutes / 60 + seconds / 3600
    return -size if degrees < 0 else size


def test_a_published_geodesic_within_the_flattening_of_the_earth() -> None:
    """Flinders Peak to Buninyong, 54 972.271 m on the GRS80 ellipsoid.

    Intergovernmental Committee on Surveying and Mapping, Geocentric Datum of Australia Technical
    Manual, version 2.3, chapter 4, worked example. A sphere may err by 0.6 %.
    """
    flinders = Place(_dms(-37, 57, 3.72030), _dms(144, 25, 29.52440))
    buninyong = Place(_dms(-37, 39, 10.15610), _dms(143, 55, 35.38390))
    assert distance_km(flinders, buninyong) == pytest.approx(54.972271, rel=0.006)


@pytest.mark.parametrize(
    ("one", "other", "share_of_circle"),
    [
        (Place(0, 0), Place(90, 0), 1 / 4),
        (Place(90, 0), Place(-90, 77), 1 / 2),
        (Place(0, 170), Place(0, -170), 20 / 360),
        (Place(52, -0.5), Place(53, -0.5), 1 / 360),
        (Place(-10, 30), Place(10, -150), 1 / 2),
    ],
)
def test_arcs_that_are_known_without_any_formula(
    one: Place, other: Place, share_of_circle: float
) -> None:
    assert distance_km(one, other) == pytest.approx(2 * pi * EARTH_RADIUS_KM * share_of_circle)


_PLACES = st.builds(Place, st.floats(-90, 90), st.floats(-180, 180))


@given(_PLACES, _PLACES)
def test_other_closed_forms_of_the_same_arc(one: Place, other: Place) -> None:
    """The arc between two unit vectors, and Vincenty's form on a sphere (Vincenty 1975)."""
    lat1, lat2 = radians(one.latitude), radians(other.latitude)
    along = radians(other.longitude - one.longitude)
    across = sqrt(
        (cos(lat2) * sin(along)) ** 2
        + (cos(lat1) * sin(lat2) - sin(lat1) * cos(lat2) * cos(along)) ** 2
    )
    dot = sin(lat1) * sin(lat2) + cos(lat1) * cos(lat2) * cos(along)
    by_vincenty = EARTH_RADIUS_KM * atan2(across, dot)
    by_cosine = EARTH_RADIUS_KM * acos(max(-1.0, min(1.0, dot)))
    # Near the other side of the earth the haversine, near the same place the cosine loses digits.
    assert distance_km(one, other) == pytest.approx(by_vincenty, abs=0.2)
    assert by_cosine == pytest.approx(by_vincenty, abs=0.2)
