"""Days of any size: small ones as proven, large ones driveable, honest about their bound."""

from __future__ import annotations

import warnings
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings

from store.rounds.solving.found import Found, at_home, cost_of
from store.rounds.solving.halt import Halt
from store.rounds.solving.insertion import inserted
from store.rounds.solving.price import Price, price_of_order
from store.rounds.solving.problem import CLEAN, INFECTED, MUST_COST, Problem, Stop, Vet, Window
from store.rounds.solving.proof import best_rounds
from store.rounds.solving.reach import least_cost
from store.rounds.solving.teams import day_rounds
from store.rounds.solving.timetable import Timetable, timetable
from tests.rounds.solving_days import (
    DAY,
    WORK,
    by_trying,
    in_the_plane,
    line,
    practice_day,
    small_days,
)


def is_driveable(problem: Problem, rounds: tuple[Timetable, ...]) -> None:
    visited = [stop for one in rounds for stop in one.order]
    assert len(visited) == len(set(visited))
    assert [one.vet for one in rounds] == list(range(len(problem.vets)))
    for one in rounds:
        assert timetable(problem, one.vet, one.order) == one
        assert all(problem.may_follow(i, j) for i, j in pairwise(one.order))


@settings(max_examples=15, deadline=None)
@given(small_days(stops=5, vets=2))
def test_what_is_put_together_can_be_driven_and_is_not_below_the_best(problem: Problem) -> None:
    rounds = inserted(problem, 30)
    is_driveable(problem, rounds)
    assert by_trying(problem)[0] <= cost_of(problem, rounds) <= cost_of(problem, at_home(problem))


@pytest.mark.parametrize("seed", range(3))
def test_a_first_answer_is_near_the_best(seed: int) -> None:
    problem = practice_day(seed, 9, 2)
    best = best_rounds(problem).cost
    assert best <= cost_of(problem, inserted(problem, 300)) <= best + 25


def test_a_first_answer_keeps_what_it_was_given_where_nothing_is_better() -> None:
    problem = practice_day(4, 9, 2)
    best = best_rounds(problem)
    assert cost_of(problem, inserted(problem, 20, start=best.rounds)) == best.cost


def test_a_small_day_is_proven_whole() -> None:
    problem = practice_day(2, 7, 1)
    found = day_rounds(problem)
    assert found.proven
    assert (found.cost, found.day_min) == by_trying(problem)


@pytest.mark.parametrize("fleet", [False, True])
def test_a_team_gets_the_same_answer_each_time_and_its_bound_holds(fleet: bool) -> None:
    problem = practice_day(0, 16, 3)
    told: list[Found] = []
    found = day_rounds(problem, effort=0.5, fleet=fleet, better=told.append)
    is_driveable(problem, found.rounds)
    assert found == day_rounds(problem, effort=0.5, fleet=fleet)
    assert found.each_proven
    assert found.bound <= found.cost <= told[0].cost
    assert found.cost < MUST_COST
    assert [one.bound for one in told] == sorted(one.bound for one in told)


def test_several_windows_and_who_may_go_are_kept_by_the_fleet() -> None:
    from store.rounds.solving.fleet import fleet_rounds

    two = (Window(480, 540), Window(840, 900))
    stops = [Stop(20, two, vets=frozenset({1})) for _ in range(3)] + [Stop(60, DAY)] * 3
    stops += [Stop(20, ()), Stop(20, DAY, INFECTED), Stop(20, DAY, CLEAN)]
    points = [(float(7 * i % 11), float(5 * i % 13)) for i in range(len(stops))]
    problem = in_the_plane(points, [(0.0, 0.0)] * 2, stops, [Vet(480, 1020, 30, 690, 810), WORK])
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        rounds = fleet_rounds(problem, 200)
    is_driveable(problem, rounds)
    assert {0, 1, 2} <= set(rounds[1].order)
    assert cost_of(problem, rounds) < 2 * MUST_COST


def test_two_hundred_visits_are_planned_and_the_bound_holds() -> None:
    problem = practice_day(1, 200, 5)
    found = day_rounds(problem, effort=0.6, fleet=False)
    is_driveable(problem, found.rounds)
    assert len(found.left_out) < 100
    assert 0 < found.bound <= found.cost
    assert not found.proven


def test_stopped_at_once_a_large_day_is_what_was_given() -> None:
    halt = Halt()
    halt.stop()
    problem = practice_day(1, 30, 3)
    found = day_rounds(problem, halt=halt, fleet=False)
    assert found.rounds == at_home(problem)
    assert not found.proven


def test_nobody_and_nothing() -> None:
    assert day_rounds(line([])).proven
    found = day_rounds(Problem((Stop(10, DAY),) * 2, (), [[0, 0]] * 2, [], []))
    assert found.left_out == (0, 1)


def test_a_day_without_any_way_to_drive() -> None:
    stops = [Stop(15, DAY, level) for level in (INFECTED, CLEAN) * 8]
    found = day_rounds(line([0] * 16, *stops, vets=[WORK, WORK]), effort=2.0, fleet=False)
    assert (found.drive_min, found.left_out, found.proven) == (0, (), True)


@settings(max_examples=6, deadline=None)
@given(small_days(stops=5))
def test_the_rule_never_makes_a_day_cheaper(problem: Problem) -> None:
    kept = best_rounds(problem)
    price = price_of_order(problem, kept)
    assert price.proven
    assert price.kept.cost >= price.without.cost
    assert price.says.startswith("Clean before infected")


def test_the_price_is_the_way_back_past_the_infected_pond() -> None:
    problem = line([20, 40], Stop(30, DAY, INFECTED), Stop(30, DAY), vets=[Vet(480, 1020)])
    price = price_of_order(problem, best_rounds(problem))
    assert price.more_min == 0
    assert price.says == "Clean before infected costs nothing on this day."
    early = line([20, 40], Stop(30, (Window(480, 540),), INFECTED), Stop(30, DAY))
    price = price_of_order(early, best_rounds(early))
    assert (price.more_left_out, price.more_min) == (1, -40)
    assert price.says == (
        "Clean before infected leaves out 1 visit more, with 40 min less of driving."
    )


def test_the_bound_seen_without_a_search_holds() -> None:
    for seed in range(4):
        problem = practice_day(seed, 8, 2)
        assert 0 < least_cost(problem) <= best_rounds(problem).cost


def test_without_infected_ponds_nothing_is_searched() -> None:
    problem = practice_day(0, 4, 1)
    clean = Problem(
        tuple(Stop(one.service_min, DAY) for one in problem.stops), problem.vets, problem.drive,
        problem.out, problem.home,
    )  # fmt: skip
    kept = best_rounds(clean)
    assert price_of_order(clean, kept) == Price(kept, kept)


def test_a_price_of_visits_that_change_places_and_of_none_at_all() -> None:
    """One that is worth much is left out for two that are worth little: less driving, no gain."""
    kept = Found((), (0,), 300, 300, proven=True)
    without = Found((), (1, 2), 200, 200, proven=True)
    assert Price(kept, without).says == (
        "Clean before infected leaves out 1 visit in place of others."
    )
    as_good = Found((), (1,), 300, 300, proven=True)
    assert Price(kept, as_good).says == "Clean before infected costs nothing on this day."
    even = Price(replace(kept, left_out=(0, 1, 2)), replace(without, cost=300, bound=300))
    assert even.says == "Clean before infected costs nothing on this day."
