"""A round that runs late, worked out by hand; nothing is refused, everything is said."""

from __future__ import annotations

from hypothesis import given, settings
from hypothesis import strategies as st

from store.rounds.solving.delay import (
    barred_said,
    delay_said,
    delayed,
    drives_on,
    rest_of_round,
)
from store.rounds.solving.problem import CLEAN, INFECTED, SUSPECT, Problem, Stop, Vet, Window
from store.rounds.solving.proof import best_rounds
from store.rounds.solving.timetable import Timetable, timetable
from tests.rounds.solving_days import DAY, WORK_WITH_BREAK, line, practice_day, small_days

NAMES = ["Brook House", "Mill Farm", "The Hall"]


def planned(problem: Problem, *order: int) -> Timetable:
    made = timetable(problem, 0, order)
    assert made is not None
    return made


def test_all_calls_to_come_move_and_those_behind_do_not_show() -> None:
    problem = line([10, 20, 30], *[Stop(30, DAY)] * 3)
    plan = planned(problem, 0, 1, 2)
    late = delayed(problem, plan, 1, drives_on(plan, 1) + 40)
    assert [(one.stop, one.moved_min, one.late_min) for one in late.calls] == [
        (1, 40, 0),
        (2, 40, 0),
    ]
    assert late.back == plan.back + 40
    assert late.to_ring == late.calls
    assert late.too_late_min == 0


def test_a_wait_takes_up_the_delay() -> None:
    problem = line([10, 20], Stop(30, (Window(480, 540),)), Stop(30, (Window(600, 700),)))
    plan = planned(problem, 0, 1)
    late = delayed(problem, plan, 1, drives_on(plan, 1) + 5)
    assert late.calls[0].moved_min <= 5
    assert late.to_ring == ()
    assert delay_said(late, NAMES) == ()


def test_a_closed_gate_is_said_with_the_minutes_and_does_not_stop_the_round() -> None:
    problem = line([10, 20, 30], Stop(30, DAY), Stop(30, (Window(480, 570),)), Stop(30, DAY))
    plan = planned(problem, 0, 1, 2)
    late = delayed(problem, plan, 1, drives_on(plan, 1) + 40)
    assert late.calls[0].late_min == 40 - (570 - plan.calls[1].leaves)
    assert delay_said(late, NAMES)[0] == (
        f"Mill Farm at 09:{late.calls[0].begins - 540:02d}, 40 min later: over "
        f"{late.calls[0].late_min} min after its hours end."
    )
    assert len(late.calls) == 2


def test_the_next_window_is_waited_for() -> None:
    two = (Window(480, 570), Window(840, 900))
    problem = line([10, 20], Stop(30, DAY), Stop(30, two))
    plan = planned(problem, 0, 1)
    late = delayed(problem, plan, 1, drives_on(plan, 1) + 60)
    assert (late.calls[0].begins, late.calls[0].late_min) == (840, 0)


def test_back_after_the_working_hours_is_said() -> None:
    problem = line([60], Stop(60, DAY), vets=[Vet(480, 700)])
    late = delayed(problem, planned(problem, 0), 0, 550)
    assert (late.back, late.over_min) == (730, 30)
    assert delay_said(late, NAMES)[-1] == "Back at 12:10, 30 min after the working hours end."


def test_a_round_that_was_home_before_the_break_now_needs_one() -> None:
    problem = line([10, 20], Stop(120, DAY), Stop(120, DAY), vets=[WORK_WITH_BREAK])
    plan = planned(problem, 0, 1)
    assert plan.break_at is None
    late = delayed(problem, plan, 1, drives_on(plan, 1) + 90)
    assert late.break_after == 1
    assert late.break_at == 700
    assert late.back == plan.back + 90 + 30


def test_a_break_behind_comes_no_second_time_and_one_to_come_comes() -> None:
    problem = line([10, 20, 30], *[Stop(120, DAY)] * 3, vets=[WORK_WITH_BREAK])
    plan = planned(problem, 0, 1, 2)
    assert plan.break_after == 2
    after = delayed(problem, plan, 2, drives_on(plan, 2) + 10)
    assert after.break_at == drives_on(plan, 2) + 10
    assert delayed(problem, plan, 2, drives_on(plan, 2) + 40, rested=True).break_at is None
    very_late = delayed(problem, plan, 2, 840)
    assert very_late.break_late_min == 30
    assert "The break only begins at 14:00, 30 min late." in delay_said(very_late, NAMES)


def test_all_calls_behind_leaves_the_way_home() -> None:
    problem = line([10], Stop(30, DAY))
    late = delayed(problem, planned(problem, 0), 1, 700)
    assert (late.calls, late.back) == ((), 710)


@settings(max_examples=30, deadline=None)
@given(small_days(stops=4), st.integers(0, 200), st.data())
def test_a_delay_that_breaks_nothing_is_a_timetable_and_no_delay_is_the_plan(
    problem: Problem, delay_min: int, data: st.DataObject
) -> None:
    (plan,) = best_rounds(problem).rounds
    order = plan.order
    if not order:
        return
    on_time = delayed(problem, plan, 0, plan.sets_out)
    assert (on_time.too_late_min, on_time.back) <= (0, plan.back)
    done = data.draw(st.integers(0, len(order)))
    late = delayed(problem, plan, done, drives_on(plan, done) + delay_min)
    assert [one.stop for one in late.calls] == list(order[done:])
    if not late.too_late_min:
        for call in late.calls:
            assert any(
                one.opens <= call.begins
                and call.begins + problem.stops[call.stop].service_min <= one.closes
                for one in problem.stops[call.stop].windows
            )
        assert late.back <= problem.vets[0].ends
    later = delayed(problem, plan, done, drives_on(plan, done) + delay_min + 7)
    if done or not problem.vets[0].break_min:  # who sets out later may have had the break before
        assert later.too_late_min >= late.too_late_min


def test_the_rest_is_planned_anew_from_where_the_vet_stands() -> None:
    """Late at Mill Farm the gate of The Hall would close: now it comes first."""
    stops = [Stop(30, DAY), Stop(60, DAY), Stop(30, (Window(480, 640),))]
    problem = line([10, 20, 30], *stops)
    plan = planned(problem, 0, 1, 2)
    minute = drives_on(plan, 1) + 50
    assert delayed(problem, plan, 1, minute).calls[1].late_min > 0
    rest = rest_of_round(problem, plan, 1, minute)
    found = best_rounds(rest.problem)
    assert rest.order(found) == (2, 1)
    assert rest.left_out(found) == ()
    assert found.rounds[0].sets_out >= minute
    assert found.drive_min == 20 + 10 + 20


def test_nothing_cleaner_follows_where_the_vet_has_been() -> None:
    stops = [Stop(30, DAY, CLEAN), Stop(30, DAY, INFECTED), Stop(30, DAY, SUSPECT)]
    problem = line([10, 20, 30], *stops)
    plan = planned(problem, 0, 1, 2)
    assert rest_of_round(problem, plan, 2, 600).barred == ()
    by_hand = planned(line([10, 20, 30], *stops, ordered=False), 1, 0, 2)
    rest = rest_of_round(problem, by_hand, 1, 600)
    assert rest.left_out(best_rounds(rest.problem)) == (0,)
    assert barred_said(rest, NAMES) == (
        "Brook House cannot follow: cleaner than where the vet has just been."
    )


def test_waiting_a_little_is_no_break() -> None:
    """Five minutes short of the hour at which a rested vet would set out, the break is whole."""
    problem = line([10, 20], Stop(30, DAY), Stop(60, DAY), vets=[Vet(480, 1020, 30, 690, 720)])
    plan = planned(problem, 0, 1)
    for minute in (715, 760):
        rest = rest_of_round(problem, plan, 1, minute)
        found = best_rounds(rest.problem)
        assert found.rounds[0].calls[0].arrives == minute + 30 + 10
        assert delayed(problem, plan, 1, minute).back == found.rounds[0].back


def test_when_the_day_is_over_the_rest_is_left_out_in_peace() -> None:
    problem = line([10, 20], Stop(30, DAY), Stop(30, DAY))
    rest = rest_of_round(problem, planned(problem, 0, 1), 1, 1100)
    assert rest.left_out(best_rounds(rest.problem)) == (1,)


def test_a_day_of_nine_forty_minutes_late_planned_anew_is_no_worse_than_its_old_order() -> None:
    problem = practice_day(7, 9, 1)
    plan = best_rounds(problem).rounds[0]
    minute = drives_on(plan, 3) + 40
    rest = rest_of_round(problem, plan, 3, minute)
    found = best_rounds(rest.problem)
    old = timetable(rest.problem, 0, range(len(rest.stops)))
    assert old is not None
    assert delayed(problem, plan, 3, minute).too_late_min == 0
    assert found.proven
    assert found.cost <= old.drive_min


def test_the_break_is_put_where_fewest_have_to_be_rung() -> None:
    """Four in a row, late but in time: wherever the break comes, one is home at the same minute."""
    stops = tuple(Stop(30, (Window(480, 1080),)) for _ in range(4))
    problem = line([10, 20, 30, 40], *stops, vets=[Vet(480, 1080, 30, 540, 720)])
    planned = timetable(problem, 0, range(4))
    assert planned is not None
    late = delayed(problem, planned, 1, drives_on(planned, 1) + 10)
    assert late.break_after == planned.break_after
    assert late.to_ring == ()
