"""Single numbers of a file, each with its unit, its meaning and what it rests on."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

from store.facts.entry import Entry, Finding, Standing, read_each

Wanted = Mapping[str, tuple[str, float, float]]
"""Every number by name, with its unit and the bounds within which it makes sense."""


@dataclass(frozen=True, slots=True)
class Number:
    """One number with its unit, what it means, and what it rests on."""

    name: str
    value: float
    unit: str
    says: str
    source: str
    standing: Standing


def numbers_of(
    file: str,
    wanted: Wanted,
    raw: Mapping[str, Any],
    standings: Mapping[str, Standing],
    *,
    whole: Collection[str] = (),
) -> tuple[dict[str, Number], list[Finding]]:
    """Every good number of a file, and what is wrong with the others.

    Parameters
    ----------
    file
        Its name, for the findings.
    wanted
        The numbers that are used.
    raw
        The tables of the numbers, as TOML gives them.
    standings
        The standing of every source.
    whole
        Units of which only whole numbers make sense.

    Returns
    -------
    tuple of dict and list
        Numbers by name, and the findings: one that is missing, strange, in another unit or out of
        its bounds.
    """

    def number(entry: Entry) -> Number:
        if entry.name not in wanted:
            entry.fault("entry", "is no number that is used")
        unit, low, high = wanted.get(entry.name, ("", 0.0, 0.0))
        value = entry.number("value", low=low, high=high) or 0.0
        stated = entry.text("unit")
        if stated and stated != unit:
            entry.fault("unit", f"is {stated!r}; it must be {unit!r}")
        if unit in whole and value != int(value):
            entry.fault("value", f"is {value:g}; it must be a whole number")
        says = entry.text("says")
        source, standing = entry.backing(standings)
        entry.finish()
        return Number(entry.name, value, unit, says, source, standing)

    found, findings = read_each(file, raw, number)
    findings += [Finding(file, one, "entry", "is missing") for one in wanted if one not in raw]
    return found, findings
