"""Bath amounts against printed worked examples and printed factors.

Printed answers carry the rounding of their printed factors; the tolerance beside each says so.
"""

from __future__ import annotations

import pytest

from store.courses.baths.amount import bath_amount, bath_by_volume, replacement_dose
from store.water.measures import to_grams, to_litres
from store.water.shapes import circle

# Factors printed for a dose of 1 ppm: Virginia Department of Wildlife Resources (2.7 lb per
# acre-foot, 8.345 lb per million US gallons, 0.0038 g per US gallon, 0.0283 g and 0.0000624 lb per
# cubic foot); Mississippi State Extension as repeated (1233 g and 2.72 lb per acre-foot, 0.058419
# grains per US gallon, 0.07016 grains per UK gallon). 2.7 is 0.7 % low and 0.0038 0.4 % high.
FACTORS = [
    ("acreft", 1.0, "lb", 2.7, 0.01),
    ("acreft", 1.0, "lb", 2.72, 0.001),
    ("acreft", 1.0, "g", 1233.0, 0.0005),
    ("ft3", 1.0, "g", 0.0283, 0.001),
    ("ft3", 1.0, "lb", 0.0000624, 0.001),
    ("USgal", 1.0, "g", 0.0038, 0.005),
    ("USgal", 1.0, "grain", 0.058419, 0.0001),
    ("UKgal", 1.0, "grain", 0.07016, 0.0001),
    ("USgal", 1e6, "lb", 8.345, 0.0001),
    ("L", 1.0, "mg", 1.0, 1e-12),
    ("m3", 1.0, "g", 1.0, 1e-12),
]


@pytest.mark.parametrize(("volume_unit", "volume", "unit", "printed", "within"), FACTORS)
def test_one_part_per_million(
    volume_unit: str, volume: float, unit: str, printed: float, within: float
) -> None:
    answer = bath_amount(1.0, to_litres(volume, volume_unit))
    assert answer.grams == pytest.approx(to_grams(printed, unit), rel=within)


def test_formalin_in_a_round_tank() -> None:
    """Printed by a bath-dose table of an aquaculture adviser: 17,670 mL, with 3.1415 for pi."""
    tank = circle(7.5, 2.0)
    answer = bath_by_volume(200.0, tank.litres)
    assert answer.millilitres == pytest.approx(17_670.0, rel=1e-4)


def test_trichlorfon_of_a_wettable_powder() -> None:
    """Piper et al. 1982, Fish Hatchery Management, p. 283: 0.84 lb, with 2.7 lb per acre-foot."""
    answer = bath_amount(0.25, to_litres(1.0, "acreft"), strength_percent=80.0)
    assert answer.grams == pytest.approx(to_grams(0.84, "lb"), rel=0.015)
    assert answer.grams == pytest.approx(to_grams(0.8498, "lb"), rel=1e-4)


def test_thiosulphate_for_chlorine() -> None:
    """Piper et al. 1982, p. 283: 5.6 g for one US gallon at 200 mg/L chlorine, 7.4 mg per mg."""
    assert bath_amount(7.4 * 200.0, to_litres(1.0, "USgal")).grams == pytest.approx(5.6, rel=2e-3)


def test_peroxide_by_the_strength_that_the_rule_prints() -> None:
    """21 CFR 529.1150(a): 35 % w/w is 396.1 mg/mL. 75 mg/L in 1,000 L; not 214 mL by 35 % w/v."""
    by_weight = bath_amount(75.0, 1000.0, strength_percent=35.0, density_g_ml=396.1 / 350.0)
    by_volume = bath_amount(75.0, 1000.0, strength_percent=39.61, basis="w/v")
    assert by_weight.millilitres == pytest.approx(189.3, abs=0.05)
    assert by_volume.millilitres == pytest.approx(189.3, abs=0.05)
    mistaken = bath_amount(75.0, 1000.0, strength_percent=35.0, basis="w/v").millilitres
    assert mistaken == pytest.approx(189.3 * 1.132, rel=1e-3)


@pytest.mark.parametrize(("formalin_mg_l", "formaldehyde_mg_l"), [(25.0, 9.25), (40.0, 14.8)])
def test_formalin_counted_as_pure_holds_37_percent(
    formalin_mg_l: float, formaldehyde_mg_l: float
) -> None:
    """Pairs of Fredricks et al. 2018, Aquac. Res. (9.25), and Aquac. Res. 2022, 53:5647 (14.8)."""
    answer = bath_amount(formalin_mg_l, 1000.0, basis="product", strength_percent=37.0)
    assert answer.active_mg_l == pytest.approx(formaldehyde_mg_l)
    assert answer.grams == pytest.approx(formalin_mg_l)


def test_a_bath_of_a_tenth_strong_powder() -> None:
    """40 g/m³ in 4 m³ is 160 g active, from a 10 % powder 1,600 g: article of a fish farmers'
    association (figures of common practice)."""
    assert bath_amount(40.0, 4000.0, strength_percent=10.0).grams == pytest.approx(1600.0)


# Arithmetic by hand, from the definition of milligrams in a litre alone.
BY_HAND = [
    (2.0, 25_000.0, 100.0, 50.0),
    (2.0, 1_233_481.84, 100.0, 2466.96),
    (20.0, 800.0, 100.0, 16.0),
    (0.066, 20_000.0, 25.0, 5.28),
    (0.5, 30_000.0, 98.0, 15.306),
    (5.0, 10_000.0, 100.0, 50.0),
]


@pytest.mark.parametrize(("dose", "litres", "strength", "grams"), BY_HAND)
def test_by_hand(dose: float, litres: float, strength: float, grams: float) -> None:
    answer = bath_amount(dose, litres, strength_percent=strength)
    assert answer.grams == pytest.approx(grams, rel=1e-4)


def test_formalin_by_volume_and_by_weight_differ_by_its_density() -> None:
    assert bath_by_volume(25.0, 5000.0).millilitres == pytest.approx(125.0)
    by_weight = bath_amount(25.0, 5000.0, basis="product", density_g_ml=1.09)
    assert by_weight.millilitres == pytest.approx(114.7, abs=0.05)


def test_a_solution_of_three_percent_by_volume() -> None:
    weak = bath_amount(75.0, 1000.0, strength_percent=3.0, basis="w/v")
    assert weak.millilitres == pytest.approx(2500.0)


def test_what_a_water_change_took() -> None:
    assert replacement_dose(2.0, 25.0, 10_000.0).dose_mg_l == pytest.approx(0.5)


# Definitions printed on public pages that are wrong by a thousand: 1 ppm as 1 mg/m³, 1 % as 10 mg/L,
# one millilitre as one milligram. None of them may come out.
def test_not_a_thousand_times_too_small() -> None:
    assert bath_amount(1.0, 1000.0).grams == pytest.approx(1.0)
    assert bath_amount(1.0, 1.0, strength_percent=1.0, basis="w/v").millilitres == pytest.approx(
        0.1
    )
    assert bath_amount(1000.0, 1.0, density_g_ml=1.0, basis="product").millilitres == pytest.approx(
        1.0
    )
