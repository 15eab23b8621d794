"""Everything that the formulary says of an agent, in sentences, each with where it stands."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType
from uuid import UUID

from store.facts.agent import LOCAL_LAW, OFF, ROUTES, THINGS, Agent, OtherDose, Route, Statement
from store.facts.entry import OWN, Standing
from store.facts.hazards import hazards
from store.facts.sources import cite_with_standing
from store.water.given import figures, said_minutes

DOSES = "Doses"
OWN_DOSES = "The practice's own doses"
RULES: Mapping[str, str] = MappingProxyType(
    {
        "copper_by_alkalinity": "the alkalinity sets the dose",
        "chloramine_t_by_ph": "pH and hardness set the dose",
        "permanganate_by_demand": "a demand test sets the dose",
        "salt_to_target": "up to a target, from the salinity that is there",
    }
)
"""By what the pond's own water sets the dose."""
BASES: Mapping[str, str] = MappingProxyType(
    {"product": " of the product", "active": " of the active substance"}
)


@dataclass(frozen=True, slots=True)
class Said:
    """One sentence under a heading; `own_dose` is the key of a dose of the practice's own.

    `source` is a line; `beside` is True for what stands under the sentence before it.
    """

    heading: str
    says: str
    source: str
    standing: Standing
    beside: bool = False
    own_dose: UUID | None = None


def told_of(agent: Agent) -> tuple[Said, ...]:
    """Everything that is said of an agent, in the order in which it is read.

    Parameters
    ----------
    agent
        Of any formulary.
    """
    found: list[Said] = []
    for heading, own in ((DOSES, False), (OWN_DOSES, True)):
        for route in agent.routes:
            if (route.standing == OWN) != own:
                continue
            found.append(_said(heading, route_said(route), route.source, route.standing,
                               own_dose=route.own_dose))  # fmt: skip
            found += [
                _said(heading, f"Or: {_range(one)}{_for(one.exposure_h)}: {one.says}.", one.source,
                      one.standing, beside=True)
                for one in route.alternates
            ]  # fmt: skip
    found += _statements("What is known of it", agent.works)
    found += _statements("What harms", agent.harms)
    found += _statements("The filter", agent.filter_effect)
    found += _statements("Not borne by", agent.species_not)
    found += [
        _said("Must not meet", f"{one.level}: {_met(one.code)}. {one.why}", one.source,
              one.standing)
        for one in agent.interactions
    ]  # fmt: skip
    if agent.off:
        off = ", ".join(OFF[code] for code in agent.off)
        found.append(
            _said("Switched off or taken out", f"While it works: {off}.", agent.source,
                  agent.standing)
        )  # fmt: skip
    taken = agent.oxygen_taken
    if taken is not None:
        found.append(
            _said(
                "Oxygen that it takes",
                f"{figures(taken.mg_per_mg)} mg for each mg within {figures(taken.low_h)}–"
                f"{figures(taken.high_h)} h. {taken.note}",
                taken.source, taken.standing,
            )
        )  # fmt: skip
    found += _statements("How long it stays", agent.half_life)
    for form in agent.forms:
        strength = [
            f"{figures(form.active_percent)} %" if form.active_percent is not None else "",
            f"{figures(form.active_mg_ml)} mg/mL" if form.active_mg_ml is not None else "",
            f"{figures(form.density_g_ml)} g/mL" if form.density_g_ml is not None else "",
        ]
        said = f"{form.name}: {', '.join(one for one in strength if one)}."
        found.append(_said("Sold as", said, form.source, form.standing))
    found += [_said("For people", one, agent.source, agent.standing) for one in agent.handling]
    found += _statements("The law", agent.legal)
    found.append(Said("The law", LOCAL_LAW, "", "common practice"))
    return tuple(found)


def route_said(route: Route) -> str:
    """A way of giving an agent with its dose and its conditions, in one line.

    Parameters
    ----------
    route
        The statement.
    """
    parts = [_range(route) + BASES.get(route.basis, "")]
    if route.exposure == "timed":
        low, high = route.exposure_low_h, route.exposure_h
        parts.append(_bath(low, high))
    elif route.exposure == "indefinite":
        parts.append("left in the water")
    if route.repeat_days is not None:
        parts.append(f"every {_span(*route.repeat_days)} d")
    if route.doses is not None:
        parts.append("once" if route.doses == 1 else f"{route.doses} times")
    if route.feed_days is not None:
        parts.append(f"for {_span(*route.feed_days)} d")
    if route.rule:
        parts.append(RULES[route.rule])
    parts += _conditions(route)
    named = [hazards()[code].plain_name for code in route.hazards if code in hazards()]
    against = f" Against: {', '.join(named)}." if named and route.standing != OWN else ""
    note = f" {route.note}" if route.note else ""
    way = ROUTES[route.code]
    return f"{way[:1].upper()}{way[1:]}, {route.for_what}: {'; '.join(parts)}.{against}{note}"


def doses_in_short(routes: Sequence[Route]) -> str:
    """The doses of some statements, each once, for a line of a list: `0.25; 2.5 mg/L`.

    Parameters
    ----------
    routes
        The statements.
    """
    said: dict[str, dict[str, None]] = {}
    for route in routes:
        unit = route.unit.replace("uL", "µL")
        low = "≤ " if route.dose_low is None else f"{figures(route.dose_low)}–"
        if route.dose_low == route.dose_high:
            low = ""
        said.setdefault(unit, {})[f"{low}{figures(route.dose_high)}"] = None
    return "; ".join(f"{', '.join(doses)} {unit}" for unit, doses in said.items())


def _said(
    heading: str,
    says: str,
    source: str,
    standing: Standing,
    *,
    beside: bool = False,
    own_dose: UUID | None = None,
) -> Said:
    return Said(heading, says, cite_with_standing(source, standing), standing, beside, own_dose)


def _statements(heading: str, found: Sequence[Statement]) -> list[Said]:
    return [_said(heading, one.says, one.source, one.standing) for one in found]


def _range(one: Route | OtherDose) -> str:
    unit = one.unit.replace("uL", "µL")
    if one.dose_low is None:
        return f"up to {figures(one.dose_high)} {unit}"
    return f"{_span(one.dose_low, one.dose_high)} {unit}"


def _span(low: float, high: float) -> str:
    return figures(low) if low == high else f"{figures(low)}–{figures(high)}"


def _for(hours: float | None) -> str:
    return "" if hours is None else f", bath of {said_minutes(hours * 60.0)}"


def _bath(low: float | None, high: float | None) -> str:
    if high is None:
        return f"bath of at least {said_minutes((low or 0.0) * 60.0)}"
    if low is None or low == high:
        return f"bath of {said_minutes(high * 60.0)}"
    return f"bath of {said_minutes(low * 60.0)} to {said_minutes(high * 60.0)}"


def _conditions(route: Route) -> list[str]:
    found = []
    for low, high, before, unit in (
        (route.temp_low_c, route.temp_high_c, "", " °C"),
        (route.ph_low, route.ph_high, "pH ", ""),
        (route.alkalinity_low_mg_l, route.alkalinity_high_mg_l, "alkalinity ", " mg/L"),
        (route.least_oxygen_mg_l, None, "oxygen ", " mg/L"),
    ):
        if low is not None and high is not None:
            found.append(f"{before}{_span(low, high)}{unit}")
        elif low is not None:
            found.append(f"{before}from {figures(low)}{unit}")
        elif high is not None:
            found.append(f"{before}up to {figures(high)}{unit}")
    return found


def _met(code: str) -> str:
    return THINGS.get(code, code.replace("_", " "))
