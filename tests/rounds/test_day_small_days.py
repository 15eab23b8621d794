"""Small days of every kind: what a plan says holds, whatever was asked for; and a large one."""

from __future__ import annotations

import random
from dataclasses import replace
from datetime import time
from itertools import pairwise

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from store.rounds.day.hours import with_hours
from store.rounds.day.late import run_late
from store.rounds.day.plan import plan_day
from store.rounds.day.problem_of import hour_kept, windows_of
from store.rounds.day.values import DayAsked, DayPlan, Errand, Slot
from store.rounds.solving.problem import Window
from store.travel.ways import site_end
from tests.rounds.day_plans import ADA, BRAM, OPEN, driver, errand
from tests.rounds.days_asked import asked_of, at

EFFORT = 0.5


@st.composite
def errands(draw: st.DrawFn, number: int) -> Errand:
    """A visit of any kind, with or without an hour, place, window and wish."""
    hour = draw(st.none() | st.integers(34, 64).map(lambda q: time(q // 4, q % 4 * 15)))
    opens = draw(st.integers(420, 1000))
    windows = draw(st.sampled_from([OPEN, OPEN, (), (Window(opens, opens + 120),)]))
    slot: Slot | None = draw(st.sampled_from([None, None, "dawn", "afternoon", "both"]))
    booked = draw(st.booleans()) or hour is not None
    one = errand(
        number, f"Site {number}",
        draw(st.none() | st.tuples(st.integers(-20, 20), st.integers(-20, 20)).map(lambda p: at(*p))),
        level=draw(st.integers(0, 3)), minutes=draw(st.sampled_from([20, 45, 60])), hour=hour,
        fixed=hour is not None and draw(st.booleans()), booked=booked, windows=windows,
        staff_id=draw(st.sampled_from([ADA, BRAM, None])),
    )  # fmt: skip
    return replace(one, slot=slot, slot_said="As its rules say.")


@st.composite
def days(draw: st.DrawFn) -> DayAsked:
    """Up to five visits and two drivers."""
    count = draw(st.integers(0, 5))
    made = [draw(errands(number)) for number in range(1, count + 1)]
    break_min = draw(st.sampled_from([0, 30]))
    team = [driver(break_min=break_min), driver(BRAM, "Bram Vet", at(8, 8), break_min=break_min)]
    return asked_of(
        made, team[: draw(st.integers(0, 2))], ordered=draw(st.booleans()),
        agreed=draw(st.sampled_from(["kept", "free"])),
    )  # fmt: skip


def stands(plan: DayPlan) -> None:
    """All that a plan claims, looked at by itself."""
    asked = plan.asked
    visited = [stop.errand.key for one in plan.rounds for stop in one.stops]
    out = [asked.errands[one.stop].key for one in plan.left_out]
    assert sorted([*visited, *out]) == sorted(one.key for one in asked.errands)
    assert all(one.says for one in plan.left_out)
    against = 0
    for one in plan.rounds:
        here, at_min, rested = one.driver.start, one.sets_out, False
        assert one.sets_out >= one.driver.begins
        for nth, stop in enumerate(one.stops):
            if one.break_after == nth:
                assert one.break_at is not None
                assert one.driver.break_from <= one.break_at <= one.driver.break_until
                at_min, rested = one.break_at + one.driver.break_min, True
            errand = stop.errand
            assert stop.way == asked.travel.way(here, site_end(errand.site_id))
            assert stop.arrives == at_min + stop.way.planned_min
            assert stop.arrives <= stop.begins
            assert stop.ends == stop.begins + errand.minutes
            assert stop.leaves == stop.ends + errand.disinfect_min
            assert any(
                window.opens <= stop.begins and stop.ends <= window.closes
                for window in windows_of(asked, errand)
            )
            kept = hour_kept(asked, errand)
            assert kept is None or abs(stop.begins - kept) < 15
            if kept is not None and errand.visit is not None and errand.visit.staff_id:
                assert errand.visit.staff_id == one.driver.staff_id
            here, at_min = site_end(errand.site_id), stop.leaves
        if one.stops:
            assert one.way_home is not None
            assert one.back >= at_min + one.way_home.planned_min
            assert one.back <= one.driver.ends
            assert (
                rested
                or not one.driver.break_min
                or one.break_after == len(one.stops)
                or (
                    one.back <= one.driver.break_until
                    or one.sets_out >= one.driver.break_from + one.driver.break_min
                )
            )
        for before, after in pairwise(one.stops):
            steps = after.errand.level < before.errand.level or before.errand.level == 3
            assert not (steps and asked.wish.ordered)
            against += steps
    assert bool(plan.broken) == bool(against)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(days())
def test_whatever_is_asked_the_plan_holds_what_it_says(asked: DayAsked) -> None:
    plan = plan_day(asked, effort=EFFORT)
    stands(plan)
    again = with_hours(asked, plan.problem, plan.found)
    assert again.rounds == plan.found.rounds


@settings(max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(days(), st.integers(0, 5), st.integers(-30, 240))
def test_however_late_a_round_runs_every_visit_is_told(
    asked: DayAsked, behind: int, late_min: int
) -> None:
    plan = plan_day(asked, effort=EFFORT)
    for one in plan.rounds:
        done = min(behind, len(one.stops))
        if not one.stops:
            continue
        in_time = run_late(plan, one.driver.staff_id, done, 0, effort=EFFORT)
        assert in_time.kept.too_late_min == 0
        late = run_late(plan, one.driver.staff_id, done, late_min, effort=EFFORT)
        to_come = {stop.errand.key for stop in one.stops[done:]}
        assert {stop.errand.key for stop in late.kept.stops} == to_come
        assert (late.other is not None) == bool(late.kept.too_late_min)
        if late.other is not None:
            told = {stop.errand.key for stop in late.other.stops}
            assert told | {out.key for out, _says, _helps in late.other.out} == to_come
            assert all(stop.arrives <= stop.begins for stop in late.other.stops)
            assert late.other.too_late_min <= late.kept.too_late_min


def test_two_hundred_visits_are_planned_with_a_sentence_for_each_that_is_out() -> None:
    rng = random.Random(7)
    made = [
        errand(
            number, f"Site {number}", at(rng.uniform(-30, 30), rng.uniform(-30, 30)),
            level=rng.choice([0, 0, 0, 1, 2]), minutes=30, staff_id=None,
        )
        for number in range(1, 201)
    ]  # fmt: skip
    team = [driver(), driver(BRAM, "Bram Vet", at(8, 8))]
    plan = plan_day(asked_of(made, team), effort=0.2)
    stands(plan)
    assert sum(len(one.stops) for one in plan.rounds) > 15
    assert plan.proof.startswith("Not proven")
