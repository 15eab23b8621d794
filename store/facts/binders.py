"""What holds a medicine on fish feed: amounts, order of work, how long the feed keeps."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any, Literal

from store.facts.entry import Entry, Finding, Standing, file_tables, read_each, refuse
from store.facts.sources import source_standings

FILE = "binders.toml"


@dataclass(frozen=True, slots=True)
class Binder:
    """One binder; amounts for one kilogram of dry feed.

    `amount_per_kg` is in `unit`; `g_per_ml` is its density, 0 where it is weighed.
    `water_ml_per_kg` is the water that becomes part of the feed and makes it heavier.
    """

    code: str
    name: str
    amount_per_kg: float
    unit: Literal["g", "mL"]
    g_per_ml: float
    water_ml_per_kg: float
    keep_days: int
    kept: str
    steps: tuple[str, ...]
    cautions: tuple[str, ...]
    note: str
    source: str
    standing: Standing

    @property
    def added_g_per_kg(self) -> float:
        """What binder and water add to one kilogram of dry feed [g]."""
        own_g = self.amount_per_kg * (self.g_per_ml if self.unit == "mL" else 1.0)
        return own_g + self.water_ml_per_kg


def _binder(entry: Entry, standings: Mapping[str, Standing]) -> Binder:
    unit = entry.choice("unit", ("g", "mL"))
    density = entry.number("g_per_ml", low=0.5, high=2.0, needed=unit == "mL")
    if unit == "g" and density is not None:
        entry.fault("g_per_ml", "is for what is measured in mL")
    source, standing = entry.backing(standings)
    binder = Binder(
        code=entry.name,
        name=entry.text("name"),
        amount_per_kg=entry.number("amount_per_kg", low=0.1, high=500.0) or 0.0,
        unit="mL" if unit == "mL" else "g",
        g_per_ml=density or 0.0,
        water_ml_per_kg=entry.number("water_ml_per_kg", low=0.0, high=5000.0) or 0.0,
        keep_days=int(entry.number("keep_days", low=1.0, high=365.0) or 0),
        kept=entry.text("kept"),
        steps=entry.texts("steps"),
        cautions=entry.texts("cautions"),
        note=entry.text("note", needed=False),
        source=source,
        standing=standing,
    )
    entry.finish()
    return binder


def read_binders(
    raw: Mapping[str, Any], standings: Mapping[str, Standing]
) -> tuple[dict[str, Binder], list[Finding]]:
    """Every good binder of the tables of a file, and what is wrong with the others.

    Parameters
    ----------
    raw
        The tables of the file, as TOML gives them.
    standings
        Standing of every source by its key; see `store.facts.sources.source_standings`.

    Returns
    -------
    tuple of dict and list
        Binders by code, and the findings.
    """
    return read_each(FILE, raw, lambda entry: _binder(entry, standings))


@cache
def binders() -> Mapping[str, Binder]:
    """Every binder by its code.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    found, findings = read_binders(file_tables(FILE), source_standings())
    refuse(findings)
    return MappingProxyType(found)
