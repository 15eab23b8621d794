"""The map of a round: projection, scale, labels that stand apart."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import cos, hypot, pi, radians, sin, sqrt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from store.rounds.day.map import (
    CELL_ASPECT,
    LEAST_KM,
    MapCells,
    MapMark,
    in_the_plane,
    map_cells,
    round_map,
    scale_bar,
    shared_label,
)
from store.rounds.day.values import DayPlan
from store.rounds.solving.problem import Window
from store.travel.place import Place, distance_km
from tests.rounds.day_plans import (
    ADA,
    AT_PRACTICE,
    BRAM,
    driver,
    errand,
    nine_stops,
    plan_of,
    two_drivers,
)

At = tuple[float, float]


def day(*places: At | None, start: At | None = AT_PRACTICE) -> DayPlan:
    long = (Window(0, 10**6),)
    order = [
        errand(nth, f"Pond {nth}", at, minutes=1, windows=long) for nth, at in enumerate(places, 1)
    ]
    return plan_of((driver(at=start, ends=10**6, break_min=0), order))


def drawn(plan: DayPlan, columns: int = 40, rows: int = 14) -> MapCells:
    return map_cells(round_map(plan, None), columns, rows)


def labels(found: MapCells) -> list[str]:
    return [one.label for one in found.marks]


def mark(found: MapCells, label: str) -> MapMark:
    return next(one for one in found.marks if one.label == label)


# The projection


@pytest.mark.parametrize("latitude", [0.0, 15.0, 30.0, 45.0, 53.0, 60.0, 75.0])
def test_a_degree_is_as_long_as_on_the_ellipsoid_within_a_hundredth(latitude: float) -> None:
    # Snyder, J. P. 1987, Map Projections: A Working Manual, USGS Professional Paper 1395, p. 25:
    # a degree of the meridian is π a (1 − e²) / (180 (1 − e² sin² φ)^1.5), one of the parallel
    # π a cos φ / (180 (1 − e² sin² φ)^0.5). Constants: Moritz 2000, J. Geodesy 74, 128–133.
    a_km, e2 = 6378.137, 0.006694380023
    under = 1 - e2 * sin(radians(latitude)) ** 2
    north = pi * a_km * (1 - e2) / (180 * under**1.5)
    east = pi * a_km * cos(radians(latitude)) / (180 * sqrt(under))
    low, high = in_the_plane([Place(latitude - 0.5, 7.0), Place(latitude + 0.5, 8.0)])
    assert high[1] - low[1] == pytest.approx(north, rel=0.01)
    assert high[0] - low[0] == pytest.approx(east, rel=0.01)


@given(
    st.floats(-65, 65), st.floats(-180, 180), st.floats(-0.4, 0.4), st.floats(-0.4, 0.4)
)  # fmt: skip
def test_what_one_drives_in_a_day_is_as_far_as_over_the_ground(
    latitude: float, longitude: float, up: float, along: float
) -> None:
    one, other = Place(latitude, longitude), Place(latitude + up, longitude + along)
    (x1, y1), (x2, y2) = in_the_plane([one, other])
    assert hypot(x2 - x1, y2 - y1) == pytest.approx(distance_km(one, other), rel=2e-4, abs=1e-6)


def test_north_is_up_and_east_at_the_right() -> None:
    found = drawn(day((53.2, -1.7), (53.0, -1.4)))
    north, east, start = mark(found, "1"), mark(found, "2"), mark(found, "S")
    assert north.row < start.row
    assert north.column == start.column
    assert east.column > start.column
    assert east.row == start.row


def test_a_km_to_the_east_is_as_long_as_one_to_the_north() -> None:
    # 0.2° north is 22.24 km; at 53° as much to the east is 0.2° / cos 53°.
    east = 0.2 / cos(radians(53.1))
    found = drawn(day((53.2, -1.7), (53.0, -1.7 + east)), 80, 40)
    high, wide, start = mark(found, "1"), mark(found, "2"), mark(found, "S")
    up_cells = (start.row - high.row) * CELL_ASPECT
    assert wide.column - start.column == pytest.approx(up_cells, abs=CELL_ASPECT)
    assert found.bar is not None
    assert (wide.column - start.column) * found.bar.km_per_column == pytest.approx(
        22.24, abs=found.bar.km_per_column
    )


@pytest.mark.parametrize("start", [(-17.0, 179.9), (66.0, -179.95)])
def test_over_the_date_line_neighbours_stay_neighbours(start: At) -> None:
    found = drawn(day((start[0], -179.9), (start[0], 179.8), start=start))
    assert found.bar is not None
    assert found.bar.km < 50
    columns = {label: mark(found, label).column for label in ("1", "2")}
    assert columns["2"] < columns["1"]


def test_at_the_pole_all_is_one_meridian() -> None:
    assert in_the_plane([Place(90.0, 0.0), Place(90.0, 120.0)])[0][0] == pytest.approx(0, abs=1e-9)
    assert drawn(day((90.0, 10.0), (-90.0, 10.0))).bar is not None


# The scale


@pytest.mark.parametrize(
    ("needed", "most", "km"),
    [(0.3, 10, 2.0), (0.5, 10, 5.0), (1.0, 10, 10.0), (1.9, 10, 10.0), (2.0, 10, 20.0),
     (0.012, 20, 0.2), (90.0, 15, 1000.0), (0.0999, 10, 0.5), (5.0, 1, 5.0), (3.0, 1, 5.0)],
)  # fmt: skip
def test_the_bar_is_the_longest_of_the_series_one_two_five(
    needed: float, most: int, km: float
) -> None:
    # The series 1, 2, 5 times powers of ten: ISO 497 calls it a convenient rounded one.
    bar = scale_bar(needed, most)
    assert bar.km == km


@given(st.floats(1e-4, 500.0), st.integers(1, 120))
def test_the_bar_is_exact_and_everything_still_fits(needed: float, most: int) -> None:
    bar = scale_bar(needed, most)
    assert 1 <= bar.cells <= most
    assert bar.km_per_column * bar.cells == pytest.approx(bar.km)
    assert bar.km_per_column >= needed * (1 - 1e-6)
    # It is never coarser than one cell of the bar makes it.
    assert bar.cells == 1 or bar.km / (bar.cells + 1) < needed
    assert f"{bar.km:.6e}"[:8] in ("1.000000", "2.000000", "5.000000")


# Labels


def test_stops_in_one_cell_share_a_label_in_their_order() -> None:
    found = drawn(nine_stops())
    assert set(labels(found)) == {"S", "1", "2", "3,4", "6", "7", "8", "9"}
    assert [one.item for one in mark(found, "3,4").points] == ["3", "4"]


def test_labels_that_would_touch_are_joined() -> None:
    # The map is 37 cells wide; a cell is about 0.36 km, which is 0.0054° to the east at 53°.
    beside = drawn(day((53.0, -1.5), (53.0, -1.4945)), 40, 20)
    assert set(labels(beside)) == {"S", "1,2"}
    apart = drawn(day((53.0, -1.5), (53.0, -1.489)), 40, 20)
    assert set(labels(apart)) == {"S", "1", "2"}
    assert mark(apart, "2").left - mark(apart, "1").left == 2
    below = drawn(day((53.0, -1.5), (52.994, -1.5)), 40, 20)
    assert mark(below, "2").row == mark(below, "1").row + 1


def test_runs_of_numbers_are_said_shortly() -> None:
    points = round_map(day(*[(53.0, -1.7)] * 8), None).points
    numbers = points[1:9]
    assert shared_label(numbers) == "1–8"
    assert shared_label([numbers[0], numbers[1]]) == "1,2"
    assert shared_label([*numbers[2:5], numbers[7]]) == "3–5,8"
    assert shared_label([points[0], *numbers, points[9]]) == "S,1–8"


def test_a_label_that_would_be_too_long_names_its_first_and_how_many_more() -> None:
    points = round_map(day(*[(53.0, -1.7)] * 20), None).points[1:21]
    assert shared_label(points[:12:2]) == "1,3,5,7,9,11"
    assert shared_label(points[:14:2]) == "1+6"
    assert shared_label(points) == "1–20"


def test_each_driver_has_a_letter_and_a_start_where_it_is_not_the_same() -> None:
    found = drawn(two_drivers(), 70, 30)
    assert set(labels(found)) == {"SA", "A1", "A2", "A3", "A4", "SB", "B1", "B2", "B3"}
    assert set(labels(map_cells(round_map(two_drivers(), BRAM), 70, 30))) == {"S", "1", "2", "3"}


def test_from_one_place_all_start_at_one_letter() -> None:
    near, far = errand(1, "One", (53.1, -1.7)), errand(2, "Two", (53.0, -1.4))
    plan = plan_of((driver(), [near]), (driver(BRAM, "Bram Oystercatch"), [far]))
    assert set(labels(drawn(plan))) == {"S", "A1", "B1"}


def test_an_end_elsewhere_has_a_letter_of_its_own() -> None:
    from store.travel.ways import PRACTICE

    who = driver(at=(53.1, -1.5), home=PRACTICE)
    found = drawn(plan_of((who, [errand(1, "One", (52.9, -1.6))])))
    assert set(labels(found)) == {"S", "1", "E"}
    assert found.tracks[0].stretches[0][-1] == (mark(found, "E").column, mark(found, "E").row)


def test_who_has_no_stop_is_on_no_map() -> None:
    plan = plan_of((driver(), []), (driver(BRAM, "Bram"), [errand(1, "One", (53.1, -1.7))]))
    assert [tour.letter for tour in round_map(plan, None).tours] == [""]
    assert round_map(plan, ADA).tours == ()
    assert map_cells(round_map(plan, ADA), 40, 14).marks == ()


# The lines


def test_the_line_runs_through_the_labels_and_breaks_where_a_place_is_not_known() -> None:
    found = drawn(nine_stops())
    (track,) = found.tracks
    at = {label: (mark(found, label).column, mark(found, label).row) for label in labels(found)}
    first, second = track.stretches
    assert first == (at["S"], at["1"], at["2"], at["3,4"], at["3,4"])
    assert second == (at["6"], at["7"], at["8"], at["9"], at["S"])
    assert [one.label for one in round_map(nine_stops(), None).lost] == ["5"]


# What is strange


@pytest.mark.parametrize(
    "places",
    [
        [(53.0, -1.7)],
        [(53.0, -1.7)] * 9,
        [None],
        [None, (53.0, -1.7)],
        [(-89.0, -179.0), (89.0, 179.0)],
    ],
)
@pytest.mark.parametrize("start", [AT_PRACTICE, None])
def test_nothing_strange_breaks_the_map(places: list[At | None], start: At | None) -> None:
    plan = day(*places, start=start)
    for columns, rows in ((1, 1), (2, 3), (30, 13), (200, 60), (0, 0)):
        found = drawn(plan, columns, rows)
        assert all(0 <= one.column < columns and 0 <= one.row < rows for one in found.marks)


@pytest.mark.parametrize(
    "at", [None, (float("nan"), 0.0), (95.0, 1.0), (53.1, float("inf"))]
)  # fmt: skip
def test_a_place_that_is_none_is_told_as_lost(at: At | None) -> None:
    plan = day((53.1, -1.7), (53.2, -1.7))
    assert not round_map(plan, None).lost
    north, east = at or (None, None)
    (one,) = plan.rounds
    stop = replace(
        one.stops[0], errand=replace(one.stops[0].errand, latitude=north, longitude=east)
    )
    strange = replace(plan, rounds=(replace(one, stops=(stop, one.stops[1])),))
    assert [point.label for point in round_map(strange, None).lost] == ["1"]
    assert set(labels(drawn(strange))) == {"S", "2"}


def test_one_place_alone_stands_in_the_middle_with_the_least_scale() -> None:
    found = drawn(day((53.0, -1.7)), 41, 15)
    (only,) = found.marks
    assert (only.column, only.row, only.label) == (20, 7, "S,1")
    assert found.bar is not None
    assert found.bar.km_per_column * 38 >= LEAST_KM


_PLACES = st.lists(
    st.tuples(st.floats(52.8, 53.2), st.floats(-2.0, -1.4)), min_size=1, max_size=25
)  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(_PLACES, st.integers(1, 90), st.integers(1, 40))
def test_every_point_has_one_label_and_none_touches_another(
    places: list[At], columns: int, rows: int
) -> None:
    plan = day(*places)
    found = drawn(plan, columns, rows)
    shown = [point for one in found.marks for point in one.points]
    assert sorted(shown, key=repr) == sorted(round_map(plan, None).points, key=repr)
    for one in found.marks:
        assert one.left <= one.column < one.left + len(one.label)
        assert one.left + len(one.label) <= max(columns, len(one.label))
    by_row = sorted(found.marks, key=lambda one: (one.row, one.left))
    for one, other in pairwise(by_row):
        assert one.row < other.row or one.left + len(one.label) < other.left
