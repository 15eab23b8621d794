"""Properties of medicated feed, biomass and the mix sheet; bad input at its field."""

from __future__ import annotations

import math
from datetime import date

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.courses.feeding.appetite import feeding_at
from store.courses.feeding.biomass import by_length, by_weighing
from store.courses.feeding.feed import beside, fish_dose, medicated_feed, rate_from_feed
from store.courses.feeding.mix import Ingredient, mix_sheet, use_by
from store.errors import BadInput, NotFound
from store.exams.weight import weight_g
from store.facts.binders import binders
from store.facts.fish import fish

doses = st.floats(0.1, 200.0)
biomasses = st.floats(0.01, 1e5)
rates = st.floats(0.1, 10.0)
strengths = st.floats(30.0, 100.0)
DAY = date(2026, 2, 20)


# --- feed -----------------------------------------------------------------------------------------


@given(dose=doses, biomass=biomasses, rate=rates, days=st.integers(1, 60))
def test_forward_and_back_agree(dose: float, biomass: float, rate: float, days: int) -> None:
    answer = medicated_feed(dose, biomass, rate, days)
    assert fish_dose(answer.mg_per_kg_feed, rate).mg_kg_day == pytest.approx(dose)
    assert rate_from_feed(answer.feed_kg, days, biomass) == pytest.approx(rate)


@given(dose=doses, biomass=biomasses, rate=rates, days=st.integers(1, 60), strength=strengths)
def test_the_active_substance_balances(
    dose: float, biomass: float, rate: float, days: int, strength: float
) -> None:
    answer = medicated_feed(dose, biomass, rate, days, strength_percent=strength)
    in_product = answer.product_g * strength * 10.0
    assert in_product == pytest.approx(answer.active_mg)
    assert in_product == pytest.approx(answer.mg_per_kg_feed * answer.feed_kg)
    assert in_product == pytest.approx(dose * biomass * days)
    assert answer.product_g == pytest.approx(answer.product_g_per_kg_feed * answer.feed_kg)


@given(dose=doses, biomass=biomasses, rate=rates, factor=st.floats(0.5, 2.0))
def test_it_scales_with_dose_and_biomass(
    dose: float, biomass: float, rate: float, factor: float
) -> None:
    once = medicated_feed(dose, biomass, rate, 10)
    fish_more = medicated_feed(dose, biomass * factor, rate, 10)
    dose_more = medicated_feed(dose * factor, biomass, rate, 10)
    assert fish_more.product_g == pytest.approx(once.product_g * factor)
    assert fish_more.mg_per_kg_feed == pytest.approx(once.mg_per_kg_feed)
    assert dose_more.product_g == pytest.approx(once.product_g * factor)
    assert dose_more.feed_kg == pytest.approx(once.feed_kg)


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"dose_mg_kg_day": 0.0}, "dose"),
        ({"dose_mg_kg_day": math.nan}, "dose"),
        ({"biomass_kg": 0.0}, "biomass"),
        ({"biomass_kg": -1.0}, "biomass"),
        ({"rate_percent": 0.0}, "feeding rate"),
        ({"rate_percent": 31.0}, "feeding rate"),
        ({"days": 0}, "number of days"),
        ({"days": 2.5}, "number of days"),
        ({"days": 400}, "number of days"),
        ({"strength_percent": 101.0}, "strength"),
        ({"strength_percent": 0.0}, "strength"),
        ({"dose_mg_kg_day": 5000.0, "rate_percent": 0.1}, "feeding rate"),
    ],
)
def test_bad_feed(changed: dict[str, float], field: str) -> None:
    good = {"dose_mg_kg_day": 10.0, "biomass_kg": 45.0, "rate_percent": 1.0, "days": 10}
    with pytest.raises(BadInput) as told:
        medicated_feed(**(good | changed))
    assert told.value.field == field
    assert told.value.message.endswith(".")


def test_its_arithmetic_stands_in_it() -> None:
    assert medicated_feed(10.0, 45.0, 1.0, 10, strength_percent=50.0).arithmetic == (
        "feed 45 kg × 1 / 100 = 0.45 kg a day × 10 = 4.5 kg; "
        "active 45 kg × 10 mg/kg = 450 mg a day; "
        "product 450 mg / 1000 / 0.5 × 10 = 9 g; "
        "inclusion 10 × 100 / 1 = 1000 mg per kg feed"
    )


@pytest.mark.parametrize(
    ("got", "low", "high", "level", "factor"),
    [
        (30.0, 30.0, 30.0, "", 1.0),
        (10.0, 10.0, 15.0, "", 1.0),
        (15.0, 10.0, 15.0, "", 1.0),
        (9.0, 10.0, 15.0, "mind", 10.0 / 9.0),
        (5.0, 10.0, 15.0, "mind", 2.0),
        (4.9, 10.0, 15.0, "stop", 10.0 / 4.9),
        (30.0, 10.0, 15.0, "mind", 2.0),
        (30.1, 10.0, 15.0, "stop", 30.1 / 15.0),
    ],
)
def test_beside_the_published_range(
    got: float, low: float, high: float, level: str, factor: float
) -> None:
    judged = beside(got, low, high)
    assert judged.level == level
    assert judged.factor == pytest.approx(factor)


@pytest.mark.parametrize(
    ("arguments", "field"),
    [
        ((0.0, 1.0, 2.0), "dose"),
        ((1.0, 0.0, 2.0), "low end of the range"),
        ((1.0, 3.0, 2.0), "high end of the range"),
    ],
)
def test_bad_ranges(arguments: tuple[float, float, float], field: str) -> None:
    with pytest.raises(BadInput) as told:
        beside(*arguments)
    assert told.value.field == field


@given(temp_c=st.floats(12.0, 30.0))
def test_rations_rise_with_temperature_and_stay_between_the_points(temp_c: float) -> None:
    answer = feeding_at(temp_c)
    assert answer.maintenance_percent is not None
    assert answer.growth_percent is not None
    assert 0.40 - 1e-9 <= answer.maintenance_percent <= answer.growth_percent <= 3.32 + 1e-9
    warmer = feeding_at(min(30.0, temp_c + 1.0))
    assert warmer.maintenance_percent is not None
    assert warmer.maintenance_percent >= answer.maintenance_percent


@pytest.mark.parametrize("temp_c", [-1.0, 11.9, 30.1])
def test_outside_the_published_temperatures_there_is_no_ration(temp_c: float) -> None:
    answer = feeding_at(temp_c)
    assert answer.maintenance_percent is None
    assert answer.growth_percent is None
    assert any("12 to 30 °C" in remark for remark in answer.remarks)


def test_more_than_they_eat_is_minded() -> None:
    assert feeding_at(20.0, 2.0).level == ""
    answer = feeding_at(20.0, 5.0)
    assert answer.level == "mind"
    assert any("hardly be eaten" in remark for remark in answer.remarks)
    assert feeding_at(7.0, 1.0).level == "stop"


# --- biomass --------------------------------------------------------------------------------------


@pytest.mark.parametrize("freedom", range(1, 32))
def test_students_t(freedom: int) -> None:
    """The tabled quantile leaves 2.5 % above it: the density integrated by Simpson's rule."""
    weights = [0.0] * (freedom + 1)
    answer = by_weighing([1000.0 + 100.0 * (-1) ** place for place in range(len(weights))], 10**8)
    spread_g = math.sqrt(
        sum((w - answer.kg / answer.count * 1000.0) ** 2 for w in
            [1000.0 + 100.0 * (-1) ** place for place in range(freedom + 1)]) / freedom
    )  # fmt: skip
    assert answer.high_kg is not None
    half_g = (answer.high_kg - answer.kg) / answer.count * 1000.0
    t95 = half_g * math.sqrt(freedom + 1) / spread_g
    if freedom > 30:
        assert t95 == pytest.approx(1.96, abs=1e-3)
        return
    log_c = math.lgamma((freedom + 1) / 2) - math.lgamma(freedom / 2)
    scale = math.exp(log_c) / math.sqrt(freedom * math.pi)

    def density(t: float) -> float:
        return scale * (1.0 + t * t / freedom) ** (-(freedom + 1) / 2)

    parts, step = 4000, t95 / 4000
    area = density(0.0) + density(t95)
    area += sum((4 if place % 2 else 2) * density(place * step) for place in range(1, parts))
    assert 0.5 + area * step / 3 == pytest.approx(0.975, abs=1e-4)


@given(weights=st.lists(st.floats(1.0, 20_000.0), min_size=1, max_size=20))
def test_all_weighed_is_their_sum(weights: list[float]) -> None:
    answer = by_weighing(weights)
    assert answer.kg == pytest.approx(sum(weights) / 1000.0)
    assert answer.low_kg == answer.kg == answer.high_kg


@given(
    weights=st.lists(st.floats(1.0, 20_000.0), min_size=2, max_size=20), more=st.integers(1, 500)
)
def test_a_sample_has_bounds_that_hold_the_estimate(weights: list[float], more: int) -> None:
    answer = by_weighing(weights, len(weights) + more)
    assert answer.low_kg is not None
    assert answer.high_kg is not None
    assert 0.0 <= answer.low_kg <= answer.kg <= answer.high_kg


def test_one_fish_out_of_many_has_no_bounds() -> None:
    answer = by_weighing([1000.0], 20)
    assert (answer.kg, answer.low_kg, answer.high_kg) == (20.0, None, None)


@given(length=st.floats(2.0, 100.0), code=st.sampled_from(sorted(fish().relations)))
def test_longer_fish_are_heavier(length: float, code: str) -> None:
    assert weight_g(length * 1.01, code) > weight_g(length, code)


def test_fork_and_total_length_are_not_mixed_up() -> None:
    with pytest.raises(BadInput, match="fork length") as told:
        by_length([40.0], "carp_fork", "total")
    assert told.value.field == "length"
    assert any("not published" in one for one in by_length([15.0], "goldfish", "total").remarks)


def test_lengths_outside_those_measured_are_told() -> None:
    inside = by_length([20.0, 30.0], "carp_fork", "fork")
    outside = by_length([20.0, 70.0], "carp_fork", "fork")
    assert not any("outside" in remark for remark in inside.remarks)
    assert any("1 of the lengths lie outside 11.2-55.5 cm" in one for one in outside.remarks)


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: by_weighing([]), "weight"),
        (lambda: by_weighing([0.0]), "weight"),
        (lambda: by_weighing([math.nan]), "weight"),
        (lambda: by_weighing([1.0, 2.0], 1), "number of fish"),
        (lambda: by_weighing([1.0], 2.5), "number of fish"),
        (lambda: by_length([], "carp_total", "total"), "length"),
        (lambda: by_length([300.0], "carp_total", "total"), "length"),
        (lambda: by_length([30.0, 40.0], "carp_total", "total", 1), "number of fish"),
        (lambda: rate_from_feed(1.0, 0.0, 5.0), "number of days"),
        (lambda: rate_from_feed(100.0, 1.0, 5.0), "feeding rate"),
        (lambda: fish_dose(0.0, 1.0), "inclusion"),
        (lambda: feeding_at(60.0), "temperature"),
    ],
)
def test_bad_numbers_are_told_at_their_field(call: object, field: str) -> None:
    with pytest.raises(BadInput) as told:
        call()  # type: ignore[operator]
    assert told.value.field == field


def test_a_relation_that_is_not_there() -> None:
    with pytest.raises(NotFound, match="carp_total"):
        weight_g(20.0, "whale")


# --- mix sheet ------------------------------------------------------------------------------------


@given(
    feed=st.floats(0.05, 500.0), inclusion=st.floats(10.0, 20_000.0), strength=strengths,
    batch=st.floats(0.05, 50.0), days=st.integers(1, 40), binder=st.sampled_from(sorted(binders())),
)  # fmt: skip
def test_batches_hold_the_whole(
    feed: float, inclusion: float, strength: float, batch: float, days: int, binder: str
) -> None:
    if feed / batch > 10_000.0:
        return
    sheet = mix_sheet(
        feed, [Ingredient("a", inclusion, strength)], binder, DAY, days=days, batch_kg=batch
    )
    assert sheet.batches * sheet.batch_feed_kg == pytest.approx(feed)
    assert sheet.batch_feed_kg <= batch * (1.0 + 1e-9)
    assert days <= sheet.batches * binders()[binder].keep_days
    active_mg = sheet.weighed[0].total_g * strength * 10.0
    assert active_mg == pytest.approx(inclusion * feed)
    assert sheet.weighed[0].each.measured * sheet.batches <= sheet.weighed[0].total_g * (1.0 + 1e-9)
    # What a kilogram as fed holds, times what is fed of it, is what the dry ration was to hold.
    assert sheet.ration_share == pytest.approx(sheet.finished_kg / feed)
    assert sheet.ration_share > 1.0


def test_two_weeks_bound_with_oil_and_with_a_gel() -> None:
    substances = [Ingredient("potentiated sulphonamide", 60.0), Ingredient("vitamin C", 700.0)]
    oil = mix_sheet(1.0, substances, "oil", DAY, days=14, for_whom="Long pond")
    assert (oil.batches, oil.use_by) == (1, date(2026, 3, 6))
    assert [one.each.said for one in oil.weighed] == ["0.06 g", "0.7 g"]
    assert any("film on the water" in caution for caution in oil.cautions)
    assert "Long pond" in oil.label
    for binder in ("gelatin", "agar"):
        gel = mix_sheet(1.0, substances, binder, DAY, days=14)
        assert gel.batches == 3
        assert gel.use_by == date(2026, 2, 25)
        assert gel.ration_share == pytest.approx(2.0, abs=0.05)
        assert any("mix 3 times" in remark for remark in gel.remarks)
        cooled = next(place for place, step in enumerate(gel.steps) if "cool" in step)
        stirred = next(place for place, step in enumerate(gel.steps) if "medicine into" in step)
        assert cooled < stirred


@pytest.mark.parametrize("binder", sorted(binders()))
def test_every_sheet_cautions_for_people_and_for_fish_that_do_not_eat(binder: str) -> None:
    sheet = mix_sheet(1.0, [Ingredient("a", 60.0)], binder, DAY, days=5)
    told = " ".join(sheet.cautions)
    for words in ("mask", "gloves", "goggles", "law, the label", "stopped eating"):
        assert words in told
    assert sheet.label[0] == "MEDICATED FISH FEED"
    assert "Not for people or other animals" in sheet.label


def test_names_from_people_come_out_harmless() -> None:
    sheet = mix_sheet(1.0, [Ingredient("a\x1b[2J", 60.0)], "oil", DAY, days=5, for_whom="b\x07")
    assert not any(sign in "".join((*sheet.label, *sheet.steps)) for sign in "\x1b\x07")


@pytest.mark.parametrize(
    ("changed", "field"),
    [
        ({"feed_kg": 0.0}, "feed"),
        ({"feed_kg": math.nan}, "feed"),
        ({"ingredients": []}, "substance"),
        ({"ingredients": [Ingredient(" ", 1.0)]}, "substance"),
        ({"ingredients": [Ingredient("a", 0.0)]}, "inclusion"),
        ({"ingredients": [Ingredient("a", 900_000.0, 50.0)]}, "inclusion"),
        ({"ingredients": [Ingredient("a", 1.0, 120.0)]}, "strength"),
        ({"binder_code": "glue"}, "binder"),
        ({"days": 0}, "number of days"),
        ({"batch_kg": 0.0}, "batch"),
        ({"batch_kg": 1e-7}, "number of batches"),
    ],
)
def test_bad_sheets(changed: dict[str, object], field: str) -> None:
    good: dict[str, object] = {
        "feed_kg": 1.0, "ingredients": [Ingredient("a", 60.0)], "binder_code": "oil",
        "mixed_on": DAY, "days": 14,
    }  # fmt: skip
    with pytest.raises(BadInput) as told:
        mix_sheet(**(good | changed))  # type: ignore[arg-type]
    assert told.value.field == field


def test_use_by_over_the_end_of_february() -> None:
    assert use_by(date(2028, 2, 20), "oil") == date(2028, 3, 5)
    with pytest.raises(BadInput):
        use_by(DAY, "\x1b[2J")
