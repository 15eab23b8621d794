"""Doses that water sets: monotone, never above their caps, balanced, and clear in what they refuse."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from store.courses.baths.conditional import (
    CHLORAMINE_T_ROWS,
    COPPER_CAP_MG_L,
    WaterDose,
    chloramine_t_by_ph,
    copper_by_alkalinity,
)
from store.courses.baths.dechlorination import thiosulfate
from store.courses.baths.oxygen_taken import oxygen_taken
from store.courses.baths.permanganate import permanganate_by_demand, permanganate_demand
from store.courses.baths.salt_target import salt_to_target, three_forms
from store.errors import BadInput, NotFound

quick = settings(deadline=None, max_examples=150, derandomize=True)
ALKALINITY = st.floats(50.0, 2000.0)
HARDNESS = st.floats(50.0, 2000.0)
PH = st.floats(6.0, 14.0)
DEMAND = st.floats(0.0, 12.0)
VOLUME = st.floats(1.0, 1e7)
SALT = st.floats(0.0, 50.0)


def orderly(answer: WaterDose) -> bool:
    """The cautious statement comes first, and the dose does not go beyond what is published."""
    tops = [one.high_mg_l for one in answer.statements]
    return tops == sorted(tops) and tops[0] <= answer.dose_mg_l <= tops[-1]


@quick
@given(ALKALINITY, ALKALINITY, HARDNESS)
def test_copper_rises_with_alkalinity_to_its_cap_and_hardness_only_lowers_it(one, other, hardness):
    low, high = sorted((one, other))
    assert copper_by_alkalinity(low).dose_mg_l <= copper_by_alkalinity(high).dose_mg_l
    assert copper_by_alkalinity(high).dose_mg_l <= COPPER_CAP_MG_L
    both = copper_by_alkalinity(high, hardness)
    assert both.dose_mg_l <= copper_by_alkalinity(high).dose_mg_l
    assert orderly(both)


@quick
@given(PH, PH, HARDNESS)
@example(7.0, 6.999999, 120.0)
def test_chloramine_t_is_weaker_in_acid_and_in_soft_water(one, other, hardness):
    low, high = sorted((one, other))
    assert chloramine_t_by_ph(low).dose_mg_l <= chloramine_t_by_ph(high).dose_mg_l
    assert chloramine_t_by_ph(low).dose_mg_l <= chloramine_t_by_ph(low, hardness).dose_mg_l
    assert chloramine_t_by_ph(high, hardness).dose_mg_l <= 20.0
    assert orderly(chloramine_t_by_ph(low, hardness))


def test_chloramine_t_at_and_between_its_rows():
    for ph, soft, hard in CHLORAMINE_T_ROWS:
        assert chloramine_t_by_ph(ph).dose_mg_l == soft
        assert chloramine_t_by_ph(ph, 121.0).dose_mg_l == hard
        assert chloramine_t_by_ph(ph, 120.0).dose_mg_l == soft
        assert chloramine_t_by_ph(ph + 0.49).dose_mg_l == soft


def test_chloramine_t_beyond_its_table():
    with pytest.raises(BadInput, match="pH 6 to 8") as raised:
        chloramine_t_by_ph(5.9)
    assert raised.value.field == "pH"
    assert any("above the table" in one for one in chloramine_t_by_ph(8.1).remarks)
    assert not any("above the table" in one for one in chloramine_t_by_ph(8.0).remarks)


@quick
@given(DEMAND, DEMAND)
def test_permanganate_rises_with_demand_and_is_never_under_the_common_rate(one, other):
    low, high = sorted((one, other))
    assert 2.0 <= permanganate_by_demand(low).dose_mg_l <= permanganate_by_demand(high).dose_mg_l
    assert permanganate_by_demand(high).dose_mg_l == max(2.0, 2.5 * high)
    assert orderly(permanganate_by_demand(high))


@quick
@given(st.lists(st.floats(0.1, 12.0), min_size=2, max_size=12, unique=True), st.floats(0.0, 11.9))
def test_the_jars_hold_the_demand_of_the_water(strengths, demand):
    jars = {one: one <= demand for one in strengths}
    if all(jars.values()):
        with pytest.raises(BadInput, match="Every jar lost its colour"):
            permanganate_demand(jars)
        return
    found = permanganate_demand(jars)
    assert found.demand_mg_l <= demand < found.below_mg_l


@pytest.mark.parametrize(
    ("jars", "said"),
    [
        ({}, "at least two jars"),
        ({2.0: True}, "at least two jars"),
        ({2.0: False, 3.0: True}, "kept it, which cannot be"),
        ({2.0: True, 13.0: False}, "cannot be more than 12"),
        ({0.0: True, 2.0: False}, "must be more than 0"),
    ],
)
def test_jars_that_cannot_be(jars, said):
    with pytest.raises(BadInput, match=said) as raised:
        permanganate_demand(jars)
    assert raised.value.field == "jar"


@quick
@given(VOLUME, SALT, SALT, st.floats(0.5, 1.0))
def test_salt_balances(volume, present, target, purity):
    answer = salt_to_target(volume, present, target, purity=purity)
    if target > present:
        assert present * volume + answer.grams * purity == pytest.approx(target * volume)
        twice = salt_to_target(2.0 * volume, present, target, purity=purity)
        assert twice.grams == pytest.approx(2.0 * answer.grams)
    else:
        assert answer.grams == 0.0
        assert present * (1.0 - answer.water_change_percent / 100.0) == pytest.approx(
            target, abs=1e-9
        )


@quick
@given(VOLUME, st.floats(0.1, 1.0), st.floats(1.0, 3.0), st.floats(0.0, 5.0), st.floats(0.1, 5.0))
def test_the_bounds_of_the_volume_hold_the_salt_and_what_it_makes(
    volume, less, more, present, rise
):
    answer = salt_to_target(
        volume, present, present + rise, volume_low_l=less * volume, volume_high_l=more * volume
    )
    slack = 1.0 + 1e-9
    assert answer.low_g <= answer.grams * slack
    assert answer.grams <= answer.high_g * slack
    assert answer.reached_low_g_l <= (present + rise) * slack
    assert present + rise <= answer.reached_high_g_l * slack


def test_impure_salt_reaches_the_target_in_the_volume_that_it_was_reckoned_for():
    answer = salt_to_target(1000.0, 0.5, 2.5, purity=0.8, volume_low_l=1000.0, volume_high_l=1000.0)
    assert answer.grams == pytest.approx(2500.0)
    assert answer.reached_low_g_l == pytest.approx(2.5)
    assert answer.reached_high_g_l == pytest.approx(2.5)


def test_salt_speaks_of_zeolite_unless_there_is_none():
    for zeolite, heard in ((True, True), (None, True), (False, False)):
        remarks = salt_to_target(1000.0, 0.0, 2.0, zeolite=zeolite).remarks
        assert any("eolite" in one for one in remarks) is heard
    assert salt_to_target(1000.0, 2.0, 2.0).remarks == ()
    assert "nothing to add" in salt_to_target(1000.0, 2.0, 2.0).arithmetic
    assert any("50 %" in one for one in salt_to_target(1000.0, 4.0, 2.0).remarks)


def test_strong_salt_is_for_dips():
    assert not any("dips" in one for one in salt_to_target(1000.0, 0.0, 10.0).remarks)
    assert any("dips" in one for one in salt_to_target(1000.0, 0.0, 10.1).remarks)
    assert any("indefinite" in one for one in salt_to_target(1000.0, 0.0, 3.1).remarks)
    assert not any("indefinite" in one for one in salt_to_target(1000.0, 0.0, 3.0).remarks)
    uncertain = salt_to_target(1000.0, 0.0, 3.0, volume_low_l=700.0)
    assert any("indefinite" in one for one in uncertain.remarks)


def test_three_forms_are_a_thousandfold_apart():
    assert three_forms(0.5) == "0.5 g/L = 0.05 % = 500 mg/L"


@quick
@given(st.floats(0.1, 500.0), st.floats(0.0, 20.0))
def test_oxygen_taken_is_a_fifth_and_what_is_left_is_never_below_nothing(dose, oxygen):
    answer = oxygen_taken("formalin", dose, oxygen, 15.0)
    assert answer.taken_mg_l == pytest.approx(dose / 5.0)
    assert answer.left_mg_l == max(0.0, oxygen - answer.taken_mg_l)
    assert answer.level == (
        "stop"
        if oxygen < 5.0 or answer.left_mg_l < 3.0
        else "mind"
        if answer.left_mg_l < 5.0
        else ""
    )


@pytest.mark.parametrize(
    ("dose", "oxygen", "level"),
    [(20.0, 6.95, "stop"), (20.0, 7.0, "mind"), (20.0, 9.0, ""), (1.0, 4.9, "stop")],
)
def test_when_the_oxygen_left_stops_a_dose(dose, oxygen, level):
    assert oxygen_taken("formalin", dose, oxygen, 15.0).level == level


def test_oxygen_of_agents_of_which_nothing_is_published():
    with pytest.raises(BadInput, match="is not published") as raised:
        oxygen_taken("salt", 10.0, 8.0)
    assert raised.value.field == "agent"
    with pytest.raises(NotFound):
        oxygen_taken("snake_oil", 10.0, 8.0)


BAD = [-1.0, math.nan, math.inf, -math.inf]


@pytest.mark.parametrize("bad", BAD)
@pytest.mark.parametrize(
    ("reckon", "field"),
    [
        (copper_by_alkalinity, "alkalinity"),
        (lambda bad: copper_by_alkalinity(100.0, bad), "hardness"),
        (chloramine_t_by_ph, "pH"),
        (lambda bad: chloramine_t_by_ph(7.0, bad), "hardness"),
        (permanganate_by_demand, "demand"),
        (lambda bad: salt_to_target(bad, 0.0, 1.0), "volume"),
        (lambda bad: salt_to_target(10.0, bad, 1.0), "salinity"),
        (lambda bad: salt_to_target(10.0, 0.0, bad), "wanted salinity"),
        (lambda bad: salt_to_target(10.0, 0.0, 1.0, purity=bad), "purity"),
        (lambda bad: salt_to_target(10.0, 0.0, 1.0, volume_low_l=bad), "least volume"),
        (lambda bad: salt_to_target(10.0, 0.0, 1.0, volume_high_l=bad), "greatest volume"),
        (lambda bad: thiosulfate(bad, 10.0, chloramine=False), "chlorine"),
        (lambda bad: thiosulfate(1.0, bad, chloramine=False), "volume"),
        (lambda bad: oxygen_taken("formalin", bad, 8.0), "dose"),
        (lambda bad: oxygen_taken("formalin", 20.0, bad), "oxygen"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(
    reckon: Callable[[float], object], field: str, bad: float
) -> None:
    with pytest.raises(BadInput) as raised:
        reckon(bad)
    assert raised.value.field == field


@pytest.mark.parametrize(
    "reckon",
    [
        lambda: salt_to_target(0.0, 0.0, 1.0),
        lambda: salt_to_target(10.0, 0.0, 1.0, purity=1.01),
        lambda: salt_to_target(10.0, 0.0, 1.0, volume_low_l=11.0),
        lambda: salt_to_target(10.0, 0.0, 1.0, volume_high_l=9.0),
        lambda: thiosulfate(1.0, 0.0, chloramine=True),
        lambda: permanganate_by_demand(12.1),
        lambda: oxygen_taken("formalin", 0.0, 8.0),
    ],
)
def test_zero_volumes_and_strengths_over_100_per_cent(reckon: Callable[[], object]) -> None:
    with pytest.raises(BadInput):
        reckon()
