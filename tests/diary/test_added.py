"""What one more visit adds to the drives of a day, and how long these are."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import pairwise, permutations
from uuid import UUID

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.diary.booking.added import Added, Call, added_way, way_min
from store.diary.booking.said import said_way
from store.diary.booking.ways import Ways, said_drives, together
from store.facts.driving import driving
from store.travel.place import Place
from store.travel.ways import Driven, DriveTable, End, Stop, site_end, vet_end, way_between

PLACES = st.builds(Place, st.floats(51, 53), st.floats(-1, 1))
SOMEWHERE = st.none() | PLACES
START = vet_end(UUID(int=900))
TABLE = "the practice's table of 3 May 2026"


def stop(number: int, place: Place | None) -> Stop:
    return Stop(site_end(UUID(int=number)), f"site {number}", place)


def east(number: int, tenths: float) -> Stop:
    """A stop on the fifty-second circle of latitude, so many tenths of a degree to the east."""
    return stop(number, Place(52.0, tenths / 10))


@st.composite
def days(draw: st.DrawFn, places: st.SearchStrategy[Place | None] = PLACES) -> list[Call]:
    minutes = draw(st.lists(st.integers(0, 1439), unique=True, max_size=6))
    return [Call(stop(at, draw(places)), minute) for at, minute in enumerate(minutes)]


@st.composite
def tables(draw: st.DrawFn) -> DriveTable:
    """Drives of the practice between any of the ends that are met here, strange ones among them."""
    ends = st.sampled_from([START, *(site_end(UUID(int=at)) for at in (0, 1, 2, 3, 4, 5, 50))])
    pairs = draw(st.sets(st.tuples(ends, ends).filter(lambda pair: pair[0] != pair[1]), max_size=9))
    km = st.none() | st.floats(0, 300)
    return {pair: Driven(draw(st.integers(0, 300)), draw(km), TABLE) for pair in pairs}


def starts(place: Place | None) -> Stop | None:
    return None if place is None else Stop(START, "the surgery", place)


HERE = PLACES.map(lambda place: stop(50, place))
STARTS = SOMEWHERE.map(starts)


@given(days(), HERE, st.integers(0, 1439), STARTS, STARTS)
def test_what_is_added_is_the_difference_of_the_two_ways(
    calls: list[Call], here: Stop, minute: int, start: Stop | None, home: Stop | None
) -> None:
    if any(one.minute == minute for one in calls):
        return
    ways = Ways()
    added = added_way(calls, here, minute, ways, start, home)
    if not calls and start is None and home is None:
        assert added is None
        return
    difference = way_min([*calls, Call(here, minute)], ways, start, home) - way_min(
        calls, ways, start, home
    )
    assert added is not None
    assert added.minutes == difference, "what is reckoned never gets shorter by a third place"
    assert added.rests_on == "reckoned"


@given(days(SOMEWHERE), HERE, st.integers(0, 1439), STARTS, tables())
def test_whatever_the_table_holds_nothing_is_gained_and_a_free_hour_never_costs_more(
    calls: list[Call], here: Stop, minute: int, start: Stop | None, table: DriveTable
) -> None:
    ways = Ways(table)
    fixed = added_way(calls, here, minute, ways, start, start)
    free = added_way(calls, here, None, ways, start, start)
    assert (fixed is None) == (free is None)
    known = [one for one in calls if way_between(here, one.stop, table).known]
    assert (fixed is None) == (not known and start is None)
    if fixed is not None and free is not None:
        assert 0 <= free.minutes <= fixed.minutes
        assert fixed.km is None or fixed.km >= 0.0


@given(days(SOMEWHERE), HERE, st.integers(0, 1439), STARTS, tables())
def test_the_order_in_which_visits_are_told_does_not_matter(
    calls: list[Call], here: Stop, minute: int, start: Stop | None, table: DriveTable
) -> None:
    told = {
        added_way(list(order), here, minute, Ways(table), start, start)
        for order in list(permutations(calls))[:20]
    }
    assert len(told) == 1


@given(st.lists(SOMEWHERE, max_size=7), tables())
def test_the_cheapest_place_is_the_cheapest_by_trying_all(
    places: Sequence[Place | None], table: DriveTable
) -> None:
    """Without an hour it goes where the whole way is shortest, each place tried by itself."""
    stops, here = [stop(at, place) for at, place in enumerate(places)], stop(50, Place(52.0, 0.0))
    ways = Ways(table)
    known = [one for one in stops if ways.way(here, one).known]
    calls = [Call(one, 60 * at) for at, one in enumerate(known)]

    def length(order: Sequence[Stop]) -> int:
        return sum(way_between(one, other, table).planned_min for one, other in pairwise(order))

    added = added_way(calls, here, None, ways)
    if not known:
        assert added is None
        return
    least = min(length([*known[:at], here, *known[at:]]) for at in range(len(known) + 1))
    assert added is not None
    assert added.minutes == max(0, least - length(known))


@given(PLACES, PLACES, tables())
def test_ways_are_those_of_travel_and_are_kept(one: Place, other: Place, table: DriveTable) -> None:
    ways = Ways(table)
    here, there = ways.site(UUID(int=0), "", one), ways.site(UUID(int=1), "", other)
    assert ways.site(UUID(int=0), "", one) is here
    for pair in ((here, there), (there, here), (here, here)):
        for _again in range(2):
            way = ways.way(*pair)
            direct = way_between(*pair, table)
            assert (way.minutes, way.basis) == (direct.minutes, direct.basis)
            assert ways.way(*pair) is way
    moved = ways.site(UUID(int=0), "", Place(one.latitude, one.longitude + 3.0))
    if (site_end(UUID(int=0)), site_end(UUID(int=1))) not in table and (
        site_end(UUID(int=1)), site_end(UUID(int=0)),
    ) not in table:  # fmt: skip
        assert ways.way(moved, there).minutes == way_between(moved, there, table).minutes


def test_between_two_visits_only_the_detour_counts_and_behind_both_all_of_it() -> None:
    """Each tenth of a degree of longitude at 52° is 6.85 km, × 1.3 = 8.9 km: 10 min for the first
    5 km and 4.26 min for the rest, so 15 min; two tenths 24 min. Common practice."""
    here, calls = east(50, 1), [Call(east(0, 0), 540), Call(east(1, 2), 660)]
    between = added_way(calls, here, 600, Ways())
    assert between is not None
    assert between.minutes == 15 + 15 - 24
    assert between.km == pytest.approx(0.0, abs=1e-3)
    behind = added_way(calls, here, 700, Ways())
    assert behind is not None
    assert (behind.minutes, round(behind.km or 0.0, 1)) == (15, 8.9)
    home = Stop(START, "the surgery", Place(52.0, 0.0))
    on_the_way_home = added_way(calls, here, 700, Ways(), home, home)
    assert on_the_way_home is not None
    assert on_the_way_home.minutes == 15 + 15 - 24


def test_visits_without_an_hour_stand_where_they_add_least() -> None:
    west, middle, far = east(0, 0), east(1, 10), east(2, 20)
    calls = [Call(far, 720), Call(middle, None), Call(west, 540)]
    in_order = [Call(west, 540), Call(middle, 600), Call(far, 720)]
    assert way_min(calls, Ways()) == way_min(in_order, Ways())
    assert way_min(calls, Ways()) < way_min(
        [Call(middle, 500), Call(west, 540), Call(far, 720)], Ways()
    )
    # Between nine and twelve the way may pass on either side of the visit without an hour.
    for tenths in (5, 15):
        added = added_way(calls, east(50, tenths), 600, Ways())
        assert added is not None
        assert added.km == pytest.approx(0.0, abs=0.05)


def test_the_start_alone_is_a_way_there_and_back_and_a_day_that_ends_elsewhere_one_to_there() -> (
    None
):
    home, here = Stop(START, "home", Place(52.0, 0.0)), east(50, 2)
    there_and_back = added_way([], here, 600, Ways(), home, home)
    assert there_and_back is not None
    assert there_and_back.minutes == 24 + 24
    assert way_min([], Ways(), home, home) == 0
    away = Stop(End("home", UUID(int=900)), "the sister's", Place(52.0, 0.3))
    through = added_way([], here, 600, Ways(), home, away)
    assert through is not None
    assert through.minutes == 24 + 15, "an empty day is no drive, so all of it is added"
    only_out = added_way([], here, 600, Ways(), home)
    assert only_out is not None
    assert only_out.minutes == 24
    assert way_min([Call(here, 600)], Ways(), home, away) == 24 + 15


def test_the_practice_s_table_goes_before_what_is_reckoned_and_needs_no_place() -> None:
    here, lost = east(50, 0), stop(1, None)
    calls = [Call(lost, 600)]
    assert added_way(calls, here, 700, Ways()) is None, "nothing is known of it"
    own = Ways({(here.end, lost.end): Driven(17.5, 12.0, TABLE)})
    assert added_way(calls, here, 700, own) == Added(18, 12.0, "table")
    own.way(*(own.site(UUID(int=at), "", None) for at in (50, 1)))
    assert own.used == {"table"}, "what is asked for between its own ends"
    beside = added_way([*calls, Call(east(2, 2), 800)], here, 700, own)
    assert beside is not None
    assert (beside.minutes, beside.km, beside.rests_on) == (
        18 + 24 - driving().unknown_min, None, "both",
    )  # fmt: skip


def test_a_place_that_is_not_known_has_its_stand_in_in_the_load_of_a_day() -> None:
    stand_in = driving().unknown_min
    calls = [Call(east(0, 0), 540), Call(stop(1, None), 600), Call(east(2, 2), 660)]
    assert way_min(calls, Ways()) == 2 * stand_in
    assert way_min(calls[:1], Ways()) == 0


def test_what_drives_rest_on_is_said_as_it_is() -> None:
    assert said_drives(frozenset()) == ""
    assert said_drives({"same place"}) == ""
    reckoned = said_drives({"reckoned", "same place"})
    assert reckoned == "Drives: 1.3 × the straight distance at 30–80 km/h, common practice."
    assert said_drives({"table"}) == "Drives: the practice's table."
    assert said_drives({"table", "reckoned", "unknown"}) == (
        "Drives: the practice's table, else 1.3 × the straight distance at 30–80 km/h, common "
        "practice. Where a drive is not known, 20 min stand in."
    )
    assert together(["unknown", "table"]) == "both"
    assert said_way(18, 12.04, "both") == "18 min (12 km, partly by the table)"
    assert said_way(5, 0.02, "reckoned") == "5 min"
