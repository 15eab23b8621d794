"""An agent of the formulary: what is told of it, and the words it is told in."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal
from uuid import UUID

from store.facts.entry import Standing

LOCAL_LAW = "Local law, the label and the prescribing vet decide."
"""Stands with the cautions of every agent."""

FAMILIES = ("aldehyde", "oxidiser", "metal", "salt", "reducer", "dye", "disinfectant",
            "anthelmintic", "organophosphate", "chitin inhibitor", "avermectin", "antibacterial",
            "vitamin")  # fmt: skip

ROUTES: Mapping[str, str] = MappingProxyType(
    {
        "pond_bath": "bath of the whole pond",
        "tank_bath": "bath in a holding tank",
        "dip": "dip",
        "egg_bath": "bath for eggs",
        "feed": "with the feed",
        "injection": "injection",
        "water": "treatment of the water",
    }
)
UNITS = ("mg/L", "uL/L", "g/L", "mg/kg", "mg/kg/d", "mg/kg feed", "mg/mg Cl2")
EXPOSURES = ("timed", "indefinite", "not stated", "fed", "once")
BASES = ("product", "active", "not stated")
RULES = ("copper_by_alkalinity", "chloramine_t_by_ph", "permanganate_by_demand", "salt_to_target")

OFF: Mapping[str, str] = MappingProxyType(
    {
        "uv": "UV lamp",
        "ozone": "ozone",
        "carbon": "activated carbon",
        "zeolite": "zeolite",
        "skimmer": "protein skimmer",
        "filter": "biological filter (bypass it)",
    }
)
"""What is switched off or taken out while an agent works, and put back afterwards."""

THINGS: Mapping[str, str] = MappingProxyType(
    {
        "zeolite": "zeolite in the filter",
        "soft_water": "soft water",
        "high_ph": "a high pH",
        "low_oxygen": "little oxygen",
        "sick_filter": "a filter that is not ripe",
    }
)
"""What an agent can clash with besides another agent."""

Level = Literal["stop", "mind"]
"""`stop` needs a vet's written reason; `mind` is shown and logged."""


@dataclass(frozen=True, slots=True)
class Statement:
    """One thing that is said of an agent, with where it stands."""

    says: str
    source: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class OtherDose:
    """What another publication gives for the same route; `exposure_h` is the longest, if timed."""

    dose_low: float | None
    dose_high: float
    unit: str
    exposure_h: float | None
    says: str
    source: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class Route:
    """One way of giving an agent, with its dose range as published.

    `dose_low` is None for "up to". `basis` says of what the dose is an amount: of the active
    substance, of the product as it comes (formalin), or not said. `exposure` tells how the times
    are meant: `exposure_low_h` to `exposure_h` when timed, else both are None. `repeat_days` are
    the least and the most days between doses, `doses` how many; `feed_days` on how many days the
    feed is given. `rule` names the published rule by which the pond's water sets the dose.
    `hazards` are codes of `store.facts.hazards` that the publication speaks of. `own_dose` is the
    key of a dose that a practice set itself, in its book; None for all that is published.
    """

    code: str
    for_what: str
    hazards: tuple[str, ...]
    dose_low: float | None
    dose_high: float
    unit: str
    basis: str
    rule: str
    exposure: str
    exposure_low_h: float | None
    exposure_h: float | None
    repeat_days: tuple[float, float] | None
    doses: int | None
    feed_days: tuple[float, float] | None
    temp_low_c: float | None
    temp_high_c: float | None
    least_oxygen_mg_l: float | None
    alkalinity_low_mg_l: float | None
    alkalinity_high_mg_l: float | None
    ph_low: float | None
    ph_high: float | None
    note: str
    source: str
    standing: Standing
    alternates: tuple[OtherDose, ...]
    own_dose: UUID | None = None


@dataclass(frozen=True, slots=True)
class Interaction:
    """What an agent must not meet: the code of an agent, a family, or one of `THINGS`."""

    code: str
    level: Level
    why: str
    source: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class Form:
    """A form in which an agent is sold: share of active substance, and density where it flows.

    `active_percent` is by weight; `active_mg_ml` is what one millilitre holds, where published.
    """

    name: str
    active_percent: float | None
    active_mg_ml: float | None
    density_g_ml: float | None
    source: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class OxygenTaken:
    """The oxygen that an agent itself takes from the water, mg for each mg, within some hours."""

    mg_per_mg: float
    low_h: float
    high_h: float
    note: str
    source: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class Agent:
    """One agent. `source` and `standing` back the words that carry none of their own.

    `off` are codes of `OFF`; `handling` are cautions for people; `legal` is never complete:
    see `LOCAL_LAW`.
    """

    code: str
    name: str
    plain_name: str
    family: str
    source: str
    standing: Standing
    routes: tuple[Route, ...]
    interactions: tuple[Interaction, ...]
    forms: tuple[Form, ...]
    works: tuple[Statement, ...]
    harms: tuple[Statement, ...]
    filter_effect: tuple[Statement, ...]
    species_not: tuple[Statement, ...]
    legal: tuple[Statement, ...]
    off: tuple[str, ...]
    handling: tuple[str, ...]
    oxygen_taken: OxygenTaken | None
    half_life: tuple[Statement, ...]


class Formulary(Mapping[str, Agent]):
    """Agents by code, never altered; where a plan is printed it is told in two words.

    Parameters
    ----------
    known
        The agents.
    """

    __slots__ = ("_known",)

    def __init__(self, known: Mapping[str, Agent]) -> None:
        self._known = dict(known)

    def __getitem__(self, code: str) -> Agent:
        return self._known[code]

    def __iter__(self) -> Iterator[str]:
        return iter(self._known)

    def __len__(self) -> int:
        return len(self._known)

    def __repr__(self) -> str:
        return f"<{len(self)} agents>"
