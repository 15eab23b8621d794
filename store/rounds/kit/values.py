"""What goes into the van for a day, as plain values; amounts are in g or mL, as `unit` says."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from types import MappingProxyType
from typing import Literal
from uuid import UUID

from store.courses.planning.course import Basis, Product

Unit = Literal["g", "mL"]
Group = Literal["agents", "weigh", "waits", "tests", "gear", "papers"]
GROUPS: Mapping[Group, str] = MappingProxyType(
    {
        "agents": "agents, with the margin",
        "weigh": "weighed before leaving",
        "waits": "not packed",
        "tests": "what is read",
        "gear": "gear",
        "papers": "papers",
    }
)
"""The parts of a kit list in their order, and what they are called."""


@dataclass(frozen=True, slots=True)
class StopRef:
    """A stop of a round: its place in the order, from 1 on, and when the visit begins [min]."""

    key: UUID
    staff_id: UUID
    who: str
    nth: int
    name: str
    begins: int
    letter: str = ""
    """Of the round, where the list is for several people; the same as on the map."""

    @property
    def said(self) -> str:
        """Its number, after the letter of the round where the list is for several people."""
        return f"{self.letter}{self.nth}"


@dataclass(frozen=True, slots=True)
class ShelfPack:
    """A product on the practice's shelf: strength [%], density [g/mL], what a pack holds."""

    name: str
    strength_percent: float
    basis: Basis
    density_g_ml: float | None
    pack_size: float | None
    pack_unit: Unit


@dataclass(frozen=True, slots=True)
class AgentTold:
    """What the formulary says of an agent that is carried.

    `handling` are cautions for people. `meets` are codes and families that it must not meet, each
    with the reason; `source` backs the cautions.
    """

    code: str
    name: str
    family: str
    handling: tuple[str, ...]
    meets: tuple[tuple[str, str], ...]
    source: str


@dataclass(frozen=True, slots=True)
class Portion:
    """What one pond needs of an agent that day, as it is measured out.

    `amount` never is more than what was reckoned for the pond. `said` is how it came about,
    `rests_on` the volume and its uncertainty. `waits` tells why it is not packed, `loose` why it is
    weighed at the pond and not before; both are empty for a portion that is weighed and packed.
    """

    key: str
    agent: str
    name: str
    product: Product
    amount: float
    unit: Unit
    pond_id: UUID
    pond: str
    stop: StopRef
    dose: str
    said: str
    rests_on: str
    remarks: tuple[str, ...] = ()
    waits: str = ""
    loose: str = ""


@dataclass(frozen=True, slots=True)
class Packs:
    """Whole packs of a product: how many [count], and what one holds."""

    name: str
    count: int
    size: float
    unit: Unit


@dataclass(frozen=True, slots=True)
class AgentNeed:
    """An agent summed over the ponds of a day.

    `need` is the sum of its portions, `with_margin` what is packed; the margin is never given.
    `packs` is None where the shelf has no pack of it. `arithmetic` holds all of it in a line.
    `apart` names what of the same list it is kept apart from, with the reason.
    """

    told: AgentTold
    product_said: str
    unit: Unit
    portions: tuple[Portion, ...]
    need: float
    margin_percent: float
    with_margin: float
    packs: Packs | None
    arithmetic: str
    remarks: tuple[str, ...]
    apart: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class KitLine:
    """One line of a kit list.

    `amount` is said with its unit, empty where a thing goes along once. `arithmetic` tells how it
    came about, `rests_on` the source and its standing, `mind` what to take care of, a sentence
    each. `label` is what is written on a portion, a line each; empty for all else.
    """

    key: str
    group: Group
    what: str
    amount: str
    stops: tuple[StopRef, ...]
    packs: str = ""
    arithmetic: str = ""
    rests_on: str = ""
    mind: tuple[str, ...] = ()
    label: tuple[str, ...] = ()
    need: AgentNeed | None = None
    portion: Portion | None = None


@dataclass(frozen=True, slots=True)
class KitList:
    """The kit list of a day for one person, or for all.

    `who` names them; `lines` stand in the order of `GROUPS`. `remarks` are sentences on what is not
    known.
    """

    day: date
    who: str
    stops: tuple[StopRef, ...]
    lines: tuple[KitLine, ...]
    remarks: tuple[str, ...] = ()

    def of(self, group: Group) -> tuple[KitLine, ...]:
        """The lines of one part.

        Parameters
        ----------
        group
            Which part.
        """
        return tuple(one for one in self.lines if one.group == group)
