"""Cautions of the water, the volume, agents that clash, the fish and the people."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from store.courses.cautions.before import EarlierDose, cautions, cautions_before
from store.courses.planning.course import StepWish
from store.courses.planning.plan import plan_course
from store.facts.agents import agents
from tests.courses.caution_plans import (
    DAY,
    FORMALIN,
    FORMALIN_STEP,
    GOOD,
    PHOSPHATE_STEP,
    codes,
    log,
    one,
    planned,
)

# --- the water ----------------------------------------------------------------------------------


def test_little_oxygen_is_reckoned_through_and_stops():
    water = replace(GOOD, oxygen_mg_l=6.5)
    found = cautions(planned(FORMALIN_STEP, water=water))
    oxygen = one(found, "oxygen")
    assert oxygen.level == "stop"
    assert "20 mg/L / 5 = 4 mg/L" in oxygen.arithmetic
    assert (
        one(cautions(planned(FORMALIN_STEP, water=replace(GOOD, oxygen_mg_l=8.5))), "oxygen").level
        == "mind"
    )
    assert "oxygen" not in codes(
        cautions(planned(FORMALIN_STEP, water=replace(GOOD, oxygen_mg_l=9.5)))
    )


def test_a_dose_by_volume_takes_oxygen_by_its_weight():
    wish = replace(FORMALIN_STEP, dose=20.0, unit="uL/L")
    found = cautions(planned(wish, water=replace(GOOD, oxygen_mg_l=8.0)))
    # 20 µL/L × 1.09 g/mL = 21.8 mg/L take 4.36 mg/L.
    assert "4.36" in one(found, "oxygen").arithmetic


def test_warm_water_stops_and_a_rising_trend_is_told():
    assert "temperature" in codes(
        cautions(planned(FORMALIN_STEP, water=replace(GOOD, temperature_c=26.8))), "stop"
    )
    assert "temperature" not in codes(
        cautions(planned(FORMALIN_STEP, water=replace(GOOD, temperature_c=26.7)))
    )
    rising = replace(GOOD, temperature_c=25.0, trend_c_per_day=0.3)
    found = cautions(planned(replace(FORMALIN_STEP, doses=2, interval_days=7), water=rising))
    assert "27.1" in one(found, "temperature_trend").said
    assert one(found, "temperature_trend").level == "mind"


@pytest.mark.parametrize(("ph", "stopped"), [(8.9, False), (9.0, True), (9.4, True)])
def test_an_organophosphate_from_ph_9_stops(ph, stopped):
    found = cautions(planned(PHOSPHATE_STEP, water=replace(GOOD, ph=ph)))
    assert ("ph" in codes(found, "stop")) == stopped
    assert "breaks_down" in codes(found, "mind")


def test_acid_water_breaks_it_down_slowly_and_says_no_more_than_it_must():
    found = cautions(planned(PHOSPHATE_STEP, water=replace(GOOD, ph=6.8, temperature_c=19.0)))
    assert "breaks_down" not in codes(found)
    assert "ph_hour" in codes(found, "mind")


def test_outside_the_published_points_bounds_stand_in_place_of_a_half_life():
    found = cautions(planned(PHOSPHATE_STEP, water=replace(GOOD, ph=8.8, temperature_c=15.0)))
    told = one(found, "breaks_down")
    assert "no half-life can be given" in told.said
    assert "at least" in told.said
    assert "pH 9" in told.arithmetic


def test_where_nothing_is_published_the_warning_still_has_its_source():
    found = cautions(planned(PHOSPHATE_STEP, water=replace(GOOD, ph=9.6, temperature_c=14.7)))
    told = one(found, "breaks_down")
    assert "Nothing published bounds it there" in told.said
    assert "Piper" in told.source
    assert told.standing == "published"


def test_the_ph_before_an_organophosphate_is_measured_within_two_hours():
    plan = planned(PHOSPHATE_STEP)
    step, dose = plan.steps[0], plan.steps[0].doses[0]
    fresh = cautions_before(plan, step, dose, replace(GOOD, age_days=1.0 / 24.0))
    assert "ph_hour" not in codes(fresh)
    late = cautions_before(plan, step, dose, replace(GOOD, age_days=3.0 / 24.0))
    assert "ph_hour" in codes(late, "mind")


def test_a_missing_reading_is_minded_before_a_course_and_stops_a_dose():
    water = replace(GOOD, oxygen_mg_l=None, temperature_c=None)
    plan = planned(FORMALIN_STEP, water=water)
    wanted = {"missing_oxygen", "missing_temperature"}
    assert wanted <= codes(cautions(plan), "mind")
    found = cautions_before(plan, plan.steps[0], plan.steps[0].doses[0], water)
    assert wanted <= codes(found, "stop")


def test_old_readings_are_told():
    plan = planned(FORMALIN_STEP, water=replace(GOOD, age_days=2.0))
    assert "old_readings" not in codes(cautions(plan))
    found = cautions_before(plan, plan.steps[0], plan.steps[0].doses[0], plan.water)
    assert "2 d" in one(found, "old_readings").arithmetic
    unknown = cautions(planned(FORMALIN_STEP, water=replace(GOOD, age_days=None)))
    assert "age_unknown" in codes(unknown, "mind")


def test_salt_and_zeolite():
    wish = StepWish("salt", "pond_bath", 1500.0)
    asked = cautions(planned(wish))
    assert "zeolite_asked" in codes(asked, "mind")
    there = cautions(planned(wish, water=replace(GOOD, things=frozenset({"zeolite"}))))
    assert "zeolite" in codes(there, "stop")
    assert "zeolite_asked" not in codes(there)


def test_a_sick_filter_is_told_with_what_is_published():
    water = replace(GOOD, things=frozenset({"sick_filter"}))
    found = cautions(planned(FORMALIN_STEP, water=water))
    assert "8 days" in one(found, "sick_filter").said
    found = cautions(planned(StepWish("copper_sulfate", "pond_bath", 0.8), water=water))
    assert one(found, "sick_filter").level == "mind"


# --- the volume ---------------------------------------------------------------------------------


@pytest.mark.parametrize(("low_l", "told"), [(16_000.0, False), (15_900.0, True)])
def test_the_volume_may_be_out_by_a_fifth(low_l, told):
    found = cautions(planned(FORMALIN_STEP, water=replace(GOOD, volume_low_l=low_l)))
    assert any(each.code == "volume_unsure" for each in found) == told


def test_an_unsure_volume_is_told_at_both_ends_and_stops_over_the_most():
    water = replace(GOOD, volume_low_l=10_000.0, volume_high_l=25_000.0)
    found = cautions(planned(replace(FORMALIN_STEP, dose=17.0), water=water))
    told = one(found, "volume_unsure")
    assert told.level == "mind"  # 34 mg/L, and 40 is published
    assert "34 mg/L" in told.said
    assert "13.6 mg/L" in told.said
    found = cautions(planned(replace(FORMALIN_STEP, dose=25.0), water=water))
    assert one(found, "volume_unsure").level == "stop"  # 50 mg/L


def test_a_pond_that_was_lowered_since_the_plan_is_seen():
    plan = planned(replace(FORMALIN_STEP, dose=25.0))
    step, dose = plan.steps[0], plan.steps[0].doses[0]
    lower = replace(GOOD, volume_l=10_000.0, volume_low_l=9_500.0, volume_high_l=10_500.0)
    found = cautions_before(plan, step, dose, lower)
    assert one(found, "volume_changed").level == "stop"
    assert "50 mg/L" in one(found, "volume_changed").said
    little = replace(GOOD, volume_l=19_000.0)
    assert "volume_changed" not in codes(cautions_before(plan, step, dose, little))


def test_the_volume_of_a_tank_is_its_own():
    water = replace(GOOD, volume_low_l=5_000.0)
    bath = StepWish(
        "formalin", "tank_bath", 150.0, product=FORMALIN, exposure_h=1.0, volume_l=900.0
    )
    assert "volume_unsure" not in codes(cautions(planned(bath, water=water)))


# --- agents that clash --------------------------------------------------------------------------

PERMANGANATE = StepWish("potassium_permanganate", "pond_bath", 2.0, gap_days=7)


def test_permanganate_after_formalin_stops_with_what_may_be_left():
    wish = replace(PERMANGANATE, water_change_percent=30.0, change_before_first=True)
    found = cautions(planned(FORMALIN_STEP, wish))
    told = one(found, "clash_formalin.2")
    assert told.level == "stop"
    assert "7 days apart" in told.said
    assert "+ 20 - 30 % = 14" in told.arithmetic
    assert sum(each.code.startswith("clash") for each in found) == 1


def test_a_whole_water_change_or_four_weeks_lift_the_stop_but_not_the_word():
    whole = replace(PERMANGANATE, water_change_percent=100.0, change_before_first=True)
    assert one(cautions(planned(FORMALIN_STEP, whole)), "clash_formalin.2").level == "mind"
    later = replace(PERMANGANATE, gap_days=29)
    assert one(cautions(planned(FORMALIN_STEP, later)), "clash_formalin.2").level == "mind"


def test_a_running_course_and_doses_of_the_last_days_clash_too():
    plan = planned(PERMANGANATE)
    assert "clash_formalin" in codes(cautions(plan, running=[planned(FORMALIN_STEP)]), "stop")
    lately = EarlierDose("formalin", date(2026, 4, 28), 20.0)
    assert "clash_formalin" in codes(cautions(plan, last=[lately]), "stop")
    assert "clash_formalin" not in codes(
        cautions(plan, last=[replace(lately, on_day=date(2026, 3, 1))])
    )
    unknown = cautions(plan, last=[EarlierDose("blue_stuff", date(2026, 5, 1), 1.0)])
    assert "blue_stuff" in one(unknown, "unknown_agent").said


def test_before_a_dose_the_other_step_counts_as_it_was_given():
    plan = planned(FORMALIN_STEP, PERMANGANATE)
    step = plan.steps[1]
    found = cautions_before(
        plan, step, step.doses[0], GOOD, given=[log(plan, 1, 1, date(2026, 5, 9))]
    )
    assert "2 days apart" in one(found, "clash_formalin.2").said
    first = plan.steps[0]
    found = cautions_before(plan, first, first.doses[0], GOOD)
    assert not any(each.code.startswith("clash") for each in found)


def test_a_second_organophosphate_stops_however_it_is_spaced():
    plan = planned(PHOSPHATE_STEP, hazards=("anchor_worm",))
    found = cautions(plan, last=[EarlierDose("trichlorfon", date(2026, 4, 20), 0.1)])
    assert "nerve poison" in one(found, "clash_trichlorfon").said
    assert one(found, "clash_trichlorfon").level == "stop"


def test_a_step_that_was_never_given_is_not_counted_before_a_dose():
    once = replace(PHOSPHATE_STEP, dose=0.4)
    plan = planned(once, replace(once, gap_days=7), hazards=("anchor_worm",))
    second = plan.steps[1]
    silent = cautions_before(plan, second, second.doses[0], GOOD)
    assert "peak.2" not in codes(silent)
    had = [log(plan, 1, 1, DAY)]
    found = cautions_before(plan, second, second.doses[0], GOOD, given=had)
    assert "0.8 mg/L" in one(found, "peak.2").said
    plan = planned(FORMALIN_STEP, PERMANGANATE)
    second = plan.steps[1]
    found = cautions_before(plan, second, second.doses[0], GOOD)
    assert not any(each.code.startswith("clash") for each in found)


def test_what_another_course_gives_later_meets_this_dose():
    plan = planned(PERMANGANATE)
    later = plan_course([FORMALIN_STEP], hazards=["costia"], reason="", water=GOOD,
                        first_day=date(2026, 5, 14))  # fmt: skip
    assert one(cautions(plan, running=[later]), "clash_formalin").level == "stop"


def test_a_whole_water_change_now_does_not_help_against_what_comes_later():
    whole = replace(PERMANGANATE, water_change_percent=100.0, change_before_first=True)
    around = plan_course([replace(FORMALIN_STEP, doses=2, interval_days=14)], hazards=["costia"],
                         reason="", water=GOOD, first_day=date(2026, 5, 1))  # fmt: skip
    assert one(cautions(planned(whole), running=[around]), "clash_formalin").level == "stop"


def test_a_tank_beside_the_pond_is_other_water():
    bath = StepWish(
        "formalin", "tank_bath", 150.0, product=FORMALIN, exposure_h=1.0, volume_l=900.0
    )
    found = cautions(planned(bath, PERMANGANATE))
    assert one(found, "clash_formalin.2").level == "mind"
    assert "different water" in one(found, "clash_formalin.2").said


# --- fish, food, people -------------------------------------------------------------------------


def test_sensitive_fish_on_the_stock_list_stop():
    found = cautions(planned(PHOSPHATE_STEP, water=replace(GOOD, species="12 Koi; 2 Golden Orfes")))
    assert one(found, "species").level == "stop"
    assert "orfe" in one(found, "species").said
    none = cautions(planned(PHOSPHATE_STEP, water=replace(GOOD, species="koi, grayling, 3 trays")))
    assert "species" not in codes(none)
    unknown = cautions(planned(PHOSPHATE_STEP, water=replace(GOOD, species="")))
    assert "tench" in one(unknown, "species_unknown").said


def test_koi_are_warned_of_with_copper_in_soft_water_only():
    copper = StepWish("copper_sulfate", "pond_bath", 0.6)
    hard = replace(GOOD, alkalinity_mg_l=150.0, hardness_mg_l=160.0)
    assert "species" not in codes(cautions(planned(copper, water=hard)))
    soft = replace(GOOD, alkalinity_mg_l=60.0, hardness_mg_l=60.0)
    assert "species" in codes(cautions(planned(copper, water=soft)), "stop")


def test_food_is_asked_and_never_assumed():
    assert "food_not_asked" in codes(
        cautions(planned(FORMALIN_STEP, water=replace(GOOD, use="not asked"))), "stop"
    )
    food = cautions(planned(FORMALIN_STEP, water=replace(GOOD, use="food")))
    assert one(food, "food").level == "stop"
    assert "500 / 18 = 27.8 days" in one(food, "food").arithmetic
    assert "all finfish (US): 0 d" in one(food, "food").said
    ornamental = cautions(planned(FORMALIN_STEP))
    assert "never enter food" in one(ornamental, "ornamental").said


def test_a_barred_agent_bars_for_good():
    green = StepWish("malachite_green", "pond_bath", 0.1)
    food = cautions(planned(green, water=replace(GOOD, use="food")))
    assert "barred_malachite_green" in codes(food, "stop")
    assert "barred_malachite_green" in codes(cautions(planned(green)), "mind")
    had = cautions(
        planned(FORMALIN_STEP, water=replace(GOOD, use="food")),
        last=[EarlierDose("malachite_green", date(2025, 5, 1), 0.1)],
    )
    assert "barred_malachite_green" in codes(had, "stop")


def test_people_are_warned_of_every_agent():
    found = cautions(planned(FORMALIN_STEP, PHOSPHATE_STEP))
    for code in ("formalin", "trichlorfon"):
        for told in agents()[code].handling:
            assert told in one(found, f"handling_{code}").said
    assert any("Local law" in each.said for each in found)
