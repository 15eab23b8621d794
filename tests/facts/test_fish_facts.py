"""The facts on fish and binders: whole, and every fault in them told."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from store.facts.binders import binders, read_binders
from store.facts.entry import file_tables
from store.facts.fish import fish, read_fish
from store.facts.sources import source_standings

READERS = {"fish.toml": read_fish, "binders.toml": read_binders}
MISSING = object()


@pytest.mark.parametrize("file", READERS)
def test_the_file_has_no_fault(file: str) -> None:
    assert READERS[file](file_tables(file), source_standings())[1] == []


def test_what_is_there() -> None:
    assert set(binders()) == {"oil", "gelatin", "agar"}
    assert {one.species for one in fish().relations.values()} == {"common carp", "goldfish"}
    limits = [one.below_c for one in fish().feeding]
    assert limits == sorted(limits)
    assert binders()["oil"].added_g_per_kg == pytest.approx(27.6)
    assert binders()["agar"].added_g_per_kg == pytest.approx(1015.0)


@pytest.mark.parametrize(
    ("file", "path", "value", "said"),
    [
        ("fish.toml", ("carp_total", "b"), 29.35, "b: is 29.35; it must lie between 2.5 and 3.5"),
        ("fish.toml", ("carp_total", "a_g"), 16.3, "a_g: is 16.3"),
        ("fish.toml", ("carp_total", "length"), "standard", "is 'standard'; it must be one of"),
        ("fish.toml", ("carp_fork", "high_cm"), MISSING, "needs both ends"),
        ("fish.toml", ("carp_fork", "low_cm"), 60.0, "not below high_cm"),
        ("fish.toml", ("carp_fork", "source"), MISSING, "source: is missing"),
        ("fish.toml", ("carp_fork", "colour"), "red", "colour: is not a field"),
        ("fish.toml", ("carp_fork", "kind"), "fish", "is 'fish'; it must be one of"),
        ("fish.toml", ("juvenile_carp", "points"), [], "needs at least two points"),
        ("fish.toml", ("juvenile_carp", "points", 0, "temp_c"), 20.0, "in the order"),
        ("fish.toml", ("juvenile_carp", "points", 0, "growth_percent"), 0.1, "less than mainten"),
        ("fish.toml", ("rest", "level"), "act", "is 'act'; it must be one of"),
        ("fish.toml", ("rest", "below_c"), 41.0, "must lie between 0 and 40"),
        ("binders.toml", ("oil", "g_per_ml"), MISSING, "g_per_ml: is missing"),
        ("binders.toml", ("agar", "g_per_ml"), 1.0, "is for what is measured in mL"),
        ("binders.toml", ("oil", "keep_days"), 0, "must lie between 1"),
        ("binders.toml", ("oil", "steps"), [], "is an empty list"),
        ("binders.toml", ("oil", "standing"), "published", "names no publication"),
    ],
)
def test_a_mistake_is_told(file: str, path: tuple[str | int, ...], value: Any, said: str) -> None:
    raw: Any = copy.deepcopy(dict(file_tables(file)))
    place = raw
    for step in path[:-1]:
        place = place[step]
    if value is MISSING:
        del place[path[-1]]
    else:
        place[path[-1]] = value
    findings = READERS[file](raw, source_standings())[1]
    assert any(said in str(finding) for finding in findings), findings
