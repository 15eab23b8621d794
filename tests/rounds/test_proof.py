"""The best rounds of a day against trying every order, with all that can hinder a round."""

from __future__ import annotations

from threading import Thread

import pytest
from hypothesis import given, settings

from store.rounds.solving.found import Found, at_home, proof_said
from store.rounds.solving.halt import Halt
from store.rounds.solving.problem import CLEAN, INFECTED, MUST_COST, Problem, Stop, Vet, Window
from store.rounds.solving.proof import best_rounds
from store.rounds.solving.timetable import Timetable
from tests.rounds.solving_days import DAY, WORK, by_trying, line, practice_day, small_days


@settings(max_examples=8, deadline=None)
@given(small_days(stops=7))
def test_one_vet_as_by_trying_every_order(problem: Problem) -> None:
    found = best_rounds(problem)
    assert found.proven
    assert found.shortest
    assert (found.cost, found.day_min) == by_trying(problem)


@settings(max_examples=8, deadline=None)
@given(small_days(stops=4, vets=2))
def test_two_vets_as_by_trying_every_order(problem: Problem) -> None:
    found = best_rounds(problem)
    assert found.proven
    assert (found.cost, found.day_min) == by_trying(problem)


@pytest.mark.parametrize("seed", [1, 2])
def test_seven_stops_of_a_practice_day_as_by_trying(seed: int) -> None:
    problem = practice_day(seed, 7, 1)
    assert (best_rounds(problem).cost, best_rounds(problem).day_min) == by_trying(problem)


def test_the_same_day_gets_the_same_answer_each_time() -> None:
    problem = practice_day(5, 9, 2)
    assert best_rounds(problem) == best_rounds(problem)


def test_a_hint_is_never_made_worse_and_its_answer_is_as_good() -> None:
    problem = practice_day(6, 8, 1)
    found = best_rounds(problem)
    again = best_rounds(problem, hint=found.rounds, effort=0.0)
    assert again.cost == found.cost
    assert again.rounds == found.rounds


def test_of_two_ways_round_the_shorter_day() -> None:
    """Both ways round are 60 min of driving; only one comes to the late gate without waiting."""
    problem = line([-10, 20], Stop(30, DAY), Stop(30, (Window(480, 540),)))
    late = line([-10, 20], Stop(30, (Window(560, 700),)), Stop(30, (Window(480, 540),)))
    assert best_rounds(problem).day_min == 120
    found = best_rounds(late)
    assert found.rounds[0].order == (1, 0)
    assert found.shortest


def test_every_better_answer_is_told_with_its_bound() -> None:
    told: list[Found] = []
    found = best_rounds(practice_day(7, 9, 1), better=told.append)
    assert told
    assert [one.cost for one in told] == sorted((one.cost for one in told), reverse=True)
    assert all(one.bound <= found.cost <= one.cost for one in told)


def test_stopped_before_it_began_the_hint_is_kept() -> None:
    problem = practice_day(8, 8, 1)
    known = best_rounds(problem)
    halt = Halt()
    halt.stop()
    found = best_rounds(problem, hint=known.rounds, halt=halt)
    assert found.rounds == known.rounds
    assert not found.proven
    nothing = best_rounds(problem, halt=halt)
    assert nothing.rounds == at_home(problem)
    assert len(nothing.left_out) == 8


def test_stopped_in_the_middle_the_best_so_far_is_kept() -> None:
    """The first answer ends the search; left alone it would go on for minutes."""
    halt = Halt()

    def told(_found: Found) -> None:
        Thread(target=halt.stop).start()

    found = best_rounds(practice_day(9, 24, 3), effort=200.0, halt=halt, better=told)
    assert not found.proven
    assert found.bound <= found.cost


def test_with_nobody_on_the_road_all_is_left_out() -> None:
    found = best_rounds(Problem((Stop(30, DAY),), (), [[0]], [], []))
    assert (found.rounds, found.left_out, found.cost, found.proven) == ((), (0,), MUST_COST, True)


def test_a_way_that_is_shorter_with_a_call_between() -> None:
    """A table of one's own: straight from home the third gate is closed when one arrives."""
    stops = [Stop(0, (Window(480, 490),)) for _ in range(3)]
    problem = Problem(tuple(stops), (WORK,), [[0] * 3] * 3, [[0, 0, 11]], [[0, 0, 0]])
    assert best_rounds(problem).left_out == ()
    back = Problem(tuple(stops), (Vet(480, 490),), [[0] * 3] * 3, [[0] * 3], [[0, 11, 0]])
    assert best_rounds(back).left_out == ()


def test_an_empty_day() -> None:
    found = best_rounds(line([]))
    assert (found.cost, found.left_out, found.proven, found.day_min) == (0, (), True, 0)


def test_drives_that_take_no_time() -> None:
    stops = [Stop(30, DAY, level) for level in (INFECTED, CLEAN, INFECTED, CLEAN)]
    found = best_rounds(line([0, 0, 0, 0], *stops, vets=[WORK, WORK]))
    assert (found.cost, found.left_out, found.proven) == (0, (), True)
    for one in found.rounds:
        levels = [stops[i].level for i in one.order]
        assert levels == sorted(levels)


def test_a_stop_without_hours_and_one_too_far_do_not_spoil_the_day() -> None:
    problem = line([10, 20, 400], Stop(30, DAY), Stop(30, ()), Stop(30, DAY))
    found = best_rounds(problem)
    assert found.left_out == (1, 2)
    assert found.drive_min == 20


def test_an_optional_stop_is_worth_its_way_or_not() -> None:
    for cost, left_out in ((19, (1,)), (21, ())):
        problem = line([10, 20], Stop(30, DAY), Stop(30, DAY, skip_cost=cost))
        assert best_rounds(problem).left_out == left_out


def test_vets_from_different_places_keep_to_their_hours() -> None:
    problem = Problem(
        (Stop(60, DAY), Stop(60, DAY)), (Vet(480, 600), Vet(900, 1020)),
        [[0, 50], [50, 0]], [[10, 60], [60, 10]], [[10, 60], [60, 10]],
    )  # fmt: skip
    found = best_rounds(problem)
    assert [one.order for one in found.rounds] == [(0,), (1,)]
    assert found.rounds[1].sets_out >= 900


ROUND = (Timetable(0, 480, (), 800, 120, None, None),)


@pytest.mark.parametrize(
    ("found", "said"),
    [
        (Found(ROUND, (), 120, 120, proven=True), "Proven: no order has less driving."),
        (Found(ROUND, (), 120, 90, proven=False), "drive of 120 min could be 30 min less at most"),
        (Found(ROUND, (3,), 100_120, 90, proven=False), "perhaps not every visit left out has to"),
    ],
)
def test_how_good_it_is_known_to_be_is_said(found: Found, said: str) -> None:
    assert said in proof_said(found)
