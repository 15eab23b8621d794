"""`pondround deaths POND`: what is suspected, the share that died, how many are left."""

from __future__ import annotations

import argparse
import json
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from store.errors import NotFound
from tui.commands.asked import WIDTH, one_pond
from tui.commands.where import NO_BOOK, is_missing, now, open_place, place_of
from tui.widgets.literal import fit, one_line, wrapped

if TYPE_CHECKING:
    from store.exams.losses import LossPage
    from store.exams.mortality import Mortality


def run_deaths(args: argparse.Namespace) -> int:
    """Print the deaths of one pond."""
    at, place = now(), place_of(args)
    if is_missing(place):
        raise NotFound(NO_BOOK.format(place=place))
    with open_place(place, at) as book:
        from store.exams.losses import loss_page

        page = loss_page(book, one_pond(book, " ".join(args.text)), at)
    if args.json:
        print(json.dumps(as_json(page), indent=2, allow_nan=False))
    else:
        for line in as_text(page):
            print(line)
    return 0


def as_text(page: LossPage) -> Iterator[str]:
    """The deaths in lines for a terminal or a pipe; nothing is left out or shortened.

    Parameters
    ----------
    page
        From `store.exams.losses.loss_page`.
    """
    from tui.screens.ponds.death_lines import said_deaths, told_parts

    yield one_line(f"{page.card.client.name}, {page.card.pond.name}")
    for voice, text in told_parts(page):
        if voice == "head":
            yield ""
        for line in wrapped(one_line(text), WIDTH if voice == "head" else WIDTH - 2):
            yield line if voice == "head" else f"  {line}"
    yield ""
    yield "Entries"
    if not page.entries and not page.events:
        yield "  none: nobody has looked, or nobody has entered it"
    for one in page.entries:
        yield f"  {one.on_day.isoformat()}  {one_line(said_deaths(one))}"
    for event in page.events:
        many = "fish" if event.amount is None else f"{event.amount:g} fish"
        yield f"  {event.on_day.isoformat()}  {fit(f'{many} died, by an event', 30).rstrip()}"


def as_json(page: LossPage) -> dict[str, Any]:
    """The deaths as one object.

    Keys `pond`, `client`, `pond_name`, `today`, `outbreak_began` (ISO 8601 or null), `stock` (with
    `total` and `kinds`: `species`, `fish`, `counted`, `counted_on`, `how`, `died`, `removed`,
    `added`, `doubt`), `mortality` (all fish, then each kind: `species`, `dead`, `of`, `percent`,
    `low_percent`, `high_percent`, `said`), `days` (only days that were looked at: `day`, `dead`,
    `week`, `percent`) and `suspicions` (`hazard`, `level`, `says`, `stop`, `for_it`, `against`,
    `contacts`).

    Parameters
    ----------
    page
        From `store.exams.losses.loss_page`.
    """
    return {
        "pond": str(page.card.pond.id),
        "client": page.card.client.name,
        "pond_name": page.card.pond.name,
        "today": page.today.isoformat(),
        "outbreak_began": page.outbreak.isoformat() if page.outbreak else None,
        "stock": {
            "total": page.stock.total,
            "kinds": [
                {
                    "species": line.species,
                    "fish": line.fish,
                    "counted": line.counted,
                    "counted_on": line.counted_on.isoformat(),
                    "how": line.how,
                    "died": line.died,
                    "removed": line.removed,
                    "added": line.added,
                    "doubt": line.doubt,
                }
                for line in page.stock.lines
            ],
        },
        "mortality": [_mortality(one) for one in (page.whole, *page.kinds) if one is not None],
        "days": [
            {
                "day": one.day.isoformat(),
                "dead": one.dead,
                "week": one.week,
                "percent": one.percent,
            }
            for one in page.days
        ],
        "suspicions": [
            {
                "hazard": one.found.hazard,
                "level": one.found.level,
                "says": one.head,
                "stop": [saying.says for saying in one.stop],
                "for_it": list(one.found.for_it),
                "against": list(one.found.against),
                "contacts": [contact.said for contact in one.contacts],
            }
            for one in page.suspicions
        ],
    }


def _mortality(one: Mortality) -> dict[str, Any]:
    known = one.share is not None and one.interval is not None
    return {
        "species": one.species,
        "dead": one.dead,
        "of": one.of,
        "percent": 100.0 * one.share if one.share is not None else None,
        "low_percent": 100.0 * one.interval.low if known and one.interval else None,
        "high_percent": 100.0 * one.interval.high if known and one.interval else None,
        "said": one.said,
    }
