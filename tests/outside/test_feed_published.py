"""Medicated feed, weights from lengths and rations against printed figures."""

from __future__ import annotations

import pytest

from store.courses.feeding.appetite import feeding_at
from store.courses.feeding.biomass import by_length
from store.courses.feeding.feed import beside, fish_dose, medicated_feed, rate_from_feed
from store.exams.weight import weight_g
from store.facts.fish import fish
from store.water.measures import to_grams

# Kilograms of product in a tonne of feed, as printed. Florfenicol premix 500 mg/g for Atlantic
# salmon, 10 mg/kg for 10 days: UK summary of product characteristics. Amoxicillin trihydrate,
# 80 mg/kg for 10 days: UK data sheet for salmon.
INCLUSIONS = [
    ("florfenicol", 10.0, 0.5, 50.0, 4.0),
    ("florfenicol", 10.0, 1.0, 50.0, 2.0),
    ("florfenicol", 10.0, 2.0, 50.0, 1.0),
    ("amoxicillin", 80.0, 0.5, 100.0, 16.0),
    ("amoxicillin", 80.0, 1.0, 100.0, 8.0),
    ("amoxicillin", 80.0, 2.0, 100.0, 4.0),
]


@pytest.mark.parametrize(("agent", "dose", "rate", "strength", "kg_per_tonne"), INCLUSIONS)
def test_product_in_a_tonne_of_feed(
    agent: str, dose: float, rate: float, strength: float, kg_per_tonne: float
) -> None:
    answer = medicated_feed(dose, 100_000.0, rate, 10, strength_percent=strength)
    assert answer.product_g_per_kg_feed == pytest.approx(kg_per_tonne), agent
    assert answer.product_g / answer.feed_kg == pytest.approx(kg_per_tonne)


@pytest.mark.parametrize(
    ("rate", "treated_kg"), [(0.5, 200_000.0), (1.0, 100_000.0), (2.0, 50_000.0)]
)
def test_fish_that_a_tonne_treats(rate: float, treated_kg: float) -> None:
    """The same florfenicol table: kilograms of fish treated daily by a tonne of feed."""
    assert medicated_feed(10.0, treated_kg, rate, 1).feed_kg == pytest.approx(1000.0)


def test_the_way_back_from_a_pellet() -> None:
    """Norwegian summaries: florfenicol pellet 2 g/kg at 0.5 % gives 10 mg/kg a day, 100 in ten
    days; oxolinic acid pellet 5 g/kg at 0.5 % gives 25 mg/kg, 150 on six treatment days."""
    assert fish_dose(2000.0, 0.5).mg_kg_day * 10 == pytest.approx(100.0)
    assert fish_dose(5000.0, 0.5).mg_kg_day * 6 == pytest.approx(150.0)


@pytest.mark.parametrize(
    ("grams", "per_lb", "mg_kg"),
    [(2.5, 100.0, 55.1), (3.75, 100.0, 82.7), (10.0, 100.0, 220.5)],
)
def test_doses_printed_in_grams_for_a_hundred_pounds(
    grams: float, per_lb: float, mg_kg: float
) -> None:
    """21 CFR 558.450 (oxytetracycline, two) and 558.582 (sulfamerazine) print them so."""
    fish_kg = to_grams(per_lb, "lb") / 1000.0
    answer = medicated_feed(mg_kg, fish_kg, 1.0, 1)
    assert answer.active_mg_day == pytest.approx(grams * 1000.0, rel=1e-3)


def test_a_gram_in_a_pound_of_feed_at_three_percent() -> None:
    """A text for catfish farmers: 1 g of drug in each pound where fish eat 3 %, 66.1 mg/kg; 100
    fish of a pound that eat 2.5 % need 2.5 lb of feed."""
    in_feed = 1000.0 / (to_grams(1.0, "lb") / 1000.0)
    assert fish_dose(in_feed, 3.0).mg_kg_day == pytest.approx(66.1, abs=0.05)
    assert medicated_feed(1.0, 100.0, 2.5, 1).feed_kg == pytest.approx(2.5)


@pytest.mark.parametrize(("g_per_short_ton", "rate"), [(182.0, 4.98), (1816.0, 0.50)])
def test_florfenicol_in_a_short_ton_delivers_ten(g_per_short_ton: float, rate: float) -> None:
    """21 CFR 558.261: 182 to 1816 g in a short ton deliver 10 mg/kg; short, not metric tons."""
    in_feed = g_per_short_ton * 1000.0 / (to_grams(2000.0, "lb") / 1000.0)
    assert fish_dose(in_feed, rate).mg_kg_day == pytest.approx(10.0, rel=4e-3)


def test_an_article_of_a_fish_farmers_association() -> None:
    """90 kg of fish at 75 mg/kg and 1 %: 6750 mg in 0.9 kg of feed. Not 7 g, as it goes on."""
    answer = medicated_feed(75.0, 90.0, 1.0, 1)
    assert answer.active_mg_day == pytest.approx(6750.0)
    assert answer.feed_kg == pytest.approx(0.9)
    assert answer.product.measured == pytest.approx(6.75)


@pytest.mark.parametrize(
    ("grams_per_lb", "mg_kg"), [(1.14, 25.1), (1.8, 39.7)], ids=["fenbendazole", "levamisole"]
)
def test_wormers_at_one_percent(grams_per_lb: float, mg_kg: float) -> None:
    """UF/IFAS CIR91 prints grams per pound of feed; mg/kg follow at a rate of 1 %."""
    in_feed = grams_per_lb * 1000.0 / (to_grams(1.0, "lb") / 1000.0)
    assert fish_dose(in_feed, 1.0).mg_kg_day == pytest.approx(mg_kg, abs=0.05)


# By hand: dose, biomass, rate, strength, days; feed a day, product a day, product per kg, course.
COURSES = [
    (10.0, 45.0, 1.0, 50.0, 10, 0.450, 0.9, 2.0, 9.0, 4.50),
    (10.0, 45.0, 0.5, 50.0, 10, 0.225, 0.9, 4.0, 9.0, 2.25),
    (75.0, 120.0, 1.5, 100.0, 10, 1.8, 9.0, 5.0, 90.0, 18.0),
    (12.0, 18.5, 1.0, 100.0, 10, 0.185, 0.222, 1.2, 2.22, 1.85),
    (30.0, 60.0, 1.0, 50.0, 7, 0.6, 3.6, 6.0, 25.2, 4.2),
    (50.0, 250.0, 2.0, 30.0, 5, 5.0, 41.6667, 8.3333, 208.333, 25.0),
]


@pytest.mark.parametrize("course", COURSES)
def test_courses_by_hand(course: tuple[float, ...]) -> None:
    dose, biomass, rate, strength, days, feed_day, product_day, per_kg, product, feed = course
    answer = medicated_feed(dose, biomass, rate, int(days), strength_percent=strength)
    assert answer.feed_kg_day == pytest.approx(feed_day)
    assert answer.product_g_day == pytest.approx(product_day, rel=1e-5)
    assert answer.product_g_per_kg_feed == pytest.approx(per_kg, rel=1e-4)
    assert answer.product_g == pytest.approx(product, rel=1e-5)
    assert answer.feed_kg == pytest.approx(feed)


def test_an_inclusion_of_the_trade_falls_far_short_of_the_oral_dose() -> None:
    """Common practice: 60 mg of a potentiated sulphonamide in a kilogram of feed, one kilogram in
    two weeks. The oral dose of trimethoprim-sulfadiazine, 30 mg/kg a day, is from memory (Noga,
    Fish Disease). At no rate that carp eat do the two agree."""
    for biomass_kg in (2.5, 7.0, 20.0):
        rate = rate_from_feed(1.0, 14.0, biomass_kg)
        judged = beside(fish_dose(60.0, rate).mg_kg_day, 30.0, 30.0)
        assert judged.level == "stop"
        assert judged.factor > 15.0
    seven = rate_from_feed(1.0, 14.0, 7.0)
    assert fish_dose(60.0, seven).mg_kg_day == pytest.approx(0.612, abs=5e-4)


# --- weight from length ---------------------------------------------------------------------------
# Tanir 2020, Erzincan Univ. J. Sci. Tech. 13(2):609-619, prints condition K = 100 W / L³ of 1.204
# to 4.008, mean 2.148; Yilmaz & Cerim, Acta Natura et Scientia, K 1.3; the goldfish of Lake Egirdir
# K 2.520 (Turk. J. Vet. Anim. Sci.). The relations must agree with the condition printed beside them.
@pytest.mark.parametrize(
    ("code", "length_cm", "condition", "within"),
    [
        ("carp_fork", 25.0, 2.148, 0.02),
        ("carp_fork_female", 25.0, 2.155, 0.02),
        ("carp_fork_male", 25.0, 2.138, 0.02),
        ("carp_total", 40.0, 1.3, 0.02),
        ("goldfish", 20.0, 2.520, 0.01),
    ],
)
def test_condition_printed_beside_a_relation(
    code: str, length_cm: float, condition: float, within: float
) -> None:
    assert 100.0 * weight_g(length_cm, code) / length_cm**3 == pytest.approx(condition, rel=within)


@pytest.mark.parametrize("length_cm", [11.2, 20.0, 35.0, 55.5])
def test_condition_stays_in_the_range_that_was_measured(length_cm: float) -> None:
    condition = 100.0 * weight_g(length_cm, "carp_fork") / length_cm**3
    assert 1.204 < condition < 4.008


@pytest.mark.parametrize("code", fish().relations)
def test_a_fish_of_ten_centimetres_weighs_about_ten_grams(code: str) -> None:
    """The check of the FishBase manual against slips of unit: the same order of magnitude."""
    assert 5.0 < weight_g(10.0, code) < 50.0


def test_exponents_lie_where_froese_finds_them() -> None:
    """Froese 2006, J. Appl. Ichthyol. 22:241-253: b between 2.5 and 3.5."""
    assert all(2.5 < one.b < 3.5 for one in fish().relations.values())


def test_one_long_koi() -> None:
    """A fish of 55 cm weighs about 2.1 kg by the relation for total length (by hand)."""
    assert by_length([55.0], "carp_total", "total").kg == pytest.approx(2.09, abs=0.01)


# --- rations --------------------------------------------------------------------------------------
@pytest.mark.parametrize(
    ("temp_c", "least", "most"),
    [(12.0, 0.40, 0.71), (18.0, 0.75, 2.31), (24.0, 1.20, 3.12), (30.0, 1.90, 3.32)],
)
def test_rations_as_printed(temp_c: float, least: float, most: float) -> None:
    """Goolish & Adelman 1984, Aquaculture 36:27-35, juvenile carp, % of body weight a day."""
    answer = feeding_at(temp_c)
    assert answer.maintenance_percent == pytest.approx(least)
    assert answer.growth_percent == pytest.approx(most)


@pytest.mark.parametrize(
    ("temp_c", "level"),
    [(4.9, "stop"), (7.9, "stop"), (8.0, "mind"), (14.9, "mind"), (20.0, ""), (25.0, "")],
)
def test_where_carp_stop_feeding(temp_c: float, level: str) -> None:
    """FAO, Cyprinus carpio: rests below 5, practically stops below 8, falls below 15-16 °C."""
    assert feeding_at(temp_c).level == level
