"""What a thermometer reading is worth asking for, in numbers; none of them is published."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from store.facts.entry import Entry, Finding, Standing, file_tables, read_each, refuse
from store.facts.sources import source_standings

FILE = "asking.toml"
NUMBERS: Mapping[str, tuple[str, float, float]] = MappingProxyType(
    {
        "least_chance": ("of 1", 0.0, 0.5),
        "thermometer": ("°C", 0.05, 3.0),
        "usual": ("times", 0.1, 100.0),
        "raised": ("times", 0.1, 100.0),
        "notifiable": ("times", 0.1, 100.0),
        "course": ("times", 0.1, 100.0),
    }
)
"""Every number by name, with its unit and the bounds within which it makes sense."""


@dataclass(frozen=True, slots=True)
class AskingNumber:
    """One number with its unit, what it means, and what it rests on."""

    name: str
    value: float
    unit: str
    says: str
    source: str
    standing: Standing


def read_asking_numbers(
    raw: Mapping[str, Any], standings: Mapping[str, Standing]
) -> tuple[dict[str, AskingNumber], list[Finding]]:
    """Every good number of a file, and what is wrong with the others.

    Parameters
    ----------
    raw
        The tables under `number`, as TOML gives them.
    standings
        The standing of every source.

    Returns
    -------
    tuple of dict and list
        Numbers by name, and the findings: one that is missing, strange, in another unit or out of
        its bounds.
    """

    def number(entry: Entry) -> AskingNumber:
        if entry.name not in NUMBERS:
            entry.fault("entry", "is no number that is used")
        unit, low, high = NUMBERS.get(entry.name, ("", 0.0, 0.0))
        value = entry.number("value", low=low, high=high) or 0.0
        stated = entry.text("unit")
        if stated and stated != unit:
            entry.fault("unit", f"is {stated!r}; it must be {unit!r}")
        says = entry.text("says")
        source, standing = entry.backing(standings)
        entry.finish()
        return AskingNumber(entry.name, value, unit, says, source, standing)

    found, findings = read_each(FILE, raw, number)
    findings += [Finding(FILE, one, "entry", "is missing") for one in NUMBERS if one not in raw]
    return found, findings


@cache
def asking_numbers() -> Mapping[str, AskingNumber]:
    """Every number by its name.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    found, findings = read_asking_numbers(file_tables(FILE)["number"], source_standings())
    refuse(findings)
    return MappingProxyType(found)
