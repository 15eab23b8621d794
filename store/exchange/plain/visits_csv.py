"""Visits, planned and done, out of a sheet: one row a visit."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, select

from store.book.act import Act
from store.book.book import Book
from store.book.people import person_named
from store.book.ponds import cards
from store.book.tables import table
from store.errors import BadInput
from store.exchange.plain.cells import cell_value, day_or_none
from store.exchange.plain.moments import Order
from store.exchange.plain.planned import Columns, Done, Plan
from store.exchange.plain.simple_csv import PlannedRow, plan_rows, save_rows
from store.exchange.plain.table import Row
from store.exchange.plain.whose import PondNames
from store.text import plain

_KNOWN = {
    "pond": ("pond code", "code"),
    "whole_site": ("site",),
    "on_day": ("day", "date", "on"),
    "at_time": ("time",),
    "staff": ("by", "who"),
    "kind": ("what",),
    "state": (),
    "note": ("notes", "remarks"),
}


def read_visits(
    path: Path,
    book: Book,
    now: datetime,
    *,
    order: Order = "ymd",
    shift_days: int = 0,
) -> Plan[PlannedRow]:
    """What a sheet of visits would bring; nothing is saved.

    Columns `pond`, `whole_site` (yes when the visit is to all ponds where that pond lies),
    `on_day`, `at_time`, `staff`, `kind`, `state` (planned, done, cancelled), `note`.

    Parameters
    ----------
    path
        The file.
    book
        The practice's book; a visit of the same day to the same pond is passed over.
    now
        The present instant; a visit of a later day is not done yet.
    order
        In which order the file writes day and month.
    shift_days
        Whole days by which every day of the file is moved [d].
    """
    ponds = PondNames(book)
    site_of = {card.pond.id: card.site.id for card in cards(book)}
    today = book.today(now)

    def reads(row: Row, columns: Columns) -> Mapping[str, Any]:
        pond = ponds.one(columns.text(row, "pond"))
        day = day_or_none(columns.text(row, "on_day"), order)
        if day is None:
            raise BadInput("The row has no day.")
        day += timedelta(days=shift_days)
        state = columns.text(row, "state") or ("done" if day < today else "planned")
        if state == "done" and day > today:
            raise BadInput("The visit lies ahead and cannot be done.")
        who = columns.text(row, "staff")
        person = person_named(book, who) if who else None
        if who and person is None:
            raise BadInput(f"Nobody, or more than one, goes by “{plain(who):.60}”.")
        whole = columns.text(row, "whole_site").casefold() in ("yes", "y", "x", "1", "true")
        return {
            "site_id": site_of[pond],
            "pond_id": None if whole else pond,
            "on_day": day,
            "at_time": cell_value("visit", "at_time", columns.text(row, "at_time")),
            "staff_id": None if person is None else person.id,
            "kind": cell_value("visit", "kind", columns.text(row, "kind")),
            "state": cell_value("visit", "state", state),
            "note": cell_value("visit", "note", columns.text(row, "note")),
        }

    with book.reading() as connection:
        present = _present(connection)
    return plan_rows(
        "visits", path, book, _KNOWN, ("pond", "on_day"), reads, _same, present, shift_days
    )


def save_visits(book: Book, act: Act, plan: Plan[PlannedRow]) -> Done:
    """Save the visits of a plan.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the file in, and when.
    plan
        From `read_visits`.

    Returns
    -------
    Done
        How many were added, were there already, or were refused.
    """
    return save_rows(
        book,
        act,
        plan,
        lambda writing: _present(writing.connection),
        _same,
        lambda writing, values: writing.add("visit", **values),
    )


def _present(connection: Connection) -> Iterable[object]:
    visits = table("visit").c
    query = select(visits.site_id, visits.pond_id, visits.on_day).where(visits.struck_at.is_(None))
    return {tuple(row) for row in connection.execute(query)}


def _same(values: Mapping[str, Any]) -> object:
    return values["site_id"], values["pond_id"], values["on_day"]
