"""Withdrawal: sums, the cautious side of missing days and forecasts, and what is asked or refused."""

from __future__ import annotations

import copy
import math
from datetime import date, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.courses.food.withdrawal import barred, by_label, due, labelled, withdrawal
from store.errors import BadInput, NotFound
from store.facts.entry import file_tables
from store.facts.sources import source_standings
from store.facts.withdrawal import FILE, read_withdrawal

DAY = date(2026, 5, 3)
temps = st.lists(st.floats(-5.0, 40.0), min_size=1, max_size=80)
sums = st.floats(1.0, 1000.0)


@given(sums, temps)
def test_it_ends_on_the_first_day_that_meets_the_sum(
    degree_days: float, daily: list[float]
) -> None:
    found = withdrawal(degree_days, DAY, daily)
    running = [math.fsum(max(0.0, one) for one in daily[:day]) for day in range(1, len(daily) + 1)]
    if found.met:
        assert running[found.days - 1] == pytest.approx(found.sum_degree_days)
        assert found.sum_degree_days >= degree_days * (1 - 1e-9)
        assert found.days == 1 or running[found.days - 2] < degree_days
        assert found.until == DAY + timedelta(days=found.days)
        assert found.free_from == found.until + timedelta(days=1)
    else:
        assert running[-1] < degree_days
        assert (found.until, found.free_from, found.days) == (None, None, None)


@given(sums, temps, st.floats(0.5, 30.0), st.floats(0.0, 5.0))
def test_colder_is_never_sooner(
    degree_days: float, daily: list[float], expected: float, spread: float
) -> None:
    found = withdrawal(degree_days, DAY, daily, expected_c=expected, spread_c=spread)
    assert found.until is not None
    assert found.until_if_warm <= found.until
    assert found.until_if_cold is None or found.until_if_cold >= found.until
    colder = withdrawal(degree_days, DAY, [one - 1.0 for one in daily if one > -4.0],
                        expected_c=max(0.4, expected - 1.0))  # fmt: skip
    same = withdrawal(degree_days, DAY, [one for one in daily if one > -4.0], expected_c=expected)
    assert colder.until is None or colder.until >= same.until


@given(sums, st.floats(0.5, 40.0))
def test_a_flat_record_is_a_flat_expectation(degree_days: float, temp_c: float) -> None:
    ahead = withdrawal(degree_days, DAY, expected_c=temp_c)
    days = math.ceil(degree_days / temp_c - 1e-9)
    assert ahead.days == days
    if days <= 400:
        assert withdrawal(degree_days, DAY, [temp_c] * days).days == days


@given(sums, temps, st.data())
def test_a_lost_reading_never_ends_it_sooner(
    degree_days: float, daily: list[float], data: st.DataObject
) -> None:
    lost = data.draw(st.sets(st.integers(0, len(daily) - 1)))
    gappy = [None if index in lost else one for index, one in enumerate(daily)]
    full = withdrawal(degree_days, DAY, daily, expected_c=10.0)
    short = withdrawal(degree_days, DAY, gappy, expected_c=10.0)
    assert short.until >= full.until
    assert short.missing_days == len(lost)
    assert bool(lost) == any("without a reading" in one for one in short.remarks)


def test_the_lower_neighbour_stands_in_when_asked() -> None:
    daily = [None, 12.0, None, math.nan, 18.0, None]
    assert withdrawal(100.0, DAY, daily).sum_degree_days == 30.0
    found = withdrawal(100.0, DAY, daily, missing="lower neighbour")
    assert found.sum_degree_days == 30.0 + 12.0 + 12.0
    assert found.missing_days == 4


def test_frost_takes_nothing_away() -> None:
    assert withdrawal(500.0, DAY, [10.0, -1.0, 10.0]).sum_degree_days == 20.0


def test_what_is_expected_may_change_from_day_to_day() -> None:
    found = withdrawal(100.0, DAY, [10.0] * 3, expected_c=[12.0, 14.0, 16.0])
    # 30 + 12 + 14 + 16 = 72, then 28 left at 16 a day: two days more.
    assert found.days == 3 + 3 + 2
    assert withdrawal(60.0, DAY, [10.0] * 3, expected_c=[12.0, 18.0]).days == 5
    assert not found.met
    assert any("Not before this day" in one for one in found.remarks)


def test_water_that_stays_at_freezing_never_meets_it() -> None:
    found = withdrawal(500.0, DAY, [4.0, 2.0], expected_c=0.0)
    assert found.until is None
    cold = withdrawal(500.0, DAY, expected_c=3.0, spread_c=3.0)
    assert cold.until is not None
    assert cold.until_if_cold is None
    assert any("never met" in one for one in cold.remarks)


def test_met_by_the_record_leaves_nothing_to_expect() -> None:
    found = withdrawal(50.0, DAY, [20.0] * 5, expected_c=5.0, spread_c=2.0)
    assert found.met
    assert found.until == found.until_if_warm == found.until_if_cold == DAY + timedelta(days=3)
    assert not any("Not before" in one for one in found.remarks)


def test_no_period_is_over_at_once() -> None:
    found = withdrawal(0.0, DAY)
    assert (found.days, found.until, found.free_from) == (0, DAY, DAY + timedelta(days=1))


@pytest.mark.parametrize(
    ("call", "field"),
    [
        (lambda: withdrawal(-1.0, DAY), "degree-days"),
        (lambda: withdrawal(math.nan, DAY), "degree-days"),
        (lambda: withdrawal(500_000.0, DAY), "degree-days"),
        (lambda: withdrawal(500.0, DAY, [41.0]), "temperature"),
        (lambda: withdrawal(500.0, DAY, [math.inf]), "temperature"),
        (lambda: withdrawal(500.0, DAY, [-12.0]), "temperature"),
        (lambda: withdrawal(500.0, DAY, expected_c=math.nan), "temperature"),
        (lambda: withdrawal(500.0, DAY, expected_c=12.0, spread_c=-1.0), "spread"),
        (lambda: withdrawal(500.0, date(9999, 12, 31), expected_c=12.0), "from"),
        (lambda: due(None, land_days=28.0), "food"),
        (lambda: due(True, land_days=-1.0), "land period"),
        (lambda: due(True, aquatic_degree_days=math.nan), "aquatic period"),
        (lambda: due(True, aquatic_degree_days=0.0, land_days=28.0), "aquatic period"),
        (lambda: labelled(math.inf, "label"), "degree-days"),
        (lambda: labelled(400.0, "  "), "label"),
    ],
)
def test_what_cannot_be_is_refused_at_its_field(call: Any, field: str) -> None:
    with pytest.raises(BadInput) as caught:
        call()
    assert caught.value.field == field


def test_a_label_of_the_practice_keeps_its_name() -> None:
    found = labelled(400.0, "label of the product, batch leaflet 2025")
    assert found.degree_days == 400.0
    assert found.source == "label of the product, batch leaflet 2025"
    with pytest.raises(NotFound, match="formalin"):
        by_label("whale_oil", DAY)


def test_some_agents_bar_a_pond_for_ever() -> None:
    assert [bar.code for bar in barred(["formalin", "malachite_green"])] == ["malachite_green"]
    assert [bar.code for bar in barred(["metronidazole"])] == ["prohibited"]
    assert barred(["salt", "formalin"]) == ()
    assert barred([]) == ()


# --- the file ----------------------------------------------------------------------------------------


def _found(change: Any) -> list[str]:
    raw = copy.deepcopy(dict(file_tables(FILE)))
    change(raw)
    return [str(one) for one in read_withdrawal(raw, source_standings())[1]]


def test_nothing_is_found_in_the_file_as_it_is() -> None:
    assert _found(lambda raw: None) == []


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda raw: raw.pop("zero"), "zero, entry: is missing"),
        (lambda raw: raw["land"].pop("factor"), "or degree_days must be there"),
        (lambda raw: raw["land"].update(degree_days=500), "and not both"),
        (lambda raw: raw["zero"].update(most_degree_days=30), "without a factor"),
        (lambda raw: raw["formalin"].update(days=-1), "must lie between"),
        (lambda raw: raw["formalin"].update(kind="rule"), "is not one of"),
        (lambda raw: raw["formalin"].update(kind="law"), "must be one of"),
        (lambda raw: raw["formalin"].update(colour="red"), "is not a field"),
        (lambda raw: raw["aquatic"].update(standing="published"), "only 'from memory'"),
        (lambda raw: raw["malachite_green"].update(names=[]), "is an empty list"),
        (lambda raw: raw["older_least"].pop("says"), "is missing"),
    ],
)
def test_a_mistake_in_the_file_is_told(change: Any, said: str) -> None:
    findings = _found(change)
    assert any(said in one for one in findings), findings
