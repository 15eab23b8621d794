"""The times of a round in a given order: hours worked out by hand, and against every minute."""

from __future__ import annotations

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from store.errors import BadInput
from store.rounds.solving.problem import (
    CLEAN,
    DOUBTFUL,
    INFECTED,
    SUSPECT,
    Problem,
    Stop,
    Vet,
    Window,
)
from store.rounds.solving.timetable import Timetable, timetable
from tests.rounds.solving_days import DAY, WORK, WORK_WITH_BREAK, line, small_days


def made(problem: Problem, *order: int) -> Timetable:
    found = timetable(problem, 0, order)
    assert found is not None
    return found


def test_setting_out_waits_for_the_door_at_home_and_not_before_the_door() -> None:
    one = made(line([20], Stop(30, (Window(600, 720),))), 0)
    assert (one.sets_out, one.calls[0].arrives, one.calls[0].begins, one.back) == (
        580,
        600,
        600,
        650,
    )
    assert one.wait_min == 0


def test_disinfection_comes_before_the_drive_and_may_be_after_closing() -> None:
    one = made(line([10], Stop(30, (Window(600, 630),), INFECTED, after_min=20)), 0)
    assert (one.calls[0].begins, one.calls[0].leaves, one.back) == (600, 650, 660)


def test_a_visit_is_over_when_the_gate_closes() -> None:
    assert timetable(line([120], Stop(30, (Window(480, 629),))), 0, [0]) is None
    assert made(line([120], Stop(30, (Window(480, 630),))), 0).calls[0].begins == 600


def test_the_second_window_when_the_first_is_missed() -> None:
    problem = line([100, 110], Stop(60, DAY), Stop(30, (Window(480, 600), Window(840, 900))))
    assert made(problem, 0, 1).calls[1].begins == 840


def test_a_later_start_that_makes_the_day_shorter() -> None:
    """Out at eight one waits for three hours at the second gate; in the afternoon not at all."""
    first = Stop(30, (Window(490, 520), Window(800, 900)))
    problem = line([10, 20], first, Stop(30, (Window(700, 730), Window(840, 900))))
    one = made(problem, 0, 1)
    assert (one.sets_out, one.back, one.day_min) == (790, 890, 100)


def test_the_break_falls_between_calls_and_none_where_one_is_home_before() -> None:
    stops = [Stop(120, DAY) for _ in range(3)]
    long = made(line([10, 20, 30], *stops, vets=[WORK_WITH_BREAK]), 0, 1, 2)
    assert (long.break_after, long.break_at, long.day_min) == (2, 740, 450)
    short = made(line([10, 20], *stops[:2], vets=[WORK_WITH_BREAK]), 0, 1)
    assert (short.break_after, short.break_at, short.back) == (None, None, 760)


def test_no_break_for_who_begins_when_it_would_be_over() -> None:
    late = line([10], Stop(200, (Window(700, 1020),)), vets=[WORK_WITH_BREAK])
    assert made(late, 0).break_at is None
    later = line([10, 20], Stop(60, DAY), Stop(60, DAY), vets=[Vet(720, 1020, 30, 690, 720)])
    assert made(later, 0, 1).break_at is None


def test_a_break_that_fits_nowhere_makes_the_round_impossible() -> None:
    problem = line([10], Stop(400, DAY), vets=[Vet(480, 900, 30, 600, 620)])
    assert timetable(problem, 0, [0]) is None


@pytest.mark.parametrize(
    ("one", "other", "may"),
    [(CLEAN, INFECTED, True), (INFECTED, CLEAN, False), (INFECTED, DOUBTFUL, False),
     (INFECTED, INFECTED, True), (INFECTED, SUSPECT, True), (SUSPECT, SUSPECT, False)],
)  # fmt: skip
def test_clean_before_infected_and_nothing_after_a_suspect(one: int, other: int, may: bool) -> None:
    stops = (Stop(10, DAY, one), Stop(10, DAY, other))
    assert (timetable(line([5, 10], *stops), 0, [0, 1]) is not None) == may
    assert timetable(line([5, 10], *stops, ordered=False), 0, [0, 1]) is not None


def test_only_who_may_go_goes() -> None:
    problem = line([5], Stop(10, DAY, vets=frozenset({1})), vets=[WORK, WORK])
    assert timetable(problem, 0, [0]) is None
    assert timetable(problem, 1, [0]) is not None


def test_nothing_to_do_is_a_day_at_home() -> None:
    assert made(line([])).day_min == 0


@pytest.mark.parametrize(
    ("stops", "vets", "drive", "word"),
    [
        ((Stop(10, DAY),), (WORK,), [[0, 1]], "does not fit"),
        ((Stop(10, DAY),), (WORK,), [[-1]], "no time"),
        ((Stop(-1, DAY),), (WORK,), [[0]], "no time"),
        ((Stop(10, DAY, vets=frozenset({3})),), (WORK,), [[0]], "not on the road"),
        ((Stop(10, DAY),), (Vet(600, 500),), [[0]], "before it begins"),
    ],
)
def test_a_day_that_is_none_is_refused_in_words(
    stops: tuple[Stop, ...], vets: tuple[Vet, ...], drive: list[list[int]], word: str
) -> None:
    with pytest.raises(BadInput, match=word):
        Problem(stops, vets, drive, [[1]], [[1]])


def minute_by_minute(problem: Problem, order: list[int]) -> tuple[int, int] | None:
    """The shortest day and its return by setting out at every minute and resting after any call."""
    who, best = problem.vets[0], None
    for start in range(who.begins, who.ends + 1):
        for place in range(len(order) + 1):
            at, rests, fits = start, None, True
            for nth, stop in enumerate(order):
                at += problem.drive[order[nth - 1]][stop] if nth else problem.out[0][stop]
                one = problem.stops[stop]
                fitting = [
                    max(at, w.opens) for w in one.windows
                    if max(at, w.opens) + one.service_min <= w.closes
                ]  # fmt: skip
                if not fitting:
                    fits = False
                    break
                at = min(fitting) + one.service_min + one.after_min
                if place == nth + 1:
                    rests = max(at, who.break_from)
                    at = rests + who.break_min
            back = at + problem.home[0][order[-1]]
            if not fits or back > who.ends:
                continue
            rested = start >= who.break_from + who.break_min or back <= who.break_until
            if who.break_min and (rests > who.break_until if rests is not None else not rested):
                continue
            if best is None or (back - start, back) < best:
                best = (back - start, back)
    return best


@settings(max_examples=40, deadline=None)
@given(small_days(stops=4), st.randoms(use_true_random=False))
def test_no_minute_of_setting_out_makes_a_shorter_day(problem: Problem, rng: object) -> None:
    order = list(range(len(problem.stops)))
    rng.shuffle(order)  # type: ignore[attr-defined]
    found = timetable(problem, 0, order)
    if not order:
        return
    possible = all(problem.may_go(0, i) for i in order) and all(
        problem.may_follow(i, j) for i, j in pairwise(order)
    )
    best = minute_by_minute(problem, order) if possible else None
    assert (None if found is None else (found.day_min, found.back)) == best


@settings(max_examples=30, deadline=None)
@given(small_days(stops=5))
def test_the_times_of_a_round_add_up(problem: Problem) -> None:
    order = tuple(range(len(problem.stops)))
    one = timetable(problem, 0, order)
    if one is None or not order:
        return
    stays = sum(problem.stops[i].stay_min for i in order)
    assert one.day_min >= one.drive_min + stays
    assert problem.vets[0].begins <= one.sets_out <= one.back <= problem.vets[0].ends
    assert one.order == order
