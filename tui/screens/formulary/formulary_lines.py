"""What the page of an agent shows: its doses and products in lines, and the text under them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from rich.text import Text
from textual.content import Content

from store.courses.planning.agent_told import DOSES, OWN_DOSES, Said, doses_in_short
from store.facts.entry import OWN
from store.text import day_said
from tui.backing import said_backing
from tui.widgets.columns import Column
from tui.widgets.grid import Row
from tui.widgets.hanging import hanging
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from store.courses.kept.agent_page import AgentPage
    from store.courses.kept.formulary import OwnDose, ShelfProduct

COLUMNS = (
    Column("way", "Given", 15, weight=1),
    Column("dose", "Dose", 14, weight=1),
    Column("for_what", "For", 18, weight=3),
    Column("standing", "Standing", 15, drop_order=1),
)


@dataclass(frozen=True, slots=True)
class AgentKey:
    """What a line stands for: `dose` by its place, `own` and `product` by their key."""

    kind: str
    key: str


@dataclass(frozen=True, slots=True)
class AgentEntry:
    """One line of the page with what is told of it, and the entry of the practice behind it."""

    key: AgentKey
    row: Row
    said: tuple[Said, ...]
    dose: OwnDose | None = None
    product: ShelfProduct | None = None

    @property
    def struck(self) -> bool:
        """True for what no longer holds."""
        own = self.dose or self.product
        return own is not None and bool(own.struck_why)

    @property
    def name(self) -> str:
        """What it is called when it is struck through."""
        if self.dose is not None:
            return f"the dose {self.row.cells[1]}"
        return "" if self.product is None else f"the product {one_line(self.product.name)}"


def entries_of(page: AgentPage) -> tuple[AgentEntry, ...]:
    """The lines of a page: what is published, own doses, products, then what was struck through.

    Parameters
    ----------
    page
        The agent.
    """
    from store.courses.kept.agent_page import product_said

    found: list[AgentEntry] = []
    doses = {str(one.id): one for one in page.doses}
    routes = sorted(page.agent.routes, key=lambda one: one.standing == OWN)
    for number, (route, said) in enumerate(zip(routes, _groups(page.said), strict=True)):
        own = doses.get(str(route.own_dose))
        key = AgentKey("dose", str(number)) if own is None else AgentKey("own", str(own.id))
        cells: tuple[str, ...] = (
            _way(route.code), doses_in_short([route]), one_line(route.for_what),
            route.standing.removeprefix("the "),
        )  # fmt: skip
        found.append(AgentEntry(key, Row(key, cells), said, dose=own))
    for product in page.products:
        if not product.struck_why:
            said_of = Said("", f"{product_said(product)}.", _by(product, "put there"), OWN)
            found.append(_product(product, (said_of,)))
    for struck in page.doses:
        if struck.struck_why:
            route = struck.as_route()
            key = AgentKey("own", str(struck.id))
            cells = (_way(route.code), doses_in_short([route]), one_line(struck.struck_why),
                     "struck through")  # fmt: skip
            said_of = Said("", f"{struck.said[:1].upper()}{struck.said[1:]}.", _struck(struck), OWN)
            found.append(AgentEntry(key, _quiet(key, cells), (said_of,), dose=struck))
    for product in page.products:
        if product.struck_why:
            said_of = Said("", f"{product_said(product)}.", _struck(product), OWN)
            found.append(_product(product, (said_of,)))
    return tuple(found)


def _way(code: str) -> str:
    return {"pond_bath": "pond bath", "tank_bath": "tank bath", "egg_bath": "bath for eggs",
            "feed": "with the feed", "water": "to the water"}.get(code, code)  # fmt: skip


def _by(own: OwnDose | ShelfProduct, did: str) -> str:
    return f"{did} by {own.by} on {day_said(own.on_day)}"


def _struck(own: OwnDose | ShelfProduct) -> str:
    when = "" if own.struck_on is None else f" on {day_said(own.struck_on)}"
    return f"struck through by {own.struck_by}{when}: {own.struck_why}"


def _product(product: ShelfProduct, said: tuple[Said, ...]) -> AgentEntry:
    key = AgentKey("product", str(product.id))
    struck = bool(product.struck_why)
    cells = (
        "on the shelf",
        f"{product.strength_percent:g} %",
        one_line(product.struck_why if struck else product.name),
        "struck through" if struck else "product",
    )
    return AgentEntry(key, _quiet(key, cells) if struck else Row(key, cells), said, product=product)


def _quiet(key: AgentKey, cells: Sequence[str]) -> Row:
    return Row(key, tuple(Text(cell, style="quiet") for cell in cells))


def _groups(said: Sequence[Said]) -> list[tuple[Said, ...]]:
    """What is told of each dose: the statement itself, and others that stand beside it."""
    found: list[tuple[Said, ...]] = []
    for one in said:
        if one.heading not in (DOSES, OWN_DOSES):
            continue
        if one.beside and found:
            found[-1] = (*found[-1], one)
        else:
            found.append((one,))
    return found


def under_the_line(entry: AgentEntry | None, width: int) -> Content:
    """The line under the cursor in full.

    Parameters
    ----------
    entry
        The line; None where there is none.
    width
        Cells of the place.
    """
    if entry is None:
        return Content("")
    return Content.assemble(*_told(entry.said, width, lead=""))


def the_rest(page: AgentPage, width: int) -> Content:
    """Everything else that is said of the agent, under its headings.

    Parameters
    ----------
    page
        The agent.
    width
        Cells of the place.
    """
    parts: list[Content | str | tuple[str, str]] = []
    if page.own is not None:
        parts.append(f"\n{one_line(page.own.said[:1].upper() + page.own.said[1:])}.")
    others = [one for one in page.said if one.heading not in (DOSES, OWN_DOSES)]
    for heading in dict.fromkeys(one.heading for one in others):
        parts.append((f"{chr(10) * (2 if parts else 1)}{heading}", "bold"))
        parts += _told([one for one in others if one.heading == heading], width, lead="\n")
    return Content.assemble(*parts)


def _told(said: Sequence[Said], width: int, *, lead: str) -> list[Content | str | tuple[str, str]]:
    """Each sentence, and what it rests on after the last that rests on the same."""
    parts: list[Content | str | tuple[str, str]] = []
    for place, one in enumerate(said):
        parts.append(f"{lead if not place else chr(10)}{one_line(one.says)}")
        after = said[place + 1] if place + 1 < len(said) else None
        same = after is not None and (after.source, after.standing) == (one.source, one.standing)
        if one.source and not same:
            backing = said_backing(one.source, one.standing)
            if one.standing == OWN:
                backing = f"{one.source[:1].upper()}{one.source[1:]}"
            parts.append((f"\n{hanging(backing, width)}", "$quiet"))
    return parts
