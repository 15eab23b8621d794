"""Cautions of a dose and what adds up: with numbers and source, and silent where all is well."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from store.courses.cautions.before import EarlierDose, cautions, cautions_before
from store.courses.planning.course import PlannedDose, Product, StepWish
from store.courses.planning.predicted import over_most, predicted
from store.errors import BadInput, NotFound
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


def test_nothing_stops_a_dose_that_suits_its_water():
    plan = planned(FORMALIN_STEP)
    assert codes(cautions(plan), "stop") == set()
    found = cautions_before(plan, plan.steps[0], plan.steps[0].doses[0], GOOD)
    assert codes(found, "stop") == set()
    assert "handling_formalin" in codes(found, "mind")


def test_every_caution_has_a_sentence_and_a_source_and_stops_come_first():
    water = replace(
        GOOD, temperature_c=28.0, ph=9.2, oxygen_mg_l=4.0, alkalinity_mg_l=30.0, use="not asked",
        things=frozenset({"zeolite", "sick_filter"}), species="2 orfes, 1 sturgeon, koi",
        volume_low_l=12_000.0, age_days=6.0,
    )  # fmt: skip
    plan = planned(
        replace(FORMALIN_STEP, dose=30.0, doses=3, interval_days=4),
        replace(PHOSPHATE_STEP, dose=1.0, doses=3, interval_days=7),
        StepWish("potassium_permanganate", "pond_bath", 2.0),
        StepWish("copper_sulfate", "pond_bath", 1.0),
        StepWish("salt", "pond_bath", 2000.0),
        water=water,
    )
    found = cautions(plan)
    assert len(found) > 25
    for caution in found:
        assert caution.said.endswith((".", "?"))
        assert caution.source
        assert caution.standing
        assert "None" not in caution.said + caution.arithmetic
        assert " x " not in caution.arithmetic
    levels = [caution.level for caution in found]
    assert levels == sorted(levels, reverse=True)
    assert len(codes(found)) == len(found), "the reason of a vet is kept by the code"


def test_cautions_of_two_steps_are_told_apart_by_the_place_of_the_step():
    plan = planned(replace(FORMALIN_STEP, dose=60.0), replace(PHOSPHATE_STEP, dose=3.0))
    assert {"dose_high.1", "dose_high.2"} <= codes(cautions(plan), "stop")
    alone = planned(replace(FORMALIN_STEP, dose=60.0))
    assert "dose_high" in codes(cautions(alone), "stop")


BATHS = sorted(
    {
        (agent.code, one.code)
        for agent in agents().values()
        for one in agent.routes
        if one.code in ("pond_bath", "tank_bath", "dip")
    }
)


@settings(deadline=None, max_examples=150, derandomize=True)
@given(
    baths=st.lists(st.sampled_from(BATHS), min_size=1, max_size=3),
    share=st.floats(0.2, 1.6),
    doses=st.integers(1, 4),
    ph=st.none() | st.floats(5.0, 9.9),
    temp_c=st.none() | st.floats(2.0, 31.0),
    oxygen=st.none() | st.floats(1.0, 14.0),
    alkalinity=st.none() | st.floats(5.0, 300.0),
    low_share=st.floats(0.5, 1.0),
    stock=st.sampled_from(["", "31 koi", "koi, orfe, sturgeon"]),
    use=st.sampled_from(["ornamental", "food", "not asked"]),
)
def test_in_any_water_every_caution_has_its_source_and_a_code_of_its_own(
    baths, share, doses, ph, temp_c, oxygen, alkalinity, low_share, stock, use
):
    water = replace(
        GOOD, ph=ph, temperature_c=temp_c, oxygen_mg_l=oxygen, alkalinity_mg_l=alkalinity,
        volume_low_l=GOOD.volume_l * low_share, species=stock, use=use,
    )  # fmt: skip
    wishes = []
    for code, route in baths:
        published = next(one for one in agents()[code].routes if one.code == route)
        dose = published.dose_high * share * (1000.0 if published.unit == "g/L" else 1.0)
        volume_l = None if route == "pond_bath" else 800.0
        wishes.append(StepWish(code, route, dose, doses=doses, interval_days=7, volume_l=volume_l))
    plan = planned(*wishes, water=water)
    step = plan.steps[-1]
    for found in (cautions(plan), cautions_before(plan, step, step.doses[0], water)):
        assert len(codes(found)) == len(found)
        assert all(each.said and each.source and each.standing for each in found)
    told = codes(cautions(plan), "stop")
    for each in plan.steps:
        place = f".{each.place}" if len(plan.steps) > 1 else ""
        if over_most(each):
            kinds = ("peak", "dose_high", "dose_for_water", "no_dose_here")
            assert told & {kind + place for kind in kinds}


# --- the dose -----------------------------------------------------------------------------------


def test_a_dose_beyond_every_publication_stops_and_one_that_is_disputed_does_not():
    # 15-25 µL/L of 1.09 g/mL is 16.35-27.25 mg/L; another publication has 30-40 mg/L.
    assert "dose_high" in codes(cautions(planned(replace(FORMALIN_STEP, dose=41.0))), "stop")
    disputed = cautions(planned(replace(FORMALIN_STEP, dose=35.0)))
    assert "dose_disputed" in codes(disputed, "mind")
    assert "27.25" in one(disputed, "dose_disputed").said
    assert "dose_low" in codes(cautions(planned(replace(FORMALIN_STEP, dose=5.0))), "stop")


def test_a_dose_by_volume_is_put_beside_doses_by_weight():
    by_volume = replace(FORMALIN_STEP, dose=25.0, unit="uL/L")
    assert not codes(cautions(planned(by_volume))) & {"dose_high", "dose_disputed", "dose_low"}
    # 40 mg/L / 1.09 g/mL = 36.7 µL/L is the most of all.
    assert "dose_high" in codes(cautions(planned(replace(by_volume, dose=37.0))), "stop")
    assert "dose_high" not in codes(cautions(planned(replace(by_volume, dose=36.0))))


def test_formalin_typed_as_active_substance_is_seen():
    active = replace(FORMALIN_STEP, dose=25.0, product=Product("formalin", 37.0, "w/w", 1.09))
    found = cautions(planned(active))
    # 25 mg/L of formaldehyde is 67.6 mg/L of the product.
    assert {"dose_high"} <= codes(found, "stop")
    assert "basis" in codes(found, "mind")
    right = replace(active, dose=9.25)
    assert not codes(cautions(planned(right))) & {"dose_high", "dose_disputed", "dose_low"}


def test_a_thinned_formalin_typed_as_active_substance_is_no_excuse():
    thin = replace(FORMALIN_STEP, dose=25.0, product=Product("thinned", 10.0, "w/w", 1.02))
    assert "dose_high" in codes(cautions(planned(thin)), "stop")


def test_a_powder_of_nearly_pure_product_is_not_taken_for_another_form():
    water = replace(GOOD, alkalinity_mg_l=250.0, hardness_mg_l=None)
    copper = StepWish("copper_sulfate", "pond_bath", 2.5, product=Product("copper", 98.0))
    assert not codes(cautions(planned(copper, water=water)), "stop")


def test_copper_in_soft_water_stops_and_follows_the_alkalinity():
    copper = StepWish("copper_sulfate", "pond_bath", 1.0)
    soft = cautions(planned(copper, water=replace(GOOD, alkalinity_mg_l=40.0)))
    assert codes(soft, "stop") == {"no_dose_here", "species"}
    assert "40" in one(soft, "no_dose_here").said
    assert "dose_for_water" in codes(
        cautions(planned(copper, water=replace(GOOD, alkalinity_mg_l=80.0))), "stop"
    )
    assert "missing_alkalinity" in codes(
        cautions(planned(copper, water=replace(GOOD, alkalinity_mg_l=None))), "stop"
    )


def test_chloramine_t_for_hard_water_stops_in_soft_acid_water():
    bath = StepWish("chloramine_t", "tank_bath", 20.0, exposure_h=1.0, volume_l=800.0)
    acid = cautions(planned(bath, water=replace(GOOD, ph=6.5, hardness_mg_l=50.0)))
    assert "dose_for_water" in codes(acid, "stop")
    assert "5 mg/L" in one(acid, "dose_for_water").said
    assert "soft_water" in codes(acid, "mind")


def test_permanganate_above_the_common_rate_asks_for_the_demand_test():
    wish = StepWish("potassium_permanganate", "pond_bath", 7.5)
    found = cautions(planned(wish))
    assert "demand of 3 mg/L" in one(found, "dose_high").arithmetic
    tested = planned(replace(wish, demand_mg_l=3.0))
    assert not codes(cautions(tested), "stop") & {"dose_high", "peak"}


@pytest.mark.parametrize(
    ("temp_c", "dose", "code"),
    [(24.0, 151.0, "dose_disputed"), (24.0, 280.0, "dose_high"), (18.0, 250.0, "")],
)
def test_a_bath_of_an_hour_follows_its_temperature(temp_c, dose, code):
    bath = StepWish(
        "formalin", "tank_bath", dose, product=FORMALIN, exposure_h=1.0, volume_l=1000.0
    )
    found = cautions(planned(bath, water=replace(GOOD, temperature_c=temp_c)))
    told = codes(found) & {"dose_disputed", "dose_high", "peak"}
    assert told == ({code} if code else set())


def test_a_bath_longer_than_published_stops():
    bath = StepWish(
        "formalin", "tank_bath", 150.0, product=FORMALIN, exposure_h=3.0, volume_l=900.0
    )
    assert "exposure_long" in codes(cautions(planned(bath)), "stop")


def test_a_dip_reckoned_on_the_whole_pond_stops():
    plan = planned(StepWish("salt", "dip", 30_000.0, exposure_h=0.1, volume_l=GOOD.volume_l))
    assert "tank_volume" in codes(cautions(plan), "stop")
    tank = planned(StepWish("salt", "dip", 30_000.0, exposure_h=0.1, volume_l=200.0))
    assert "stop" not in {one.level for one in cautions(tank)}


def test_oftener_and_more_than_published_are_told():
    plan = planned(replace(FORMALIN_STEP, doses=3, interval_days=2, water_change_percent=50.0))
    assert "too_often" in codes(cautions(plan), "mind")
    plan = planned(replace(PHOSPHATE_STEP, doses=3, interval_days=7), hazards=("gill_flukes",))
    assert "more_doses" in codes(cautions(plan), "mind")


# --- what adds up -------------------------------------------------------------------------------


def test_weekly_doses_add_up_without_any_loss():
    # 1 + 0.7 + 0.49 = 2.19 mg/L after three doses with 30 % changed before the later ones.
    wish = replace(PHOSPHATE_STEP, dose=1.0, doses=3, interval_days=7, water_change_percent=30.0)
    found = cautions(planned(wish, hazards=("gill_flukes",)))
    peak = one(found, "peak")
    assert peak.level == "stop"
    assert "2.19 mg/L" in peak.said
    assert "dose 3" in peak.said


def test_a_half_life_excuses_no_peak():
    wish = replace(PHOSPHATE_STEP, dose=1.0, doses=3, interval_days=7, half_life_h=1.0)
    found = cautions(planned(wish, hazards=("gill_flukes",)))
    assert "3 mg/L" in one(found, "peak").said
    assert "not judged by" in one(found, "peak").arithmetic


def test_the_same_agent_in_another_step_or_course_or_lately_counts():
    once = replace(PHOSPHATE_STEP, dose=0.25)
    plan = planned(
        once, replace(once, gap_days=3), replace(once, gap_days=3), hazards=("anchor_worm",)
    )
    # 0.75 mg/L from three steps of one dose each; 0.5 mg/L is the most for anchor worm.
    assert {"peak.2", "peak.3"} & codes(cautions(plan), "stop")
    single = planned(once, hazards=("anchor_worm",))
    assert "peak" not in codes(cautions(single))
    other = planned(replace(once, doses=2, interval_days=7), hazards=("anchor_worm",))
    assert "peak" in codes(cautions(single, running=[other]), "stop")
    lately = EarlierDose("trichlorfon", date(2026, 5, 1), 0.4)
    assert "peak" in codes(cautions(single, last=[lately]), "stop")
    assert "peak" not in codes(cautions(single, last=[replace(lately, water_changed_percent=90.0)]))


def test_tank_baths_in_fresh_water_do_not_add_up():
    bath = StepWish("formalin", "tank_bath", 200.0, product=FORMALIN, exposure_h=1.0,
                    volume_l=1000.0, doses=4, interval_days=1)  # fmt: skip
    assert "peak" not in codes(cautions(planned(bath)))


def test_salt_counts_with_what_is_there():
    wish = StepWish("salt", "pond_bath", 2500.0)
    assert "peak" in codes(cautions(planned(wish, water=replace(GOOD, salinity_g_l=1.0))), "stop")
    plan = planned(StepWish("salt", "pond_bath", 900.0, doses=2, interval_days=1))
    assert "peak" not in codes(cautions(plan))
    dose = plan.steps[0].doses[1]
    given_one = [log(plan, 1, 1, DAY)]
    saltier = replace(GOOD, salinity_g_l=1.2)
    found = cautions_before(plan, plan.steps[0], dose, saltier, given=given_one)
    assert "peak" in codes(found, "stop")
    found = cautions_before(
        plan, plan.steps[0], dose, replace(GOOD, salinity_g_l=1.0), given=given_one
    )
    assert "peak" not in codes(found)


@settings(deadline=None, max_examples=120, derandomize=True)
@given(
    code=st.sampled_from(sorted(agents())),
    share=st.floats(0.05, 3.0),
    doses=st.integers(1, 6),
    interval_days=st.integers(1, 30),
    change=st.floats(0.0, 100.0),
    half_life_h=st.none() | st.floats(0.5, 500.0),
    temp_c=st.none() | st.floats(2.0, 30.0),
    hazard=st.sampled_from(["costia", "gill_flukes", "anchor_worm", "fish_louse", "columnaris"]),
    ph=st.none() | st.floats(5.0, 9.9),
)
def test_no_plan_predicts_a_peak_above_the_maximum_without_a_stop(
    code, share, doses, interval_days, change, half_life_h, temp_c, hazard, ph
):
    routes = [one for one in agents()[code].routes if one.code == "pond_bath"]
    assume(routes)
    most = routes[0].dose_high * (1000.0 if routes[0].unit == "g/L" else 1.0)
    wish = StepWish(code, "pond_bath", most * share, doses=doses, interval_days=interval_days,
                    water_change_percent=change, half_life_h=half_life_h)  # fmt: skip
    plan = planned(wish, water=replace(GOOD, temperature_c=temp_c, ph=ph), hazards=(hazard,))
    step = plan.steps[0]
    answer = predicted(step)
    if step.safe_most is None or max(answer.bound_mg_l) <= step.safe_most * (1.0 + 1e-6):
        return
    told = codes(cautions(plan), "stop") & {"peak", "dose_high", "dose_for_water"}
    assert told, (step.safe_most, answer.bound_mg_l)


@settings(deadline=None, max_examples=80, derandomize=True)
@given(
    amounts=st.lists(st.floats(0.1, 1.5), min_size=2, max_size=5),
    gaps=st.lists(st.integers(0, 10), min_size=4, max_size=4),
)
def test_a_dose_given_over_the_maximum_never_passes_unsaid(amounts, gaps):
    count = len(amounts)
    wish = replace(PHOSPHATE_STEP, dose=0.5, doses=count, interval_days=7)
    plan = planned(wish, hazards=("gill_flukes",))
    step, day, had = plan.steps[0], DAY, []
    for number, amount in enumerate(amounts[:-1], start=1):
        had.append(log(plan, 1, number, day, amount))
        day = date.fromordinal(day.toordinal() + gaps[number - 1])
    due = replace(step.doses[-1], dose=amounts[-1])
    found = cautions_before(plan, step, due, GOOD, given=had, on_day=day)
    # No water is changed and nothing is lost: what is in the water is the sum.
    over = sum(amounts) > (step.safe_most or 0.0) * (1.0 + 1e-6)
    assert bool(codes(found, "stop") & {"peak", "dose_high"}) == over


# --- before a dose ------------------------------------------------------------------------------


def test_a_dose_that_was_given_already_stops():
    plan = planned(
        replace(FORMALIN_STEP, dose=17.0, doses=2, interval_days=7, water_change_percent=50.0)
    )
    step = plan.steps[0]
    again = cautions_before(plan, step, step.doses[0], GOOD, given=[log(plan, 1, 1, DAY)])
    assert "twice" in codes(again, "stop")
    same_day = cautions_before(
        plan, step, step.doses[1], GOOD, given=[log(plan, 1, 1, DAY)], on_day=DAY
    )
    assert "twice" in codes(same_day, "stop")
    soon = cautions_before(
        plan, step, step.doses[1], GOOD, given=[log(plan, 1, 1, DAY)], on_day=date(2026, 5, 7)
    )
    assert "too_soon" in codes(soon, "mind")
    due = cautions_before(plan, step, step.doses[1], GOOD, given=[log(plan, 1, 1, DAY)])
    assert not codes(due) & {"twice", "too_soon"}


def test_before_the_first_dose_later_doses_are_not_counted():
    plan = planned(
        replace(PHOSPHATE_STEP, dose=1.0, doses=3, interval_days=7), hazards=("gill_flukes",)
    )
    step = plan.steps[0]
    assert "peak" not in codes(cautions_before(plan, step, step.doses[0], GOOD))
    had = [log(plan, 1, 1, DAY)]
    assert "peak" in codes(cautions_before(plan, step, step.doses[1], GOOD, given=had), "stop")


# --- bad input ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("field", "changed"),
    [
        ("volume", {"volume_l": 0.0}),
        ("least volume", {"volume_low_l": -1.0}),
        ("greatest volume", {"volume_high_l": 1.0}),
        ("pH", {"ph": 15.0}),
        ("temperature", {"temperature_c": float("nan")}),
        ("oxygen", {"oxygen_mg_l": -1.0}),
        ("age of the readings", {"age_days": -0.1}),
    ],
)
def test_water_that_cannot_exist_is_refused_at_the_field(field, changed):
    plan = planned(FORMALIN_STEP)
    with pytest.raises(BadInput) as refused:
        cautions_before(plan, plan.steps[0], plan.steps[0].doses[0], replace(GOOD, **changed))
    assert refused.value.field == field


def test_an_earlier_dose_that_cannot_exist_is_refused():
    with pytest.raises(BadInput) as refused:
        cautions(planned(FORMALIN_STEP), last=[EarlierDose("formalin", DAY, -1.0)])
    assert refused.value.field == "earlier dose"


def test_an_agent_that_is_not_in_the_formulary_is_refused():
    plan = planned(FORMALIN_STEP)
    strange = replace(plan, steps=(replace(plan.steps[0], agent="blue_stuff"),))
    with pytest.raises(NotFound):
        cautions(strange)


def test_a_plan_by_hand_with_a_route_that_is_not_published_stops():
    plan = planned(FORMALIN_STEP)
    step = replace(
        plan.steps[0], route="dip", doses=(PlannedDose(1, DAY, 20.0, 1.0, "g", 0.0, "owner"),)
    )
    assert "no_route" in codes(cautions(replace(plan, steps=(step,))), "stop")
