"""The data dictionary: what every table and column of a book holds.

Kind, unit, allowed values and the table that is pointed at are taken from the models, the meaning
of a table from the docstring of its model, that of a column from `meanings.toml`.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from sqlalchemy import JSON, Boolean, Column, Double, Integer, String, Table, Time

import store.book.tables  # noqa: F401 - fills the metadata
from store.book.columns import Base, Day, Instant, Key
from store.errors import FactsTrouble
from store.exchange.out.rows import written_columns

_ENDINGS = {
    "_degree_days": "°C·days", "_mg_per_kg_feed": "mg/kg feed", "_g_ml": "g/mL",
    "_percent": "%", "_days": "days", "_min": "min", "_cm": "cm", "_kg": "kg", "_km": "km",
    "_m": "m", "_l": "L", "_s": "s", "_h": "h", "_g": "g", "_c": "°C",
}  # fmt: skip
"""Unit by the ending of a column's name; the longest ending counts."""


@dataclass(frozen=True, slots=True)
class Described:
    """One column in words: `unit` is empty for what has none, `points_to` for what is no key."""

    table: str
    column: str
    meaning: str
    unit: str
    kind: str
    needed: bool
    """Whether every row has a value there; an empty text counts as one."""
    allowed: str
    points_to: str


@cache
def table_names() -> tuple[str, ...]:
    """Every table of a book, those that are pointed at before those that point at them."""
    return tuple(one.name for one in Base.metadata.sorted_tables)


def table_meaning(name: str) -> str:
    """What a table holds, in the words of its model.

    Parameters
    ----------
    name
        Of the table.

    Examples
    --------
    >>> table_meaning("head_count")
    'How many fish of a kind swim in a pond, as counted or told on a day.'
    """
    for mapper in Base.registry.mappers:
        table = mapper.local_table
        if isinstance(table, Table) and table.name == name:
            return " ".join((mapper.class_.__doc__ or "").split("\n\n")[0].split())
    return ""


def described(name: str) -> tuple[Described, ...]:
    """The columns of a table, in the order in which they are written.

    Parameters
    ----------
    name
        Of the table.

    Raises
    ------
    FactsTrouble
        A column has no meaning yet.
    """
    return tuple(_column(name, one) for one in written_columns(Base.metadata.tables[name]))


def _column(table: str, column: Column[Any]) -> Described:
    meaning = meaning_of(table, column.name)
    if not meaning:
        raise FactsTrouble(
            f"The column {column.name} of the table {table} is described nowhere. Write what it "
            "holds into meanings.toml."
        )
    targets = sorted(key.target_fullname for key in column.foreign_keys)
    return Described(
        table, column.name, meaning, unit_of(table, column), kind_of(column), not column.nullable,
        _allowed(column), targets[0] if targets else "",
    )  # fmt: skip


def meaning_of(table: str, column: str) -> str:
    """What a column holds; empty where nothing says it.

    Parameters
    ----------
    table, column
        Their names.
    """
    said = meanings()
    return str(said.get(table, {}).get(column) or said["everywhere"].get(column, ""))


@cache
def meanings() -> Mapping[str, Mapping[str, str]]:
    """All of `meanings.toml`: by table, then by column."""
    text = resources.files("store.exchange.out").joinpath("meanings.toml").read_bytes()
    return tomllib.loads(text.decode("utf-8"))


def unit_of(table: str, column: Column[Any]) -> str:
    """The unit of a column, by its name or as `meanings.toml` says it.

    Parameters
    ----------
    table
        Name of the table.
    column
        The column.
    """
    units = meanings()["units"]
    for name in (f"{table}.{column.name}", f"*.{column.name}"):
        if name in units:
            return units[name]
    if isinstance(column.type, Double | Integer):
        for ending in sorted(_ENDINGS, key=len, reverse=True):
            if column.name.endswith(ending):
                return _ENDINGS[ending]
    return ""


def kind_of(column: Column[Any]) -> str:
    """What kind of value a column holds, in words.

    Parameters
    ----------
    column
        The column.
    """
    kinds: tuple[tuple[Any, str], ...] = (
        (Key, "key (UUID)"),
        (Instant, "instant, UTC"),
        (Day, "day"),
        (Time, "time of day"),
        (Boolean, "yes or no"),
        (Double, "number"),
        (Integer, "whole number"),
        (JSON, "JSON"),
    )
    for of, said in kinds:
        if isinstance(column.type, of):
            return said
    if "choices" in column.info:
        return "one of a few words"
    return "text, several lines" if column.info.get("lines") else "text"


def _allowed(column: Column[Any]) -> str:
    info: Mapping[str, Any] = column.info
    if column.name == "parameter":
        from store.water.parameters import PARAMETERS

        return " | ".join(PARAMETERS)
    if "choices" in info:
        return " | ".join(one or "(empty)" for one in info["choices"])
    if isinstance(column.type, Boolean):
        return "yes | no"
    if "low" in info and isinstance(column.type, Double | Integer):
        return f"{info['low']:,.15g} to {info['high']:,.15g}"
    if isinstance(column.type, String) and "longest" in info:
        return f"{info['shortest']:,} to {info['longest']:,} characters"
    return ""
