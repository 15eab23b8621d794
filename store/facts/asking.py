"""What a thermometer reading is worth asking for, in numbers; none of them is published."""

from __future__ import annotations

from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import Any

from store.facts.entry import Finding, Standing, file_tables, refuse
from store.facts.numbers import Number, numbers_of
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


def read_asking_numbers(
    raw: Mapping[str, Any], standings: Mapping[str, Standing]
) -> tuple[dict[str, Number], list[Finding]]:
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
    return numbers_of(FILE, NUMBERS, raw, standings)


@cache
def asking_numbers() -> Mapping[str, Number]:
    """Every number by its name.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    found, findings = read_asking_numbers(file_tables(FILE)["number"], source_standings())
    refuse(findings)
    return MappingProxyType(found)
