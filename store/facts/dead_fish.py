"""What is said where fish have died: what is asked first, how one is sampled, what tells causes
apart, and what a suspected notifiable disease asks of everybody."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from store.facts.entry import Entry, Finding, Standing, file_tables, read_each, refuse
from store.facts.sources import source_standings

FILE = "dead_fish.toml"

PARTS: Mapping[str, str] = MappingProxyType(
    {
        "ask": "Asked first, where fish died suddenly",
        "sample": "A fish for the laboratory",
        "apart": "Low oxygen or a virus",
        "stop": "While a notifiable disease is suspected",
    }
)
"""Where a sentence stands, with its heading."""


@dataclass(frozen=True, slots=True)
class Saying:
    """One sentence, in the order of its part."""

    code: str
    part: str
    says: str
    source: str
    standing: Standing


def _saying(entry: Entry, standings: Mapping[str, Standing]) -> Saying:
    source, standing = entry.backing(standings)
    found = Saying(
        code=entry.name,
        part=entry.choice("part", PARTS),
        says=entry.text("says"),
        source=source,
        standing=standing,
    )
    entry.finish()
    return found


def read_sayings(
    raw: Mapping[str, Any], standings: Mapping[str, Standing]
) -> tuple[dict[str, Saying], list[Finding]]:
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
    return read_each(FILE, raw, lambda entry: _saying(entry, standings))


@cache
def _all() -> Mapping[str, Saying]:
    found, findings = read_sayings(file_tables(FILE), source_standings())
    refuse(findings)
    return MappingProxyType(found)


def sayings(part: str) -> tuple[Saying, ...]:
    """The sentences of one part, in their order.

    Parameters
    ----------
    part
        A key of `PARTS`.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.

    Examples
    --------
    >>> sayings("ask")[0].code
    'hose'
    """
    return tuple(one for one in _all().values() if one.part == part)
