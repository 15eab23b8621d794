"""What owners are told: every fault of the file is found, every agent has words for its sheet."""

from __future__ import annotations

from copy import deepcopy
from typing import Any

import pytest

from store.errors import FactsTrouble
from store.facts.advice import FILE, FORMS, PARTS, advice_for, all_advice, read_advice
from store.facts.agents import agents
from store.facts.entry import file_tables, refuse
from store.facts.sources import source_standings

BATHS = ("pond_bath", "tank_bath", "dip")


def test_the_file_is_good() -> None:
    assert {one.part for one in all_advice()} == set(PARTS)


@pytest.mark.parametrize(
    ("field", "value", "fault"),
    [
        ("part", "later", "part: is 'later'"),
        ("says", "", "says: must be a text"),
        ("forms", ["gas"], "forms: 'gas' is not one of"),
        ("families", ["elixir"], "families: 'elixir' is not one of"),
        ("routes", ["bath"], "routes: 'bath' is not one of"),
        ("source", "nobody", "source: is 'nobody'"),
        ("standing", "published", "standing: is 'published'"),
        ("agents", ["salt"], "agents: is not a field"),
    ],
)
def test_a_fault_is_found(field: str, value: Any, fault: str) -> None:
    raw = deepcopy(dict(file_tables(FILE)))
    raw["dissolve"][field] = value
    found, findings = read_advice(raw, source_standings())
    assert any(fault in str(one) for one in findings)
    assert "dissolve" not in found
    with pytest.raises(FactsTrouble, match="dissolve"):
        refuse(findings)


@pytest.mark.parametrize("route", BATHS)
@pytest.mark.parametrize("form", FORMS)
def test_every_bath_has_words_in_every_part(form: str, route: str) -> None:
    for agent in agents().values():
        for part in PARTS:
            assert advice_for(part, form=form, family=agent.family, route=route)


def test_words_keep_to_their_agents() -> None:
    """Piper 1982, p. 335: trichlorfon early in the morning; it says so of no other agent."""

    def codes(family: str, form: str = "powder") -> set[str]:
        found = advice_for("spread", form=form, family=family, route="pond_bath")
        return {one.code for one in found}

    assert "early" in codes("organophosphate")
    assert "early" not in codes("aldehyde", "liquid")
    assert "dissolve" not in codes("aldehyde", "liquid")
    assert {"early", "thin"} <= codes("organophosphate", "liquid")
    assert "salt_in_parts" in codes("salt")
