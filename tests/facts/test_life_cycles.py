"""The file of life cycles: agreeing with the hazards, and every fault in it told."""

from __future__ import annotations

import copy
from typing import Any

import pytest

from store.facts.entry import file_tables
from store.facts.hazards import hazards
from store.facts.life_cycles import FILE, life_cycles, read_life_cycles
from store.facts.sources import source_standings


def found(raw: dict[str, Any]) -> tuple[dict[str, Any], list[str]]:
    good, findings = read_life_cycles(raw, source_standings(), hazards().keys())
    return good, [str(one) for one in findings]


def tables() -> dict[str, Any]:
    return copy.deepcopy(dict(file_tables(FILE)))


def test_nothing_is_found_in_the_file_as_it_is() -> None:
    good, findings = found(tables())
    assert findings == []
    assert good.keys() == life_cycles().keys() <= hazards().keys()


def test_flukes_are_not_swapped() -> None:
    assert life_cycles()["gill_flukes"].breeding == "eggs"
    assert life_cycles()["skin_flukes"].breeding == "live young"
    assert life_cycles()["gill_flukes"].organism.startswith("Dactylogyrus")
    assert hazards()["skin_flukes"].name.startswith("Gyrodactylus")


def test_a_virus_has_no_course() -> None:
    assert {code for code, one in life_cycles().items() if one.least_doses == 0} == {"khv"}
    assert "competent authority" in life_cycles()["khv"].why


def _change(path: tuple[Any, ...], value: Any) -> dict[str, Any]:
    raw = tables()
    place: Any = raw["gill_flukes"]
    for step in path[:-1]:
        place = place[step]
    if value is None:
        del place[path[-1]]
    else:
        place[path[-1]] = value
    return raw


STAGE = ("stages", 0, "series", 0)


@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        ((*STAGE, "points"), [[20, 3], [10, 19]], "from cold to warm"),
        ((*STAGE, "points"), [[10]], "must be [°C, days]"),
        ((*STAGE, "points"), [[10, "19"]], "must be [°C, days]"),
        ((*STAGE, "points"), [[10, True]], "must be [°C, days]"),
        ((*STAGE, "points"), [[50, 19]], "outside what can be"),
        ((*STAGE, "points"), [[10, 0]], "outside what can be"),
        ((*STAGE, "points"), [[10, 24, 19]], "outside what can be"),
        ((*STAGE, "points"), [], "must be a list of points"),
        ((*STAGE, "standing"), "common practice", "names no publication"),
        ((*STAGE, "source"), "nobody", "must be one of"),
        (("stages", 0, "code"), "hatch", "must be one of"),
        (("stages", 1, "code"), "first_hatch", "stands twice"),
        (("stages", 0, "series"), None, "is missing"),
        (("stages", 2, "warmer_as"), "life_span", "do not have 'life_span'"),
        (("headline",), "doubling", "do not have 'doubling'"),
        (("course",), None, "is missing"),
        (("course", "rule"), "cycle", "need 'whole_cycle'"),
        (("course", "rule"), "none", "is there, though"),
        (("course", "why"), None, "is missing"),
        (("course", "dose"), 7, "is not a field"),
        (("breeding",), "spores", "must be one of"),
        (("statements", 0, "source"), None, "is missing"),
    ],
)
def test_a_mistake_is_found_and_the_rest_is_kept(
    path: tuple[Any, ...], value: Any, said: str
) -> None:
    good, findings = found(_change(path, value))
    assert any(said in one for one in findings), findings
    assert "gill_flukes" not in good
    assert good.keys() == life_cycles().keys() - {"gill_flukes"}


def test_an_unknown_hazard_is_found() -> None:
    raw = {"whale_lice": tables()["gill_flukes"]}
    good, findings = found(raw)
    assert not good
    assert any("is not a hazard" in one for one in findings)


@pytest.mark.parametrize(
    ("hazard", "keys", "said"),
    [("white_spot", ("interval",), "rule is 'cycle'"), ("fish_louse", ("interval",), "'maturity'")],
)
def test_a_rule_needs_what_it_reckons_with(hazard: str, keys: tuple[str, ...], said: str) -> None:
    raw = tables()
    for key in keys:
        del raw[hazard][key]
    assert any(said in one for one in found(raw)[1])
