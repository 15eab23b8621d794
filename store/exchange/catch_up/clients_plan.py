"""What a client list would bring, as plain values: clients with their sites and ponds."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal
from uuid import UUID

from store.exchange.catch_up.asking import Question
from store.exchange.catch_up.list_columns import ListShape
from store.exchange.plain.planned import Plan

State = Literal["new", "same", "ask"]


@dataclass(frozen=True, slots=True)
class PlannedPond:
    """A pond of the list; `said` is what the list says of it, in its words.

    `state`: `new` is saved, `same` is in the book, `ask` waits for an answer.
    """

    name: str
    state: State
    said: str
    species: str = ""
    depth_m: float | None = None
    litres: float | None = None


@dataclass(frozen=True, slots=True)
class PlannedSite:
    """A site of the list; `site_id` is that of the book where it is there."""

    name: str
    state: State
    address: str
    town: str
    postcode: str
    ponds: tuple[PlannedPond, ...] = ()
    site_id: UUID | None = None
    site_rev: int = 0
    fills: bool = False
    """The site of the book has no address yet and gets this one."""

    @property
    def said(self) -> str:
        """The address in one line."""
        return ", ".join(part for part in (self.address, self.town, self.postcode) if part)


@dataclass(frozen=True, slots=True)
class PlannedClient:
    """A client of the list.

    `state`: `new` is saved as a client, `same` is one in the book (`client_id`), `ask` waits until
    the questions named in `waits_for` are answered. `changes` are the fields of the client in the
    book that get something, `adds` says the same in words.
    """

    lines: tuple[int, ...]
    state: State
    typed: str
    name: str
    phone: str
    phone2: str
    email: str
    notes: str
    sites: tuple[PlannedSite, ...]
    waits_for: tuple[str, ...] = ()
    client_id: UUID | None = None
    client_rev: int = 0
    in_book: str = ""
    changes: dict[str, str] = field(default_factory=dict)
    adds: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()

    @property
    def line(self) -> int:
        """The line that names the client."""
        return self.lines[0]

    @property
    def saves(self) -> bool:
        """Whether saving it would write anything."""
        if self.state == "ask":
            return False
        if self.state == "new" or self.changes:
            return True
        return any(
            site.state == "new"
            or site.fills
            or (site.state == "same" and any(pond.state == "new" for pond in site.ponds))
            for site in self.sites
        )


@dataclass(frozen=True, slots=True)
class CatchUp:
    """A client list as it would go into the book.

    `plan.items` are the clients that something is saved of; `clients` are all, those that wait and
    those that are in the book as they stand among them.
    """

    plan: Plan[PlannedClient]
    clients: tuple[PlannedClient, ...]
    questions: tuple[Question, ...]
    shape: ListShape
    stamp: str
    """Of the book when it was read: saved is only what was looked at."""
    remembered: str = ""
    """The sentence on what was said of columns of an earlier list and taken; empty for nothing."""
    remembers: tuple[str, Mapping[str, str]] | None = None
    """What saving keeps for the next list: its source, and column to meaning; None for nothing."""

    @property
    def waiting(self) -> tuple[PlannedClient, ...]:
        """Clients that wait for an answer."""
        return tuple(one for one in self.clients if one.state == "ask")

    @property
    def open_questions(self) -> tuple[Question, ...]:
        """Questions without an answer."""
        return tuple(one for one in self.questions if one.waits)

    def counted(self) -> tuple[int, int, int]:
        """How many clients, sites and ponds are new and would be saved."""
        items = self.plan.items
        sites = [site for one in items for site in one.sites if site.state != "ask"]
        return (
            sum(one.state == "new" for one in items),
            sum(site.state == "new" for site in sites),
            sum(pond.state == "new" for site in sites for pond in site.ponds),
        )
