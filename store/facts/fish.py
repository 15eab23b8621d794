"""What is published on fish themselves: weight from length, rations, where feeding stops."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from itertools import pairwise
from types import MappingProxyType
from typing import Any, Literal

from store.errors import NotFound
from store.facts.entry import Entry, Finding, Standing, entries, file_tables, refuse
from store.facts.sources import source_standings

FILE = "fish.toml"

LENGTHS: tuple[str, ...] = ("fork", "total", "not stated")
"""How a fish was measured: to the fork of the tail, to its tip, or nobody says."""
LEVELS: tuple[str, ...] = ("stop", "mind")
LOWEST_EXPONENT, HIGHEST_EXPONENT = 2.5, 3.5
"""Between them lies the exponent of nearly every fish (Froese 2006): outside is a slip."""


@dataclass(frozen=True, slots=True)
class LengthWeight:
    """One relation W = a L^b; W in g, L in cm, the length as `length` says.

    `low_cm` and `high_cm` are the fish that were measured, None where nobody says.
    """

    code: str
    species: str
    length: str
    sex: str
    a_g: float
    b: float
    low_cm: float | None
    high_cm: float | None
    fish: int
    note: str
    source: str
    standing: Standing
    condition_low: float | None = None
    condition_high: float | None = None
    """Condition of the leanest and the fullest fish measured, 100 W / L³ [g/cm³ × 100]."""


@dataclass(frozen=True, slots=True)
class RationPoint:
    """What fish were found to need, and to eat at most, at one temperature, % of body weight."""

    temp_c: float
    maintenance_percent: float
    growth_percent: float


@dataclass(frozen=True, slots=True)
class Ration:
    """Rations over temperature, in the order of temperature."""

    code: str
    species: str
    points: tuple[RationPoint, ...]
    note: str
    source: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class FeedingLimit:
    """What happens to feeding below a temperature; `said` follows "below x °C"."""

    code: str
    below_c: float
    level: Literal["stop", "mind"]
    said: str
    source: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class Fish:
    """The whole file, by kind; feeding limits from the coldest upwards."""

    relations: Mapping[str, LengthWeight]
    rations: Mapping[str, Ration]
    feeding: tuple[FeedingLimit, ...]


def read_fish(
    raw: Mapping[str, Any], standings: Mapping[str, Standing]
) -> tuple[Fish, list[Finding]]:
    """Every good entry of the tables of a file, and what is wrong with the others.

    Parameters
    ----------
    raw
        The tables of the file, as TOML gives them.
    standings
        Standing of every source by its key; see `store.facts.sources.source_standings`.

    Returns
    -------
    tuple of Fish and list
        The entries by kind, and the findings.
    """
    findings: list[Finding] = []
    relations: dict[str, LengthWeight] = {}
    rations: dict[str, Ration] = {}
    feeding: list[FeedingLimit] = []
    for entry in entries(FILE, raw, findings):
        before = len(findings)
        kind = entry.choice("kind", ("length_weight", "ration", "feeding"))
        if kind == "length_weight":
            relation = _relation(entry, standings)
            entry.finish()
            if len(findings) == before:
                relations[entry.name] = relation
        elif kind == "ration":
            ration = _ration(entry, standings)
            entry.finish()
            if len(findings) == before:
                rations[entry.name] = ration
        elif kind == "feeding":
            limit = _feeding(entry, standings)
            entry.finish()
            if len(findings) == before:
                feeding.append(limit)
    feeding.sort(key=lambda one: one.below_c)
    return Fish(MappingProxyType(relations), MappingProxyType(rations), tuple(feeding)), findings


def _relation(entry: Entry, standings: Mapping[str, Standing]) -> LengthWeight:
    low_cm = entry.number("low_cm", low=0.1, high=300.0, needed=False)
    high_cm = entry.number("high_cm", low=0.1, high=300.0, needed=False)
    if (low_cm is None) != (high_cm is None):
        entry.fault("low_cm", "a range of lengths needs both ends, or none")
    if low_cm is not None and high_cm is not None and low_cm >= high_cm:
        entry.fault("low_cm", f"is {low_cm:g}, not below high_cm, which is {high_cm:g}")
    lean = entry.number("condition_low", low=0.1, high=10.0, needed=False)
    full = entry.number("condition_high", low=0.1, high=10.0, needed=False)
    if (lean is None) != (full is None) or (lean or 0.0) > (full or 0.0):
        entry.fault("condition_low", "a range of condition needs both ends, in order, or none")
    source, standing = entry.backing(standings)
    return LengthWeight(
        code=entry.name,
        species=entry.text("species"),
        length=entry.choice("length", LENGTHS),
        sex=entry.choice("sex", ("both", "female", "male")),
        a_g=entry.number("a_g", low=1e-4, high=1.0) or 0.0,
        b=entry.number("b", low=LOWEST_EXPONENT, high=HIGHEST_EXPONENT) or 0.0,
        low_cm=low_cm,
        high_cm=high_cm,
        fish=int(entry.number("fish", low=1.0, high=1e6) or 0),
        note=entry.text("note", needed=False),
        source=source,
        standing=standing,
        condition_low=lean,
        condition_high=full,
    )


def _ration(entry: Entry, standings: Mapping[str, Standing]) -> Ration:
    points: list[RationPoint] = []
    for part in entry.parts("points"):
        temp_c = part.number("temp_c", low=0.0, high=40.0)
        least = part.number("maintenance_percent", low=0.0, high=20.0)
        most = part.number("growth_percent", low=0.0, high=20.0)
        part.finish()
        if temp_c is None or least is None or most is None:
            continue
        if least > most:
            part.fault("growth_percent", f"is {most:g}, less than maintenance, {least:g}")
        points.append(RationPoint(temp_c, least, most))
    if len(points) < 2:
        entry.fault("points", "needs at least two points")
    if any(one.temp_c >= other.temp_c for one, other in pairwise(points)):
        entry.fault("points", "must be in the order of temperature, each once")
    source, standing = entry.backing(standings)
    return Ration(entry.name, entry.text("species"), tuple(points),
                  entry.text("note", needed=False), source, standing)  # fmt: skip


def _feeding(entry: Entry, standings: Mapping[str, Standing]) -> FeedingLimit:
    below_c = entry.number("below_c", low=0.0, high=40.0) or 0.0
    level = entry.choice("level", LEVELS)
    said = entry.text("said")
    source, standing = entry.backing(standings)
    return FeedingLimit(
        entry.name, below_c, "stop" if level == "stop" else "mind", said, source, standing
    )


@cache
def fish() -> Fish:
    """The whole file.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    found, findings = read_fish(file_tables(FILE), source_standings())
    refuse(findings)
    return found


def relation(code: str) -> LengthWeight:
    """One relation of length and weight.

    Parameters
    ----------
    code
        Its code, such as `carp_total`.

    Raises
    ------
    NotFound
        There is none by that code; the sentence names those there are.
    """
    found = fish().relations.get(code)
    if found is None:
        raise NotFound(
            f"There is no relation of length and weight {code!r}. There are: "
            f"{', '.join(fish().relations)}."
        )
    return found
