"""A row as it is written: every column filled and checked, and said in JSON for the log."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, time
from typing import Any
from uuid import UUID

from sqlalchemy import Column, Double, Table, Time

from store.book.checked import checked
from store.book.columns import Day, Instant, Key, to_the_millisecond

KEPT = (
    "id", "rev", "created_at", "created_by", "changed_at", "changed_by", "struck_at", "struck_by",
    "struck_why",
)  # fmt: skip
"""Columns that nobody sets but the writing itself."""


def named(
    target: Table, values: Mapping[str, Any], leave: tuple[str, ...] = KEPT
) -> list[tuple[Column[Any], Any]]:
    """Each value with its column.

    Parameters
    ----------
    target
        The table.
    values
        By name of the column.
    leave
        Columns that may not be set.

    Raises
    ------
    TypeError
        For a column that does not exist, or may not be set.
    """
    strange = [name for name in values if name not in target.c or name in leave]
    if strange:
        raise TypeError(f"{target.name} has no column {', '.join(strange)} to be set")
    return [(target.c[name], value) for name, value in values.items()]


def filled(target: Table, row: Mapping[str, Any], leave: tuple[str, ...] = ()) -> dict[str, Any]:
    """A row with every column, those left out with their default.

    Parameters
    ----------
    target
        The table.
    row
        Values by column.
    leave
        Columns that may not be set, and are not filled.

    Raises
    ------
    BadInput
        A value that cannot be kept.
    TypeError
        For a column that does not exist, or may not be set.
    """
    values = {column.name: value for column, value in named(target, row, leave)}
    for column in target.columns:
        if column.name not in values and column.name not in leave:
            values[column.name] = _default(column)
    return {name: checked(target.c[name], value) for name, value in values.items()}


def _default(column: Column[Any]) -> Any:
    default: Any = column.default
    if default is None:
        return None
    return default.arg(None) if default.is_callable else default.arg


def as_json(values: Mapping[str, Any]) -> dict[str, Any]:
    """Values as the log keeps them: keys, days and instants as text.

    Parameters
    ----------
    values
        By name of the column.
    """
    return {name: _json_value(value) for name, value in values.items()}


def _json_value(value: Any) -> Any:
    if isinstance(value, UUID):
        return str(value)
    if isinstance(value, datetime | date | time):
        return value.isoformat()
    return value


def from_json(target: Table, values: Mapping[str, Any]) -> dict[str, Any]:
    """Values out of the log as the columns hold them; columns that are gone are left out.

    Parameters
    ----------
    target
        The table.
    values
        By name of the column, as `as_json` wrote them.
    """
    return {
        name: _column_value(target.c[name], value)
        for name, value in values.items()
        if name in target.c
    }


def _column_value(column: Column[Any], value: Any) -> Any:
    if value is None:
        return None
    kind = column.type
    if isinstance(kind, Key):
        return UUID(value)
    if isinstance(kind, Instant):
        return to_the_millisecond(datetime.fromisoformat(value))
    if isinstance(kind, Day):
        return date.fromisoformat(value)
    if isinstance(kind, Time):
        return time.fromisoformat(value)
    return float(value) if isinstance(kind, Double) else value


def with_defaults(target: Table, values: Mapping[str, Any]) -> dict[str, Any]:
    """A whole row: columns left out take their default, or stay empty.

    Parameters
    ----------
    target
        The table.
    values
        By name of the column.
    """
    return {column.name: _default(column) for column in target.columns} | dict(values)


def spoken(table_name: str) -> str:
    """The name of a table within a sentence.

    Parameters
    ----------
    table_name
        Such as `water_test`.
    """
    return table_name.replace("_", " ")
