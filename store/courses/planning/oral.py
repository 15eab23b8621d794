"""A dose with the feed beside what is published for it, per kilogram of fish or of feed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from store.courses.feeding.feed import Beside, beside
from store.facts.agent import Agent, OtherDose, Route
from store.facts.entry import OWN, Standing
from store.facts.sources import cite_with_standing
from store.water.given import figures

_RAISE_NOTHING = ("common practice", OWN)
"""Doses of these standings decide only where nothing is published."""
OF_FISH = "mg per kg fish and day"
OF_FEED = "mg per kg feed"
IN_ALL = "mg per kg fish in all"


@dataclass(frozen=True, slots=True)
class Stated:
    """One statement of a dose with the feed, and how what is planned stands beside it."""

    judged: Beside
    says: str
    source: str
    standing: Standing

    @property
    def said(self) -> str:
        """The numbers with what they are for and where they stand."""
        cited = cite_with_standing(self.source, self.standing)
        return f"{self.judged.said} {self.says[:1].upper()}{self.says[1:]} ({cited})."


@dataclass(frozen=True, slots=True)
class Oral:
    """What is published for an agent with the feed: `nearest` decides, the others are told.

    `feed_days` are the least and the most days that are published for the route.
    """

    nearest: Stated
    others: tuple[Stated, ...]
    route: Route
    feed_days: tuple[float, float] | None


def oral(
    agent: Agent,
    hazards: Sequence[str],
    *,
    mg_kg_day: float,
    mg_per_kg_feed: float,
    days: int,
) -> Oral | None:
    """What is planned with the feed, beside every statement of the formulary.

    Parameters
    ----------
    agent
        The agent.
    hazards
        Codes of the hazards: a statement that names one of them goes before the others.
    mg_kg_day
        Active substance for the fish [mg per kg fish and day].
    mg_per_kg_feed
        Active substance in dry feed [mg per kg feed].
    days
        On how many days it is fed.

    Returns
    -------
    Oral or None
        None where the formulary has no dose with the feed for this agent.

    Notes
    -----
    The nearest statement decides; common practice, and what is the practice's own, decide only
    where there is nothing else.
    """
    routes = [one for one in agent.routes if one.code == "feed"]
    named = [one for one in routes if set(one.hazards) & set(hazards)]
    general = [one for one in routes if not one.hazards]
    routes = named or (general if hazards and general else routes)
    found: list[tuple[Stated, Route]] = []
    for route in routes:
        for one in _stated(route):
            stated = _beside(one, route, mg_kg_day, mg_per_kg_feed, days)
            if stated is not None:
                found.append((stated, route))
    if not found:
        return None
    deciding = [pair for pair in found if pair[0].standing not in _RAISE_NOTHING] or found
    nearest = min(deciding, key=lambda pair: pair[0].judged.factor)
    return Oral(
        nearest[0],
        tuple(one for one, _ in found if one is not nearest[0]),
        nearest[1],
        nearest[1].feed_days,
    )


def _stated(route: Route) -> tuple[Route | OtherDose, ...]:
    return (route, *route.alternates)


def _beside(
    one: Route | OtherDose, route: Route, mg_kg_day: float, mg_per_kg_feed: float, days: int
) -> Stated | None:
    planned = {
        "mg/kg/d": (mg_kg_day, OF_FISH),
        "mg/kg feed": (mg_per_kg_feed, OF_FEED),
        "mg/kg": (mg_kg_day * days, IN_ALL),
    }.get(one.unit)
    if planned is None:
        return None
    value, words = planned
    # A dose that is published as "up to" has no low end to fall short of.
    low = min(value, one.dose_high) if one.dose_low is None else one.dose_low
    says = one.for_what if isinstance(one, Route) else one.says
    if route.note and isinstance(one, Route):
        says = f"{says}. {route.note.rstrip('.')}"
    return Stated(beside(value, low, one.dose_high, words), says, one.source, one.standing)


def published_oral(agent: Agent) -> str:
    """The doses with the feed that the formulary has for an agent, for a hint: `10 mg/kg/d`.

    Parameters
    ----------
    agent
        The agent.
    """
    said = []
    for route in agent.routes:
        if route.code != "feed":
            continue
        for one in _stated(route):
            low = "up to " if one.dose_low is None else f"{figures(one.dose_low)}–"
            if one.dose_low == one.dose_high:
                low = ""
            said.append(f"{low}{figures(one.dose_high)} {one.unit}")
    return "; ".join(dict.fromkeys(said))
