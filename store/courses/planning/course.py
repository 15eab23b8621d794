"""What a treatment course is made of, as plain values: the plan, its doses, the log, the cautions.

Nothing here is reckoned and nothing is read: `plan` makes a `Plan`, `cautions` looks at one,
`turned` plans the rest anew when a dose slips, and the records of the book hold the same fields.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Literal
from uuid import UUID

from store.facts.agent import Agent
from store.facts.agents import agents
from store.facts.entry import OWN, Standing

Basis = Literal["w/w", "w/v", "product"]
Use = Literal["ornamental", "food", "not asked"]
Share = Literal["practice", "owner"]
CourseState = Literal["planned", "running", "completed", "stopped", "changed"]
DoseState = Literal["due", "given", "missed", "dropped"]
Added = Literal["", "in place", "for cover", "not planned"]
"""Why a dose stands in a plan that did not have it: in place of one that was missed or too short;
so that what hatches is still met; or because it was given without a plan. Empty for all others."""
CautionLevel = Literal["stop", "mind"]


@dataclass(frozen=True, slots=True)
class PondWater:
    """The pond as it is when a course is planned; None is not known.

    Volume with its bounds [L], water as measured: temperature [°C], trend of it [°C a day], pH,
    alkalinity and total hardness [mg/L as CaCO3], oxygen [mg/L], salinity [g/L], with the age of
    the oldest of these readings [d]. `species` and `things` are what is known to be in it: names as
    typed, and codes of `store.facts.agent.THINGS`.
    """

    volume_l: float
    volume_low_l: float
    volume_high_l: float
    temperature_c: float | None = None
    trend_c_per_day: float | None = None
    ph: float | None = None
    alkalinity_mg_l: float | None = None
    hardness_mg_l: float | None = None
    oxygen_mg_l: float | None = None
    salinity_g_l: float | None = None
    age_days: float | None = None
    species: str = ""
    things: frozenset[str] = frozenset()
    use: Use = "not asked"


@dataclass(frozen=True, slots=True)
class Product:
    """What is weighed or poured: its strength [%], what that is of, and its density [g/mL]."""

    name: str = ""
    strength_percent: float = 100.0
    basis: Basis = "w/w"
    density_g_ml: float | None = None


@dataclass(frozen=True, slots=True)
class StepWish:
    """One agent as the vet wishes it, before anything is reckoned.

    `dose` is in `unit` (`mg/L` or `uL/L`); `interval_days` None asks for the proposal from the life
    cycle of the first hazard that has one; `gap_days` lie between the last dose of the step before
    and the first of this.
    """

    agent: str
    route: str
    dose: float
    unit: str = "mg/L"
    doses: int = 1
    interval_days: int | None = None
    gap_days: int = 7
    water_change_percent: float = 0.0
    share: Share = "practice"
    product: Product = Product()
    exposure_h: float | None = None
    half_life_h: float | None = None
    volume_l: float | None = None
    """Of a holding tank; None is the pond in its volume in force."""
    change_before_first: bool = False
    """Whether the water change comes before the first dose as well as before each later one."""
    demand_mg_l: float | None = None
    """What the water uses up of permanganate by a demand test [mg/L]; None is not tested."""
    half_life_why: str = ""
    """Who typed the half-life and where it is from, in words."""
    to_reach: bool = False
    """Of salt in a pond: the dose is the salinity that is wanted, not what is added each time."""


@dataclass(frozen=True, slots=True)
class PlannedDose:
    """A dose that is due on a day: concentration [unit of its step] and what is measured out."""

    number: int
    due_on: date
    dose: float
    amount: float
    amount_unit: Literal["g", "mL"]
    water_change_percent: float
    share: Share
    state: DoseState = "due"
    added: Added = ""


@dataclass(frozen=True, slots=True)
class Task:
    """Something to be done beside the doses, such as switching the UV lamp off."""

    code: str
    on_day: date
    says: str
    share: Share
    source: str = ""


@dataclass(frozen=True, slots=True)
class Ration:
    """What a step that is given with the feed was reckoned for.

    `biomass_kg` is the weight of the fish that eat, `biomass_how` how that was found;
    `rate_percent` what they really eat [% of biomass a day]; `feed_days` on how many days the feed
    is given, `feed_kg` the dry feed for all of them; `mg_per_kg_feed` the active substance in it;
    `binder` is a code of `store.facts.binders`.
    """

    biomass_kg: float
    biomass_how: str
    rate_percent: float
    feed_days: int
    feed_kg: float
    mg_per_kg_feed: float
    binder: str


@dataclass(frozen=True, slots=True)
class PlanStep:
    """One agent of a plan, with its doses and what they rest on.

    `safe_most` is the highest dose published for the route [unit]; None where none is known.
    `interval_why` is the arithmetic and source of the interval. `gap_days` lie between the last
    dose of the step before and the first of this; None where nobody said: then the days tell.
    """

    place: int
    agent: str
    route: str
    dose: float
    unit: str
    product: Product
    volume_l: float
    doses: tuple[PlannedDose, ...]
    interval_days: int | None
    interval_why: str
    exposure_h: float | None
    half_life_h: float | None
    safe_most: float | None
    source: str
    standing: Standing
    remarks: tuple[str, ...] = ()
    gap_days: int | None = None
    ration: Ration | None = None
    """Only of a step that is given with the feed: then each of its doses is a batch, `due_on` the
    first day on which it is fed, `dose` in mg per kg of fish and day, `interval_days` how many days
    a batch is for."""
    own_dose: UUID | None = None
    """Key of the practice's own dose that the step rests on; None where it rests on what is
    published."""
    called: str = field(default="", compare=False, repr=False)
    """What the agent is called in the formulary that the plan is looked at with."""


@dataclass(frozen=True, slots=True)
class Plan:
    """A whole course: its reason, its steps one after another, its tasks, its control.

    `formulary` holds the agents by code that the course is looked at with: the published ones, or
    those of a practice. It is no part of what was planned.
    """

    hazards: tuple[str, ...]
    reason: str
    water: PondWater
    steps: tuple[PlanStep, ...]
    tasks: tuple[Task, ...]
    control_on: date | None
    remarks: tuple[str, ...] = ()
    formulary: Mapping[str, Agent] = field(default_factory=agents, compare=False, repr=False)

    def plain_name(self, code: str) -> str:
        """What an agent is called; its code where the formulary does not have it.

        Parameters
        ----------
        code
            Code of the agent.
        """
        known = self.formulary.get(code)
        return code if known is None else known.plain_name

    def most_word(self, step: PlanStep) -> str:
        """Whose word the most of a step is: `published`, or `set by the practice`.

        Parameters
        ----------
        step
            A step of the plan.
        """
        known = self.formulary.get(step.agent)
        return "published" if known is None or known.standing != OWN else "set by the practice"


@dataclass(frozen=True, slots=True)
class Given:
    """A dose as it was really given; `number` is that of the planned dose of its step."""

    place: int
    number: int
    at: datetime
    on_day: date
    dose: float
    amount: float
    amount_unit: Literal["g", "mL"]
    water_change_percent: float


@dataclass(frozen=True, slots=True)
class Caution:
    """A caution before a course or a dose: what is wrong, with its numbers and source."""

    code: str
    level: CautionLevel
    said: str
    arithmetic: str = ""
    source: str = ""
    standing: Standing | Literal[""] = ""
