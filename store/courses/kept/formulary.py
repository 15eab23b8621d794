"""The formulary of a practice: what is published, and beside it its own agents, doses and products.

What is published is never altered: an own dose stands beside it, with who set it, when and why.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Any, Literal, TypeVar
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, Row, select

from store.book.book import Book
from store.book.tables import TableName, table
from store.courses.planning.course import Basis
from store.errors import NotFound
from store.facts.agent import Agent, Formulary, Interaction, Route, Statement
from store.facts.agents import agents
from store.facts.entry import OWN
from store.facts.hazards import hazards
from store.text import day_said

FEED = "feed"
DoseOf = Literal["product", "active"]


@dataclass(frozen=True, slots=True)
class Own:
    """What every entry of a practice's formulary carries.

    `by` entered it on `on_day`; `struck_why` is empty while it holds, else `struck_by` struck it
    through on `struck_on`. What was changed meanwhile stands in the log of the book.
    """

    id: UUID
    rev: int
    by: str
    on_day: date
    struck_by: str
    struck_on: date | None
    struck_why: str


@dataclass(frozen=True, slots=True)
class OwnAgent(Own):
    """An agent that the published formulary does not have.

    `family` is one of `store.facts.agent.FAMILIES`, `off` codes of `OFF`; `handling` are cautions
    for people.
    """

    code: str
    name: str
    family: str
    off: tuple[str, ...]
    handling: tuple[str, ...]
    legal: str
    why: str

    @property
    def said(self) -> str:
        """Where it stands: who entered it, when and why."""
        return f"the practice's own agent, entered by {self.by} on {day_said(self.on_day)}: " + (
            self.why
        )


@dataclass(frozen=True, slots=True)
class OwnDose(Own):
    """A dose of the practice's own: `dose_low` None for "up to", both in `unit`.

    `basis` tells of what it is an amount; `exposure_h` how long a bath lasts [h]; the interval is
    in days, temperatures in °C; `hazards` are codes; `source` is what it was taken from, in words.
    """

    agent: str
    route: str
    dose_low: float | None
    dose_high: float
    unit: str
    basis: DoseOf
    exposure_h: float | None
    interval_low_days: int | None
    interval_high_days: int | None
    doses: int | None
    temp_low_c: float | None
    temp_high_c: float | None
    hazards: tuple[str, ...]
    why: str
    source: str

    @property
    def said(self) -> str:
        """Where it stands: who set it, when and why."""
        return f"the practice's own dose, set by {self.by} on {day_said(self.on_day)}: {self.why}"

    def as_route(self) -> Route:
        """The dose as the formulary tells one."""
        known = hazards()
        named = [known[code].plain_name for code in self.hazards if code in known]
        high, low = self.interval_high_days, self.interval_low_days
        timed = self.exposure_h is not None and self.route != FEED
        return Route(
            code=self.route,
            for_what=", ".join(named) or "as the practice gives it",
            hazards=self.hazards,
            dose_low=self.dose_low,
            dose_high=self.dose_high,
            unit=self.unit,
            basis=self.basis,
            rule="",
            exposure="fed" if self.route == FEED else "timed" if timed else "not stated",
            exposure_low_h=None,
            exposure_h=self.exposure_h if timed else None,
            repeat_days=None
            if high is None
            else (float(high if low is None else low), float(high)),
            doses=self.doses,
            feed_days=None,
            temp_low_c=self.temp_low_c,
            temp_high_c=self.temp_high_c,
            least_oxygen_mg_l=None,
            alkalinity_low_mg_l=None,
            alkalinity_high_mg_l=None,
            ph_low=None,
            ph_high=None,
            note=f"Taken from: {self.source}" if self.source else "",
            source=self.said,
            standing=OWN,
            alternates=(),
            own_dose=self.id,
        )


@dataclass(frozen=True, slots=True)
class ShelfProduct(Own):
    """A product on the shelf: its strength [%] and density [g/mL], its pack, its withdrawal.

    `withdrawal_degree_days` [°C d] and `withdrawal_days` [d] are those of the label, None where it
    gives none.
    """

    name: str
    agent: str
    strength_percent: float
    strength_basis: Basis
    density_g_ml: float | None
    pack_size: float | None
    pack_unit: Literal["g", "mL"]
    withdrawal_degree_days: int | None
    withdrawal_days: int | None
    note: str


_Entry = TypeVar("_Entry", bound=Own)
_KINDS: Mapping[type[Own], TableName] = {
    OwnAgent: "own_agent", OwnDose: "own_dose", ShelfProduct: "product",
}  # fmt: skip
_LISTS = frozenset({"off", "handling", "hazards"})


def own_agents(book: Book, *, struck: bool = False) -> tuple[OwnAgent, ...]:
    """The agents that the practice added, by name.

    Parameters
    ----------
    book
        The practice's book.
    struck
        Also those that are struck through.
    """
    with book.reading() as connection:
        found = entries(connection, book.zone, OwnAgent, struck=struck)
    return tuple(sorted(found, key=lambda one: one.name.casefold()))


def own_doses(book: Book, agent: str | None = None, *, struck: bool = False) -> tuple[OwnDose, ...]:
    """The practice's own doses, old to new.

    Parameters
    ----------
    book
        The practice's book.
    agent
        Code of one agent; None for all.
    struck
        Also those that are struck through.
    """
    with book.reading() as connection:
        found = entries(connection, book.zone, OwnDose, struck=struck)
    return tuple(one for one in found if agent in (None, one.agent))


def products(
    book: Book, agent: str | None = None, *, struck: bool = False
) -> tuple[ShelfProduct, ...]:
    """The products on the practice's shelf, by name.

    Parameters
    ----------
    book
        The practice's book.
    agent
        Code of one agent; None for all.
    struck
        Also those that are struck through.
    """
    with book.reading() as connection:
        found = entries(connection, book.zone, ShelfProduct, struck=struck)
    kept = (one for one in found if agent in (None, one.agent))
    return tuple(sorted(kept, key=lambda one: one.name.casefold()))


def formulary(book: Book) -> Mapping[str, Agent]:
    """Every agent that can be planned with: published ones, then the practice's own.

    Parameters
    ----------
    book
        The practice's book.

    Returns
    -------
    Mapping
        Agents by code; the practice's own doses are among their routes and stand as its own.
    """
    with book.reading() as connection:
        return formulary_within(connection, book.zone)


def formulary_within(
    connection: Connection, zone: ZoneInfo, *, struck: bool = False
) -> Mapping[str, Agent]:
    """The formulary as one transaction sees it.

    Parameters
    ----------
    connection
        Reading, or within a writing.
    zone
        Of the practice, for the days on which something was written.
    struck
        Also agents that are struck through: courses that had them can still be read. Doses that
        are struck through never count.
    """
    added = entries(connection, zone, OwnAgent, struck=struck)
    doses = entries(connection, zone, OwnDose)
    if not added and not doses:
        return agents()
    found = {**agents(), **{one.code: as_agent(one) for one in added}}
    for dose in doses:
        agent = found.get(dose.agent)
        if agent is not None:
            found[dose.agent] = replace(agent, routes=(*agent.routes, dose.as_route()))
    return Formulary(found)


def as_agent(own: OwnAgent) -> Agent:
    """An own agent as the formulary tells one, still without its doses.

    What is published of a family holds for it too: a second organophosphate is one.

    Parameters
    ----------
    own
        The agent.
    """
    kin: dict[str, Interaction] = {}
    for one in agents().values():
        if one.family == own.family:
            for met in one.interactions:
                if met.code == own.family:
                    kin.setdefault(met.code, met)
    return Agent(
        code=own.code,
        name=own.name,
        plain_name=own.name,
        family=own.family,
        source=own.said,
        standing=OWN,
        routes=(),
        interactions=tuple(kin.values()),
        forms=(),
        works=(),
        harms=(),
        filter_effect=(),
        species_not=(),
        legal=(Statement(own.legal, own.said, OWN),) if own.legal else (),
        off=own.off,
        handling=own.handling,
        oxygen_taken=None,
        half_life=(),
    )


def entries(
    connection: Connection, zone: ZoneInfo, kind: type[_Entry], *, struck: bool = False
) -> tuple[_Entry, ...]:
    """The entries of one kind, old to new.

    Parameters
    ----------
    connection
        Reading, or within a writing.
    zone
        Of the practice.
    kind
        `OwnAgent`, `OwnDose` or `ShelfProduct`.
    struck
        Also those that are struck through.
    """
    return _read(connection, zone, kind, None, struck=struck)


def entry(connection: Connection, zone: ZoneInfo, kind: type[_Entry], key: UUID) -> _Entry:
    """One entry, struck through or not.

    Parameters
    ----------
    connection
        Reading, or within a writing.
    zone
        Of the practice.
    kind
        `OwnAgent`, `OwnDose` or `ShelfProduct`.
    key
        Of the entry.

    Raises
    ------
    NotFound
        There is no such entry.
    """
    found = _read(connection, zone, kind, key, struck=True)
    if not found:
        raise NotFound("There is no such entry in the formulary; nothing was changed.")
    return found[0]


def _read(
    connection: Connection, zone: ZoneInfo, kind: type[_Entry], key: UUID | None, *, struck: bool
) -> tuple[_Entry, ...]:
    target, writer, striker = table(_KINDS[kind]), table("staff").alias(), table("staff").alias()
    query = (
        select(target, writer.c.name.label("by"), striker.c.name.label("struck_name"))
        .join(writer, writer.c.id == target.c.created_by)
        .outerjoin(striker, striker.c.id == target.c.struck_by)
        .order_by(target.c.created_at, target.c.id)
    )
    if key is not None:
        query = query.where(target.c.id == key)
    if not struck:
        query = query.where(target.c.struck_at.is_(None))
    return tuple(_made(kind, row, zone) for row in connection.execute(query))


def _made(kind: type[_Entry], row: Row[Any], zone: ZoneInfo) -> _Entry:
    given: dict[str, Any] = {
        "by": row.by,
        "on_day": row.created_at.astimezone(zone).date(),
        "struck_by": row.struck_name or "",
        "struck_on": None if row.struck_at is None else row.struck_at.astimezone(zone).date(),
    }
    for name in kind.__dataclass_fields__:
        if name not in given:
            value = getattr(row, name)
            given[name] = tuple(value) if name in _LISTS else value
    return kind(**given)
