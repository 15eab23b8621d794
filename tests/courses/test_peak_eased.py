"""A stop for what adds up names the water change that would keep the water under the most.

Mass balance: a change of a share f leaves 1 - f of what is there; no publication is needed for it.
Four weekly doses of 0.25 mg/L against anchor worm are common practice of the trade.
"""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import timedelta

import pytest
from caution_plans import DAY, GOOD, PHOSPHATE_STEP, codes, log, one, planned
from hypothesis import given
from hypothesis import strategies as some

from store.courses.cautions.before import cautions, cautions_before
from store.courses.planning.course import PondWater, StepWish

WORM = ("anchor_worm",)
FOUR = replace(PHOSPHATE_STEP, doses=4, interval_days=7)
CHANGE = re.compile(r"With (\d+) % of the water changed before (?:each|the) later dose")


def test_four_doses_without_loss_name_the_change_that_keeps_them_under() -> None:
    said = one(cautions(planned(FOUR, hazards=WORM)), "peak").said
    # 0.25, 0.5, 0.75, 1 mg/L; the most is 0.5: with 46 % the last is 0.25 (1 - 0.54^4) / 0.46.
    assert "dose 4 on 25 May 2026 can bring the water to 1 mg/L; the most is 0.5 mg/L" in said
    assert "the bound without any loss: what breaks down in the water is not counted" in said
    assert "With 46 % of the water changed before each later dose it would be 0.4973 mg/L" in said


def test_a_change_that_is_planned_already_is_said_beside() -> None:
    wish = replace(FOUR, water_change_percent=30.0)
    said = one(cautions(planned(wish, hazards=WORM)), "peak").said
    assert "With 46 % of the water changed before each later dose, not 30 %, it would be" in said


@given(
    dose=some.floats(0.05, 0.5),
    doses=some.integers(2, 8),
    change=some.floats(0.0, 40.0),
)
def test_the_change_that_is_named_lifts_the_stop_and_a_smaller_one_does_not(
    dose: float, doses: int, change: float
) -> None:
    wish = replace(FOUR, dose=dose, doses=doses, water_change_percent=change)
    found = cautions(planned(wish, hazards=WORM))
    if "peak" not in codes(found, "stop"):
        return
    named = CHANGE.search(one(found, "peak").said)
    assert named is not None
    percent = float(named[1])
    assert percent > change
    enough = replace(wish, water_change_percent=percent)
    assert "peak" not in codes(cautions(planned(enough, hazards=WORM)))
    if percent - 1.0 > change:
        less = replace(wish, water_change_percent=percent - 1.0)
        assert "peak" in codes(cautions(planned(less, hazards=WORM)), "stop")


def test_before_a_dose_the_change_before_this_one_is_named() -> None:
    plan = planned(FOUR, hazards=WORM)
    step = plan.steps[0]
    given_two = [log(plan, 1, 1, DAY), log(plan, 1, 2, DAY + timedelta(7))]
    dose = step.doses[2]
    said = one(cautions_before(plan, step, dose, GOOD, given=given_two), "peak").said
    # 0.5 mg/L is there; half of it may stay.
    assert "With 50 % of the water changed before it it would be 0.5 mg/L" in said


def test_a_dose_too_large_by_itself_names_none() -> None:
    said = [one.said for one in cautions(planned(replace(FOUR, dose=0.8), hazards=WORM))]
    assert not any("of the water changed before" in each for each in said)


def test_salt_names_none_for_the_water_takes_the_salt_that_is_there_too() -> None:
    water: PondWater = replace(GOOD, salinity_g_l=1.0)
    wish = StepWish("salt", "pond_bath", 1500.0, doses=2, interval_days=7)
    said = one(cautions(planned(wish, water=water)), "peak").said
    assert "bound without any loss" not in said


@pytest.mark.parametrize("doses", [1, 2])
def test_what_stays_under_says_nothing_of_it(doses: int) -> None:
    found = cautions(planned(replace(FOUR, doses=doses), hazards=WORM))
    assert "peak" not in codes(found)
