"""The load of a day's feed: what it scales with, and what is refused."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.errors import BadInput
from store.water.ammonia_from_feed import TAN_PER_PROTEIN, ammonia_from_feed

kilograms = st.floats(0.1, 5000.0)
rates = st.floats(0.05, 10.0)
proteins = st.floats(5.0, 70.0)
litres = st.floats(100.0, 1e7)


def test_the_coefficient_is_the_product_of_its_four_shares() -> None:
    assert abs(TAN_PER_PROTEIN - 0.16 * 0.80 * 0.80 * 0.90) < 0.0002


@given(kilograms, rates, proteins, litres)
def test_twice_the_water_is_half_the_load(kg, rate, protein, volume) -> None:
    one = ammonia_from_feed(kg, rate, protein, volume)
    other = ammonia_from_feed(2 * kg, rate, protein, 4 * volume)
    assert other.tan_g_day == pytest.approx(2 * one.tan_g_day)
    assert other.tan_mg_l_day == pytest.approx(one.tan_mg_l_day / 2)


def test_the_plain_rule_is_told_only_for_the_protein_it_is_for() -> None:
    assert ammonia_from_feed(40, 1, 40, 15_000).plain_g_day == pytest.approx(10.0)
    low = ammonia_from_feed(40, 1, 25, 15_000)
    assert (low.plain_g_day, low.plain_mg_l_day) == (None, None)
    assert not any("plain rule" in one for one in low.remarks)


@pytest.mark.parametrize(
    ("values", "field"),
    [
        ((0.0, 1.0, 40.0, 15_000.0), "biomass"), ((40.0, 0.0, 40.0, 15_000.0), "feeding rate"),
        ((40.0, 31.0, 40.0, 15_000.0), "feeding rate"), ((40.0, 1.0, 0.0, 15_000.0), "protein"),
        ((40.0, 1.0, 101.0, 15_000.0), "protein"), ((40.0, 1.0, 40.0, 0.0), "volume"),
        ((float("nan"), 1.0, 40.0, 15_000.0), "biomass"),
    ],
)  # fmt: skip
def test_what_cannot_be_is_refused_by_its_name(values, field) -> None:
    with pytest.raises(BadInput) as refused:
        ammonia_from_feed(*values)
    assert refused.value.field == field
