"""What the trade has published on good water: one entry a statement, each with its source.

Statements that disagree stand side by side. Which of them an alert rule uses by default is said in
`store.facts.rules`; here is what a screen shows when somebody asks "who says so?".
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from store.facts.entry import Entry, Finding, Standing, entries, file_tables, refuse
from store.facts.sources import source_standings

FILE = "ranges.toml"

UNITS: Mapping[str, str] = MappingProxyType(
    {
        "temperature_c": "°C",
        "ph": "",
        "tan_mg_l": "mg/L N",
        "nitrite_mg_l": "mg/L NO2",
        "nitrate_mg_l": "mg/L NO3",
        "alkalinity_mg_l": "mg/L CaCO3",
        "hardness_mg_l": "mg/L CaCO3",
        "oxygen_mg_l": "mg/L",
        "oxygen_percent": "%",
        "salinity_g_l": "g/L",
        "chloride_mg_l": "mg/L",
        "chlorine_mg_l": "mg/L Cl2",
        "conductivity_us_cm": "µS/cm",
        "nh3_mg_l": "mg/L NH3",
        "nh3_n_mg_l": "mg/L N",
        "co2_mg_l": "mg/L",
        "chloride_to_nitrite": "",
        "temperature_change_c_per_day": "°C in 24 h",
        "ph_change_per_day": "in 24 h",
        "gas_pressure_percent": "%",
    }
)
"""What an entry can speak of, with its unit: the parameters of a test, and what follows from
them."""


@dataclass(frozen=True, slots=True)
class Range:
    """One published statement on a parameter, in its stored unit; None is an open end.

    `basis` says what the numbers are: acceptable, preferred, a maximum, the point of harm.
    """

    parameter: str
    low: float | None
    high: float | None
    basis: str
    source: str
    standing: Standing
    note: str


def _range(entry: Entry, parameter: str, standings: Mapping[str, Standing]) -> Range:
    low = entry.number("low", low=-10.0, high=10000.0, needed=False)
    high = entry.number("high", low=0.0, high=10000.0, needed=False)
    if low is None and high is None:
        entry.fault("low", "a range needs at least one end")
    if low is not None and high is not None and low > high:
        entry.fault("low", f"is {low:g}, above high, which is {high:g}")
    basis = entry.text("basis")
    source, standing = entry.backing(standings)
    note = entry.text("note", needed=False)
    entry.finish()
    return Range(parameter, low, high, basis, source, standing, note)


def read_ranges(
    raw: Mapping[str, Any], standings: Mapping[str, Standing]
) -> tuple[dict[str, tuple[Range, ...]], list[Finding]]:
    """Every good range of the tables of a file by parameter, and what is wrong with the others.

    Parameters
    ----------
    raw
        The tables of the file, as TOML gives them.
    standings
        Standing of every source by its key; see `store.facts.sources.source_standings`.

    Returns
    -------
    tuple of dict and list
        Ranges by parameter, and the findings.
    """
    findings: list[Finding] = []
    found: dict[str, tuple[Range, ...]] = {}
    for entry in entries(FILE, raw, findings):
        if entry.name not in UNITS:
            entry.fault("entry", "is not a parameter that a range can speak of")
        kept: list[Range] = []
        for part in entry.parts("says"):
            before = len(findings)
            one = _range(part, entry.name, standings)
            if len(findings) == before:
                kept.append(one)
        if not entry.has("says"):
            entry.fault("says", "is missing")
        entry.finish()
        found[entry.name] = tuple(kept)
    return found, findings


@cache
def all_ranges() -> Mapping[str, tuple[Range, ...]]:
    """Every range by its parameter.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    found, findings = read_ranges(file_tables(FILE), source_standings())
    refuse(findings)
    return MappingProxyType(found)


def ranges(parameter: str) -> tuple[Range, ...]:
    """What is published on one parameter; empty when nothing is.

    Parameters
    ----------
    parameter
        A code of `UNITS`.

    Examples
    --------
    >>> [(one.low, one.high, one.basis) for one in ranges("hardness_mg_l")][0]
    (100.0, 250.0, 'target')
    """
    return all_ranges().get(parameter, ())
