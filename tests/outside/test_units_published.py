"""Units against exact definitions, printed conversions, and pint."""

from __future__ import annotations

import pint
import pytest

from store.water import molar
from store.water.measures import to_grams, to_litres, to_metres
from store.water.parameters import CACO3_PER_DEGREE_MG_L
from store.water.units import forms_of, to_stored

# NIST Special Publication 811; the imperial gallon: UK Weights and Measures Act 1985.
EXACT = [
    (to_litres, "US gallon", 3.785411784),
    (to_litres, "imperial gallon", 4.54609),
    (to_litres, "UK gallons", 4.54609),
    (to_litres, "ft3", 28.316846592),
    (to_litres, "in3", 0.016387064),
    (to_litres, "yd3", 764.554857984),
    (to_litres, "m³", 1000.0),
    (to_grams, "lb", 453.59237),
    (to_grams, "oz", 28.349523125),
    (to_grams, "grain", 0.06479891),
    (to_metres, "ft", 0.3048),
    (to_metres, "in", 0.0254),
]


@pytest.mark.parametrize(("convert", "unit", "factor"), EXACT, ids=[row[1] for row in EXACT])
def test_exact_definitions_are_exact(convert, unit: str, factor: float) -> None:
    assert convert(1.0, unit) == factor


def test_an_acre_foot_is_43560_cubic_feet() -> None:
    # NIST SP 811; and SRAC 410: 1 mg/L in an acre-foot is 2.7 lb.
    assert to_litres(1.0, "acre-foot") == pytest.approx(43560 * 28.316846592, rel=1e-12)
    pounds = to_litres(1.0, "acre-foot") / 1000.0 / to_grams(1.0, "lb")
    assert pounds == pytest.approx(2.7, abs=0.05)


# One of our unit, and the same for pint.
PINT = [
    (to_litres, "USgal", "US_liquid_gallon", "litre"),
    (to_litres, "UKgal", "imperial_gallon", "litre"),
    (to_litres, "ft3", "foot**3", "litre"),
    (to_litres, "in3", "inch**3", "litre"),
    (to_litres, "yd3", "yard**3", "litre"),
    (to_litres, "hL", "hectolitre", "litre"),
    (to_litres, "cm3", "centimetre**3", "litre"),
    (to_litres, "acre-foot", "43560 * foot**3", "litre"),
    (to_metres, "cm", "centimetre", "metre"),
    (to_metres, "km", "kilometre", "metre"),
    (to_metres, "yd", "yard", "metre"),
    (to_grams, "kg", "kilogram", "gram"),
    (to_grams, "t", "tonne", "gram"),
    (to_grams, "lb", "pound", "gram"),
    (to_grams, "oz", "ounce", "gram"),
]


@pytest.fixture(scope="module")
def registry() -> pint.UnitRegistry:
    return pint.UnitRegistry()


@pytest.mark.parametrize(("convert", "ours", "theirs", "base"), PINT, ids=[row[1] for row in PINT])
def test_sizes_meet_pint(registry, convert, ours: str, theirs: str, base: str) -> None:
    assert convert(7.0, ours) == pytest.approx(7.0 * registry(theirs).to(base).magnitude, rel=1e-12)


@pytest.mark.parametrize("fahrenheit", [-4.0, 32.0, 66.0, 98.6])
def test_temperatures_meet_pint(registry, fahrenheit: float) -> None:
    expected = registry.Quantity(fahrenheit, "degF").to("degC").magnitude
    assert to_stored("temperature_c", fahrenheit, "°F") == pytest.approx(expected, abs=1e-9)


# The definitions (10 mg/L CaO to a German degree; a grain to the imperial or US gallon; 10 mg/L
# CaCO3 to a French degree), worked out with IUPAC masses to the digits shown.
HARDNESS = [("dH", 17.848), ("°Clark", 14.254), ("°fH", 10.0), ("gpg", 17.118), ("meq/L", 50.043)]


@pytest.mark.parametrize(("unit", "caco3_mg_l"), HARDNESS)
def test_hardness_units_meet_their_definitions(unit: str, caco3_mg_l: float) -> None:
    assert to_stored("hardness_mg_l", 1.0, unit) == pytest.approx(caco3_mg_l, abs=0.0006)


def test_degrees_and_milliequivalents_agree() -> None:
    meq_l_per_degree = CACO3_PER_DEGREE_MG_L / molar.CACO3_MG_PER_MEQ
    assert meq_l_per_degree == pytest.approx(0.35665, abs=5e-6)
    # One mmol of calcium is two milliequivalents; one mmol of alkalinity is one.
    assert to_stored("hardness_mg_l", 1.0, "mmol/L") == 2.0 * to_stored(
        "alkalinity_mg_l", 1.0, "mmol/L"
    )


# Worked out from IUPAC masses, to the digits shown.
@pytest.mark.parametrize(
    ("factor", "expected"),
    [
        (molar.NH3_PER_N, 1.21588),
        (molar.NH4_PER_N, 1.28785),
        (forms_of("tan_mg_l")["nh3"], 0.82245),
        (forms_of("tan_mg_l")["nh4"], 0.77649),
        (molar.NO2_PER_N, 3.2845),
        (molar.NO3_PER_N, 4.4268),
        (molar.CHLORIDE_PER_SALT, 0.60663),
        (forms_of("alkalinity_mg_l")["hco3"], 0.82016),
    ],
)
def test_chemistry_meets_the_molar_masses(factor: float, expected: float) -> None:
    assert factor == pytest.approx(expected, rel=1.2e-5)


def test_fifty_of_nitrate_and_its_nitrogen() -> None:
    # Directive 98/83/EC sets 50 mg/L as NO3, elsewhere quoted as 11.3 mg/L as N.
    assert 50.0 / forms_of("nitrate_mg_l")["n"] == pytest.approx(11.29, abs=0.005)
