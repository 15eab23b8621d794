"""How long every way takes: reckoned, by the practice's own table, or not known."""

from __future__ import annotations

import copy
from math import cos, radians
from typing import Any
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.facts.driving import FILE, WANTED, driving, figures, read_driving
from store.facts.entry import file_tables
from store.facts.sources import source_standings
from store.travel.place import EARTH_RADIUS_KM, Place, distance_km
from store.travel.reckoned import reckoned, said_reckoned
from store.travel.ways import (
    PRACTICE,
    Driven,
    DriveTable,
    Stop,
    at_practice,
    site_end,
    travel,
    vet_end,
    way_between,
)

HOME, BROOK, MERE = vet_end(UUID(int=9)), site_end(UUID(int=1)), site_end(UUID(int=2))
FAR_KM = st.floats(0.0, 600.0)
PLACES = st.builds(Place, st.floats(50.0, 53.0), st.floats(-2.0, 2.0))


def stop(end: Any = BROOK, name: str = "Brook House", place: Place | None = None) -> Stop:
    return Stop(end, name, place)


AT_HOME = stop(HOME, "Ada Vet's start", Place(52.0, 0.0))
AT_BROOK = stop(BROOK, "Brook House", Place(52.1, 0.0))
AT_MERE = stop(MERE, "Mere Farm", None)


# --- reckoned -------------------------------------------------------------------------------------


def test_the_stretches_of_a_way_by_hand() -> None:
    """Common practice throughout: 1.3, and 30, 55 and 80 km/h up to 5, up to 30 and beyond 30 km.

    40 km × 1.3 = 52 km: 5 / 30 h + 25 / 55 h + 22 / 80 h = 10 + 27.27 + 16.5 = 53.77 min.
    """
    one = reckoned(40.0)
    assert one.road_km == pytest.approx(52.0)
    assert one.minutes == 54
    assert one.km_h == pytest.approx(52.0 / (53.7727 / 60), rel=1e-5)
    assert one.said == "reckoned: 40.0 km straight × 1.3 at 58 km/h"


@pytest.mark.parametrize(
    ("straight_km", "minutes"),
    [(5 / 1.3, 10), (5.5 / 1.3 + 5 / 1.3, 16), (30 / 1.3, 38)],
)
def test_where_one_stretch_meets_the_next(straight_km: float, minutes: int) -> None:
    """5 km at 30 km/h; 5.5 km more at 55 km/h are 6 min; 25 km at 55 km/h are 27.3 min."""
    assert reckoned(straight_km).minutes == minutes


def test_no_drive_takes_less_than_the_least() -> None:
    for straight_km in (0.0, 0.5, 1.9):
        one = reckoned(straight_km)
        assert (one.minutes, one.least) == (5, True)
        assert one.said.endswith("straight, 5 min at the least")
    assert not reckoned(2.0).least  # 2.6 km at 30 km/h are 5.2 min
    assert reckoned(2.0).minutes == 6


def test_short_ways_are_slow_and_long_ones_fast() -> None:
    speeds = [reckoned(km).km_h for km in (1.0, 5.0, 20.0, 60.0, 200.0)]
    assert speeds == sorted(speeds)
    assert speeds[0] == pytest.approx(30.0)
    assert 70.0 < speeds[-1] < 80.0


@given(FAR_KM, FAR_KM)
def test_a_longer_way_never_takes_less_time(one_km: float, other_km: float) -> None:
    shorter, longer = sorted((one_km, other_km))
    assert reckoned(shorter).minutes <= reckoned(longer).minutes


@given(PLACES, PLACES, PLACES)
def test_no_detour_by_a_third_place_is_quicker(one: Place, other: Place, third: Place) -> None:
    straight = reckoned(distance_km(one, other)).minutes
    assert straight <= (
        reckoned(distance_km(one, third)).minutes + reckoned(distance_km(third, other)).minutes
    )


@given(FAR_KM)
def test_what_is_said_leads_to_the_minutes(straight_km: float) -> None:
    """Distance × detour ÷ the speed that is named gives the minutes, as far as they are rounded."""
    one = reckoned(straight_km)
    if not one.least:
        again = straight_km * driving().detour / one.km_h * 60
        assert again <= one.minutes + 1e-6
        assert one.minutes < again + 1 + 1e-6


def test_how_drives_are_reckoned_is_said() -> None:
    said = said_reckoned()
    for part in ("× 1.3", "5 km at 30 km/h", "30 km at 55", "80", "5 min", "common practice"):
        assert part in said


# --- one way --------------------------------------------------------------------------------------


def test_a_way_knows_what_it_rests_on() -> None:
    """0.1° of latitude are 11.12 km: 14.46 km by road, 10 min and 9.46 km at 55 km/h, 10.3 min."""
    way = way_between(AT_HOME, AT_BROOK, {})
    assert (way.basis, way.minutes, way.planned_min, way.known) == ("reckoned", 21, 21, True)
    assert way.said == "reckoned: 11.1 km straight × 1.3 at 43 km/h"
    assert way.km == pytest.approx(radians(0.1) * EARTH_RADIUS_KM * 1.3)


def test_the_practices_own_table_goes_first() -> None:
    said = "the practice's table of 3 May 2026"
    table: DriveTable = {(HOME, BROOK): Driven(12.2, 17.0, said)}
    there, back = way_between(AT_HOME, AT_BROOK, table), way_between(AT_BROOK, AT_HOME, table)
    assert (there.basis, there.minutes, there.km, there.said) == ("table", 13, 17.0, said)
    assert (back.basis, back.minutes, back.said) == ("table", 13, f"{said}, given for the way back")


def test_each_direction_has_its_own_where_both_are_given() -> None:
    table: DriveTable = {
        (HOME, BROOK): Driven(12, None, "one"), (BROOK, HOME): Driven(25, None, "other"),
    }  # fmt: skip
    assert way_between(AT_HOME, AT_BROOK, table).minutes == 12
    assert way_between(AT_BROOK, AT_HOME, table).minutes == 25
    assert way_between(AT_BROOK, AT_HOME, table).said == "other"


def test_drives_of_the_practice_serve_who_sets_out_from_it() -> None:
    """They stood in the table and nobody drove by them: a person's start is an end of its own."""
    start = Stop(HOME, "Ada Vet's start", None, at_practice("The practice, Mill Lane", None))
    table: DriveTable = {(PRACTICE, BROOK): Driven(18, 11.0, "the table")}
    there, back = way_between(start, AT_BROOK, table), way_between(AT_BROOK, start, table)
    assert (there.basis, there.minutes, there.km) == ("table", 18, 11.0)
    assert there.said == "the table, given for the practice"
    assert (back.minutes, back.said) == (
        18, "the table, given for the way back, given for the practice",
    )  # fmt: skip
    own = table | {(BROOK, HOME): Driven(9, None, "her own")}
    assert way_between(start, AT_BROOK, own).said == "her own, given for the way back"
    assert way_between(AT_HOME, AT_BROOK, table).basis == "reckoned", "she sets out elsewhere"
    no_time = {(PRACTICE, BROOK): Driven(0, None, "the table")}
    assert "From Ada Vet's start to Brook House" in travel([start, AT_BROOK], no_time).remarks[0]


@pytest.mark.parametrize(
    ("words", "place", "found"),
    [
        ("the  Practice", None, PRACTICE), ("practice, back door", AT_HOME.place, PRACTICE),
        ("", None, PRACTICE), ("", AT_HOME.place, None), ("The practice manager's", None, None),
        ("4 Mill Lane, the practice", None, None),
    ],
)  # fmt: skip
def test_who_sets_out_from_the_practice(words: str, place: Any, found: Any) -> None:
    assert at_practice(words, place) == found


def test_a_whole_number_stays_the_number() -> None:
    assert (
        way_between(AT_HOME, AT_BROOK, {(HOME, BROOK): Driven(0.1 + 0.2 + 2.7, None, "")}).minutes
        == 3
    )


def test_a_place_that_is_not_known_has_a_sentence_and_no_number() -> None:
    for one, other in ((AT_HOME, AT_MERE), (AT_MERE, AT_HOME)):
        way = way_between(one, other, {})
        assert (way.minutes, way.known, way.km, way.basis) == (None, False, None, "unknown")
        assert way.planned_min == 20
        assert way.said == "not known: Mere Farm without coordinates; 20 min stand in"


def test_the_table_also_serves_where_no_place_is_known() -> None:
    way = way_between(AT_MERE, AT_HOME, {(HOME, MERE): Driven(31, None, "own")})
    assert (way.minutes, way.basis) == (31, "table")


def test_a_stop_and_itself_are_no_way() -> None:
    for one in (AT_HOME, AT_MERE):
        assert way_between(one, one, {}).minutes == 0


def test_two_sites_at_one_spot_still_cost_the_parking() -> None:
    beside = stop(MERE, "Mere Farm", AT_BROOK.place)
    assert way_between(AT_BROOK, beside, {}).minutes == driving().least_min


# --- all ways of a day ----------------------------------------------------------------------------


def test_minutes_of_all_ways() -> None:
    found = travel((AT_HOME, AT_BROOK, AT_MERE), {(BROOK, HOME): Driven(9, None, "own")})
    assert found.minutes([HOME, BROOK, MERE, BROOK]) == [
        [0, 9, 20, 9], [9, 0, 20, 0], [20, 20, 0, 20], [9, 0, 20, 0],
    ]  # fmt: skip
    assert found.way(HOME, BROOK).said == "own, given for the way back"
    with pytest.raises(KeyError):
        found.way(HOME, PRACTICE)


def test_a_place_that_is_not_known_is_said_once() -> None:
    (said,) = travel((AT_HOME, AT_BROOK, AT_MERE), {}).remarks
    assert said.startswith(
        "Where Mere Farm lies is not known, so no drive to or from it can be reckoned; 20 min"
    )
    (said,) = travel((AT_HOME, AT_BROOK, AT_MERE), {(HOME, MERE): Driven(9, None, "own")}).remarks
    assert "1 of its 2 drives cannot be reckoned" in said
    every: DriveTable = {
        (HOME, MERE): Driven(9, None, "own"),
        (MERE, BROOK): Driven(8, None, "own"),
    }
    assert travel((AT_HOME, AT_BROOK, AT_MERE), every).remarks == ()


def test_many_places_that_are_not_known_share_a_sentence() -> None:
    """A book without coordinates said the same three lines for every site of a day."""
    many = [stop(site_end(UUID(int=n)), f"Farm {n}") for n in (5, 6, 7)]
    half: DriveTable = {(HOME, MERE): Driven(9, None, "own")}
    said, other = travel((AT_HOME, AT_MERE, *many), half).remarks
    assert said.startswith("Where 3 places lie is not known, so no drive to or from them can be")
    assert ": Farm 5; Farm 6; Farm 7. " in said
    assert other.startswith("Where Mere Farm lies is not known, so 3 of its 4 drives")


def test_a_drive_of_no_time_is_told_and_used() -> None:
    found = travel((AT_HOME, AT_BROOK), {(HOME, BROOK): Driven(0, None, "own")})
    assert found.way(BROOK, HOME).minutes == 0
    (said,) = found.remarks
    assert said.startswith("From Ada Vet's start to Brook House the practice's table has 0 min")
    assert travel((AT_HOME,), {(HOME, BROOK): Driven(0, None, "own")}).remarks == ()


def test_nothing_to_remark_where_all_is_known() -> None:
    assert travel((AT_HOME, AT_BROOK), {}).remarks == ()


def test_two_hundred_stops_are_no_wait() -> None:
    """A day of two hundred visits asks for forty thousand ways; each of them is there."""
    many = tuple(
        Stop(site_end(UUID(int=n)), f"S{n}", Place(52.0 + n / 1000, n / 1000 / cos(radians(52))))
        for n in range(1, 201)
    )
    minutes = travel(many, {}).minutes([one.end for one in many])
    assert len(minutes) == 200
    assert all(minutes[i][j] == minutes[j][i] for i in range(0, 200, 17) for j in range(200))


# --- the figures ----------------------------------------------------------------------------------


def test_every_figure_says_what_it_rests_on() -> None:
    assert list(figures()) == list(WANTED)
    assert {one.standing for one in figures().values()} == {"common practice"}


@pytest.mark.parametrize(
    ("name", "field", "value", "fault"),
    [
        ("detour", "value", 0.9, "detour, value: is 0.9; it must lie between 1 and 5"),
        ("detour", "unit", "km", "unit: is 'km'; it must be '-'"),
        ("least_drive", "value", 5.5, "it must be a whole number"),
        ("middle_speed", "value", 20.0, "middle_speed, value: is below that of short_speed"),
        ("middle_ways", "value", 4.0, "middle_ways, value: is below that of short_ways"),
        ("detour", "standing", "published", "common practice names no publication"),
        ("detour", "says", None, "says: is missing"),
        ("long_speed", None, None, "long_speed, entry: is missing"),
        ("fast_speed", "value", 1.0, "is no number that is used"),
    ],
)
def test_a_bad_figure_is_told(name: str, field: str | None, value: Any, fault: str) -> None:
    raw: dict[str, Any] = copy.deepcopy(dict(file_tables(FILE)))
    if field is None:
        del raw[name]
    elif value is None:
        del raw[name][field]
    else:
        raw.setdefault(name, dict(raw["detour"]))[field] = value
    _found, findings = read_driving(raw, source_standings())
    assert any(fault in str(one) for one in findings), findings
