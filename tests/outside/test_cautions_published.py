"""Cautions against what publications say of agents, and whole courses of the trade.

Publications are named beside each check; what the trade knows without one is marked common practice.
Ponds, dates and readings are invented.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from store.courses.cautions.before import EarlierDose, cautions, cautions_before
from store.courses.planning.course import Caution, Plan, PondWater, Product, StepWish
from store.courses.planning.plan import plan_course

FORMALIN = Product("formalin", 37.0, "product", 1.09)
KOI = PondWater(
    15_000.0, 14_000.0, 16_000.0,
    temperature_c=20.0, trend_c_per_day=0.0, ph=7.2, alkalinity_mg_l=120.0, oxygen_mg_l=9.8,
    salinity_g_l=0.0, age_days=0.05, species="26 koi", use="ornamental",
)  # fmt: skip


def planned(*wishes: StepWish, water: PondWater, hazards: tuple[str, ...]) -> Plan:
    return plan_course(wishes, hazards=hazards, reason="", water=water, first_day=date(2026, 6, 15))


def told(found: tuple[Caution, ...], code: str) -> Caution:
    return next(one for one in found if one.code == code)


@pytest.mark.parametrize(
    ("dose_mg_l", "taken", "left"), [(15.0, "3", "2"), (20.0, "4", "1"), (25.0, "5", "0")]
)
def test_formalin_on_a_warm_evening_with_little_oxygen(dose_mg_l, taken, left):
    """1 mg/L of oxygen for each 5 mg/L (Piper et al. 1982; Francis-Floyd, UF/IFAS VM-77); below
    2-3 mg/L fish suffer and die (Texas A&M AgriLife Extension); not above 26.7 °C in ponds (Merck
    Veterinary Manual 2019)."""
    water = replace(KOI, temperature_c=27.0, oxygen_mg_l=5.0)
    wish = StepWish("formalin", "pond_bath", dose_mg_l, product=FORMALIN)
    plan = planned(wish, water=water, hazards=("costia",))
    for found in (
        cautions(plan),
        cautions_before(plan, plan.steps[0], plan.steps[0].doses[0], water),
    ):
        oxygen = told(found, "oxygen")
        assert oxygen.level == "stop"
        assert f"{taken} mg/L oxygen within 30-36 h" in oxygen.arithmetic
        assert f"5 - {taken} = {left} mg/L" in oxygen.arithmetic
        assert told(found, "temperature").level == "stop"
        assert "26.7" in told(found, "temperature").said


@pytest.mark.parametrize(("dose_mg_l", "over"), [(150.0, False), (160.0, True), (167.0, True)])
def test_a_bath_of_an_hour_above_21_degrees(dose_mg_l, over):
    """150 mg/L (Francis-Floyd, UF/IFAS VM-77); 167 mg/L is the other figure (Piper et al. 1982, p.
    276): above the cautious one both are told."""
    wish = StepWish(
        "formalin", "tank_bath", dose_mg_l, product=FORMALIN, exposure_h=1.0, volume_l=1000.0
    )
    found = cautions(planned(wish, water=replace(KOI, temperature_c=24.0), hazards=("costia",)))
    codes = {one.code for one in found}
    assert ("dose_disputed" in codes) == over
    assert not codes & {"dose_high", "peak"}


def test_an_organophosphate_in_hard_green_water():
    """About 47 min at pH 8.8 against 5 h at pH 7.9 between the points of EPA 738-R-96-017 (from
    memory); early in the morning, when pH and temperature are lowest (Piper et al. 1982, p. 335);
    never a larger dose (common practice)."""
    afternoon = replace(KOI, volume_l=30_000.0, volume_low_l=27_000.0, volume_high_l=33_000.0,
                        temperature_c=25.0, ph=8.8, age_days=0.25)  # fmt: skip
    wish = StepWish("trichlorfon", "pond_bath", 0.25, doses=1)
    plan = planned(wish, water=afternoon, hazards=("anchor_worm",))
    step, dose = plan.steps[0], plan.steps[0].doses[0]
    for found in (cautions(plan), cautions_before(plan, step, dose, afternoon)):
        worse = told(found, "breaks_down")
        assert worse.level == "mind"
        assert "about 47 min" in worse.said
        assert "early in the morning" in worse.said
        assert "never a larger dose" in worse.said
        assert "do not count on it lasting" in worse.said
        assert worse.standing == "from memory"
        assert "within 2 h" in told(found, "ph_hour").said
    morning = cautions_before(plan, step, dose, replace(afternoon, ph=7.9, age_days=0.02))
    assert "about 5.17 h" in told(morning, "breaks_down").said
    assert "ph_hour" not in {one.code for one in morning}


def test_copper_below_50_mg_l_of_alkalinity():
    """No copper below 50 mg/L as CaCO3 (Watson & Yanong, UF/IFAS FA008)."""
    wish = StepWish("copper_sulfate", "pond_bath", 0.45)
    soft = cautions(planned(wish, water=replace(KOI, alkalinity_mg_l=49.0), hazards=("costia",)))
    refused = told(soft, "no_dose_here")
    assert refused.level == "stop"
    assert "below 50 mg/L" in refused.said
    assert "FA008" in refused.source
    assert "no_dose_here" not in {
        one.code for one in cautions(planned(wish, water=KOI, hazards=("costia",)))
    }


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("formalin", "potassium_permanganate"),
        ("potassium_permanganate", "formalin"),
    ],
)
def test_permanganate_and_formalin(first, second):
    """The permanganate oxidises the formaldehyde (Noga 2010, from memory)."""
    doses = {"formalin": 20.0, "potassium_permanganate": 2.0}
    wishes = [
        StepWish(
            code, "pond_bath", doses[code], product=FORMALIN if code == "formalin" else Product()
        )
        for code in (first, second)
    ]
    found = cautions(planned(*wishes, water=KOI, hazards=("costia",)))
    clash = told(found, f"clash_{first}.2")
    assert clash.level == "stop"
    assert "Noga" in clash.source
    assert clash.standing == "from memory"


def test_salt_frees_the_ammonia_of_zeolite():
    """Noga 2010, from memory."""
    wish = StepWish("salt", "pond_bath", 1500.0)
    water = replace(KOI, things=frozenset({"zeolite"}))
    assert (
        told(cautions(planned(wish, water=water, hazards=("costia",))), "zeolite").level == "stop"
    )


@pytest.mark.parametrize(
    ("agent", "dose", "stock"),
    [
        ("trichlorfon", 0.25, "koi, one orfe"),  # Noga 2010, from memory
        ("trichlorfon", 0.25, "koi and Tench"),  # Noga 2010, from memory
        ("formalin", 20.0, "striped bass"),  # Piper et al. 1982
        ("salt", 1500.0, "2 Sterlets, koi"),  # extension service: fish without scales
        ("copper_sulfate", 0.8, "rainbow trout"),  # UF/IFAS FA008
        ("diflubenzuron", 0.01, "koi, noble crayfish"),  # UF/IFAS FA185
    ],
)
def test_fish_that_do_not_bear_it(agent, dose, stock):
    wish = StepWish(
        agent, "pond_bath", dose, product=FORMALIN if agent == "formalin" else Product()
    )
    found = cautions(planned(wish, water=replace(KOI, species=stock), hazards=("anchor_worm",)))
    assert told(found, "species").level == "stop"


def test_a_course_of_two_agents_as_the_trade_gives_it():
    """Common practice, without a source: at 19 °C and pH 6.5-7 formalin against a flagellate, a week
    later an organophosphate at 1 mg/L three times a week apart, 30 % of the water changed before
    each. The peaks of 1, 1.7 and 2.19 mg/L are mass balance; the most that a publication supports is
    0.5 mg/L (Piper et al. 1982, p. 335), so that a vet answers for the dose in writing."""
    water = replace(KOI, temperature_c=19.0, ph=6.8, species="31 koi")
    plan = planned(
        StepWish("formalin", "pond_bath", 20.0, product=FORMALIN),
        StepWish("trichlorfon", "pond_bath", 1.0, doses=3, interval_days=7, gap_days=7,
                 water_change_percent=30.0, change_before_first=True),
        water=water, hazards=("costia", "gill_flukes"),
    )  # fmt: skip
    found = cautions(plan)
    assert {one.code for one in found if one.level == "stop"} == {"dose_high.2", "peak.2"}
    assert "2.19 mg/L" in told(found, "peak.2").said
    assert not any(one.code.startswith("clash") for one in found)
    assert "breaks_down.2" not in {one.code for one in found}
    high = told(found, "dose_high.2").said
    assert "the most is 0.5 mg/L" in high
    assert "Common practice goes up to 1 mg/L (weekly, three times" in high
    first = plan.steps[1]
    before = cautions_before(plan, first, first.doses[0], water)
    assert [one.code for one in before if one.level == "stop"] == ["dose_high.2"]


def test_koi_count_as_food_until_somebody_says_otherwise():
    """Koi are carp (common practice); malachite green is not for fish that give food (Regulation
    (EU) 2019/1871, from memory); 500 degree-days outright (Regulation (EU) 2019/6, Article 115,
    from memory)."""
    wish = StepWish("formalin", "pond_bath", 20.0, product=FORMALIN)
    asked = cautions(planned(wish, water=replace(KOI, use="not asked"), hazards=("costia",)))
    assert told(asked, "food_not_asked").level == "stop"
    food = cautions(
        planned(wish, water=replace(KOI, use="food"), hazards=("costia",)),
        last=[EarlierDose("malachite_green", date(2026, 6, 1), 0.1)],
    )
    assert "500 / 20 = 25 days" in told(food, "food").arithmetic
    assert told(food, "barred_malachite_green").level == "stop"
