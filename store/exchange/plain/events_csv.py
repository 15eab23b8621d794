"""What happened at ponds, out of a sheet: one row an event."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from datetime import date, datetime, time, timedelta, tzinfo
from pathlib import Path
from typing import Any

from sqlalchemy import Connection, select

from store.book.act import Act
from store.book.book import Book
from store.book.days import typed_time
from store.book.events import EVENT_KINDS, record_event
from store.book.tables import table
from store.book.writing import Writing
from store.errors import BadInput
from store.exchange.plain.cells import cell_value, day_or_none
from store.exchange.plain.moments import Order
from store.exchange.plain.planned import Columns, Done, Plan
from store.exchange.plain.simple_csv import PlannedRow, plan_rows, save_rows
from store.exchange.plain.table import Row
from store.exchange.plain.whose import PondNames
from store.facts.hazards import hazards
from store.text import plain

_KNOWN = {
    "pond": ("pond code", "code"),
    "kind": ("event", "what"),
    "on_day": ("day", "date", "on"),
    "at_time": ("time", "at"),
    "until_day": ("until",),
    "hazard": (),
    "amount": (),
    "note": ("notes", "remarks"),
}


_TOLD_BY_WORDS = ("medicine_given", "not_for_eating")
"""Kinds of which there may be several a day that differ by their words alone."""


def read_events(
    path: Path,
    book: Book,
    now: datetime,
    *,
    order: Order = "ymd",
    shift_days: int = 0,
) -> Plan[PlannedRow]:
    """What a sheet of events would bring; nothing is saved.

    Columns `pond`, `kind` (a code or label of `store.book.events`), `on_day`, `at_time`
    (`09:30`), `until_day`, `hazard`, `amount` (in the unit of the kind), `note`.

    Parameters
    ----------
    path
        The file.
    book
        The practice's book; the same kind on the same day and hour at the same pond is passed over.
    now
        The present instant; an event of a later day is refused.
    order
        In which order the file writes day and month.
    shift_days
        Whole days by which every day of the file is moved [d].
    """
    ponds = PondNames(book)
    today = book.today(now)
    kinds = {kind.label.casefold(): code for code, kind in EVENT_KINDS.items()}
    kinds.update({code: code for code in EVENT_KINDS})

    def reads(row: Row, columns: Columns) -> Mapping[str, Any]:
        kind = kinds.get(columns.text(row, "kind").casefold())
        if kind is None:
            said = plain(columns.text(row, "kind"))
            raise BadInput(f"“{said:.40}” is no kind of event. Known: {', '.join(EVENT_KINDS)}.")
        days = [
            _shifted(columns.text(row, name), order, shift_days) for name in ("on_day", "until_day")
        ]
        if days[0] is None:
            raise BadInput("The row has no day.")
        values = {
            "pond_id": ponds.one(columns.text(row, "pond")),
            "kind": kind,
            "on_day": days[0],
            "at": _at(days[0], typed_time(columns.text(row, "at_time")), now, book.zone),
            "until_day": days[1],
            "hazard": columns.text(row, "hazard") or None,
            "amount": cell_value("pond_event", "amount", columns.text(row, "amount")),
            "note": cell_value("pond_event", "note", columns.text(row, "note")),
        }
        _check(values, today)
        return values

    with book.reading() as connection:
        present = _present(connection)
    return plan_rows(
        "events", path, book, _KNOWN, ("pond", "kind", "on_day"), reads, _same, present, shift_days
    )


def save_events(book: Book, act: Act, plan: Plan[PlannedRow]) -> Done:
    """Save the events of a plan.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the file in, and when.
    plan
        From `read_events`.

    Returns
    -------
    Done
        How many were added, were there already, or were refused.
    """
    return save_rows(book, act, plan, lambda writing: _present(writing.connection), _same, _add)


def _add(writing: Writing, values: Mapping[str, Any]) -> object:
    return record_event(writing, **values)


def _shifted(cell: str, order: Order, shift_days: int) -> date | None:
    day = day_or_none(cell, order)
    return None if day is None else day + timedelta(days=shift_days)


def _at(day: date, hour: time | None, now: datetime, zone: tzinfo) -> datetime | None:
    at = None if hour is None else datetime.combine(day, hour, zone)
    if at is not None and at > now:
        raise BadInput("The time lies ahead.")
    return at


def _check(values: Mapping[str, Any], today: date) -> None:
    """What `record_event` would refuse, found out before anything is saved."""
    kind = EVENT_KINDS[values["kind"]]
    if values["on_day"] > today:
        raise BadInput("The day lies ahead.")
    if kind.names_hazard != bool(values["hazard"]):
        wrong = "needs the hazard" if kind.names_hazard else "names no hazard"
        raise BadInput(f"“{kind.label}” {wrong}.")
    if values["hazard"] and values["hazard"] not in hazards():
        raise BadInput(f"“{plain(values['hazard']):.40}” is no hazard. Write its code.")
    if values["amount"] is not None and not kind.unit:
        raise BadInput(f"“{kind.label}” has no amount.")
    if values["until_day"] is not None and not kind.lasts:
        raise BadInput(f"“{kind.label}” has no last day.")
    if values["until_day"] is not None and values["until_day"] < values["on_day"]:
        raise BadInput("The last day lies before the first.")


def _present(connection: Connection) -> Iterable[object]:
    events = table("pond_event").c
    query = select(
        events.pond_id, events.kind, events.on_day, events.at, events.hazard, events.until_day,
        events.note,
    ).where(events.struck_at.is_(None))  # fmt: skip
    return {_same(dict(row)) for row in connection.execute(query).mappings()}


def _same(values: Mapping[str, Any]) -> object:
    """What tells events apart; of medicines and withdrawals every word does, so that none is lost.

    Two medicines of one day are two, and of two withdrawals the one that ends later must not be
    taken for the other.
    """
    place = values["pond_id"], values["kind"], values["on_day"], values["at"], values["hazard"]
    if values["kind"] not in _TOLD_BY_WORDS:
        return place
    return *place, values["until_day"], " ".join(plain(values["note"] or "").split())
