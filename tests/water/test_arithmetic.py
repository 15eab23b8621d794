"""What must hold of the arithmetic of water whatever the numbers are."""

from __future__ import annotations

import math

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from store.errors import BadInput
from store.water import ammonia as ammonia_room
from store.water.ammonia import (
    ammonia,
    ph_at_limit,
    tan_at_limit,
    un_ionised_fraction,
    un_ionised_fraction_salted,
)
from store.water.carbonate import co2, free_co2_mg_l
from store.water.criteria import acute_tan_mg_l, chronic_tan_mg_l, criteria
from store.water.nitrite import chloride_ratio, nitrite
from store.water.oxygen import oxygen, saturation_mg_l

settings.register_profile("water", deadline=None, max_examples=100, derandomize=True)
quick = settings.get_profile("water")

PH = st.floats(0.0, 14.0)
TEMPERATURE_C = st.floats(-2.0, 50.0)
STEP = st.floats(0.01, 5.0)
MG_L = st.floats(0.0, 1e4)
SALINITY_G_L = st.floats(0.0, 40.0)


@quick
@given(PH, TEMPERATURE_C, STEP)
def test_the_share_of_nh3_grows_with_ph_and_warmth_and_stays_a_share(ph, temperature_c, step):
    share = un_ionised_fraction(ph, temperature_c)
    assert 0.0 < share < 1.0
    assert un_ionised_fraction(ph + step, temperature_c) > share
    assert un_ionised_fraction(ph, temperature_c + step) > share


@quick
@given(PH, TEMPERATURE_C, SALINITY_G_L, STEP)
def test_salt_never_raises_the_share_of_nh3(ph, temperature_c, salinity_g_l, step):
    share = un_ionised_fraction_salted(ph, temperature_c, salinity_g_l)
    assert share <= un_ionised_fraction(ph, temperature_c) * (1.0 + 1e-12)
    assert un_ionised_fraction_salted(ph, temperature_c, salinity_g_l + step) <= share
    assert un_ionised_fraction_salted(ph, temperature_c, 0.0) == pytest.approx(
        un_ionised_fraction(ph, temperature_c), rel=1e-12
    )


@quick
@given(MG_L, PH, TEMPERATURE_C, st.sampled_from(["n", "nh3", "nh4"]))
def test_nh3_never_exceeds_the_total_and_its_two_forms_agree(tan, ph, temperature_c, form):
    answer = ammonia(tan, form, ph, temperature_c)
    assert 0.0 <= answer.nh3_n_mg_l <= answer.tan_mg_l <= tan
    assert answer.nh3_mg_l == answer.nh3_n_mg_l * ammonia_room.NH3_PER_N
    assert answer.fraction == answer.fraction_fresh


@quick
@given(st.floats(0.01, 100.0), TEMPERATURE_C, st.floats(0.001, 10.0))
@example(0.05, 20.0, 0.05)
def test_the_ph_at_a_limit_brings_the_total_to_the_limit(tan_mg_l, temperature_c, limit):
    ph = ph_at_limit(tan_mg_l, temperature_c, limit)
    if ph is None:
        assert tan_mg_l <= limit
        return
    assert tan_mg_l * un_ionised_fraction(ph, temperature_c) == pytest.approx(limit, rel=1e-9)
    assert tan_at_limit(limit, ph, temperature_c) == pytest.approx(tan_mg_l, rel=1e-9)


def test_no_ph_reaches_a_limit_of_nothing():
    assert ph_at_limit(1.0, 20.0, 0.0) is None


@quick
@given(PH, TEMPERATURE_C, STEP)
def test_criteria_never_grow_with_ph_or_warmth(ph, temperature_c, step):
    for criterion in (acute_tan_mg_l, chronic_tan_mg_l):
        here = criterion(ph, temperature_c)
        assert 0.0 < criterion(ph + step, temperature_c) < here
        assert 0.0 < criterion(ph, temperature_c + step) <= here
    assert acute_tan_mg_l(ph, temperature_c, True) <= acute_tan_mg_l(
        ph, temperature_c
    ) * 1.0001 or (
        temperature_c < 10.3  # colder, the two rest on different caps
    )


def test_criteria_are_flat_where_the_document_says_so():
    assert chronic_tan_mg_l(8.0, 2.0) == chronic_tan_mg_l(8.0, 7.0)
    assert acute_tan_mg_l(8.0, 2.0) == acute_tan_mg_l(8.0, 10.0)


@quick
@given(st.floats(0.0, 40.0), SALINITY_G_L, st.floats(0.0, 5000.0), STEP)
def test_warmth_salt_and_height_never_raise_saturation(temperature_c, salinity_g_l, height_m, step):
    here = saturation_mg_l(temperature_c, salinity_g_l, height_m)
    assert here > 0.0
    assert saturation_mg_l(temperature_c + step, salinity_g_l, height_m) < here
    assert saturation_mg_l(temperature_c, salinity_g_l + step, height_m) < here
    assert saturation_mg_l(temperature_c, salinity_g_l, height_m + 100.0 * step) < here


def test_saturation_is_continuous_at_sea_level():
    # Height zero takes a short cut; a millimetre does not.
    assert saturation_mg_l(20.0, 0.0, 0.001) == pytest.approx(saturation_mg_l(20.0), rel=1e-6)


def test_percent_is_of_the_saturation_beside_it():
    answer = oxygen(20.0, 3.0, 500.0, 6.0)
    assert answer.percent == 100.0 * 6.0 / answer.saturation_mg_l
    assert oxygen(20.0).percent is None


@quick
@given(MG_L, st.floats(4.0, 10.0), TEMPERATURE_C)
def test_carbon_dioxide_scales_with_alkalinity_and_tenfold_with_ph(alkalinity, ph, temperature_c):
    here = free_co2_mg_l(alkalinity, ph, temperature_c)
    assert free_co2_mg_l(2.0 * alkalinity, ph, temperature_c) == pytest.approx(2.0 * here)
    assert free_co2_mg_l(alkalinity, ph - 1.0, temperature_c) == pytest.approx(10.0 * here)


@quick
@given(
    MG_L,
    MG_L,
    st.floats(1.0, 1e8),
    st.floats(0.0, 100.0),
    st.sampled_from(["no2", "n"]),
)
@example(2.0, 5.0, 15_000.0, 10.0, "no2")
def test_salt_is_never_negative_and_meets_the_ratio(value, chloride, volume_l, ratio, form):
    answer = nitrite(value, form, chloride, volume_l, ratio)
    assert answer.salt_g is not None
    assert answer.salt_g >= 0.0
    after_mg_l = chloride + answer.chloride_needed_mg_l
    assert after_mg_l >= answer.chloride_target_mg_l * (1.0 - 1e-12)
    twice = nitrite(value, form, chloride, 2.0 * volume_l, ratio)
    assert twice.salt_g == pytest.approx(2.0 * answer.salt_g)
    assert answer.ratio is None or math.isfinite(answer.ratio)


def test_chloride_is_looked_at_even_where_there_is_no_nitrite():
    answer = nitrite(0.0, "no2", 20.0, 1000.0)
    assert (answer.ratio, answer.salt_g) == (None, 0.0)
    assert answer.remarks == ("There is no nitrite, so there is no ratio.",)
    assert chloride_ratio(0.0, 20.0) is None


def test_salt_needs_a_volume():
    answer = nitrite(1.0, "no2", 0.0)
    assert answer.salt_g is None
    assert any("volume is not known" in remark for remark in answer.remarks)


def test_little_chloride_is_remarked_on_and_enough_is_not():
    assert any("100 mg/L" in remark for remark in nitrite(0.5, "no2", 6.0, 1000.0).remarks)
    assert nitrite(0.5, "no2", 100.0, 1000.0).remarks == ()


# Inside its range an answer carries no remark; a step outside it names the range.
@pytest.mark.parametrize(
    ("answer", "words"),
    [
        (lambda: ammonia(1.0, "n", 6.0, 0.0), None),
        (lambda: ammonia(1.0, "n", 10.0, 30.0), None),
        (lambda: ammonia(1.0, "n", 8.0, 30.1), "0-30 °C"),
        (lambda: ammonia(1.0, "n", 8.0, -0.1), "0-30 °C"),
        (lambda: ammonia(1.0, "n", 5.9, 20.0), "pH 6-10"),
        (lambda: ammonia(1.0, "n", 10.1, 20.0), "pH 6-10"),
        (lambda: ammonia(1.0, "n", 8.0, 20.0, 6.0), "to 5.8 g/L"),
        (lambda: ammonia(1.0, "n", 8.0, 20.0, 3.0), "cautious"),
        (lambda: criteria(6.5, 0.0), None),
        (lambda: criteria(9.0, 30.0), None),
        (lambda: criteria(6.4, 20.0), "pH 6.5-9.0"),
        (lambda: criteria(9.1, 20.0), "pH 6.5-9.0"),
        (lambda: criteria(8.0, 31.0), "0-30 °C"),
        (lambda: oxygen(0.0, 40.0), None),
        (lambda: oxygen(40.0), None),
        (lambda: oxygen(41.0), "0-40 °C"),
        (lambda: oxygen(20.0, 41.0), "0-40 g/L"),
        (lambda: co2(100.0, 8.3, 20.0), None),
        (lambda: co2(100.0, 8.4, 20.0), "pH 6.0-8.3"),
        (lambda: co2(100.0, 5.9, 20.0), "pH 6.0-8.3"),
        (lambda: co2(100.0, 7.0, 41.0), "0-40 °C"),
    ],
)
def test_remarks_stand_outside_the_range_and_only_there(answer, words):
    remarks = answer().remarks
    if words is None:
        assert remarks == ()
    else:
        assert any(words in remark for remark in remarks)


# Zero is fine, less is not; what is no number is refused by name.
@pytest.mark.parametrize("bad", [math.nan, math.inf, -math.inf, -1.0])
@pytest.mark.parametrize(
    ("call", "name"),
    [
        (lambda bad: ammonia(bad, "n", 8.0, 20.0), "total ammonia"),
        (lambda bad: ammonia(1.0, "n", bad, 20.0), "pH"),
        (lambda bad: ammonia(1.0, "n", 8.0, 20.0, bad), "salinity"),
        (lambda bad: oxygen(20.0, bad), "salinity"),
        (lambda bad: oxygen(20.0, 0.0, 0.0, bad), "dissolved oxygen"),
        (lambda bad: co2(bad, 7.0, 20.0), "alkalinity"),
        (lambda bad: co2(100.0, bad, 20.0), "pH"),
        (lambda bad: criteria(bad, 20.0), "pH"),
        (lambda bad: nitrite(bad, "n", 6.0, 1000.0), "nitrite"),
        (lambda bad: nitrite(1.0, "n", bad, 1000.0), "chloride"),
        (lambda bad: nitrite(1.0, "n", 6.0, bad), "volume"),
        (lambda bad: nitrite(1.0, "n", 6.0, 1000.0, bad), "ratio"),
    ],
)
def test_what_cannot_exist_is_refused_by_name(call, name, bad):
    with pytest.raises(BadInput, match=f"The {name} is") as caught:
        call(bad)
    assert caught.value.field == name


@pytest.mark.parametrize("call", [
    lambda: ammonia(1.0, "n", 8.0, 51.0),
    lambda: criteria(8.0, -3.0),
    lambda: oxygen(51.0),
    lambda: co2(100.0, 7.0, -3.0),
    lambda: oxygen(20.0, 0.0, 10_000.0),
    lambda: ammonia(1.0, "n", 14.1, 20.0),
])  # fmt: skip
def test_beyond_any_pond_is_refused(call):
    with pytest.raises(BadInput, match="cannot be"):
        call()


def test_zero_is_a_reading():
    assert ammonia(0.0, "n", 8.0, 20.0).nh3_n_mg_l == 0.0
    assert co2(0.0, 7.0, 20.0).co2_mg_l == 0.0
    assert oxygen(20.0, oxygen_mg_l=0.0).percent == 0.0


@pytest.mark.parametrize("form", ["unknown", "NO3", ""])
def test_a_form_must_be_known(form):
    with pytest.raises(BadInput, match="form of the ammonia"):
        ammonia(1.0, form, 8.0, 20.0)
    with pytest.raises(BadInput, match="form of the nitrite"):
        nitrite(1.0, form, 6.0)


def test_the_arithmetic_shows_its_numbers():
    text = ammonia(1.5, "nh4", 8.2, 24.0).arithmetic
    for number in ("1.5 mg/L NH4", "1.165 mg/L N", "(24 + 273.15)", "9.2772", "0.07725", "0.08998"):
        assert number in text
    text = nitrite(0.8, "n", 6.0, 18_000.0).arithmetic
    for number in ("0.8 mg/L N × 3.2845", "26.28 - 6 = 20.28 mg/L", "18000 L", "601.6 g salt"):
        assert number in text
    assert "nothing to add" in nitrite(0.8, "no2", 60.0, 18_000.0).arithmetic
