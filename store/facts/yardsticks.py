"""Deaths that authorities, farms and practice call much, each with its source."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from store.facts.entry import Entry, Finding, Standing, file_tables, read_each, refuse
from store.facts.sources import source_standings

FILE = "yardsticks.toml"
MEASURES = ("day", "week", "deaths")


@dataclass(frozen=True, slots=True)
class Yardstick:
    """One thing that others say of deaths.

    `measure` is "day" or "week" (share that died, above `above_percent` [%], on `running` of them
    in a row), "deaths" (at least `deaths` fish within seven days), or "" for a sentence without a
    figure. What does not belong to the measure is 0.
    """

    code: str
    measure: str
    above_percent: float
    running: int
    deaths: int
    says: str
    source: str
    standing: Standing


def _yardstick(entry: Entry, standings: Mapping[str, Standing]) -> Yardstick:
    measure = entry.choice("measure", MEASURES, needed=False)
    shares = measure in ("day", "week")
    above = entry.number("above_percent", low=0.0, high=100.0) if shares else None
    running = entry.number("running", low=1.0, high=60.0) if shares else None
    deaths = entry.number("deaths", low=1.0, high=1000.0) if measure == "deaths" else None
    says = entry.text("says")
    source, standing = entry.backing(standings)
    entry.finish()
    return Yardstick(
        entry.name, measure, above or 0.0, int(running or 0), int(deaths or 0), says, source,
        standing,
    )  # fmt: skip


def read_yardsticks(
    raw: Mapping[str, Any], standings: Mapping[str, Standing]
) -> tuple[dict[str, Yardstick], list[Finding]]:
    """Every good entry of the tables of a file by code, and what is wrong with the others.

    Parameters
    ----------
    raw
        The tables of the file, as TOML gives them.
    standings
        Standing of every source by its key; see `store.facts.sources.source_standings`.

    Returns
    -------
    tuple of dict and list
        Yardsticks by code, and the findings.
    """
    return read_each(FILE, raw, lambda entry: _yardstick(entry, standings))


@cache
def yardsticks() -> Mapping[str, Yardstick]:
    """Every yardstick by its code, in the order of the file.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    found, findings = read_yardsticks(file_tables(FILE), source_standings())
    refuse(findings)
    return MappingProxyType(found)
