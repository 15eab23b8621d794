"""What tables and columns are called before a person; the words stand in `kinds.toml`."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from store.book.columns import Base
from store.exchange.out.described import unit_of

SECTIONS = ("labels", "units_from", "codes")
"""Parts of the file that are no tables."""
_UNIT_ENDINGS = {
    "_degree_days": "°C·days", "_mg_per_kg_feed": "mg/kg feed", "_g_ml": "g/mL",
    "_percent": "%", "_days": "days", "_min": "min", "_cm": "cm", "_kg": "kg", "_m": "m",
    "_l": "L", "_s": "s", "_h": "h", "_g": "g", "_c": "°C",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Kind:
    """One kind of record: its name in words, and the sentence that tells one from another."""

    table: str
    said: str
    title: str
    name: str


@cache
def words() -> Mapping[str, Mapping[str, str]]:
    """All of `kinds.toml`: by table, and its parts for columns."""
    text = resources.files("store.record").joinpath("kinds.toml").read_bytes()
    return tomllib.loads(text.decode("utf-8"))


@cache
def kinds() -> Mapping[str, Kind]:
    """Every kind of record by its table, in the order of the file."""
    return {
        table: Kind(table, said["said"], said["title"], said.get("name", said["title"]))
        for table, said in words().items()
        if table not in SECTIONS
    }


def kind_of(table: str) -> Kind:
    """The kind of record that a table holds.

    Parameters
    ----------
    table
        Its name; one that has no words yet is called by it.

    Examples
    --------
    >>> kind_of("dose_given").said
    'dose given'
    """
    name = table.replace("_", " ")
    return kinds().get(table) or Kind(table, name, name, name)


def tables_called(text: str) -> tuple[str, ...]:
    """The tables whose kind holds a text; where one is called exactly so, that alone.

    Parameters
    ----------
    text
        A kind of record in words, or part of it.

    Examples
    --------
    >>> tables_called("Water test"), tables_called("dose g"), tables_called("rocket")
    (('water_test',), ('dose_given',), ())
    """
    wanted = " ".join(text.casefold().split())
    exact = tuple(one.table for one in kinds().values() if one.said.casefold() == wanted)
    some = tuple(one.table for one in kinds().values() if wanted in one.said.casefold())
    return exact or some


@cache
def label_of(table: str, column: str) -> str:
    """What a column is called beside its value, in a word or some.

    Parameters
    ----------
    table, column
        Their names.

    Examples
    --------
    >>> label_of("pond", "depth_m"), label_of("water_test", "kit_id"), label_of("pond", "use")
    ('depth', 'kit', 'fish eaten')
    """
    said = _said_of("labels", table, column)
    if said is not None:
        return said
    name = column.removesuffix("_id")
    for ending in sorted(_UNIT_ENDINGS, key=len, reverse=True):
        if unit_said(table, column) == _UNIT_ENDINGS[ending]:
            name = name.removesuffix(ending)
    return name.replace("_", " ")


@cache
def unit_said(table: str, column: str) -> str:
    """The unit that belongs to a column itself; empty for none, or where it stands elsewhere.

    Parameters
    ----------
    table, column
        Their names.

    Examples
    --------
    >>> unit_said("pond", "depth_m"), unit_said("pond_event", "amount")
    ('m', '')
    """
    target = Base.metadata.tables.get(table)
    if target is None or column not in target.c:
        return ""
    unit = unit_of(table, target.c[column])
    # Words that send a reader elsewhere are none to stand behind a number.
    return "" if unit.startswith(("as ", "unit of", "stored unit")) else unit


def unit_path(table: str, column: str) -> str:
    """Where the unit of a number stands, as a path of columns; empty where it has its own.

    Parameters
    ----------
    table, column
        Their names.
    """
    return words()["units_from"].get(f"{table}.{column}", "")


@cache
def codes_of(table: str, column: str) -> str:
    """What the codes in a column stand for; empty where it holds none.

    Parameters
    ----------
    table, column
        Their names.
    """
    return _said_of("codes", table, column) or ""


def _said_of(part: str, table: str, column: str) -> str | None:
    said: Mapping[str, Any] = words()[part]
    found = said.get(f"{table}.{column}", said.get(f"*.{column}"))
    return None if found is None else str(found)
