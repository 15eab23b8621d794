"""The derived values of a test are those of the arithmetic, or say what is missing."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from store.water.ammonia import ammonia
from store.water.carbonate import co2
from store.water.criteria import criteria
from store.water.derived import derive
from store.water.oxygen import oxygen
from store.water.parameters import PARAMETERS

FULL = {
    "temperature_c": 21.0,
    "ph": 7.8,
    "tan_mg_l": 0.6,
    "nitrite_mg_l": 0.2,
    "alkalinity_mg_l": 90.0,
    "oxygen_mg_l": 7.1,
    "chloride_mg_l": 12.0,
}
NEEDS = {
    "nh3_n_mg_l": {"tan_mg_l", "ph", "temperature_c"},
    "co2_mg_l": {"alkalinity_mg_l", "ph", "temperature_c"},
    "oxygen_saturation_percent": {"oxygen_mg_l", "temperature_c"},
    "chloride_to_nitrite": {"nitrite_mg_l", "chloride_mg_l"},
    "acute_tan_mg_l": {"ph", "temperature_c"},
    "chronic_tan_mg_l": {"ph", "temperature_c"},
}


def test_each_value_is_that_of_its_calculator():
    found = derive(FULL, altitude_m=300.0)
    assert found["nh3_n_mg_l"].value == ammonia(0.6, "n", 7.8, 21.0).nh3_n_mg_l
    assert found["co2_mg_l"].value == co2(90.0, 7.8, 21.0).co2_mg_l
    assert found["oxygen_saturation_percent"].value == oxygen(21.0, 0.0, 300.0, 7.1).percent
    assert found["chloride_to_nitrite"].value == 60.0
    assert found["acute_tan_mg_l"].value == criteria(7.8, 21.0).acute_tan_mg_l
    assert found["chronic_tan_mg_l"].value == criteria(7.8, 21.0).chronic_tan_mg_l
    assert list(found) == list(NEEDS)
    for code, entry in found.items():
        assert entry.code == code
        assert entry.source
        assert any(character.isdigit() for character in entry.arithmetic)
        assert entry.remarks == ()


@settings(deadline=None, max_examples=100, derandomize=True)
@given(st.sets(st.sampled_from(sorted(FULL))))
def test_a_missing_reading_is_named_and_nothing_is_guessed(kept):
    found = derive({code: value for code, value in FULL.items() if code in kept})
    for code, needed in NEEDS.items():
        missing = needed - kept
        assert (found[code].value is None) == bool(missing)
        for parameter in missing:
            assert PARAMETERS[parameter].label in found[code].remarks[0]


def test_what_is_missing_is_said_in_words():
    remarks = derive({"tan_mg_l": 1.0})["nh3_n_mg_l"].remarks
    assert remarks == ("Cannot be reckoned: no pH and temperature in the same test.",)


def test_salt_leaves_the_cautious_figure_in_force_and_is_told():
    plain, salted = derive(FULL), derive(FULL | {"salinity_g_l": 3.0})
    assert salted["nh3_n_mg_l"].value == plain["nh3_n_mg_l"].value
    corrected = ammonia(0.6, "n", 7.8, 21.0, 3.0).nh3_n_mg_l
    assert f"{corrected:.5f}" in salted["nh3_n_mg_l"].remarks[0]
    assert salted["oxygen_saturation_percent"].value > plain["oxygen_saturation_percent"].value
    assert derive(FULL | {"salinity_g_l": 0.2})["nh3_n_mg_l"].remarks == ()


def test_no_nitrite_is_no_ratio():
    entry = derive(FULL | {"nitrite_mg_l": 0.0})["chloride_to_nitrite"]
    assert entry.value is None
    assert entry.remarks == ("There is no nitrite, so no ratio.",)


@pytest.mark.parametrize(
    ("code", "reading", "words"),
    [
        ("nh3_n_mg_l", {"temperature_c": 31.0}, "0-30 °C"),
        ("co2_mg_l", {"ph": 8.9}, "pH 6.0-8.3"),
        ("acute_tan_mg_l", {"ph": 9.4}, "pH 6.5-9.0"),
    ],
)
def test_remarks_on_validity_come_along(code, reading, words):
    assert words in derive(FULL | reading)[code].remarks[0]
