"""Units and numbers as people type them."""

from __future__ import annotations

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from store.errors import BadInput
from store.text import plain
from store.water.given import figures
from store.water.measures import quantity, to_grams, to_litres, to_metres, typed_step
from store.water.parameters import PARAMETERS
from store.water.units import (
    forms_of,
    is_molar,
    stored_range,
    temperature_change_c,
    to_stored,
    units_of,
)

quick = settings(deadline=None, max_examples=100, derandomize=True)


@quick
@given(st.data(), st.sampled_from(sorted(PARAMETERS)), st.floats(0.001, 1000.0))
def test_there_and_back_through_every_unit_and_form(data, code, value):
    unit = data.draw(st.sampled_from(units_of(code) or ("",)))
    form = data.draw(st.sampled_from(sorted(forms_of(code)) or [None]))
    zero, one = to_stored(code, 0.0, unit, form), to_stored(code, 1.0, unit, form)
    stored = to_stored(code, value, unit, form)
    assert (stored - zero) / (one - zero) == pytest.approx(value, rel=1e-9)
    assert one > zero


def test_without_a_unit_the_shown_one_is_meant():
    for code, parameter in PARAMETERS.items():
        form = next(iter(forms_of(code)), None)
        assert to_stored(code, 1.0, "", form) == pytest.approx(parameter.per_shown)


@pytest.mark.parametrize(
    ("code", "value", "unit", "stored"),
    [
        ("temperature_c", 66.0, "F", 18.889),
        ("temperature_c", 66.0, " °f ", 18.889),
        ("temperature_c", 291.15, "K", 18.0),
        ("alkalinity_mg_l", 4.0, "", 71.392),
        ("alkalinity_mg_l", 4.0, "°dKH", 71.392),
        ("alkalinity_mg_l", 70.0, "mg/L", 70.0),
        ("alkalinity_mg_l", 70.0, "ppm", 70.0),
        ("hardness_mg_l", 10.0, "°dH", 178.48),
        ("hardness_mg_l", 10.0, "dGH", 178.48),
        ("salinity_g_l", 0.3, "%", 3.0),
        ("salinity_g_l", 3.0, "ppt", 3.0),
        ("salinity_g_l", 3000.0, "ppm", 3.0),
        ("salinity_g_l", 3.0, "‰", 3.0),
        ("chlorine_mg_l", 50.0, "µg/L", 0.05),
        ("chlorine_mg_l", 50.0, "μg/l", 0.05),
        ("oxygen_percent", 87.0, "%", 87.0),
        ("ph", 7.4, "", 7.4),
    ],
)
def test_spellings_that_people_use(code, value, unit, stored):
    assert to_stored(code, value, unit) == pytest.approx(stored, abs=0.001)


@pytest.mark.parametrize(
    ("code", "unit"),
    [
        ("temperature_c", "R"),
        ("tan_mg_l", "gallons"),
        ("alkalinity_mg_l", "dGH"),
        ("hardness_mg_l", "dKH"),
        ("ph", "mg/L"),
        ("oxygen_mg_l", "%"),
        ("salinity_g_l", "\x1b[2J"),
    ],
)
def test_an_unknown_unit_is_refused_and_shown_harmless(code, unit):
    with pytest.raises(BadInput, match="unit") as caught:
        to_stored(code, 1.0, unit, "n" if code == "tan_mg_l" else None)
    assert "\x1b" not in caught.value.message


@pytest.mark.parametrize("code", ["tan_mg_l", "nitrite_mg_l", "nitrate_mg_l"])
@pytest.mark.parametrize("form", [None, "unknown", ""])
def test_a_form_that_was_not_said_is_never_guessed(code, form):
    with pytest.raises(BadInput, match=r"form of the .* must be known"):
        to_stored(code, 1.0, "mg/L", form)
    low, high = stored_range(code, 1.0, "mg/L")
    assert low < high


def test_a_form_where_there_is_none_is_refused():
    with pytest.raises(BadInput, match="no chemical form"):
        to_stored("chloride_mg_l", 1.0, "mg/L", "n")
    assert stored_range("chloride_mg_l", 3.0) == (3.0, 3.0)


def test_molecules_need_no_form():
    assert is_molar("mmol/L")
    assert is_molar("µmol/l")
    assert not is_molar("mg/L")
    assert to_stored("tan_mg_l", 1.0, "mmol/L") == pytest.approx(14.0067)
    assert to_stored("nitrite_mg_l", 1.0, "mmol/L") == pytest.approx(46.0055)


def test_a_change_of_temperature_has_no_offset():
    assert temperature_change_c(1.0, "F") == pytest.approx(5.0 / 9.0)
    assert temperature_change_c(-3.0, "°C") == -3.0
    with pytest.raises(BadInput):
        temperature_change_c(1.0, "m")


@pytest.mark.parametrize("unit", ["gal", "gallon", "gallons", "Gallons", "gals"])
def test_bare_gallons_are_refused(unit):
    with pytest.raises(BadInput, match="USgal or UKgal"):
        to_litres(5000.0, unit)


@pytest.mark.parametrize("unit", ["USgal", "US gal", "US gallons", "u.s. gallons", "us-gallon"])
def test_us_gallons_in_any_spelling(unit):
    assert to_litres(1000.0, unit) == pytest.approx(3785.411784)


@pytest.mark.parametrize("convert", [to_litres, to_metres, to_grams])
@pytest.mark.parametrize("unit", ["furlong", "mg/L", "%s"])
def test_sizes_refuse_what_they_do_not_know(convert, unit):
    with pytest.raises(BadInput, match="It may be"):
        convert(1.0, unit)
    with pytest.raises(BadInput):
        convert(math.nan)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("66F", (66.0, "F")),
        ("5000USgal", (5000.0, "USgal")),
        (" 7,4 ", (7.4, "")),
        ("0,250 mg/L", (0.25, "mg/L")),
        ("-1.5 °C", (-1.5, "°C")),
        (".5", (0.5, "")),
        ("18 m3", (18.0, "m3")),
        ("18\N{NO-BREAK SPACE}m3", (18.0, "m3")),
        ("1e3", (1000.0, "")),
    ],
)
def test_a_quantity_is_read(text, expected):
    assert quantity(text, "value") == expected


@pytest.mark.parametrize(
    "text", ["", "x", "7.4.1", "1.234,5", "1 234", "nan", "inf", "--3", "١٢", "[red]5"]
)
def test_what_is_no_quantity_is_refused_by_name(text):
    with pytest.raises(BadInput, match="The pH") as caught:
        quantity(text, "pH")
    assert caught.value.field == "pH"


@pytest.mark.parametrize("text", ["1,500", "12,345 L"])
def test_a_comma_that_may_part_thousands_is_asked_about(text):
    with pytest.raises(BadInput, match="can be read as"):
        quantity(text, "volume")


def test_a_number_beyond_all_numbers_is_refused():
    with pytest.raises(BadInput, match="not a number"):
        quantity("1e999", "volume")


@quick
@given(st.text())
def test_any_text_is_either_read_or_refused(text):
    try:
        value, unit = quantity(text, "value")
    except BadInput as refused:
        message = refused.message
    else:
        message = ""
        assert math.isfinite(value)
        assert unit == unit.strip()
    assert plain(message) == message


def test_the_step_of_the_last_digit():
    assert typed_step("0.04%") == 0.01
    assert typed_step("0,4") == 0.1
    assert typed_step("3 g/L") == 1.0


@quick
@given(st.floats(1e-6, 1e9), st.integers(2, 6))
def test_figures_keep_the_number_and_never_write_an_exponent(value, significant):
    text = figures(value, significant)
    assert "e" not in text
    assert float(text) == pytest.approx(value, rel=0.51 * 10.0 ** (1 - significant))
