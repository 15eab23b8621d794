"""Cells of a sheet as the values that a column of the book keeps."""

from __future__ import annotations

from contextlib import suppress
from datetime import date, time
from typing import Any

from sqlalchemy import Boolean, Column, Double, Integer, Time

from store.book.checked import checked
from store.book.columns import Day
from store.book.tables import TableName, table
from store.errors import BadInput
from store.exchange.plain.moments import Order, read_day
from store.text import plain

_YES = frozenset({"yes", "y", "true", "1", "x"})
_NO = frozenset({"no", "n", "false", "0", ""})


def cell_value(name: TableName, column: str, text: str, order: Order = "ymd") -> Any:
    """The cell as the value of a column, checked as the book will check it.

    Parameters
    ----------
    name
        The table.
    column
        The column.
    text
        The cell; empty means not known.
    order
        In which order the file writes day and month.

    Returns
    -------
    Any
        None, or an empty text, for an empty cell.

    Raises
    ------
    BadInput
        Naming the column whose value cannot be kept.
    """
    target: Column[Any] = table(name).c[column]
    cell = text.strip()
    value: Any = cell
    if isinstance(target.type, Boolean):
        value = _yes_no(column, cell)
    elif isinstance(target.type, Double | Integer):
        value = _number(column, cell, whole=isinstance(target.type, Integer))
    elif isinstance(target.type, Day):
        value = None if not cell else read_day(cell, order)
    elif isinstance(target.type, Time):
        value = None if not cell else _time(cell)
    elif not cell and "choices" in target.info:
        default: Any = target.default
        value = default.arg if default is not None else ""
    return checked(target, value)


def _yes_no(column: str, cell: str) -> bool:
    if cell.casefold() in _YES:
        return True
    if cell.casefold() in _NO:
        return False
    raise BadInput(f"{column.capitalize()} should be yes or no, not “{plain(cell):.40}”.")


def _number(column: str, cell: str, *, whole: bool) -> int | float | None:
    if not cell:
        return None
    text = cell.replace(",", ".") if "." not in cell else cell
    with suppress(ValueError, OverflowError):  # infinity has no whole part
        number = float(text)
        if not whole:
            return number
        if number == int(number):
            return int(number)
    kind = "a whole number" if whole else "a number"
    label = column.replace("_", " ").capitalize()
    raise BadInput(f"{label} should be {kind}, not “{plain(cell):.40}”.")


def _time(cell: str) -> time:
    try:
        return time.fromisoformat(cell if len(cell) != 4 else f"0{cell}")
    except ValueError as error:
        raise BadInput(f"“{plain(cell):.40}” is no time. Write it as 07:40.") from error


def day_or_none(cell: str, order: Order = "ymd") -> date | None:
    """The day of a cell, or None for an empty one.

    Parameters
    ----------
    cell
        The cell.
    order
        In which order the file writes day and month.

    Raises
    ------
    BadInput
        The cell is no day, or its order would have to be guessed.
    """
    return read_day(cell, order) if cell.strip() else None
