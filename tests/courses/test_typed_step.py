"""Salt to a salinity, the level of today, half-lives with their source, and what is no measure.

Amounts by mass balance: what goes in is concentration × litres. Percent of salt is g in 100 mL.
"""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
from caution_plans import GOOD, codes
from hypothesis import given
from hypothesis import strategies as some

from store.courses.baths.weighing import refuse_household
from store.courses.cautions.before import cautions
from store.courses.kept.proposal import Ground, propose
from store.courses.kept.water_now import Beside, WaterNow
from store.courses.planning.course import PondWater
from store.courses.planning.level import at_level, level_now
from store.courses.planning.predicted import predicted
from store.courses.planning.wished import wished
from store.errors import BadInput

TODAY = date(2026, 3, 14)
SALTY = replace(GOOD, salinity_g_l=0.5)
SALT = {
    "reason": "nitrite", "first_day": "today", "1.agent": "salt", "1.route": "pond_bath",
    "1.dose": "0.3 %", "1.doses": "3", "1.interval": "2", "1.change": "20", "1.salt": "reach",
}  # fmt: skip


def on(water: PondWater) -> Ground:
    return Ground(TODAY, WaterNow(water, {}, ()), Beside((), ()), ())


def test_salt_comes_to_a_salinity_and_later_only_what_was_taken_is_replaced() -> None:
    plan = propose(on(SALTY), {**SALT, "1.dose": "0.2 %"}, 1).plan
    step = plan.steps[0]
    # (2 - 0.5) g/L × 20,000 L = 30 kg; a fifth of the water takes a fifth of it: 6 kg.
    assert [dose.amount for dose in step.doses] == [30_000.0, 6_000.0, 6_000.0]
    assert predicted(step).bound_mg_l == pytest.approx((1500.0, 1500.0, 1500.0))
    said = " ".join(step.remarks)
    assert "Wanted 2 g/L = 0.2 % = 2000 mg/L: 2 - 0.5 = 1.5 g/L go in first." in said
    assert "1.5 × 0.2 = 0.3 g/L. The amount is asked again against the salinity" in said
    assert "peak" not in codes(cautions(plan))


@pytest.mark.parametrize("dose", ["0.3 %", "3 g/L", "3000 mg/L", "3 ppt", "3 kg/m3"])
def test_every_way_of_saying_a_salinity_is_the_same(dose: str) -> None:
    assert wished({**SALT, "1.dose": dose}, 1).wishes[0].dose == pytest.approx(3000.0)


def test_salt_that_is_added_each_time_says_what_it_comes_to() -> None:
    texts = {**SALT, "1.dose": "1 g/L", "1.doses": "2", "1.change": "", "1.salt": "add"}
    step = propose(on(SALTY), texts, 1).plan.steps[0]
    assert [dose.amount for dose in step.doses] == [20_000.0, 20_000.0]
    assert any(
        "all of them come to 2.5 g/L = 0.25 % = 2500 mg/L, with the 0.5 g/L" in one
        for one in step.remarks
    )


@pytest.mark.parametrize(
    ("water", "more", "field", "says"),
    [
        (replace(GOOD, salinity_g_l=None), {}, "1.dose", "is not known: measure it first"),
        (replace(GOOD, salinity_g_l=3.5), {"1.dose": "0.2 %"}, "1.dose", "nothing to add"),
        (SALTY, {"1.change": ""}, "1.change", "without a water change a second dose would add"),
        (SALTY, {"1.agent": "formalin"}, "1.dose", "is said of salt alone"),
        (SALTY, {"1.dose": "2 teaspoons"}, "1.dose", "“teaspoons” is no measure"),
        (SALTY, {"1.dose": "1 cup"}, "1.dose", "Weigh it in g, or measure a liquid in mL"),
        (SALTY, {"1.half_life": "30 h"}, "1.half_life_from", "Where is this half-life from?"),
        (SALTY, {"1.half_life": "0 h", "1.half_life_from": "x"}, "1.half_life", "half-life"),
        (SALTY, {"level": "80"}, "level", "as 80 % or as 14000 L"),
        (SALTY, {"level": "4000 gal"}, "level", "Gallons come in two sizes"),
        (SALTY, {"level": "30000 L"}, "level", "more than the 20000 L that the pond holds"),
        (SALTY, {"level": "-3 %"}, "level", "so little water"),
        (SALTY, {"level": "six buckets"}, "level", "is not a number with a unit"),
    ],
)
def test_what_cannot_be_is_told_at_its_field(
    water: PondWater, more: dict[str, str], field: str, says: str
) -> None:
    with pytest.raises(BadInput, match=says) as trouble:
        propose(on(water), {**SALT, **more}, 1)
    assert trouble.value.field == field


def test_a_half_life_is_never_called_published() -> None:
    texts = {**SALT, "1.agent": "praziquantel", "1.dose": "2 mg/L", "1.half_life": "2 d",
             "1.half_life_from": "the label of the bottle"}  # fmt: skip
    step = propose(on(GOOD), texts, 1, by="Ada Vet").plan.steps[0]
    assert step.half_life_h == 48.0
    assert (
        "The half-life of 48 h is typed by Ada Vet, from the label of the bottle; it is not "
        "published." in step.remarks
    )


def test_the_level_scales_the_amounts_and_says_so() -> None:
    half = propose(on(GOOD), {**SALT, "level": "10000 L", "1.salt": "add", "1.dose": "1 g/L"}, 1)
    assert half.plan.steps[0].doses[0].amount == 10_000.0
    assert half.plan.water.volume_high_l == pytest.approx(GOOD.volume_high_l / 2)
    assert (
        half.plan.steps[0].remarks[0]
        == "There are 10000 L now: 10000 / 20000 = 50 % of the volume."
    )


@given(percent=some.floats(5.1, 100.0), volume=some.floats(100.0, 1e7))
def test_a_share_and_the_litres_that_it_makes_are_the_same_level(
    percent: float, volume: float
) -> None:
    water = replace(GOOD, volume_l=volume, volume_low_l=volume * 0.9, volume_high_l=volume * 1.1)
    share = level_now(f"{percent} %", volume)
    assert share is not None
    litres = level_now(f"{share.volume_l} L", volume)
    assert litres is not None
    assert litres.share == pytest.approx(share.share)
    low = at_level(water, share)
    assert low.volume_low_l < low.volume_l < low.volume_high_l
    assert low.volume_l == pytest.approx(volume * percent / 100.0)


@pytest.mark.parametrize(
    "text", ["2 tsp", "1 tablespoon", "a spoon", "3 scoops", "5 drops", "2 capfuls"]
)
def test_household_things_are_no_measure(text: str) -> None:
    with pytest.raises(BadInput, match="is no measure"):
        refuse_household(text)


@pytest.mark.parametrize("text", ["2 g", "20 mL", "0.3 %", "14000 L", "10 capsules", "raindrop"])
def test_measures_are_let_through(text: str) -> None:
    refuse_household(text)
