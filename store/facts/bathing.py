"""What holds for every bath, whatever is given, and what the law asks where documents were read."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any

from store.facts.entry import Entry, Finding, Standing, file_tables, read_each, refuse
from store.facts.sources import source_standings

FILE = "bathing.toml"
WHEN = ("before", "during", "after", "law")


@dataclass(frozen=True, slots=True)
class BathRule:
    """One rule of work: when it counts ("before", "during", "after" a dose, or "law")."""

    code: str
    when: str
    says: str
    source: str
    standing: Standing


def _rule(entry: Entry, standings: Mapping[str, Standing]) -> BathRule:
    source, standing = entry.backing(standings)
    rule = BathRule(
        entry.name, entry.choice("when", WHEN), entry.text("says"), source, standing
    )  # fmt: skip
    entry.finish()
    return rule


def read_bathing(
    raw: Mapping[str, Any], standings: Mapping[str, Standing]
) -> tuple[dict[str, BathRule], list[Finding]]:
    """Every good rule of the tables of a file by code, and what is wrong with the others.

    Parameters
    ----------
    raw
        The tables of the file, as TOML gives them.
    standings
        Standing of every source by its key; see `store.facts.sources.source_standings`.

    Returns
    -------
    tuple of dict and list
        Rules by code, and the findings.
    """
    return read_each(FILE, raw, lambda entry: _rule(entry, standings))


@cache
def bath_rules() -> tuple[BathRule, ...]:
    """Every rule, in the order in which it is done.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.

    Examples
    --------
    >>> [rule.code for rule in bath_rules() if rule.when == "during"]
    ['no_feed', 'watch']
    """
    found, findings = read_bathing(file_tables(FILE), source_standings())
    refuse(findings)
    return tuple(sorted(found.values(), key=lambda rule: WHEN.index(rule.when)))
