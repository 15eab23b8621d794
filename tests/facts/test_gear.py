"""What is taken along for a day at ponds: all of it common practice, none of it a brand."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import pytest

from store.facts.call_questions import to_carry
from store.facts.entry import file_tables
from store.facts.gear import (
    FILE,
    NUMBERS,
    WHEN,
    gear_numbers,
    read_numbers,
    read_readings,
    read_things,
    read_with,
    things,
)
from store.facts.sources import source_standings
from store.water.parameters import PARAMETERS


def test_everything_is_common_practice_and_says_so() -> None:
    entries = [*gear_numbers().values(), *things().values(), *read_with().values()]
    assert entries
    assert {(one.source, one.standing) for one in entries} == {
        ("common_practice", "common practice")
    }


def test_the_numbers_are_those_that_are_reckoned_with() -> None:
    assert set(gear_numbers()) == set(NUMBERS)
    assert gear_numbers()["margin"].value == 10.0
    assert gear_numbers()["margin"].unit == "%"
    assert gear_numbers()["spare_tests"].value == 1.0
    assert "never given" in gear_numbers()["margin"].says


def test_every_parameter_of_a_water_test_is_read_with_something() -> None:
    assert set(read_with()) == set(PARAMETERS)
    usual = {code for code, one in read_with().items() if one.usual}
    assert usual == {
        "temperature_c", "ph", "tan_mg_l", "nitrite_mg_l", "alkalinity_mg_l", "oxygen_mg_l",
    }  # fmt: skip


def test_everything_that_can_ask_for_something_does() -> None:
    asked = {one for each in (*things().values(), *read_with().values()) for one in each.when}
    assert asked == set(WHEN)


def test_a_thing_that_a_call_asks_for_is_the_same_thing() -> None:
    """One line of the list, not two, where a call and the gear name the same."""
    shared = set(things()) & set(to_carry())
    assert {"nets", "own_nets", "microscope", "tubes", "disinfectant", "air", "logger"} <= shared


@pytest.mark.parametrize(
    ("part", "name", "field", "value", "says"),
    [
        ("number", "margin", "value", -5.0, "margin, value"),
        ("number", "margin", "unit", "g", "it must be '%'"),
        ("number", "spare_tests", "value", 1.5, "whole number"),
        ("thing", "nets", "per", "week", "nets, per"),
        ("thing", "nets", "when", ["rain"], "asks for nothing"),
        ("thing", "jars", "agents", ["moonshine"], "there is no agent"),
        ("reading", "ph", "by", "guess", "ph, by"),
        ("reading", "tan_mg_l", "families", ["spell"], "there is no family"),
        ("reading", "ph", "usual", "maybe", "ph, usual"),
        ("thing", "nets", "brand", "best", "is not a field"),
    ],
)
def test_what_is_wrong_is_named(part: str, name: str, field: str, value: Any, says: str) -> None:
    raw: dict[str, Any] = deepcopy(dict(file_tables(FILE)[part]))
    raw[name] = {**raw[name], field: value}
    read: Any = {"number": read_numbers, "thing": read_things, "reading": read_readings}[part]
    found, findings = read(raw, source_standings())
    assert name not in found
    assert any(says in str(one) for one in findings), [str(one) for one in findings]


def test_a_number_that_is_missing_is_named() -> None:
    raw = {name: one for name, one in file_tables(FILE)["number"].items() if name != "margin"}
    _, findings = read_numbers(raw, source_standings())
    assert [str(one) for one in findings] == [f"{FILE}, margin, entry: is missing"]
