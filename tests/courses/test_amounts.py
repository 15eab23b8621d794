"""Properties of bath amounts and of what a scale makes of them; bad input at its field."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.courses.baths.amount import bath_amount, bath_by_volume, replacement_dose
from store.courses.baths.weighing import JUG_STEPS_ML, SCALE_STEPS_G, measured
from store.errors import BadInput

doses = st.floats(1e-3, 3e4)
volumes = st.floats(1.0, 1e7)
strengths = st.floats(0.1, 100.0)
factors = st.floats(0.1, 10.0)


@given(dose=doses, litres=volumes, strength=strengths, factor=factors)
def test_amounts_scale_with_dose_and_volume(
    dose: float, litres: float, strength: float, factor: float
) -> None:
    once = bath_amount(dose, litres, strength_percent=strength).out.exact
    more_water = bath_amount(dose, litres * factor, strength_percent=strength).out.exact
    more_dose = bath_amount(dose * factor, litres, strength_percent=strength).out.exact
    assert more_water == pytest.approx(factor * once)
    assert more_dose == pytest.approx(factor * once)


@given(dose=doses, litres=volumes, strength=strengths)
def test_the_active_substance_in_the_amount_is_the_dose(
    dose: float, litres: float, strength: float
) -> None:
    by_weight = bath_amount(dose, litres, strength_percent=strength)
    by_volume = bath_amount(dose, litres, strength_percent=strength, basis="w/v")
    active_mg = by_weight.out.exact * 1000.0 * strength / 100.0
    assert active_mg / litres == pytest.approx(dose)
    assert by_volume.out.exact * strength * 10.0 / litres == pytest.approx(dose)


@given(dose=doses, litres=volumes, strength=strengths, density=st.floats(0.5, 2.0))
def test_a_liquid_by_weight_is_the_powder_divided_by_its_density(
    dose: float, litres: float, strength: float, density: float
) -> None:
    powder = bath_amount(dose, litres, strength_percent=strength)
    liquid = bath_amount(dose, litres, strength_percent=strength, density_g_ml=density)
    assert liquid.mass_g == pytest.approx(powder.grams)
    assert liquid.millilitres == pytest.approx(powder.out.exact / density)
    same = bath_amount(dose, litres, strength_percent=min(100.0, strength * density), basis="w/v")
    if strength * density <= 100.0:
        assert same.millilitres == pytest.approx(liquid.millilitres)


@given(dose=doses, litres=volumes, strength=strengths)
def test_the_strength_of_a_product_does_not_change_its_dose(
    dose: float, litres: float, strength: float
) -> None:
    pure = bath_amount(dose, litres, basis="product")
    weak = bath_amount(dose, litres, basis="product", strength_percent=strength)
    assert weak.grams == pure.grams
    assert weak.active_mg_l == pytest.approx(dose * strength / 100.0)


@given(exact=st.floats(0.0, 1e9), unit=st.sampled_from(["g", "mL"]))
def test_rounding_never_goes_up_and_takes_less_than_a_step(exact: float, unit: str) -> None:
    answer = measured(exact, unit)
    steps = SCALE_STEPS_G if unit == "g" else JUG_STEPS_ML
    assert answer.step in steps
    assert answer.measured <= exact * (1.0 + 1e-9) + 1e-9 * answer.step
    assert exact - answer.measured <= answer.step * (1.0 + 1e-6)
    assert answer.measured == pytest.approx(
        round(answer.measured / answer.step) * answer.step, abs=1e-9 * max(1.0, exact)
    )
    if answer.step != steps[-1]:
        assert answer.short_percent <= 1.0 + 1e-6
        assert not answer.remarks


@given(count=st.integers(1, 10**6))
def test_an_amount_that_meets_a_step_keeps_it(count: int) -> None:
    exact = count * 0.01
    if exact <= 1.0:
        assert measured(exact, "g").measured == pytest.approx(exact, rel=1e-12)


@pytest.mark.parametrize(
    ("exact", "said"),
    [
        (15.306, "15.3 g"),
        (5.28, "5.28 g"),
        (50.0, "50 g"),
        (0.3, "0.3 g"),
        (999.0, "999 g"),
        (1999.0, "1.99 kg"),
        (2466.96, "2.46 kg"),
        (123_348.0, "123.3 kg"),
    ],
)
def test_what_is_read_out_at_the_scale(exact: float, said: str) -> None:
    assert measured(exact, "g").said == said


def test_too_little_to_weigh_is_said() -> None:
    answer = bath_amount(0.01, 100.0)
    assert answer.out.measured == 0.0
    assert any("stock" in remark for remark in answer.remarks)
    coarse = bath_amount(0.1, 155.0)
    assert coarse.out.measured == pytest.approx(0.01)
    assert any("falls short by 35 %" in remark for remark in coarse.remarks)


def test_the_rounding_is_shown() -> None:
    assert bath_amount(0.5, 30_000.0, strength_percent=98.0).arithmetic == (
        "0.5 mg/L × 30000 L / 1000 = 15 g; 15 g / 0.98 = 15.31 g product; "
        "measured out as 15.3 g, 0.04 % less"
    )
    assert "measured out" not in bath_amount(2.0, 25_000.0).arithmetic


@given(dose=doses, litres=volumes, below=st.floats(0.3, 1.0), above=st.floats(1.0, 3.0))
def test_an_unsure_volume_gives_both_ends(
    dose: float, litres: float, below: float, above: float
) -> None:
    answer = bath_amount(dose, litres, low_l=litres * below, high_l=litres * above)
    assert answer.at_low is not None
    assert answer.at_high is not None
    assert answer.at_low.exact <= answer.out.exact <= answer.at_high.exact
    assert answer.lowest_dose <= dose <= answer.highest_dose
    assert answer.highest_dose == pytest.approx(dose / below)
    assert answer.at_high.exact == pytest.approx(answer.out.exact * above)


def test_an_unsure_volume_is_told() -> None:
    answer = bath_amount(2.0, 20_000.0, low_l=15_000.0, high_l=25_000.0)
    assert "If there are only 15000 L, 40 g makes 2.667 mg/L, not 2: 30 g is" in answer.remarks[0]
    assert "If there are 25000 L, it makes 1.6 mg/L; 50 g is" in answer.remarks[1]
    assert not bath_amount(2.0, 20_000.0, low_l=20_000.0, high_l=20_000.0).remarks


@given(dose=doses, change=st.floats(0.0, 100.0), litres=volumes)
def test_what_was_taken_out_is_put_back(dose: float, change: float, litres: float) -> None:
    answer = replacement_dose(dose, change, litres)
    left = dose * (1.0 - change / 100.0)
    assert left + answer.dose_mg_l == pytest.approx(dose)
    assert answer.replaced_l == pytest.approx(litres * change / 100.0)


@pytest.mark.parametrize(
    ("given_values", "field"),
    [
        ({"dose_mg_l": 0.0}, "dose"),
        ({"dose_mg_l": -1.0}, "dose"),
        ({"dose_mg_l": math.nan}, "dose"),
        ({"dose_mg_l": math.inf}, "dose"),
        ({"dose_mg_l": 400_000.0}, "dose"),
        ({"volume_l": 0.0}, "volume"),
        ({"volume_l": -5.0}, "volume"),
        ({"volume_l": math.nan}, "volume"),
        ({"strength_percent": 0.0}, "strength"),
        ({"strength_percent": 100.1}, "strength"),
        ({"strength_percent": -3.0}, "strength"),
        ({"strength_percent": 101.0, "basis": "w/v"}, "strength"),
        ({"strength_percent": 101.0, "basis": "product"}, "strength"),
        ({"density_g_ml": 0.0}, "density"),
        ({"density_g_ml": 1090.0}, "density"),
        ({"density_g_ml": math.nan}, "density"),
        ({"basis": "v/v"}, "basis"),
        ({"low_l": 0.0}, "least volume"),
        ({"low_l": 1001.0}, "least volume"),
        ({"high_l": 999.0}, "greatest volume"),
        ({"high_l": math.inf}, "greatest volume"),
    ],
)
def test_bad_input_is_told_at_its_field(given_values: dict[str, float], field: str) -> None:
    with pytest.raises(BadInput) as told:
        bath_amount(**({"dose_mg_l": 1.0, "volume_l": 1000.0} | given_values))
    assert told.value.field == field
    assert told.value.message.endswith(".")


@pytest.mark.parametrize(
    ("arguments", "field"),
    [((0.0, 1.0), "dose"), ((1.0, 0.0), "volume"), ((math.nan, 1.0), "dose")],
)
def test_bad_input_by_volume(arguments: tuple[float, float], field: str) -> None:
    with pytest.raises(BadInput) as told:
        bath_by_volume(*arguments)
    assert told.value.field == field


def test_by_volume_the_active_substance_needs_a_density() -> None:
    assert bath_by_volume(25.0, 5000.0, strength_percent=37.0).active_mg_l is None
    known = bath_by_volume(25.0, 5000.0, strength_percent=37.0, density_g_ml=1.09)
    assert known.active_mg_l == pytest.approx(25.0 * 1.09 * 0.37)


@pytest.mark.parametrize(("change", "field"), [(-1.0, "water change"), (101.0, "water change")])
def test_bad_water_change(change: float, field: str) -> None:
    with pytest.raises(BadInput) as told:
        replacement_dose(1.0, change, 1000.0)
    assert told.value.field == field
