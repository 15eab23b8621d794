"""What an owner who treats fish at home is told: how to spread, what to watch, when to ring."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from store.facts.agent import FAMILIES, ROUTES
from store.facts.entry import Entry, Finding, Standing, file_tables, read_each, refuse
from store.facts.sources import source_standings

FILE = "advice.toml"
PARTS = ("before", "spread", "watch", "trouble", "ring", "people")
FORMS = ("powder", "liquid")


@dataclass(frozen=True, slots=True)
class Advice:
    """One sentence for an owner, in a part of the sheet.

    `forms`, `families` and `routes` narrow it; an empty one holds for all.
    """

    code: str
    part: str
    says: str
    forms: tuple[str, ...]
    families: tuple[str, ...]
    routes: tuple[str, ...]
    source: str
    standing: Standing

    def fits(self, *, form: str, family: str, route: str) -> bool:
        """True when the sentence holds for an agent of this family, given so."""
        return (
            (not self.forms or form in self.forms)
            and (not self.families or family in self.families)
            and (not self.routes or route in self.routes)
        )


def _some(entry: Entry, field: str, known: Collection[str]) -> tuple[str, ...]:
    found = entry.texts(field, needed=False)
    for one in found:
        if one not in known:
            entry.fault(field, f"{one!r} is not one of {', '.join(known)}")
    return found


def _advice(entry: Entry, standings: Mapping[str, Standing]) -> Advice:
    source, standing = entry.backing(standings)
    found = Advice(
        code=entry.name,
        part=entry.choice("part", PARTS),
        says=entry.text("says"),
        forms=_some(entry, "forms", FORMS),
        families=_some(entry, "families", FAMILIES),
        routes=_some(entry, "routes", ROUTES.keys()),
        source=source,
        standing=standing,
    )
    entry.finish()
    return found


def read_advice(
    raw: Mapping[str, Any], standings: Mapping[str, Standing]
) -> tuple[dict[str, Advice], list[Finding]]:
    """Every good sentence of the tables of a file by code, and what is wrong with the others.

    Parameters
    ----------
    raw
        The tables of the file, as TOML gives them.
    standings
        Standing of every source by its key; see `store.facts.sources.source_standings`.

    Returns
    -------
    tuple of dict and list
        Sentences by code, and the findings.
    """
    return read_each(FILE, raw, lambda entry: _advice(entry, standings))


@cache
def all_advice() -> tuple[Advice, ...]:
    """Every sentence, in the order of the file.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    found, findings = read_advice(file_tables(FILE), source_standings())
    refuse(findings)
    return tuple(found.values())


def advice_for(part: str, *, form: str, family: str, route: str) -> tuple[Advice, ...]:
    """What an owner is told in a part of the sheet about one agent.

    Parameters
    ----------
    part
        One of `PARTS`.
    form
        How the product comes: `powder` or `liquid`.
    family
        Family of the agent, one of `store.facts.agent.FAMILIES`.
    route
        How it is given, a code of `store.facts.agent.ROUTES`.

    Examples
    --------
    >>> found = advice_for("spread", form="powder", family="organophosphate", route="pond_bath")
    >>> [one.code for one in found]
    ['dissolve', 'round_the_pond', 'not_on_fish', 'rinse', 'early']
    """
    return tuple(
        one
        for one in all_advice()
        if one.part == part and one.fits(form=form, family=family, route=route)
    )
