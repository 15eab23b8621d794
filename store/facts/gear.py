"""What a vet takes along for a day at ponds, and how much is packed; none of it is published."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any, Literal, TypeVar, cast

from store.facts.agent import FAMILIES
from store.facts.agents import agents
from store.facts.entry import Entry, Finding, Standing, file_tables, read_each, refuse
from store.facts.numbers import Number, numbers_of
from store.facts.sources import source_standings

FILE = "gear.toml"
NUMBERS: Mapping[str, tuple[str, float, float]] = MappingProxyType(
    {
        "margin": ("%", 0.0, 100.0),
        "spare_tests": ("tests", 0.0, 20.0),
        "tap_chlorine": ("mg/L", 0.1, 10.0),
    }
)
"""Every number by name, with its unit and the bounds within which it makes sense."""
WHEN: Mapping[str, str] = MappingProxyType(
    {
        "dose": "a dose is due",
        "feed": "a batch of medicated feed is due",
        "tank": "fish are bathed in a tank",
        "water_change": "water is changed before a dose",
        "tap": "tap water may come in",
        "examination": "fish are to be looked at",
        "sample": "samples go to a laboratory",
        "doubtful": "the site is doubtful",
        "infected": "the site is infected",
        "suspect": "something that must be reported is suspected",
        "volume": "the volume is not known",
        "dawn": "oxygen is the question",
        "two_hours": "oxygen and pH ask for different hours",
    }
)
"""What can ask for something to be carried, and how it is said."""
Per = Literal["day", "stop"]
With = Literal["meter", "reagent"]
_Read = TypeVar("_Read")


@dataclass(frozen=True, slots=True)
class Thing:
    """One thing to take along.

    `when` are codes of `WHEN`, `agents` codes of agents whose dose asks for it; it always goes
    along where both are empty. One is packed for the day, or one for every stop that asks for it.
    """

    code: str
    says: str
    per: Per
    when: tuple[str, ...]
    agents: tuple[str, ...]
    source: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class Reading:
    """With what a parameter is read at a pond.

    `usual` tells that it is read at every pond of which no test tells what is read there. `when`
    are codes of `WHEN`, `families` and `agents` those whose dose asks for it.
    """

    parameter: str
    by: With
    says: str
    usual: bool
    when: tuple[str, ...]
    families: tuple[str, ...]
    agents: tuple[str, ...]
    source: str
    standing: Standing


def read_numbers(
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
    return numbers_of(FILE, NUMBERS, raw, standings, whole=("tests",))


def read_things(
    raw: Mapping[str, Any], standings: Mapping[str, Standing]
) -> tuple[dict[str, Thing], list[Finding]]:
    """Every good thing of a file, and what is wrong with the others.

    Parameters
    ----------
    raw
        The tables under `thing`, as TOML gives them.
    standings
        The standing of every source.

    Returns
    -------
    tuple of dict and list
        Things by code in the order in which they are packed, and the findings.
    """

    def thing(entry: Entry) -> Thing:
        says = entry.text("says")
        per = entry.choice("per", ("day", "stop"))
        when, of_agents = _when(entry), _agents(entry)
        source, standing = entry.backing(standings)
        entry.finish()
        return Thing(entry.name, says, cast("Per", per), when, of_agents, source, standing)

    return read_each(FILE, raw, thing)


def read_readings(
    raw: Mapping[str, Any], standings: Mapping[str, Standing]
) -> tuple[dict[str, Reading], list[Finding]]:
    """Every good reading of a file, and what is wrong with the others.

    Parameters
    ----------
    raw
        The tables under `reading`, as TOML gives them; their names are codes of parameters.
    standings
        The standing of every source.

    Returns
    -------
    tuple of dict and list
        Readings by parameter, and the findings.
    """

    def reading(entry: Entry) -> Reading:
        by = entry.choice("by", ("meter", "reagent"))
        says = entry.text("says")
        usual = entry.choice("usual", ("yes", "no"))
        families = entry.texts("families", needed=False)
        for one in families:
            if one not in FAMILIES:
                entry.fault("families", f"there is no family {one!r}")
        when, of_agents = _when(entry), _agents(entry)
        source, standing = entry.backing(standings)
        entry.finish()
        return Reading(
            entry.name, cast("With", by), says, usual == "yes", when, families, of_agents, source,
            standing,
        )  # fmt: skip

    return read_each(FILE, raw, reading)


def _when(entry: Entry) -> tuple[str, ...]:
    found = entry.texts("when", needed=False)
    for one in found:
        if one not in WHEN:
            entry.fault("when", f"{one!r} asks for nothing")
    return found


def _agents(entry: Entry) -> tuple[str, ...]:
    found = entry.texts("agents", needed=False)
    for one in found:
        if one not in agents():
            entry.fault("agents", f"there is no agent {one!r}")
    return found


@cache
def gear_numbers() -> Mapping[str, Number]:
    """Every number by its name.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    return _good(read_numbers, "number")


@cache
def things() -> Mapping[str, Thing]:
    """Every thing by its code, in the order in which they are packed.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    return _good(read_things, "thing")


@cache
def read_with() -> Mapping[str, Reading]:
    """With what each parameter is read, by its code.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    return _good(read_readings, "reading")


def _good(
    read: Callable[
        [Mapping[str, Any], Mapping[str, Standing]], tuple[dict[str, _Read], list[Finding]]
    ],
    part: str,
) -> Mapping[str, _Read]:
    found, findings = read(file_tables(FILE)[part], source_standings())
    refuse(findings)
    return MappingProxyType(found)
