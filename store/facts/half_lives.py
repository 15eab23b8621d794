"""How fast agents break down in water: the published half-lives, each at its pH and temperature."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from store.facts.entry import Entry, Finding, Standing, file_tables, read_each, refuse
from store.facts.sources import source_standings

FILE = "half_lives.toml"


@dataclass(frozen=True, slots=True)
class HalfLifePoint:
    """One published half-life; `at_most` marks a figure printed as "less than"."""

    ph: float
    temp_c: float
    half_life_h: float
    at_most: bool
    printed: str
    source: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class BreakDown:
    """The half-lives of one substance; `turns_into` names what it becomes, where that matters."""

    code: str
    name: str
    turns_into: str
    points: tuple[HalfLifePoint, ...]


def _point(entry: Entry, standings: Mapping[str, Standing]) -> HalfLifePoint:
    source, standing = entry.backing(standings)
    point = HalfLifePoint(
        ph=entry.number("ph", low=0.0, high=14.0) or 0.0,
        temp_c=entry.number("temp_c", low=0.0, high=60.0) or 0.0,
        half_life_h=entry.number("half_life_h", low=0.01, high=100000.0) or 0.0,
        at_most=entry.has("at_most") and entry.flag("at_most"),
        printed=entry.text("printed"),
        source=source,
        standing=standing,
    )
    entry.finish()
    return point


def _break_down(entry: Entry, standings: Mapping[str, Standing]) -> BreakDown:
    points = tuple(_point(one, standings) for one in entry.parts("points"))
    if not points:
        entry.fault("points", "is missing or empty")
    found = BreakDown(
        entry.name, entry.text("name"), entry.text("turns_into", needed=False), points
    )
    entry.finish()
    return found


def read_half_lives(
    raw: Mapping[str, Any], standings: Mapping[str, Standing]
) -> tuple[dict[str, BreakDown], list[Finding]]:
    """Every good substance of the tables of a file, and what is wrong with the others.

    Parameters
    ----------
    raw
        The tables of the file, as TOML gives them.
    standings
        Standing of every source by its key; see `store.facts.sources.source_standings`.

    Returns
    -------
    tuple of dict and list
        Substances by code, and the findings.
    """
    return read_each(FILE, raw, lambda entry: _break_down(entry, standings))


@cache
def half_lives() -> Mapping[str, BreakDown]:
    """Every substance with its published half-lives, by code.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    found, findings = read_half_lives(file_tables(FILE), source_standings())
    refuse(findings)
    return MappingProxyType(found)
