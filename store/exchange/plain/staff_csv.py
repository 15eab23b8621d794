"""Staff and kits out of a sheet: one row a person, one row a kit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, select

from store.book.act import Act
from store.book.book import Book
from store.book.tables import TableName, table
from store.exchange.plain.cells import cell_value
from store.exchange.plain.planned import Columns, Done, Plan
from store.exchange.plain.simple_csv import PlannedRow, plan_rows, save_rows
from store.exchange.plain.table import Row

_STAFF = {"name": ("person",), "role": (), "initials": ()}
_KIT = {
    "name": ("kit",),
    "ammonia_form": ("ammonia", "ammonia as"),
    "nitrite_form": ("nitrite", "nitrite as"),
    "nitrate_form": ("nitrate", "nitrate as"),
    "batch": ("lot",),
    "expires_on": ("expires", "expiry"),
    "ph_calibrated_on": ("calibrated",),
    "notes": ("note",),
}


def read_staff(path: Path, book: Book) -> Plan[PlannedRow]:
    """What a sheet of staff would bring: columns `name`, `role`, `initials`.

    Parameters
    ----------
    path
        The file.
    book
        The practice's book; a person of the same name is passed over.
    """
    return _read("staff", "staff", path, book, _STAFF, ("name", "role"))


def save_staff(book: Book, act: Act, plan: Plan[PlannedRow]) -> Done:
    """Save the people of a plan.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the file in, and when.
    plan
        From `read_staff`.

    Returns
    -------
    Done
        How many were added, were there already, or were refused.
    """
    return _save("staff", book, act, plan)


def read_kits(path: Path, book: Book, *, shift_days: int = 0) -> Plan[PlannedRow]:
    """What a sheet of kits would bring.

    Columns `name`, `ammonia_form` (n, nh3, nh4, unknown), `nitrite_form` (no2, n, unknown),
    `nitrate_form` (no3, n, unknown), `batch`, `expires_on`, `ph_calibrated_on`, `notes`.

    Parameters
    ----------
    path
        The file.
    book
        The practice's book; a kit of the same name is passed over.
    shift_days
        Whole days by which the days of the file are moved [d].
    """
    return _read("kit", "kits", path, book, _KIT, ("name",), shift_days)


def save_kits(book: Book, act: Act, plan: Plan[PlannedRow]) -> Done:
    """Save the kits of a plan.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the file in, and when.
    plan
        From `read_kits`.

    Returns
    -------
    Done
        How many were added, were there already, or were refused.
    """
    return _save("kit", book, act, plan)


def _read(
    name: TableName,
    kind: str,
    path: Path,
    book: Book,
    known: dict[str, tuple[str, ...]],
    needed: tuple[str, ...],
    shift_days: int = 0,
) -> Plan[PlannedRow]:
    def reads(row: Row, columns: Columns) -> Mapping[str, Any]:
        values = {column: cell_value(name, column, columns.text(row, column)) for column in known}
        return {
            column: value + timedelta(days=shift_days) if type(value) is date else value
            for column, value in values.items()
        }

    with book.reading() as connection:
        present = _names(connection, name)
    return plan_rows(kind, path, book, known, needed, reads, _same, present, shift_days)


def _save(name: TableName, book: Book, act: Act, plan: Plan[PlannedRow]) -> Done:
    return save_rows(
        book,
        act,
        plan,
        lambda writing: _names(writing.connection, name),
        _same,
        lambda writing, values: writing.add(name, **values),
    )


def _names(connection: Connection, name: TableName) -> Iterable[object]:
    columns = table(name).c
    query = select(columns.name).where(columns.struck_at.is_(None))
    return {_same({"name": found}) for found in connection.execute(query).scalars()}


def _same(values: Mapping[str, Any]) -> object:
    return " ".join(str(values["name"]).casefold().split())
