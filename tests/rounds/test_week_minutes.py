"""Minutes of several days in one problem: what the solver bears, and that it finds the best week."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from store.rounds.solving.fleet import fleet_rounds, has_fleet
from store.rounds.solving.found import cost_of
from store.rounds.solving.insertion import inserted
from store.rounds.solving.problem import DAY_MIN, MUST_COST, Problem, Stop, Vet, Window
from store.rounds.solving.proof import best_rounds
from store.rounds.solving.reach import Reach
from store.rounds.solving.teams import day_rounds
from store.rounds.solving.timetable import Timetable, timetable
from tests.rounds.solving_days import WORK, WORK_WITH_BREAK, by_trying, practice_day, small_days


def later(day: Problem, by_min: int) -> Problem:
    """The same day so many minutes later."""
    stops = tuple(
        replace(one, windows=tuple(Window(w.opens + by_min, w.closes + by_min)
                                   for w in one.windows))
        for one in day.stops
    )  # fmt: skip
    vets = tuple(
        Vet(who.begins + by_min, who.ends + by_min, who.break_min, who.break_from + by_min,
            who.break_until + by_min)
        for who in day.vets
    )  # fmt: skip
    return replace(day, stops=stops, vets=vets)


def earlier(one: Timetable, by_min: int) -> Timetable:
    calls = tuple(
        replace(call, arrives=call.arrives - by_min, begins=call.begins - by_min,
                leaves=call.leaves - by_min)
        for call in one.calls
    )  # fmt: skip
    break_at = None if one.break_at is None else one.break_at - by_min
    return replace(
        one, sets_out=one.sets_out - by_min, calls=calls, back=one.back - by_min, break_at=break_at
    )


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(small_days(stops=5, vets=2), st.integers(1, 6))
def test_a_day_is_the_same_on_any_day_of_the_week(day: Problem, nth: int) -> None:
    by_min = nth * DAY_MIN
    moved = later(day, by_min)
    reach = {
        key: (first - by_min, last - by_min) for key, (first, last) in Reach(moved).begins.items()
    }
    assert reach == Reach(day).begins
    assert Reach(moved).arcs == Reach(day).arcs
    one, other = inserted(day, 30, seed=1), inserted(moved, 30, seed=1)
    assert tuple(earlier(each, by_min) for each in other) == one
    for order in ((), (0,), (1, 0), (0, 1, 2)):
        if len(day.stops) >= len(order):
            known, made = timetable(day, 0, order), timetable(moved, 0, order)
            assert (None if made is None else earlier(made, by_min)) == known


@pytest.mark.parametrize("seed", range(3))
def test_the_proof_of_a_later_day_is_the_same(seed: int) -> None:
    day = practice_day(seed, 6, 2)
    one, other = best_rounds(day), best_rounds(later(day, 3 * DAY_MIN))
    assert (one.cost, one.proven, one.day_min) == (other.cost, other.proven, other.day_min)
    assert one.proven


@st.composite
def small_weeks(draw: st.DrawFn) -> Problem:
    """Two days of one vet or two: stops that are open on one day or both, some of one vet only."""
    people = draw(
        st.sampled_from([(WORK,), (WORK_WITH_BREAK,), (WORK, Vet(540, 840, 30, 660, 700))])
    )
    vets = [later(_alone(who), nth * DAY_MIN).vets[0] for nth in range(2) for who in people]
    count, n = draw(st.integers(0, 4)), len(people)
    stops = []
    for _ in range(count):
        windows, who = [], set[int]()
        for nth in draw(st.sampled_from([(0,), (1,), (0, 1), (0, 1)])):
            opens = nth * DAY_MIN + draw(st.sampled_from([480, 600, 780]))
            windows.append(Window(opens, opens + draw(st.sampled_from([60, 240]))))
            mine = draw(st.sampled_from([range(n), range(n), range(1)]))
            who |= {nth * n + one for one in mine}
        skip = draw(st.sampled_from([MUST_COST, 40]))
        level = draw(st.integers(0, 3))
        stops.append(Stop(draw(st.sampled_from([20, 60])), tuple(windows), level, 5 * level, skip,
                          frozenset(who)))  # fmt: skip
    row = st.lists(st.integers(0, 60), min_size=count, max_size=count)
    table = draw(st.lists(row, min_size=count, max_size=count))
    of_people = draw(st.lists(row, min_size=n, max_size=n))
    ways = [*of_people, *of_people]
    return Problem(tuple(stops), tuple(vets), table, ways, ways, draw(st.booleans()))


def _alone(who: Vet) -> Problem:
    return Problem((), (who,), [], [[]], [[]])


@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(small_weeks())
def test_a_small_week_is_proven_the_best_by_trying_all(week: Problem) -> None:
    found = day_rounds(week, fleet=False)
    assert (found.cost, found.day_min) == by_trying(week)
    assert found.proven
    for vet, one in enumerate(found.rounds):
        who = week.vets[vet]
        assert who.begins <= one.sets_out <= one.back <= who.ends
        for call in one.calls:
            assert vet in (week.stops[call.stop].vets or ())


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(small_weeks())
def test_first_answers_of_a_week_are_rounds_and_never_below_the_best(week: Problem) -> None:
    least = by_trying(week)[0]
    assert cost_of(week, inserted(week, 200)) >= least
    if has_fleet() and week.stops:
        made = fleet_rounds(week, 100)
        assert cost_of(week, made) >= least
        for vet, one in enumerate(made):
            assert timetable(week, vet, one.order) is not None


def test_a_large_week_is_a_week_of_rounds() -> None:
    """More stops than are proven at once: several windows, five days, two people."""
    day = practice_day(5, 24, 2)
    vets = [later(day, nth * DAY_MIN).vets[v] for nth in range(5) for v in range(2)]
    stops = [
        replace(one, skip_cost=MUST_COST, level=min(one.level, 2), vets=None, windows=tuple(
            Window(w.opens + nth * DAY_MIN, w.closes + nth * DAY_MIN)
            for nth in range(5) if (place + nth) % 2 == 0 for w in one.windows
        ))
        for place, one in enumerate(day.stops)
    ]  # fmt: skip
    ways = [*day.out] * 5
    week = Problem(tuple(stops), tuple(vets), day.drive, ways, ways)
    found = day_rounds(week, effort=1.0)
    assert not found.left_out
    assert found.bound <= found.cost == found.drive_min
    for one in found.rounds:
        for call in one.calls:
            assert (call.begins // DAY_MIN + call.stop) % 2 == 0
            assert call.begins // DAY_MIN == one.vet // 2
