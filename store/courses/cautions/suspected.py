"""A notifiable disease is suspected at the pond: a sample comes before any treatment."""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from store.courses.cautions.said import caution
from store.courses.planning.course import Caution, PondWater
from store.facts.hazards import hazards
from store.watch.kinds.suspicion import suspected_by
from store.watch.rule import Rule
from store.watch.seen import PondSeen

SUSPECTED = "suspected_"
"""How a code of `PondWater.things` begins; the code of the hazard follows."""


def suspected_things(rules: Iterable[Rule], seen: PondSeen, today: date) -> frozenset[str]:
    """The notifiable diseases that are suspected at a pond, as `PondWater.things` holds them.

    Parameters
    ----------
    rules
        The rules in force there; a silenced one suspects nothing.
    seen
        The pond.
    today
        The practice's calendar day.
    """
    return frozenset(
        SUSPECTED + rule.hazard
        for rule in rules
        if rule.kind == "suspicion" and rule.enabled
        if (found := suspected_by(rule, seen, today)) is not None and found.level == "act"
    )


def suspicion_cautions(water: PondWater) -> list[Caution]:
    """A stop for every notifiable disease that is suspected: sample before any treatment.

    Parameters
    ----------
    water
        The pond as it is now, or as the course was planned on it.
    """
    found = []
    for code, hazard in hazards().items():
        if hazard.notifiable and SUSPECTED + code in water.things:
            name = hazard.plain_name[0].upper() + hazard.plain_name[1:]
            found.append(
                caution(
                    f"{SUSPECTED}{code}",
                    "stop",
                    f"{name} is suspected at this pond: sample before any treatment, which can "
                    "hide it; move no fish, water or nets, and ring the competent authority. "
                    "Local law decides.",
                    "suspected by signs, water, deaths or contacts: see the concerns of the pond",
                )
            )
    return found
