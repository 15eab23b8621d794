"""The formulary: whole, backed, cautious where publications disagree; and every fault in it told."""

from __future__ import annotations

import copy
import re
from dataclasses import replace
from itertools import combinations
from typing import Any

import pytest

from store.courses.baths.conditional import (
    CHLORAMINE_T_ROWS,
    COPPER_CAP_MG_L,
    COPPER_LEAST_ALKALINITY_MG_L,
    COPPER_SHARE,
)
from store.courses.baths.dechlorination import THIOSULFATE_PER_CHLORINE
from store.courses.baths.permanganate import PERMANGANATE_POND_MG_L
from store.errors import FactsTrouble, NotFound
from store.facts import agents as module
from store.facts.agent import FAMILIES, OFF, ROUTES, THINGS, Agent, Route
from store.facts.agents import FILES, agent_by_code, agents, clashes, read_agents
from store.facts.bathing import bath_rules, read_bathing
from store.facts.entry import Finding, file_tables
from store.facts.half_lives import half_lives, read_half_lives
from store.facts.sources import cite_with_standing, source_standings

EVERY = list(agents().values())
ROUTE_OF = [(agent, route) for agent in EVERY for route in agent.routes]
MG_PER_UL = 1.09  # formalin; for comparing doses here only


def _mg_l(dose: float, unit: str) -> float:
    return dose * {"mg/L": 1.0, "uL/L": MG_PER_UL, "g/L": 1000.0}.get(unit, 1.0)


def test_every_kind_of_thing_is_there() -> None:
    assert {route.code for _, route in ROUTE_OF} == ROUTES.keys()
    assert {agent.family for agent in EVERY} == set(FAMILIES)
    assert {code for agent in EVERY for code in agent.off} == OFF.keys()


@pytest.mark.parametrize("agent", EVERY, ids=lambda one: one.code)
def test_an_agent_speaks_of_people_and_every_statement_can_be_cited(agent: Agent) -> None:
    assert agent.handling
    said = [*agent.works, *agent.harms, *agent.filter_effect, *agent.species_not, *agent.legal]
    for one in [*said, *agent.half_life, *agent.interactions, *agent.forms, *agent.routes]:
        assert cite_with_standing(one.source, one.standing)
    # A number in words without a source of its own would stand on nothing.
    assert not re.search(r"\d", " ".join(agent.handling).replace("20 %", "")), agent.handling


@pytest.mark.parametrize(("agent", "route"), ROUTE_OF, ids=lambda one: one.code)
def test_the_cautious_statement_on_a_bath_is_the_route(agent: Agent, route: Route) -> None:
    """Where a rule sets the dose, the rule is the cautious part."""
    if route.code not in ("pond_bath", "tank_bath", "dip", "egg_bath") or route.rule:
        return
    for other in route.alternates:
        assert _mg_l(route.dose_high, route.unit) <= _mg_l(other.dose_high, other.unit), other


@pytest.mark.parametrize(("agent", "route"), ROUTE_OF, ids=lambda one: one.code)
def test_a_bath_says_what_is_switched_off(agent: Agent, route: Route) -> None:
    if route.code in ("pond_bath", "tank_bath"):
        assert agent.off


def test_rules_of_the_water_and_facts_agree() -> None:
    copper = agents()["copper_sulfate"].routes[0]
    assert copper.rule == "copper_by_alkalinity"
    assert copper.dose_high == COPPER_CAP_MG_L
    assert copper.alkalinity_low_mg_l == COPPER_LEAST_ALKALINITY_MG_L
    assert copper.dose_low == COPPER_LEAST_ALKALINITY_MG_L / 100.0
    assert agents()["copper_sulfate"].forms[0].active_percent == pytest.approx(
        100.0 * COPPER_SHARE, abs=0.005
    )
    by_ph = agents()["chloramine_t"].routes[0].alternates[0]
    assert (by_ph.dose_low, by_ph.dose_high) == (CHLORAMINE_T_ROWS[0][1], CHLORAMINE_T_ROWS[-1][2])
    assert agents()["potassium_permanganate"].routes[0].dose_low == PERMANGANATE_POND_MG_L
    assert agents()["sodium_thiosulfate"].routes[0].dose_high == THIOSULFATE_PER_CHLORINE


@pytest.mark.parametrize(
    ("first", "second"),
    [
        ("formalin", "potassium_permanganate"),
        ("formalin", "chloramine_t"),
        ("potassium_permanganate", "hydrogen_peroxide"),
        ("potassium_permanganate", "chloramine_t"),
        ("potassium_permanganate", "sodium_thiosulfate"),
        ("hydrogen_peroxide", "chloramine_t"),
        ("chloramine_t", "sodium_thiosulfate"),
    ],
)
def test_what_must_not_meet(first: str, second: str) -> None:
    """Chemistry textbooks: oxidisers react with formaldehyde, with reducers and each other."""
    found = clashes(agents()[first], agents()[second])
    assert found
    assert all(one.level == "stop" for one in found)


def test_clashes_are_the_same_either_way_and_an_agent_never_clashes_with_itself() -> None:
    for first, second in combinations(EVERY, 2):
        assert set(clashes(first, second)) == set(clashes(second, first))
    assert all(clashes(one, one) == () for one in EVERY)
    assert clashes(agents()["formalin"], agents()["trichlorfon"]) == ()


def test_a_second_organophosphate_is_stopped_whoever_adds_it() -> None:
    own = replace(agents()["lufenuron"], family="organophosphate")
    assert [one.level for one in clashes(own, agents()["trichlorfon"])] == ["stop"]


def test_what_stops_comes_before_what_is_to_be_minded() -> None:
    milder = replace(agents()["formalin"].interactions[-1], code="formalin")
    own = replace(agents()["hydrogen_peroxide"], interactions=(milder,))
    assert [one.level for one in clashes(own, agents()["formalin"])] == ["stop", "mind"]


def test_things_that_an_agent_must_not_meet() -> None:
    met = {(agent.code, one.code): one.level for agent in EVERY for one in agent.interactions}
    assert {code for _, code in met} >= THINGS.keys()
    assert met["salt", "zeolite"] == "stop"
    assert met["copper_sulfate", "soft_water"] == "stop"
    assert met["formalin", "low_oxygen"] == "stop"
    assert met["trichlorfon", "high_ph"] == "mind"


def test_where_formalin_stands() -> None:
    formalin = agents()["formalin"]
    assert [(one.dose_low, one.dose_high, one.unit) for one in formalin.routes][:2] == [
        (15.0, 25.0, "uL/L"),
        (15.0, 25.0, "mg/L"),
    ]
    assert all(one.basis == "product" for one in formalin.routes)
    warm = next(one for one in formalin.routes if one.temp_low_c == 21.0)
    assert [warm.dose_high, *(one.dose_high for one in warm.alternates)] == [150.0, 167.0, 250.0]


def test_no_agent_by_that_name() -> None:
    with pytest.raises(NotFound, match="no agent 'snake_oil'"):
        agent_by_code("snake_oil")


def test_rules_of_every_bath_come_in_the_order_of_work() -> None:
    when = [rule.when for rule in bath_rules()]
    assert when == sorted(when, key=("before", "during", "after", "law").index)
    assert {"volume", "ammonia", "uk_small_animals"} <= {rule.code for rule in bath_rules()}


# --- mistakes -------------------------------------------------------------------------------------

MISSING = object()
MISTAKES: list[tuple[str, tuple[str | int, ...], Any, str]] = [
    ("agents.toml", ("salt", "family"), "mineral", "family: is 'mineral'; it must be one of"),
    ("agents.toml", ("salt", "handling"), MISSING, "handling: is missing"),
    ("agents.toml", ("salt", "off"), ["pump"], "off: 'pump' is not one of"),
    ("agents.toml", ("salt", "routes"), [], "routes: an agent needs at least one route"),
    ("agents.toml", ("salt", "routes", 0, "dose_high"), MISSING, "dose_high: is missing"),
    ("agents.toml", ("salt", "routes", 0, "dose_low"), 9.0, "dose_low: is 9, above dose_high"),
    ("agents.toml", ("salt", "routes", 0, "unit"), "ppm", "unit: is 'ppm'; it must be one of"),
    ("agents.toml", ("salt", "routes", 0, "dose_high"), -1.0, "must lie between"),
    ("agents.toml", ("salt", "routes", 0, "exposure"), "timed", "does not fit the hours"),
    ("agents.toml", ("salt", "routes", 0, "exposure"), "fed", "is 'fed' on the route 'pond_bath'"),
    ("agents.toml", ("salt", "routes", 0, "source"), MISSING, "source: is missing"),
    ("agents.toml", ("salt", "routes", 0, "dose"), 2.0, "dose: is not a field"),
    ("agents.toml", ("salt", "routes", 0, "hazards"), ["kraken"], "there is no hazard 'kraken'"),
    ("agents.toml", ("salt", "routes", 4, "alternates", 0, "says"), "", "says: must be a text"),
    ("agents.toml", ("salt", "interactions", 0, "level"), "maybe", "level: is 'maybe'"),
    ("agents.toml", ("formalin", "forms", 0, "active_percent"), 137.0, "must lie between"),
    ("agents.toml", ("formalin", "forms", 0, "active_percent"), MISSING, "needs a strength"),
    ("agents.toml", ("formalin", "oxygen_taken", "mg_per_mg"), "a fifth", "must be a number"),
    ("agents.toml", ("formalin", "harms", 0, "standing"), "sure", "standing: is 'sure'"),
]


def _with(file: str, path: tuple[str | int, ...], value: Any) -> dict[str, Any]:
    raw = copy.deepcopy(dict(file_tables(file)))
    place: Any = raw
    for step in path[:-1]:
        place = place[step]
    if value is MISSING:
        del place[path[-1]]
    else:
        place[path[-1]] = value
    return raw


@pytest.mark.parametrize("file", FILES)
def test_nothing_is_found_in_the_files_as_they_are(file: str) -> None:
    assert read_agents(file, file_tables(file), source_standings())[1] == []


@pytest.mark.parametrize(("file", "path", "value", "said"), MISTAKES)
def test_a_mistake_is_found_and_the_rest_is_kept(
    file: str, path: tuple[str | int, ...], value: Any, said: str
) -> None:
    whole, _ = read_agents(file, file_tables(file), source_standings())
    kept, findings = read_agents(file, _with(file, path, value), source_standings())
    assert any(said in str(one) for one in findings), [str(one) for one in findings]
    assert whole.keys() - kept.keys() == {path[0]}


@pytest.mark.parametrize(
    ("path", "value", "said"),
    [
        (("salt", "interactions", 0, "code"), "aether", "'aether' is not known"),
        (("praziquantel",), None, "stands in another file already"),
    ],
)
def test_files_are_checked_against_each_other(
    monkeypatch: pytest.MonkeyPatch, path: tuple[str | int, ...], value: Any, said: str
) -> None:
    if value is None:
        value = file_tables("agents_parasites.toml")["praziquantel"]
    broken = _with("agents.toml", path, value)
    monkeypatch.setattr(
        module, "file_tables", lambda file: broken if file == "agents.toml" else file_tables(file)
    )
    with pytest.raises(FactsTrouble, match=said):
        agents.__wrapped__()


def _faults(found: tuple[dict[str, Any], list[Finding]]) -> str:
    return " ".join(str(one) for one in found[1])


def test_mistakes_in_the_rules_of_baths_and_in_half_lives() -> None:
    standings = source_standings()
    raw = _with("bathing.toml", ("air", "when"), "someday")
    assert "when: is 'someday'" in _faults(read_bathing(raw, standings))
    raw = _with("half_lives.toml", ("trichlorfon", "points", 0, "ph"), 71.0)
    assert "ph: is 71; it must lie between" in _faults(read_half_lives(raw, standings))
    raw = _with("half_lives.toml", ("dichlorvos", "points"), [])
    kept, _ = read_half_lives(raw, standings)
    assert kept.keys() == {"trichlorfon"}
    assert half_lives().keys() == {"trichlorfon", "dichlorvos"}
