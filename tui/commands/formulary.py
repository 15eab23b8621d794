"""`pondround agents`: every agent of the formulary in force, or one with all that is said of it."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator, Sequence
from dataclasses import fields
from datetime import date
from typing import TYPE_CHECKING, Any
from uuid import UUID

from store.errors import NotFound
from tui.backing import said_backing
from tui.commands.where import NO_BOOK, is_missing, now, open_place, place_of
from tui.widgets.literal import fit, one_line, wrapped

if TYPE_CHECKING:
    from store.courses.kept.agent_page import AgentLine, AgentPage

_WIDTH = 96
"""Lines of the text are broken there [cells]."""


def run_agents(args: argparse.Namespace) -> int:
    """Print the formulary in force, or one agent of it."""
    at, place = now(), place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    with open_place(place, at) as book:
        from store.courses.kept.agent_page import agent_lines, agent_page

        if args.code:
            page = agent_page(book, args.code)
            shown, lines = page_json(page), page_text(page)
        else:
            every = agent_lines(book)
            shown, lines = list_json(every), list_text(every)
    if args.json:
        print(json.dumps(shown, indent=2, allow_nan=False))
    else:
        for line in lines:
            print(line)
    return 0


def list_text(found: Sequence[AgentLine]) -> Iterator[str]:
    """The list in lines for a terminal or a pipe.

    Parameters
    ----------
    found
        From `store.courses.kept.agent_page.agent_lines`.
    """
    yield "  ".join(
        (fit("code", 24), fit("family", 17), fit("published", 40), fit("own doses", 16), "shelf")
    )
    for one in sorted(found, key=lambda one: one.agent.code):
        own = "own agent" if one.is_own and not one.own else one.own
        yield "  ".join(
            (
                fit(one.agent.code, 24),
                fit(one.agent.family, 17),
                fit(one_line(one.published) or "nothing", 40),
                fit(one_line(own) or "none", 16),
                str(one.products),
            )
        ).rstrip()


def list_json(found: Sequence[AgentLine]) -> dict[str, Any]:
    """The list as one object.

    Key `agents`: each with `code`, `name`, `family`, `standing`, `published` and `own` (its doses
    in short) and `products` (how many stand on the shelf).

    Parameters
    ----------
    found
        From `store.courses.kept.agent_page.agent_lines`.
    """
    return {
        "agents": [
            {
                "code": one.agent.code,
                "name": one.agent.name,
                "family": one.agent.family,
                "standing": one.agent.standing,
                "published": one.published,
                "own": one.own,
                "products": one.products,
            }
            for one in found
        ]
    }


def page_text(page: AgentPage) -> Iterator[str]:
    """One agent in lines for a terminal or a pipe.

    Parameters
    ----------
    page
        From `store.courses.kept.agent_page.agent_page`.
    """
    from store.courses.kept.agent_page import product_said

    yield f"{one_line(page.agent.name)} ({page.agent.code}), {page.agent.family}"
    if page.own is not None:
        yield from _broken(page.own.said[:1].upper() + page.own.said[1:])
    heading = ""
    for one in page.said:
        if one.heading != heading:
            heading = one.heading
            yield ""
            yield heading
        yield from _broken(one.says, 4 if one.beside else 2)
        if one.source:
            yield from _broken(said_backing(one.source, one.standing), 6)
    standing = [one for one in page.products if not one.struck_why]
    if standing:
        yield ""
        yield "On the shelf"
        for product in standing:
            yield from _broken(product_said(product), 2)
            yield from _broken(f"entered by {product.by} on {product.on_day.isoformat()}", 6)
    gone = [one for one in (*page.doses, *page.products) if one.struck_why]
    if gone:
        yield ""
        yield "Struck through"
        for one_gone in gone:
            was = getattr(one_gone, "said", "") or f"the product {getattr(one_gone, 'name', '')}"
            yield from _broken(
                f"{was}; struck through by {one_gone.struck_by}: {one_gone.struck_why}", 2
            )


def _broken(text: str, indent: int = 0) -> Iterator[str]:
    for line in wrapped(one_line(text), _WIDTH - indent):
        yield " " * indent + line


def page_json(page: AgentPage) -> dict[str, Any]:
    """One agent as one object.

    Keys `code`, `name`, `family`, `standing`, `off`, `handling`; `routes` with every dose as
    published or the practice's own; `statements`, each with `heading`, `says`, `source` and
    `standing`; `own_doses` and `products` with who, when and why, struck through ones too.

    Parameters
    ----------
    page
        From `store.courses.kept.agent_page.agent_page`.
    """
    agent = page.agent
    return {
        "code": agent.code,
        "name": agent.name,
        "family": agent.family,
        "standing": agent.standing,
        "off": list(agent.off),
        "handling": list(agent.handling),
        "routes": [_plain(one) for one in agent.routes],
        "statements": [
            {
                "heading": one.heading,
                "says": one.says,
                "source": one.source,
                "standing": one.standing,
            }
            for one in page.said
        ],
        "own_agent": None if page.own is None else _plain(page.own),
        "own_doses": [_plain(one) for one in page.doses],
        "products": [_plain(one) for one in page.products],
    }


def _plain(value: Any) -> Any:
    """Dataclasses, keys and days as JSON has them."""
    if hasattr(value, "__dataclass_fields__"):
        return {field.name: _plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, UUID):
        return str(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, tuple | list):
        return [_plain(one) for one in value]
    return value
