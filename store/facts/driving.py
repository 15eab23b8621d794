"""How fast a van is, what a stop costs against carrying disease; none of it is published."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from store.facts.entry import Finding, Standing, file_tables, refuse
from store.facts.numbers import Number, numbers_of
from store.facts.sources import source_standings

FILE = "driving.toml"

WANTED: Mapping[str, tuple[str, float, float]] = MappingProxyType(
    {
        "detour": ("-", 1.0, 5.0),
        "short_speed": ("km/h", 1.0, 130.0),
        "short_ways": ("km", 0.1, 1000.0),
        "middle_speed": ("km/h", 1.0, 130.0),
        "middle_ways": ("km", 0.1, 1000.0),
        "long_speed": ("km/h", 1.0, 130.0),
        "least_drive": ("min", 0.0, 120.0),
        "unknown_drive": ("min", 1.0, 240.0),
        "disinfect_after_infected": ("min", 0.0, 480.0),
        "disinfect_after_suspect": ("min", 0.0, 480.0),
        "examined_holds": ("d", 1.0, 3660.0),
        "named_holds": ("d", 1.0, 3660.0),
        "losses_hold": ("d", 1.0, 60.0),
    }
)
"""Every figure by name, with its unit and the bounds within which it makes sense."""


@dataclass(frozen=True, slots=True)
class Driving:
    """Every figure of the file; the units stand in the names.

    A way by road is `detour` times the straight line. Its first `short_km` are driven at
    `short_km_h`, what follows up to `middle_km` at `middle_km_h`, the rest at `long_km_h`. No drive
    takes less than `least_min`; `unknown_min` stands in where a place is not known. What is known
    of fish holds for `examined_days` and `named_days`; deaths are looked at over `losses_days`.
    """

    detour: float
    short_km_h: float
    short_km: float
    middle_km_h: float
    middle_km: float
    long_km_h: float
    least_min: int
    unknown_min: int
    disinfect_infected_min: int
    disinfect_suspect_min: int
    examined_days: int
    named_days: int
    losses_days: int


def read_driving(
    raw: Mapping[str, Any], standings: Mapping[str, Standing]
) -> tuple[dict[str, Number], list[Finding]]:
    """Every good figure of a file, and what is wrong with the others.

    Parameters
    ----------
    raw
        The tables of the file, as TOML gives them.
    standings
        The standing of every source.

    Returns
    -------
    tuple of dict and list
        Figures by name, and the findings: a figure that is missing, strange, in another unit or
        out of its bounds, and speeds that do not rise with the way.
    """
    found, findings = numbers_of(FILE, WANTED, raw, standings, whole=("min", "d"))
    for lower, higher in (
        ("short_speed", "middle_speed"), ("middle_speed", "long_speed"),
        ("short_ways", "middle_ways"),
    ):  # fmt: skip
        if lower in found and higher in found and found[lower].value > found[higher].value:
            findings.append(Finding(FILE, higher, "value", f"is below that of {lower}"))
    return found, findings


@cache
def figures() -> Mapping[str, Number]:
    """Every figure by its name, in the order of the file.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    found, findings = read_driving(file_tables(FILE), source_standings())
    refuse(findings)
    return MappingProxyType(found)


@cache
def driving() -> Driving:
    """Every figure of the file under the name by which it is reckoned with.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    of = {name: one.value for name, one in figures().items()}
    return Driving(
        detour=of["detour"],
        short_km_h=of["short_speed"],
        short_km=of["short_ways"],
        middle_km_h=of["middle_speed"],
        middle_km=of["middle_ways"],
        long_km_h=of["long_speed"],
        least_min=int(of["least_drive"]),
        unknown_min=int(of["unknown_drive"]),
        disinfect_infected_min=int(of["disinfect_after_infected"]),
        disinfect_suspect_min=int(of["disinfect_after_suspect"]),
        examined_days=int(of["examined_holds"]),
        named_days=int(of["named_holds"]),
        losses_days=int(of["losses_hold"]),
    )
