"""What is given to pond fish: agents with their routes, published doses, conditions and cautions.

Nothing here is a prescription. Where publications disagree the cautious statement is the route
itself, and the others stand beside it as `alternates`; nothing is averaged.
"""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from typing import Any

from store.errors import NotFound
from store.facts.agent import (
    BASES,
    EXPOSURES,
    FAMILIES,
    OFF,
    ROUTES,
    RULES,
    THINGS,
    UNITS,
    Agent,
    Form,
    Formulary,
    Interaction,
    Level,
    OtherDose,
    OxygenTaken,
    Route,
    Statement,
)
from store.facts.entry import Entry, Finding, Standing, entries, file_tables, refuse
from store.facts.hazards import hazards
from store.facts.sources import source_standings

FILES = ("agents.toml", "agents_parasites.toml", "agents_feed.toml")


def _pair(entry: Entry, low: str, high: str, least: float, most: float) -> tuple[
    float | None, float | None
]:  # fmt: skip
    first = entry.number(low, low=least, high=most, needed=False)
    second = entry.number(high, low=least, high=most, needed=False)
    if first is not None and second is not None and first > second:
        entry.fault(low, f"is {first:g}, above {high}, which is {second:g}")
    return first, second


def _both(pair: tuple[float | None, float | None]) -> tuple[float, float] | None:
    low, high = pair
    if high is None:
        return None
    return (high if low is None else low, high)


def _dose(entry: Entry) -> tuple[float | None, float]:
    low, high = _pair(entry, "dose_low", "dose_high", 1e-4, 1e4)
    if high is None and not entry.has("dose_high"):
        entry.fault("dose_high", "is missing")
    return low, high or 0.0


def _statements(
    entry: Entry, field: str, standings: Mapping[str, Standing]
) -> tuple[Statement, ...]:
    found = []
    for part in entry.parts(field):
        says = part.text("says")
        source, standing = part.backing(standings)
        part.finish()
        found.append(Statement(says, source, standing))
    return tuple(found)


def _other(entry: Entry, unit: str, standings: Mapping[str, Standing]) -> OtherDose:
    low, high = _dose(entry)
    own_unit = entry.choice("unit", UNITS, needed=False) or unit
    hours = entry.number("exposure_h", low=0.001, high=10000.0, needed=False)
    says = entry.text("says")
    source, standing = entry.backing(standings)
    entry.finish()
    return OtherDose(low, high, own_unit, hours, says, source, standing)


def _route(entry: Entry, standings: Mapping[str, Standing]) -> Route:
    unit = entry.choice("unit", UNITS)
    dose_low, dose_high = _dose(entry)
    exposure = entry.choice("exposure", EXPOSURES)
    shortest_h, longest_h = _pair(entry, "exposure_low_h", "exposure_h", 0.001, 10000.0)
    timed = shortest_h is not None or longest_h is not None
    if exposure and timed != (exposure == "timed"):
        entry.fault("exposure", f"is {exposure!r}, which does not fit the hours")
    source, standing = entry.backing(standings)
    against = entry.texts("hazards", needed=False)
    for code in against:
        if code not in hazards():
            entry.fault("hazards", f"there is no hazard {code!r}")
    doses = entry.number("doses", low=1.0, high=30.0, needed=False)
    repeat = _both(_pair(entry, "repeat_low_days", "repeat_days", 0.5, 60.0))
    feed_days = _both(_pair(entry, "feed_low_days", "feed_days", 1.0, 60.0))
    temp_low_c, temp_high_c = _pair(entry, "temp_low_c", "temp_high_c", -2.0, 45.0)
    alkalinity = _pair(entry, "alkalinity_low_mg_l", "alkalinity_high_mg_l", 0.0, 1000.0)
    ph_low, ph_high = _pair(entry, "ph_low", "ph_high", 0.0, 14.0)
    code = entry.choice("code", ROUTES.keys())
    if code and (code == "feed") != (exposure == "fed"):
        entry.fault("exposure", f"is {exposure!r} on the route {code!r}")
    route = Route(
        code=code,
        for_what=entry.text("for_what"),
        hazards=against,
        dose_low=dose_low,
        dose_high=dose_high,
        unit=unit,
        basis=entry.choice("basis", BASES),
        rule=entry.choice("rule", RULES, needed=False),
        exposure=exposure,
        exposure_low_h=shortest_h,
        exposure_h=longest_h,
        repeat_days=repeat,
        doses=None if doses is None else int(doses),
        feed_days=feed_days,
        temp_low_c=temp_low_c,
        temp_high_c=temp_high_c,
        least_oxygen_mg_l=entry.number("least_oxygen_mg_l", low=0.0, high=20.0, needed=False),
        alkalinity_low_mg_l=alkalinity[0],
        alkalinity_high_mg_l=alkalinity[1],
        ph_low=ph_low,
        ph_high=ph_high,
        note=entry.text("note", needed=False),
        source=source,
        standing=standing,
        alternates=tuple(_other(one, unit, standings) for one in entry.parts("alternates")),
    )
    entry.finish()
    return route


def _interaction(entry: Entry, standings: Mapping[str, Standing]) -> Interaction:
    level: Level = "mind" if entry.choice("level", ("stop", "mind")) == "mind" else "stop"
    source, standing = entry.backing(standings)
    found = Interaction(entry.text("code"), level, entry.text("why"), source, standing)
    entry.finish()
    return found


def _form(entry: Entry, standings: Mapping[str, Standing]) -> Form:
    percent = entry.number("active_percent", low=0.01, high=100.0, needed=False)
    mg_ml = entry.number("active_mg_ml", low=0.01, high=2000.0, needed=False)
    density = entry.number("density_g_ml", low=0.5, high=3.0, needed=False)
    if percent is None and mg_ml is None and density is None:
        entry.fault("active_percent", "a form needs a strength or a density")
    source, standing = entry.backing(standings)
    found = Form(entry.text("name"), percent, mg_ml, density, source, standing)
    entry.finish()
    return found


def _oxygen(entry: Entry, standings: Mapping[str, Standing]) -> OxygenTaken:
    mg_per_mg = entry.number("mg_per_mg", low=0.001, high=10.0)
    low_h, high_h = _pair(entry, "low_h", "high_h", 0.1, 500.0)
    source, standing = entry.backing(standings)
    note = entry.text("note")
    entry.finish()
    return OxygenTaken(mg_per_mg or 0.0, low_h or 0.0, high_h or 0.0, note, source, standing)


def _agent(entry: Entry, standings: Mapping[str, Standing]) -> Agent:
    off = entry.texts("off", needed=False)
    for code in off:
        if code not in OFF:
            entry.fault("off", f"{code!r} is not one of {', '.join(OFF)}")
    source, standing = entry.backing(standings)
    oxygen = entry.part("oxygen_taken", needed=False)
    routes = tuple(_route(one, standings) for one in entry.parts("routes"))
    if not routes:
        entry.fault("routes", "an agent needs at least one route")
    agent = Agent(
        code=entry.name,
        name=entry.text("name"),
        plain_name=entry.text("plain_name"),
        family=entry.choice("family", FAMILIES),
        source=source,
        standing=standing,
        routes=routes,
        interactions=tuple(_interaction(one, standings) for one in entry.parts("interactions")),
        forms=tuple(_form(one, standings) for one in entry.parts("forms")),
        works=_statements(entry, "works", standings),
        harms=_statements(entry, "harms", standings),
        filter_effect=_statements(entry, "filter_effect", standings),
        species_not=_statements(entry, "species_not", standings),
        legal=_statements(entry, "legal", standings),
        off=off,
        handling=entry.texts("handling"),
        oxygen_taken=None if oxygen is None else _oxygen(oxygen, standings),
        half_life=_statements(entry, "half_life", standings),
    )
    entry.finish()
    return agent


def read_agents(
    file: str, raw: Mapping[str, Any], standings: Mapping[str, Standing]
) -> tuple[dict[str, Agent], list[Finding]]:
    """Every good agent of the tables of a file, and everything that is wrong with the others.

    Parameters
    ----------
    file
        Name of the file, for the findings.
    raw
        The tables of the file, as TOML gives them.
    standings
        Standing of every source by its key; see `store.facts.sources.source_standings`.

    Returns
    -------
    tuple of dict and list
        Agents by code, and the findings.
    """
    findings: list[Finding] = []
    found: dict[str, Agent] = {}
    for entry in entries(file, raw, findings):
        before = len(findings)
        agent = _agent(entry, standings)
        if len(findings) == before:
            found[agent.code] = agent
    return found, findings


@cache
def agents() -> Mapping[str, Agent]:
    """Every agent by its code, in the order of the files.

    Raises
    ------
    FactsTrouble
        A file has bad entries, or an agent clashes with something unknown; all are named.
    """
    every: dict[str, Agent] = {}
    findings: list[Finding] = []
    for file in FILES:
        found, faults = read_agents(file, file_tables(file), source_standings())
        findings += faults
        for code in found.keys() & every.keys():
            findings.append(Finding(file, code, "entry", "stands in another file already"))
        every.update(found)
    known = every.keys() | set(FAMILIES) | THINGS.keys()
    for agent in every.values():
        for one in agent.interactions:
            if one.code not in known:
                findings.append(
                    Finding("agents", agent.code, "interactions", f"{one.code!r} is not known")
                )
    refuse(findings)
    return Formulary(every)


def agent_by_code(code: str, formulary: Mapping[str, Agent] | None = None) -> Agent:
    """One agent by its code.

    Parameters
    ----------
    code
        Code of the agent, such as "formalin".
    formulary
        Agents by code; None for the published ones.

    Raises
    ------
    NotFound
        There is no agent by that code.

    Examples
    --------
    >>> agent_by_code("trichlorfon").family
    'organophosphate'
    """
    found = (agents() if formulary is None else formulary).get(code)
    if found is None:
        raise NotFound(f"There is no agent {code!r} in the formulary. Nothing was changed.")
    return found


def clashes(first: Agent, second: Agent) -> tuple[Interaction, ...]:
    """What stands against two agents in the same water, whichever of them says so; `stop` first.

    Parameters
    ----------
    first, second
        Two agents in either order; the same agent again is no clash.

    Examples
    --------
    >>> formalin = agent_by_code("formalin")
    >>> clashes(agent_by_code("chloramine_t"), formalin)[0].level
    'stop'
    >>> clashes(formalin, agent_by_code("praziquantel"))
    ()
    """
    if first.code == second.code:
        return ()
    found = {
        one: None
        for this, other in ((first, second), (second, first))
        for one in this.interactions
        if one.code in (other.code, other.family)
    }
    return tuple(sorted(found, key=lambda one: one.level != "stop"))
