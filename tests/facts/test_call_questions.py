"""The questions of a call, what makes it urgent, the fixed list, what the van carries."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

import pytest

from store.facts.agents import agents
from store.facts.call_questions import (
    WHEN,
    questions,
    raising,
    read_questions,
    read_raises,
    read_sentences,
    safe_list,
    to_carry,
)
from store.facts.hazards import hazards
from store.facts.rules import rules
from store.facts.sources import source_standings

DOSE = re.compile(
    r"\d\s*(?:mg|g|kg|µg|ml|l|ppm|ppt|%|drops?|spoons?|oz|lb|gal)\b|mg/l|g/l|ml/l", re.I
)
"""A number with a unit in which something is dosed."""


def spoken() -> Iterator[tuple[str, str]]:
    """Everything that the desk reads out, or that a person at the desk reads."""
    for one in questions().values():
        yield from ((one.code, text) for text in (one.label, one.says, one.van))
    for each in raising().values():
        yield each.code, each.says
    for said in safe_list().values():
        yield from ((said.code, text) for text in (said.short, said.says))


def agent_names() -> set[str]:
    """Every name of an agent, and each of its words that means nothing else."""
    names: set[str] = set()
    for agent in agents().values():
        names |= {name.casefold() for name in (agent.name, agent.code.replace("_", " "))}
    parts = {part for name in names for part in (name, *re.findall(r"[a-z]{4,}", name))}
    return parts - {"with", "acid", "green", "vitamin"}


def test_the_questions_stand_in_the_order_in_which_they_are_asked() -> None:
    asked = list(questions())
    assert asked == [
        "caller", "phone", "address", "town", "access", "ponds", "volume", "depth", "fish", "dead",
        "dead_days", "new_fish", "readings", "kit", "temperature", "put_in", "hose", "photo",
        "filter", "use", "bowl", "site_water", "gasping", "sores", "off_food", "saw", "told",
    ]  # fmt: skip


def test_every_question_has_a_letter_of_its_own_and_is_a_question() -> None:
    letters = [one.letter for one in questions().values()]
    assert len(set(letters)) == len(letters)
    for one in questions().values():
        assert "?" in one.says, one.code
        assert len(f"{one.letter} {one.label}") <= 19, one.code  # the label's place in a form


def test_no_sentence_names_an_agent_or_gives_a_dose() -> None:
    named = agent_names()
    assert {"formalin", "praziquantel", "permanganate", "salt", "peroxide"} <= named
    for code, text in spoken():
        said = text.casefold()
        found = [name for name in named if re.search(rf"\b{re.escape(name)}\b", said)]
        assert not found, (code, found)
        assert not DOSE.search(text), code
    for one in to_carry().values():
        assert not DOSE.search(one.says), one.code


def test_no_sentence_names_a_disease() -> None:
    names = {word.casefold() for one in hazards().values() for word in (one.name, one.plain_name)}
    for code, text in spoken():
        assert not [name for name in names if name in text.casefold()], code


def test_the_fixed_list_is_the_safe_six() -> None:
    # Common practice of the desk: air on, stop feeding, stop dosing, keep a dead fish cold and not
    # frozen, test the water and keep a sample, move no fish.
    assert list(safe_list()) == ["air", "feed", "stop", "dead", "water", "movement"]
    assert "not frozen" in safe_list()["dead"].says
    assert all(one.short for one in safe_list().values())


def test_what_is_urgent_the_same_day_stands_first() -> None:
    urgencies = [one.urgency for one in raising().values()]
    assert urgencies == sorted(urgencies, key=["same day", "next day"].index)
    assert {code for code, one in raising().items() if one.urgency == "same day"} == {
        "reportable", "gasping", "accident", "mass", "tenth", "oxygen", "chlorine",
    }  # fmt: skip


def test_everything_that_asks_for_something_to_carry_is_used() -> None:
    used = {code for one in to_carry().values() for code in one.when}
    assert used == set(WHEN)


def test_the_numbers_come_from_the_rules_that_are_in_force() -> None:
    # The triage reads these of the alert rules: it breaks where one is renamed.
    assert {"within_days", "act_from_deaths", "act_from_percent"} <= set(rules()["deaths"].params)
    assert "act_below_mg_l" in rules()["oxygen_low"].params
    assert "act_above_mg_l" in rules()["chlorine"].params


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"letter": "N"}, "one small letter"),
        ({"letter": "ab"}, "one small letter"),
        ({"reads": "mood"}, "must be one of"),
        ({"colour": "red"}, "is not a field"),
    ],
)
def test_a_bad_question_is_refused(values: dict[str, Any], said: str) -> None:
    table = {"letter": "n", "label": "Name", "says": "Who?", "reads": "text"} | values
    found, findings = read_questions({"caller": table})
    assert not found
    assert any(said in str(one) for one in findings)


def test_two_questions_cannot_have_one_letter() -> None:
    table = {"letter": "n", "label": "Name", "says": "Who?", "reads": "text"}
    found, findings = read_questions({"one": table, "two": table})
    assert list(found) == ["one"]
    assert "jumps to one already" in str(findings[0])


@pytest.mark.parametrize(
    ("values", "said"),
    [
        ({"urgency": "routine"}, "must be one of"),
        ({"signs": ["no_such"]}, "is no sign"),
        ({"words": ["Hose"]}, "has capitals"),
        ({"above_percent_a_day": 101.0}, "must lie between"),
        ({"source": "nobody"}, "must be one of"),
        ({"standing": "published"}, "names no publication"),
    ],
)
def test_a_bad_reason_is_refused(values: dict[str, Any], said: str) -> None:
    table = {
        "urgency": "same day", "says": "Why.", "source": "common_practice",
        "standing": "common practice",
    } | values  # fmt: skip
    found, findings = read_raises({"one": table}, source_standings())
    assert not found
    assert any(said in str(one) for one in findings)


def test_a_thing_to_carry_for_nothing_is_refused() -> None:
    table = {
        "says": "a boat", "when": ["flood"], "source": "common_practice",
        "standing": "common practice",
    }  # fmt: skip
    found, findings = read_sentences({"boat": table}, source_standings())
    assert not found
    assert "asks for nothing" in str(findings[0])
