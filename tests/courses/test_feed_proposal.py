"""What a vet types for a medicated feed, understood and proposed; what stands against it."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import replace
from datetime import date, timedelta

import pytest
from caution_plans import GOOD, PHOSPHATE_STEP, codes, log, one
from hypothesis import given
from hypothesis import strategies as st

from store.courses.cautions.before import cautions, cautions_before
from store.courses.feeding.appetite import feeding_at
from store.courses.feeding.stock import stock
from store.courses.kept.feed_proposal import FeedProposal, propose_feed
from store.courses.kept.proposal import Ground
from store.courses.kept.water_now import Beside, WaterNow
from store.courses.planning.course import Plan
from store.courses.planning.feed_wished import (
    GENERAL,
    OF_MEDICINE,
    fed_against,
    is_length,
    published_feed,
)
from store.courses.planning.plan import plan_course
from store.errors import BadInput

TODAY = date(2026, 3, 14)
FEED = {
    "reason": "ulcers on four fish", "first_day": "today", "fish": "45 kg", "eating": "yes",
    "rate": "1 %", "days": "10", "binder": "oil",
    "1.agent": "florfenicol", "1.dose": "10 mg/kg/d", "1.product": "premix", "1.strength": "50 %",
}  # fmt: skip
"""As the data sheet of a UK premix tabulates it: 45 kg, 10 mg/kg for 10 days at 1 % take 9 g."""
ACCEPTANCE = {
    **FEED, "fish": "7 kg", "rate": "1 kg", "days": "14", "1.agent": "trimethoprim_sulfadiazine",
    "1.dose": "60 mg/kg feed", "1.strength": "", "2.agent": "vitamin_c", "2.dose": "700 mg/kg feed",
}  # fmt: skip


def on(running: tuple[Plan, ...] = (), **water: object) -> Ground:
    found = WaterNow(replace(GOOD, **water), {}, ())  # type: ignore[arg-type]
    return Ground(TODAY, found, Beside(running, ()), ())


def proposed(texts: dict[str, str], medicines: int = 1, **water: object) -> FeedProposal:
    return propose_feed(on(**water), texts, medicines)  # type: ignore[arg-type]


# Typed


def test_a_feed_is_typed_and_proposed() -> None:
    found = proposed(FEED)
    (batch,) = found.batches
    assert (batch.number, batch.days, batch.feed_kg) == (1, 10, pytest.approx(4.5))
    assert [(dose.amount, dose.amount_unit) for dose in batch.doses] == [(9.0, "g")]
    (line,) = found.lines
    assert (line.mg_kg_day, line.mg_per_kg_feed) == (10.0, 1000.0)
    assert line.stands is not None
    assert line.stands.nearest.judged.level == ""
    assert not found.stops
    assert found.feed_kg_day == pytest.approx(0.45)


def test_the_acceptance_case_is_stopped_for_the_sulphonamide_alone() -> None:
    """Common practice, without a source: see tests of the plan."""
    found = proposed(ACCEPTANCE, 2)
    (stop,) = found.stops
    assert stop.code == "oral_low.1"
    assert "0.6122 mg per kg fish and day, published 30: 49 times less" in stop.said
    assert "60 mg per kg feed × 1.02 / 100 = 0.6122" in stop.arithmetic
    # The same inclusion is what common practice gives, and that is told beside it.
    assert "60 mg per kg feed, published 60: within it" in stop.said
    assert [round(line.mg_kg_day, 3) for line in found.lines] == [0.612, 7.143]


@pytest.mark.parametrize(
    ("rate", "percent"),
    [("1 %", 1.0), ("1", 1.0), ("4.5 kg", 1.0), ("450 g/d", 1.0), ("0,9 kg a day", 2.0)],
)
def test_how_much_they_eat_is_told_in_several_ways(rate: str, percent: float) -> None:
    ration = proposed({**FEED, "rate": rate}).plan.steps[0].ration
    assert ration is not None
    assert ration.rate_percent == pytest.approx(percent)


def test_an_empty_rate_is_what_keeps_fish_at_that_temperature() -> None:
    found = proposed({**FEED, "rate": ""}, temperature_c=20.0)
    ration = found.plan.steps[0].ration
    assert ration is not None
    # Goolish and Adelman 1984: 0.75 % at 18 °C and 1.20 % at 24 °C, in a straight line between.
    assert ration.rate_percent == 0.9
    assert any("Goolish" in said and "Grown koi eat less" in said for said in found.plan.remarks)


@pytest.mark.parametrize("temperature_c", [7.0, 10.0, 31.0, None])
def test_where_no_rate_is_published_it_is_asked(temperature_c: float | None) -> None:
    with pytest.raises(BadInput, match="How much do they really eat") as told:
        proposed({**FEED, "rate": ""}, temperature_c=temperature_c)
    assert told.value.field == "rate"


@pytest.mark.parametrize(
    ("text", "kg"),
    [
        ("42 kg", 42.0), ("42", 42.0), ("9 000 g", None), ("31 × 1.2 kg", 37.2),
        ("31 koi x 1200 g", 37.2), ("10 * 2 lb", 9.07185), ("2 × 1 kg + 3 × 500 g", 3.5),
    ],
)  # fmt: skip
def test_the_fish_are_told_in_several_ways(text: str, kg: float | None) -> None:
    if kg is None:
        with pytest.raises(BadInput):
            stock(text)
    else:
        assert stock(text).kg == pytest.approx(kg, rel=1e-5)


def test_lengths_go_by_a_published_relation() -> None:
    # Yilmaz and Cerim: W = 0.0163 L^2.935, 820.8 g at 40 cm.
    assert stock("10 × 40 cm", "carp_total").kg == pytest.approx(8.208, rel=1e-4)
    assert is_length("10 × 40 cm")
    assert is_length("10x40cm + 3 × 1 kg")
    assert not is_length("10 × 1.2 kg")
    with pytest.raises(BadInput, match="how they were measured") as told:
        proposed({**FEED, "fish": "10 × 40 cm"})
    assert told.value.field == "relation"


@pytest.mark.parametrize(
    ("changed", "field", "says"),
    [
        ({"1.agent": ""}, "1.agent", "Choose what goes into the feed"),
        ({"1.dose": ""}, "1.dose", "How much"),
        ({"1.dose": "10 mg/kg"}, "1.dose", "Of what"),
        ({"1.dose": "10 mg/L"}, "1.dose", "Of what"),
        ({"1.dose": "-10 mg/kg/d"}, "1.dose", "more than 0"),
        ({"1.dose": "0 mg/kg feed"}, "1.dose", "more than 0"),
        ({"1.dose": "ten"}, "1.dose", "not a number"),
        ({"1.strength": "120 %"}, "1.strength", "120"),
        ({"1.strength": "0"}, "1.strength", "more than 0"),
        ({"1.strength": "5 kg"}, "1.strength", "unit"),
        ({"1.density": "9 m"}, "1.density", "unit"),
        ({"fish": ""}, "fish", "How many kilograms"),
        ({"fish": "0 kg"}, "fish", "above zero"),
        ({"fish": "0 × 2 kg"}, "fish", "no fish"),
        ({"fish": "-3 kg"}, "fish", ""),
        ({"fish": "3 L"}, "fish", "unit"),
        ({"fish": "31 × 2"}, "fish", "In which unit"),
        ({"fish": "45 cm"}, "fish", "needs a count"),
        ({"eating": ""}, "eating", "Do they eat"),
        ({"rate": "0 %"}, "rate", "more than 0"),
        ({"rate": "45 %"}, "rate", "45"),
        ({"rate": "2 L"}, "rate", "unit"),
        ({"days": ""}, "days", "how many days"),
        ({"days": "0"}, "days", ""),
        ({"days": "2.5"}, "days", "whole"),
        ({"days": "3 kg"}, "days", "unit"),
        ({"batch": "5"}, "batch", "Kilograms or days"),
        ({"batch": "30 d"}, "batch", "cannot be for 10 days"),
        ({"batch": "10 g"}, "batch", "more than the batch"),
        ({"first_day": "2020-01-01"}, "first_day", "over"),
        ({"reason": ""}, "reason", "Say why"),
    ],
)
def test_a_fault_is_one_sentence_at_its_field(
    changed: dict[str, str], field: str, says: str
) -> None:
    if changed.get("batch") == "30 d":
        changed = {**changed, "binder": "gelatin"}
    with pytest.raises(BadInput, match=f"(?i){says}") as told:
        proposed({**FEED, **changed})
    assert told.value.field == field
    names = {*GENERAL, *(f"1.{name}" for name in OF_MEDICINE)}
    assert told.value.field in names


@given(st.dictionaries(st.sampled_from([*FEED, "batch", "relation", "1.basis"]), st.text()))
def test_whatever_is_typed_there_is_a_proposal_or_a_sentence(changed: dict[str, str]) -> None:
    with suppress(BadInput):
        assert proposed({**FEED, **changed}).batches


def test_what_is_published_is_told_at_the_fields() -> None:
    found = published_feed("oxytetracycline")
    assert found is not None
    assert found.dose.startswith("55.1–82.7 mg/kg/d")
    assert (found.days, found.most_days) == ("10", 10)
    assert published_feed("formalin") is None


def test_what_was_seen_is_proposed_only_where_it_is_treated_with_the_feed() -> None:
    assert fed_against(("costia", "gill_flukes")) == "gill_flukes"
    assert fed_against(("costia", "columnaris")) == "columnaris"
    assert fed_against(("costia",)) == ""


# What stands against it


def test_fish_that_have_stopped_eating_are_a_stop_and_stay_one() -> None:
    found = proposed({**FEED, "eating": "no"})
    assert codes(found.stops) == {"not_eating"}
    # Judged again in the water of another day, it is not forgotten.
    later = cautions_before(found.plan, found.plan.steps[0], found.plan.steps[0].doses[0], GOOD)
    assert "not_eating" in codes(later, "stop")


@pytest.mark.parametrize(("temp_c", "code", "level"), [
    (4.0, "too_cold", "stop"), (7.5, "too_cold", "stop"), (9.0, "feeds_less", "mind"),
    (15.0, "feeds_less", "mind"),
])  # fmt: skip
def test_below_the_temperature_at_which_they_feed(temp_c: float, code: str, level: str) -> None:
    found = proposed({**FEED, "rate": "0.3 %"}, temperature_c=temp_c)
    told = one(found.cautions, code)
    assert told.level == level
    assert told.said.startswith(feeding_at(temp_c, 0.3).remarks[0])
    # FAO, but for 10 °C, below which keepers no longer feed.
    assert told.standing == ("common practice" if temp_c == 9.0 else "published")
    assert ("FAO" in told.source) == (temp_c != 9.0)


def test_more_than_they_ever_ate_is_minded() -> None:
    assert "feeds_less" in codes(proposed({**FEED, "rate": "4 %"}).cautions, "mind")


@pytest.mark.parametrize(
    ("dose", "code", "level"),
    [
        ("4 mg/kg/d", "oral_low", "stop"), ("6 mg/kg/d", "oral_low", "mind"),
        ("16 mg/kg/d", "oral_high", "mind"), ("31 mg/kg/d", "oral_high", "stop"),
        ("12 mg/kg/d", "", ""),
    ],
)  # fmt: skip
def test_a_dose_off_by_more_than_two_is_a_stop(dose: str, code: str, level: str) -> None:
    """21 CFR 558.261: 10 mg/kg, and 10 to 15 as the rule is recalled to stand now."""
    found = proposed({**FEED, "1.dose": dose}).cautions
    assert {one.level for one in found if one.code == code} == ({level} if code else set())
    assert not {one.code for one in found if one.code.startswith("oral_")} - {code}


def test_the_withdrawal_is_asked_and_never_assumed() -> None:
    for use, code in (("food", "food"), ("not asked", "food_not_asked")):
        assert code in codes(proposed(FEED, use=use).stops)
    assert not proposed(FEED, use="ornamental").stops


def test_dust_binder_and_days_are_minded_once_for_the_feed() -> None:
    found = proposed({**FEED, "2.agent": "vitamin_c", "2.dose": "700 mg/kg feed"}, 2).cautions
    minds = codes(found, "mind")
    assert {"dust.1", "binder.1", "eating.1"} <= minds
    assert not {"dust.2", "binder.2", "eating.2"} & minds
    assert "makes a film on the water" in one(found, "binder.1").said
    # Vitamin C is published for 14 days, florfenicol for 10.
    assert "feed_days.2" in minds
    assert "feed_days.1" not in minds


def test_a_bath_on_a_day_of_feeding_is_told_from_both_sides() -> None:
    bath = plan_course(
        [replace(PHOSPHATE_STEP, doses=3, interval_days=7)], hazards=("gill_flukes",), reason="",
        water=GOOD, first_day=TODAY + timedelta(5),
    )  # fmt: skip
    feed = propose_feed(on((bath,)), FEED, 1)
    told = one(feed.cautions, "feed_and_bath")
    assert "19 Mar 2026" in told.said
    assert "26 Mar 2026" not in told.said
    back = one(cautions(bath, running=(feed.plan,)), "feed_and_bath")
    assert "florfenicol goes with the feed and trichlorfon into the water" in back.said
    # Nothing of the feed is reckoned as if it were in the water.
    with_feed = codes(cautions(bath, running=(feed.plan,)))
    assert with_feed == codes(cautions(bath)) | {"feed_and_bath"}


def test_the_same_organophosphate_in_feed_and_water_meet_by_days_and_not_by_dilution() -> None:
    bath = plan_course([PHOSPHATE_STEP], hazards=("gill_flukes",), reason="", water=GOOD,
                       first_day=TODAY + timedelta(9))  # fmt: skip
    step = replace(proposed(FEED).plan.steps[0], agent="trichlorfon")
    fed = replace(proposed(FEED).plan, steps=(step,))
    told = one(cautions(bath, running=(fed,)), "clash_trichlorfon")
    # The tenth day of feeding is the day of the bath.
    assert "on the same day" in told.said
    assert "last on 23 Mar 2026" in told.arithmetic
    assert "mg/kg" not in told.arithmetic


def test_a_batch_given_twice_is_a_stop() -> None:
    plan = proposed(FEED).plan
    step = plan.steps[0]
    found = cautions_before(plan, step, step.doses[0], GOOD, given=(log(plan, 1, 1, TODAY),))
    assert "batch 1 was given on 14 Mar 2026 already" in one(found, "twice").said
