"""What the days of a course meet is said anew when they are planned anew.

Zhang et al. 2015: at 20 °C the fastest young of gill flukes lay no sooner than 5 d after hatching.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, time, timedelta

from store.courses.planning.course import Given, Plan, PondWater, StepWish
from store.courses.planning.plan import plan_course
from store.courses.turning.turned import turned

FIRST = date(2026, 3, 3)
WATER = PondWater(12_000.0, 11_000.0, 13_500.0, temperature_c=19.0, ph=7.5)
FLUKES = StepWish("praziquantel", "pond_bath", 2.0, doses=4, interval_days=5)


def planned(*wishes: StepWish) -> Plan:
    return plan_course(wishes, hazards=["gill_flukes"], reason="", water=WATER, first_day=FIRST)


def was(number: int, day: int) -> Given:
    on_day = FIRST + timedelta(day)
    return Given(1, number, datetime.combine(on_day, time(9), UTC), on_day, 2.0, 24.0, "g", 0.0)


def test_a_weekly_interval_is_planned_and_its_gap_said_with_numbers() -> None:
    plan = planned(replace(FLUKES, interval_days=7, doses=3))
    said = plan.remarks[0]
    assert "Not covered throughout, though the last dose is late enough." in said
    assert "A gap of 7 d is longer than the 5 d in which the fastest young can breed" in said
    assert plan.steps[0].interval_why.startswith(
        "Every 7 d as typed. The life cycle asks for every 5 d: gill flukes at 19 °C"
    )


def test_after_a_late_dose_the_remarks_are_those_of_the_new_days() -> None:
    plan = planned(FLUKES)
    assert "doses on day 0, 5, 10, 15" in plan.remarks[0]
    turn = turned(plan, [was(1, 0), was(2, 8)], FIRST + timedelta(8))
    assert turn.changed
    assert "doses on day 0, 8, 13, 18" in turn.plan.remarks[0]
    assert "A gap of 8 d is longer than the 5 d" in turn.plan.remarks[0]
    assert not any("0, 5, 10, 15" in one for one in turn.plan.remarks)
    again = turned(turn.plan, [was(1, 0), was(2, 8)], FIRST + timedelta(8))
    assert not again.changed
    assert again.plan.remarks == turn.plan.remarks


def test_a_course_on_time_keeps_its_remarks() -> None:
    plan = planned(FLUKES)
    turn = turned(plan, [was(1, 0)], FIRST + timedelta(2))
    assert turn.plan.remarks == plan.remarks


def test_what_was_said_of_two_steps_stays() -> None:
    first = StepWish("diflubenzuron", "pond_bath", 0.01)
    plan = planned(first, replace(FLUKES, gap_days=1))
    assert plan.remarks[0].startswith("Step 2 begins on")
    late = replace(was(1, 3), dose=0.01, amount=plan.steps[0].doses[0].amount)
    turn = turned(plan, [late], FIRST + timedelta(3))
    assert turn.plan.remarks[0] == plan.remarks[0]
