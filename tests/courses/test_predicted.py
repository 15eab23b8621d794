"""What a step brings into the water, with doses as they were really given."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, date, datetime, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.courses.planning.course import Given, PlanStep, PondWater, StepWish
from store.courses.planning.plan import plan_course
from store.courses.planning.predicted import moments, over_most, predicted
from store.errors import BadInput

FIRST = date(2026, 6, 1)
WATER = PondWater(10_000.0, 10_000.0, 10_000.0, temperature_c=20.0)


def step_of(
    doses: int = 3,
    every: int = 7,
    change: float = 0.0,
    dose: float = 2.0,
    half: float | None = None,
) -> PlanStep:
    wish = StepWish(
        "praziquantel", "pond_bath", dose, doses=doses, interval_days=every,
        water_change_percent=change, half_life_h=half,
    )  # fmt: skip
    return plan_course(
        [wish], hazards=["gill_flukes"], reason="", water=WATER, first_day=FIRST
    ).steps[0]


def given_on(
    day: int, number: int, dose: float = 2.0, change: float = 0.0, place: int = 1
) -> Given:
    on_day = FIRST + timedelta(day)
    at = datetime(on_day.year, on_day.month, on_day.day, 7, tzinfo=UTC)
    return Given(place, number, at, on_day, dose, 20.0, "g", change)


def test_doses_as_given_stand_in_for_those_planned() -> None:
    step = step_of(change=50.0)
    assert predicted(step).peaks_mg_l == pytest.approx((2.0, 3.0, 3.5))
    late_and_short = [given_on(0, 1), given_on(9, 2, dose=1.0, change=25.0)]
    answer = predicted(step, late_and_short)
    assert answer.peaks_mg_l == pytest.approx((2.0, 2.5, 3.25))
    assert [one.at_h / 24.0 for one in answer.steps] == [0.0, 9.0, 14.0]


def test_a_dose_given_twice_counts_twice() -> None:
    step = step_of()
    twice = [given_on(0, 1), given_on(0, 1)]
    assert predicted(step, twice).peaks_mg_l == pytest.approx((2.0, 4.0, 6.0, 8.0))
    assert [one.number for one in moments(step, twice)] == [1, 1, 2, 3]
    assert over_most(replace(step, safe_most=5.0), twice) == (2, 3)


def test_missed_doses_and_those_of_other_steps_do_not_count() -> None:
    step = step_of()
    first, second, third = step.doses
    gone = replace(
        step, doses=(first, replace(second, state="missed"), replace(third, state="dropped"))
    )
    assert predicted(gone, [given_on(3, 9, place=2)]).peaks_mg_l == pytest.approx((2.0,))
    with pytest.raises(BadInput):
        predicted(replace(gone, doses=gone.doses[1:]))


def test_a_dose_by_volume_is_told_by_volume() -> None:
    wish = StepWish("formalin", "pond_bath", 15.0, unit="uL/L", doses=2, interval_days=7)
    step = plan_course(
        [wish], hazards=["costia"], reason="", water=WATER, first_day=FIRST
    ).steps[0]  # fmt: skip
    assert "µL/L" in predicted(step).arithmetic
    assert "mg/L" not in predicted(step).arithmetic


@given(
    doses=st.integers(1, 8),
    every=st.integers(1, 20),
    change=st.floats(0.0, 100.0),
    dose=st.floats(0.01, 20.0),
    half=st.none() | st.floats(1.0, 2000.0),
)
def test_no_peak_above_the_published_most_goes_unsaid(
    doses: int, every: int, change: float, dose: float, half: float | None
) -> None:
    step = step_of(doses, every, change, dose, half)
    answer = predicted(step)
    assert step.safe_most is not None
    assert len(answer.peaks_mg_l) == doses
    for number, peak in enumerate(answer.peaks_mg_l, start=1):
        if peak > step.safe_most * (1.0 + 1e-6):
            assert number in over_most(step)


@given(
    days=st.lists(st.integers(0, 30), min_size=1, max_size=6),
    dose=st.floats(0.01, 20.0),
)
def test_nothing_given_is_ever_left_out(days: list[int], dose: float) -> None:
    step = step_of(doses=2)
    log = [given_on(day, 1 + place % 3, dose) for place, day in enumerate(days)]
    numbers = {one.number for one in log}
    due = [one.dose for one in step.doses if one.number not in numbers]
    answer = predicted(step, log)
    assert answer.end_mg_l == pytest.approx(dose * len(days) + sum(due))
    assert all(
        before.at_h <= after.at_h
        for before, after in zip(answer.steps, answer.steps[1:], strict=False)
    )
