"""The formulary as it is looked at: every agent in a line, and one with all that is said of it."""

from __future__ import annotations

from dataclasses import dataclass

from store.book.book import Book
from store.courses.kept.formulary import (
    OwnAgent,
    OwnDose,
    ShelfProduct,
    formulary,
    own_agents,
    own_doses,
    products,
)
from store.courses.planning.agent_told import Said, doses_in_short, told_of
from store.errors import NotFound
from store.facts.agent import Agent
from store.facts.entry import OWN
from store.water.given import figures


@dataclass(frozen=True, slots=True)
class AgentLine:
    """One agent in the list: `published` and `doses` are its doses in short, `products` a count."""

    agent: Agent
    published: str
    own: str
    products: int

    @property
    def is_own(self) -> bool:
        """True for an agent that the practice added."""
        return self.agent.standing == OWN

    @property
    def searched(self) -> str:
        """What the line is found by."""
        agent = self.agent
        for_what = (route.for_what for route in agent.routes)
        return " ".join((agent.code, agent.name, agent.plain_name, agent.family, *for_what))


@dataclass(frozen=True, slots=True)
class AgentPage:
    """One agent: what is said of it, and what the practice has of its own, struck through too."""

    agent: Agent
    said: tuple[Said, ...]
    own: OwnAgent | None
    doses: tuple[OwnDose, ...]
    products: tuple[ShelfProduct, ...]


def agent_lines(book: Book) -> tuple[AgentLine, ...]:
    """Every agent of the formulary in force, by name.

    Parameters
    ----------
    book
        The practice's book.
    """
    counted: dict[str, int] = {}
    for product in products(book):
        counted[product.agent] = counted.get(product.agent, 0) + 1
    found = [
        AgentLine(
            agent,
            doses_in_short([one for one in agent.routes if one.standing != OWN]),
            doses_in_short([one for one in agent.routes if one.standing == OWN]),
            counted.get(code, 0),
        )
        for code, agent in formulary(book).items()
    ]
    return tuple(sorted(found, key=lambda one: one.agent.name.casefold()))


def fitting(lines: tuple[AgentLine, ...], text: str) -> tuple[AgentLine, ...]:
    """The lines that hold every word of a text.

    Parameters
    ----------
    lines
        From `agent_lines`.
    text
        As typed; empty finds all.
    """
    words = text.casefold().split()
    return tuple(line for line in lines if all(word in line.searched.casefold() for word in words))


def agent_page(book: Book, code: str) -> AgentPage:
    """One agent with everything that is said of it.

    Parameters
    ----------
    book
        The practice's book.
    code
        Code of the agent, or its name.

    Raises
    ------
    NotFound
        There is no such agent.
    """
    known = formulary(book)
    wanted = code.strip().casefold()
    agent = known.get(code) or next(
        (
            one
            for one in known.values()
            if wanted in (one.code.casefold(), one.name.casefold(), one.plain_name.casefold())
        ),
        None,
    )
    if agent is None:
        near = ", ".join(
            one.code
            for one in known.values()
            if wanted and wanted in f"{one.code} {one.name} {one.plain_name}".casefold()
        )
        raise NotFound(
            f"There is no agent {code[:40]!r} in the formulary."
            + (f" Was one of these meant: {near}?" if near else " Without a code all are listed.")
        )
    return AgentPage(
        agent,
        told_of(agent),
        next((one for one in own_agents(book) if one.code == agent.code), None),
        own_doses(book, agent.code, struck=True),
        products(book, agent.code, struck=True),
    )


def product_said(one: ShelfProduct) -> str:
    """A product of the shelf in a line: strength, density, pack, withdrawal of the label.

    Parameters
    ----------
    one
        The product.
    """
    basis = {"w/w": "by weight", "w/v": "g in 100 mL", "product": "dosed as it comes"}
    parts = [f"{figures(one.strength_percent)} %, {basis[one.strength_basis]}"]
    if one.density_g_ml is not None:
        parts.append(f"{figures(one.density_g_ml)} g/mL")
    if one.pack_size is not None:
        parts.append(f"pack of {figures(one.pack_size)} {one.pack_unit}")
    if one.withdrawal_degree_days is not None:
        parts.append(f"withdrawal {one.withdrawal_degree_days} degree-days by the label")
    if one.withdrawal_days is not None:
        parts.append(f"withdrawal {one.withdrawal_days} d by the label")
    note = f". {one.note}" if one.note else ""
    return f"{one.name}: {'; '.join(parts)}{note}"
