"""A course as a plan: days, amounts, intervals, tasks, the most that is published, bad input."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.courses.planning.course import Plan, PondWater, Product, StepWish
from store.courses.planning.plan import BadStep, measured_out, plan_course
from store.courses.planning.predicted import over_most, predicted
from store.errors import BadInput

FIRST = date(2026, 3, 3)
WATER = PondWater(12_000.0, 11_000.0, 13_500.0, temperature_c=20.0, ph=7.5)
FORMALIN = Product("formalin", 37.0, "product", 1.09)
FLUKES = StepWish("praziquantel", "pond_bath", 2.0, doses=3, interval_days=7)


def planned(*wishes: StepWish, water: PondWater = WATER, **other: Any) -> Plan:
    asked: dict[str, Any] = {"hazards": ["gill_flukes"], "reason": "", "first_day": FIRST} | other
    return plan_course(wishes, water=water, **asked)


def days(plan: Plan, place: int = 1) -> list[int]:
    return [(dose.due_on - FIRST).days for dose in plan.steps[place - 1].doses]


# Formalin for a flagellate, a week later an organophosphate weekly three times, 30 % of the water
# changed before each dose, the UV lamp off before the first: common practice, without a source.
def two_agents() -> Plan:
    return planned(
        StepWish(
            "formalin", "pond_bath", 20.0,
            product=FORMALIN, water_change_percent=30.0, change_before_first=True,
        ),
        StepWish(
            "trichlorfon", "pond_bath", 1.0, doses=3, interval_days=7, gap_days=7,
            product=Product(strength_percent=97.0), water_change_percent=30.0,
            change_before_first=True,
        ),
        hazards=["costia", "gill_flukes"],
        water=replace(WATER, temperature_c=19.0, ph=6.8),
    )  # fmt: skip


def test_two_agents_one_after_another() -> None:
    plan = two_agents()
    assert days(plan, 1) == [0]
    assert days(plan, 2) == [7, 14, 21]
    assert [step.gap_days for step in plan.steps] == [None, 7]
    doses = [dose for step in plan.steps for dose in step.doses]
    assert all(dose.water_change_percent == 30.0 for dose in doses)
    assert [(dose.amount, dose.amount_unit) for dose in doses] == [
        (220.0, "mL"), (12.3, "g"), (12.3, "g"), (12.3, "g")
    ]  # fmt: skip
    assert plan.control_on is not None
    assert plan.control_on >= FIRST + timedelta(28)
    off = [task for task in plan.tasks if task.code == "off_uv"]
    back = [task for task in plan.tasks if task.code == "on_uv"]
    assert [task.on_day for task in off] == [FIRST]
    assert [task.on_day for task in back] == [FIRST + timedelta(28)]
    air = [task.code for task in plan.tasks if task.code.startswith("air")]
    assert air == ["air_on", "air_off"]
    said = " ".join(plan.remarks)
    assert "A gap of 7 d is longer than the 5 d" in said
    assert "scrape again within days" in said


def test_what_two_agents_bring_into_the_water() -> None:
    """1, then 0.7 and 1, then 0.7 × 1.7 and 1: the arithmetic of a mass balance."""
    step = two_agents().steps[1]
    answer = predicted(step)
    assert answer.peaks_mg_l == pytest.approx((1.0, 1.7, 2.19))
    assert step.half_life_h is None, "no half-life is published for pH 6.8 at 19 °C"
    assert any("at least 46 h" in remark for remark in step.remarks)
    assert step.safe_most == 0.5, "Piper et al. 1982, p. 335; common practice raises nothing"
    assert over_most(step) == (1, 2, 3)


def test_three_weekly_doses_in_cold_water_end_before_the_first_hatch() -> None:
    """Zhang et al. 2015, Acta Hydrobiologica Sinica 39(6): hatching from day 19 to 43 at 10 °C."""
    plan = planned(FLUKES, water=replace(WATER, temperature_c=10.0))
    (said,) = [one for one in plan.remarks if one.startswith("Gill flukes, praziquantel")]
    assert "all 3 doses fall before the first egg hatches, on day 19" in said
    assert "until day 43" in said
    assert plan.control_on == date(2026, 4, 16), "the last egg hatches on 15 April"
    assert any("asks for" in one and "3 are planned" in one for one in plan.steps[0].remarks)


def test_warmth_that_is_only_expected_ends_no_course_sooner() -> None:
    """Zhang et al. 2015: until day 43 at 10 °C; warming water brings the first hatch forward."""
    warming = planned(FLUKES, water=replace(WATER, temperature_c=10.0, trend_c_per_day=0.3))
    assert warming.control_on == date(2026, 4, 16)
    assert any("all 3 doses fall before the first egg" in one for one in warming.remarks)
    cooling = planned(FLUKES, water=replace(WATER, temperature_c=15.0, trend_c_per_day=-0.3))
    steady = planned(FLUKES, water=replace(WATER, temperature_c=15.0))
    assert cooling.control_on is not None
    assert steady.control_on is not None
    assert cooling.control_on > steady.control_on
    leaving = planned(FLUKES, water=replace(WATER, temperature_c=10.0, trend_c_per_day=-0.3))
    assert leaving.control_on == date(2026, 4, 16)
    assert any("If the water moves on" in one and "10 to 35 °C" in one for one in leaving.remarks)


def test_the_interval_is_that_of_the_life_cycle() -> None:
    """Zhang et al. 2015: at 20 °C the young lay 5 days after hatching, all eggs hatch by day 8."""
    plan = planned(replace(FLUKES, interval_days=None))
    assert days(plan) == [0, 5, 10]
    assert plan.steps[0].interval_days == 5
    assert "Zhang et al. 2015" in plan.steps[0].interval_why
    assert "8 d at 20 °C" in " ".join(plan.remarks) or "day 8" in " ".join(plan.remarks)
    typed = planned(FLUKES).steps[0]
    assert typed.interval_why.startswith("Every 7 d as typed. The life cycle asks for every 5 d")


def test_warming_water_asks_for_the_shorter_interval() -> None:
    cool = replace(WATER, temperature_c=15.0)
    wish = StepWish("formalin", "pond_bath", 15.0, unit="uL/L", doses=4, product=FORMALIN)
    still = planned(wish, water=cool, hazards=["white_spot"]).steps[0]
    moving = planned(wish, water=replace(cool, trend_c_per_day=0.5), hazards=["white_spot"]).steps[
        0
    ]
    falling = planned(
        wish, water=replace(cool, trend_c_per_day=-0.5), hazards=["white_spot"]
    ).steps[0]
    assert still.interval_days is not None
    assert moving.interval_days is not None
    assert moving.interval_days < still.interval_days
    assert falling.interval_days == still.interval_days
    assert any("moves by +0.5 °C a day: from 15 to 18.5 °C" in one for one in moving.remarks)


def test_no_interval_is_made_up_outside_the_published_range() -> None:
    wish = replace(FLUKES, interval_days=None)
    with pytest.raises(BadStep, match="published for 10 to 35 °C") as refused:
        planned(wish, water=replace(WATER, temperature_c=4.0))
    assert refused.value.field == "interval"
    typed = planned(FLUKES, water=replace(WATER, temperature_c=4.0)).steps[0]
    assert any("nothing is carried beyond" in one for one in typed.remarks)
    with pytest.raises(BadStep, match="no temperature"):
        planned(wish, water=replace(WATER, temperature_c=None))
    with pytest.raises(BadStep, match="Type the days"):
        planned(wish, hazards=["costia"])


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"dose": 0.0}, "dose"),
        ({"dose": -1.0}, "dose"),
        ({"dose": float("nan")}, "dose"),
        ({"doses": 0}, "doses"),
        ({"doses": 31}, "doses"),
        ({"doses": 1.5}, "doses"),
        ({"interval_days": 0}, "interval"),
        ({"interval_days": -7}, "interval"),
        ({"agent": "moonshine"}, "agent"),
        ({"route": "feed"}, "route"),
        ({"route": "dip"}, "route"),
        ({"route": "by_post"}, "route"),
        ({"unit": "mg/kg"}, "unit"),
        ({"water_change_percent": 101.0}, "water change"),
        ({"water_change_percent": -1.0}, "water change"),
        ({"product": Product(strength_percent=101.0)}, "strength"),
        ({"product": Product(strength_percent=0.0)}, "strength"),
        ({"product": Product(density_g_ml=1090.0)}, "density"),
        ({"volume_l": 0.0}, "volume"),
        ({"route": "tank_bath"}, "volume"),
        ({"exposure_h": 0.0}, "exposure"),
        ({"half_life_h": 0.0}, "half-life"),
        ({"share": "neighbour"}, "share"),
    ],
)
def test_bad_input_is_told_at_its_field(change: dict[str, Any], field: str) -> None:
    bad: StepWish = replace(FLUKES, **change)
    with pytest.raises(BadStep) as refused:
        planned(FLUKES, bad)
    assert refused.value.field == field
    assert refused.value.place == 2
    assert refused.value.message.startswith("Step 2: ")


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"volume_l": 0.0}, "volume"),
        ({"volume_l": float("inf")}, "volume"),
        ({"volume_low_l": 13_000.0}, "least volume"),
        ({"volume_high_l": 11_000.0}, "greatest volume"),
        ({"temperature_c": 90.0}, "temperature"),
        ({"ph": 15.0}, "pH"),
        ({"trend_c_per_day": float("nan")}, "trend"),
        ({"oxygen_mg_l": -1.0}, "oxygen"),
    ],
)
def test_water_that_cannot_be(change: dict[str, Any], field: str) -> None:
    with pytest.raises(BadInput) as refused:
        planned(FLUKES, water=replace(WATER, **change))
    assert refused.value.field == field


def test_a_course_needs_an_agent_and_a_reason() -> None:
    with pytest.raises(BadInput) as refused:
        planned()
    assert refused.value.field == "agent"
    with pytest.raises(BadInput) as refused:
        planned(FLUKES, hazards=[], reason="  ")
    assert refused.value.field == "reason"
    with pytest.raises(BadInput) as refused:
        planned(FLUKES, hazards=["dragons"])
    assert refused.value.field == "hazards"
    assert planned(FLUKES, hazards=[], reason="flukes seen by the owner").steps
    late = date(9999, 12, 30)
    with pytest.raises(BadInput) as refused:
        planned(FLUKES, first_day=late)
    assert refused.value.field == "first day"


@given(
    volume_l=st.floats(500.0, 5e5),
    factor=st.floats(0.5, 20.0),
    dose=st.floats(0.1, 100.0),
    strength=st.floats(5.0, 100.0),
)
def test_doses_scale_with_the_volume(
    volume_l: float, factor: float, dose: float, strength: float
) -> None:
    wish = replace(FLUKES, dose=dose, product=Product(strength_percent=strength))

    def amount(litres: float) -> tuple[float, float]:
        step = planned(wish, water=replace(
            WATER, volume_l=litres, volume_low_l=litres, volume_high_l=litres
        )).steps[0]  # fmt: skip
        exact = measured_out(dose, "mg/L", wish.product, litres).out.exact
        return exact, step.doses[0].amount

    (one, out), (other, other_out) = amount(volume_l), amount(volume_l * factor)
    assert other == pytest.approx(one * factor, rel=1e-9)
    for exact, measured in ((one, out), (other, other_out)):
        assert 0.0 < measured <= exact * (1.0 + 1e-9)
        assert measured >= exact * 0.99 - 0.01


def test_what_is_less_than_the_finest_scale_is_not_rounded_to_nothing() -> None:
    small = PondWater(20.0, 20.0, 20.0)
    step = planned(replace(FLUKES, dose=0.1), water=small).steps[0]
    assert step.doses[0].amount == pytest.approx(0.002)
    assert any("weighed stock" in one for one in step.remarks)


def test_the_water_changes_before_each_later_dose() -> None:
    step = planned(replace(FLUKES, water_change_percent=25.0)).steps[0]
    assert [dose.water_change_percent for dose in step.doses] == [0.0, 25.0, 25.0]


def test_the_filter_is_bypassed_for_the_day_of_the_bath_alone() -> None:
    """UF/IFAS FA032: 2 mg/L, more where a demand test says so."""
    plan = planned(
        StepWish("potassium_permanganate", "pond_bath", 2.0, doses=2, interval_days=4),
        hazards=["columnaris"],
    )
    filters = [task.on_day for task in plan.tasks if task.code == "filter"]
    assert filters == [FIRST, FIRST + timedelta(4)]
    assert any("demand test" in one for one in plan.steps[0].remarks)
    assert [task.on_day for task in plan.tasks] == sorted(task.on_day for task in plan.tasks)
    assert "15 Mar 2026" in next(one.says for one in plan.tasks if one.code == "ammonia")


def test_a_bath_in_a_tank_is_mixed_fresh() -> None:
    """UF/IFAS VM-77: at most 150 mg/L for an hour above 21 °C."""
    wish = StepWish(
        "formalin", "tank_bath", 150.0, doses=3, interval_days=2, exposure_h=1.0,
        volume_l=500.0, product=FORMALIN,
    )  # fmt: skip
    plan = planned(wish, hazards=["trichodina"], water=replace(WATER, temperature_c=24.0))
    step = plan.steps[0]
    assert step.safe_most == pytest.approx(250.0 * 1.09), "Merck: 250 µL/L at any temperature"
    assert step.volume_l == 500.0
    assert predicted(step).peaks_mg_l == pytest.approx((150.0, 150.0, 150.0))
    assert predicted(step).exposure_mg_h_l == pytest.approx(3 * 150.0)
    assert any("UV lamp of the tank" in task.says for task in plan.tasks)
    assert all(task.code != "volume" for task in plan.tasks)


def most(wish: StepWish, **water: Any) -> float | None:
    return (
        planned(wish, hazards=[], reason="test", water=replace(WATER, **water)).steps[0].safe_most
    )


def test_the_most_that_is_published_in_the_unit_and_sense_of_the_dose() -> None:
    """Merck 2019: 15-25 µL/L of the 37 % product; Rowland 2006: 30-40 mg/L, which is the most."""
    product = StepWish("formalin", "pond_bath", 20.0, product=FORMALIN)
    assert most(product) == pytest.approx(40.0)
    assert most(replace(product, unit="uL/L")) == pytest.approx(40.0 / 1.09)
    active = replace(product, product=Product("formalin", 37.0, "w/w", 1.09))
    assert most(active) == pytest.approx(40.0 * 0.37)


def test_the_water_sets_the_most_of_copper() -> None:
    """UF/IFAS FA008: alkalinity / 100, at most 2.5 mg/L, none below 50 mg/L."""
    copper = StepWish("copper_sulfate", "pond_bath", 1.0)
    assert most(copper, alkalinity_mg_l=180.0) == pytest.approx(1.8)
    assert most(copper, alkalinity_mg_l=400.0) == pytest.approx(2.5)
    assert most(copper) == 0.5, "not measured: as for the softest water"
    assert most(copper, alkalinity_mg_l=30.0) == 0.5


def test_the_water_sets_the_most_of_chloramine_t_and_permanganate() -> None:
    """Cross & Hursey 1973, Tucker & Boyd 1977, both from memory; UF/IFAS FA032."""
    bath = StepWish("chloramine_t", "tank_bath", 10.0, volume_l=500.0)
    assert most(bath, ph=7.2) == 10.0
    assert most(bath, ph=7.2, hardness_mg_l=200.0) == 15.0
    assert most(bath, ph=None) == 2.5
    assert most(bath, ph=5.0) == 2.5
    purple = StepWish("potassium_permanganate", "pond_bath", 2.0)
    assert most(purple) == 2.0
    assert most(replace(purple, demand_mg_l=3.0)) == 7.5


def test_salt_that_is_there_counts() -> None:
    """UF/IFAS FA185: 4.8 g/L against anchor worm; WSAVA 2018: 1-3 g/L against nitrite."""
    salt = StepWish("salt", "pond_bath", 500.0)
    assert most(salt) == 2000.0
    assert most(salt, salinity_g_l=0.5) == pytest.approx(1500.0)
    with pytest.raises(BadStep) as refused:
        most(salt, salinity_g_l=2.5)
    assert refused.value.field == "dose"


def test_a_longer_bath_is_held_against_what_is_published_for_so_long() -> None:
    """UF/IFAS VM-77: 15-25 mg/L for as long as it works, 250 mg/L for an hour at most."""
    bath = StepWish("formalin", "tank_bath", 25.0, volume_l=500.0, product=FORMALIN)
    assert most(bath) == pytest.approx(25.0)
    assert most(replace(bath, exposure_h=24.0)) == pytest.approx(25.0)


def test_the_statement_that_fits_temperature_and_time_is_followed() -> None:
    """Kabata 1970: 10 mg/L for 1.5-2 h at 21-30 °C, 20 at 15-20 °C; UF/IFAS FA185: 25 for 0.5 h."""
    bath = StepWish("potassium_permanganate", "tank_bath", 10.0, exposure_h=2.0, volume_l=500.0)

    def highest(temperature_c: float, exposure_h: float) -> float | None:
        wish = replace(bath, exposure_h=exposure_h)
        water = replace(WATER, temperature_c=temperature_c)
        return planned(wish, hazards=["anchor_worm"], water=water).steps[0].safe_most

    assert highest(25.0, 2.0) == 10.0
    assert highest(18.0, 2.0) == 20.0
    assert highest(25.0, 0.5) == 25.0


def test_the_half_life_is_shown_where_it_is_published_and_never_needed() -> None:
    """US EPA 1997 and The Pesticide Manual, from memory: 34 h at pH 7 and 25 °C."""
    wish = StepWish("trichlorfon", "pond_bath", 0.25, doses=3, interval_days=7)
    step = planned(wish, water=replace(WATER, temperature_c=25.0, ph=7.0)).steps[0]
    assert step.half_life_h == pytest.approx(34.0)
    answer = predicted(step)
    assert answer.bound_mg_l == pytest.approx((0.25, 0.5, 0.75))
    assert max(answer.peaks_mg_l) < 0.26
    typed = planned(replace(wish, half_life_h=100.0)).steps[0]
    assert typed.half_life_h == 100.0
    assert any("100 h is as typed; it is not published" in one for one in typed.remarks)


def test_a_hazard_that_no_agent_of_the_course_is_for() -> None:
    plan = planned(FLUKES, hazards=["gill_flukes", "anchor_worm", "ulcer_disease"])
    assert any(
        one.startswith("Anchor worm: no publication in the formulary") for one in plan.remarks
    )
    assert any("no timing by temperature is published" in one for one in plan.remarks)


def test_a_step_that_begins_while_the_bath_before_is_on() -> None:
    first = StepWish("diflubenzuron", "pond_bath", 0.01)
    second = StepWish("praziquantel", "pond_bath", 2.0, gap_days=1)
    said = planned(first, second, hazards=["fish_louse"]).remarks
    assert "Step 2 begins on 4 Mar 2026, while the bath of 48 h of step 1 lasts until" in said[0]
    later = planned(first, replace(second, gap_days=2), hazards=["fish_louse"]).remarks
    assert not any("while the bath" in one for one in later)


def test_each_step_says_that_nothing_is_kept_mixed_and_where_its_water_may_go() -> None:
    bath = planned(
        StepWish("formalin", "pond_bath", 20.0, product=Product("", 37.0, "product", 1.09))
    )
    said = " ".join(bath.steps[0].remarks)
    assert "Formalin: one agent at a time, mixed fresh; never keep a mixed stock (common" in said
    assert "no treated water into a stream or drain without the consent that is needed" in said
    assert "Where it may go, local law decides" in said
    assert re.search(r"mL of it weigh [\d.]+ g: mL and g are not the same", said)
