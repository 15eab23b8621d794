"""Days of practice, reckoned through the public functions. Ponds and people are invented."""

from __future__ import annotations

import pytest

from store.courses.feeding.appetite import feeding_at
from store.errors import BadInput
from store.water.ammonia import ammonia, tan_at_limit
from store.water.ammonia_from_feed import ammonia_from_feed
from store.water.measures import to_grams, to_litres
from store.water.nitrite import nitrite
from store.water.units import stored_range, to_stored
from store.water.volume import by_salt, difference_percent, salt_to_raise_g

HARM_NH3_N_MG_L = 0.05  # UF/IFAS FA-16, as nitrogen


def test_the_same_test_result_is_harmless_at_breakfast_and_burns_in_the_afternoon() -> None:
    # Emerson et al. 1975. Tolerance 1 %: the figures are rounded to three digits.
    morning = ammonia(1.2, "n", 7.6, 21.5)
    afternoon = ammonia(1.2, "n", 8.9, 28.5)
    assert morning.fraction == pytest.approx(0.0173, rel=0.01)
    assert afternoon.fraction == pytest.approx(0.3652, rel=0.01)
    assert morning.nh3_n_mg_l == pytest.approx(0.021, rel=0.015)
    assert afternoon.nh3_n_mg_l == pytest.approx(0.438, rel=0.01)
    assert morning.nh3_n_mg_l < HARM_NH3_N_MG_L < afternoon.nh3_n_mg_l
    assert afternoon.nh3_n_mg_l / morning.nh3_n_mg_l == pytest.approx(21.0, rel=0.01)
    assert tan_at_limit(HARM_NH3_N_MG_L, 8.9, 28.5) == pytest.approx(0.137, rel=0.01)


@pytest.mark.parametrize(
    ("form", "tan_mg_l", "nh3_n_mg_l"),
    [("n", 1.500, 0.116), ("nh4", 1.165, 0.090), ("nh3", 1.234, 0.095)],
)
def test_three_kits_read_the_same_number(form: str, tan_mg_l: float, nh3_n_mg_l: float) -> None:
    answer = ammonia(1.5, form, 8.2, 24.0)
    assert answer.fraction == pytest.approx(0.0772, rel=0.01)
    assert answer.tan_mg_l == pytest.approx(tan_mg_l, rel=0.01)
    assert answer.nh3_n_mg_l == pytest.approx(nh3_n_mg_l, rel=0.01)
    assert to_stored("tan_mg_l", 1.5, "mg/L", form) == answer.tan_mg_l


def test_a_kit_without_a_leaflet_gives_a_range() -> None:
    low, high = stored_range("tan_mg_l", 1.5)
    assert ammonia(low, "n", 8.2, 24.0).nh3_n_mg_l == pytest.approx(0.090, rel=0.01)
    assert ammonia(high, "n", 8.2, 24.0).nh3_n_mg_l == pytest.approx(0.116, rel=0.01)
    with pytest.raises(BadInput, match="n or nh3 or nh4"):
        to_stored("tan_mg_l", 1.5, "mg/L", "unknown")


@pytest.mark.parametrize(
    "case",
    [
        {"form": "no2", "ratio": 6.0, "ion": 0.80, "target": 4.8, "to_add": 0.0, "salt_g": 0.0},
        {"form": "no2", "ratio": 10.0, "ion": 0.80, "target": 8.0, "to_add": 2.0, "salt_g": 59.0},
        {"form": "n", "ratio": 6.0, "ion": 2.63, "target": 15.8, "to_add": 9.77, "salt_g": 290.0},
        {"form": "n", "ratio": 10.0, "ion": 2.63, "target": 26.3, "to_add": 20.28, "salt_g": 602.0},
    ],
    ids=lambda case: f"{case['form']}-{case['ratio']:g}",
)
def test_nitrite_where_there_is_hardly_any_salt(case) -> None:
    # 10:1: SRAC 462 (Durborow, Crosby & Brunson 1997); 6:1 an older form of it, from memory.
    # Tolerance 1 g of salt; half a unit of the last digit elsewhere.
    answer = nitrite(0.8, case["form"], 6.0, 18_000.0, case["ratio"])
    assert answer.nitrite_mg_l == pytest.approx(case["ion"], abs=0.005)
    assert answer.chloride_target_mg_l == pytest.approx(case["target"], abs=0.05)
    assert answer.chloride_needed_mg_l == pytest.approx(case["to_add"], abs=0.005)
    assert answer.salt_g == pytest.approx(case["salt_g"], abs=1.0)


def test_five_thousand_gallons_that_are_not() -> None:
    before, after, step = (to_stored("salinity_g_l", part, "%") for part in (0.04, 0.11, 0.01))
    measured = by_salt(12_000.0, before, after, step, hours_mixed=24.0)
    assert measured.litres == pytest.approx(17_143.0, abs=0.5)
    assert measured.low_l == pytest.approx(15_000.0)
    assert measured.high_l == pytest.approx(20_000.0)
    assert measured.remarks == ()

    us_l, uk_l = to_litres(5000.0, "USgal"), to_litres(5000.0, "UK gallons")
    assert us_l == pytest.approx(18_927.0, abs=0.5)
    assert uk_l == pytest.approx(22_730.0, abs=0.5)
    with pytest.raises(BadInput, match="US"):
        to_litres(5000.0, "gallons")
    assert measured.litres / uk_l == pytest.approx(0.75, abs=0.005)
    assert difference_percent(measured.litres, uk_l) == pytest.approx(33.0, abs=0.5)

    salt_g = salt_to_raise_g(measured.litres, after, to_stored("salinity_g_l", 0.30, "%"))
    assert salt_g / 1000.0 == pytest.approx(32.6, abs=0.05)


def test_the_rule_of_thumb_in_pounds_gives_nearly_the_same() -> None:
    # Common practice: US gallons = pounds / rise in ppt x 120 (exact 119.83).
    gallons = 12_000.0 / to_grams(1.0, "lb") / 0.7 * 120.0
    assert gallons == pytest.approx(4_535.0, abs=1.0)
    assert by_salt(12_000.0, 0.4, 1.1, 0.1).litres == pytest.approx(
        to_litres(gallons, "USgal"), rel=0.002
    )


def test_the_feed_is_not_too_much_for_the_fish_but_for_a_new_filter() -> None:
    """40 kg of koi in 15 m3 at 24 °C, 1 % a day of a pellet with 40 % protein.

    0.092 g a g of protein: Timmons & Ebeling, Recirculating Aquaculture (from memory); 25 g a kg of
    feed: common practice; the ration of juvenile carp: Goolish & Adelman 1984.
    """
    answer = ammonia_from_feed(40.0, 1.0, 40.0, 15_000.0)
    assert answer.feed_kg_day == pytest.approx(0.40)
    assert answer.tan_g_day == pytest.approx(14.72, abs=0.005)
    assert answer.tan_mg_l_day == pytest.approx(0.98, abs=0.005)
    assert answer.plain_g_day == pytest.approx(10.0)
    assert answer.plain_mg_l_day == pytest.approx(0.67, abs=0.005)
    eaten = feeding_at(24.0, 1.0)
    assert eaten.level == ""
    assert eaten.maintenance_percent == pytest.approx(1.20)
    # After two days without a filter, water of pH 8 holds more than harms.
    assert ammonia(2 * answer.tan_mg_l_day, "n", 8.0, 24.0).nh3_n_mg_l > HARM_NH3_N_MG_L
