"""Calls that were taken, and calls that were to be made again: when somebody came or rang."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from itertools import zip_longest
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, and_, select

from store.book.tables import table
from store.diary.desk.kept_on_time import Record, Stood
from store.diary.kept.calls.call_values import KINDS, raised_steps
from store.diary.kept.calls.calls_due import call_days
from store.facts.follow_ups import follow_up_kinds


def ring_backs_kept(connection: Connection, zone: ZoneInfo, since: date) -> Iterator[Record]:
    """Calls that were to be made again.

    Parameters
    ----------
    connection
        A reading of the book.
    zone
        Of the practice, in which a call belongs to its calendar day.
    since
        Days before this one are left out.

    Yields
    ------
    Record
        One is kept by the next call to the client, whatever came of it. A newer day that was
        agreed then is another promise.
    """
    calls, clients = table("contact_attempt"), table("client")
    query = (
        select(calls.c.client_id, calls.c.at, calls.c.ring_on)
        .join(clients, clients.c.id == calls.c.client_id)
        .where(calls.c.struck_at.is_(None), clients.c.struck_at.is_(None))
        .order_by(calls.c.client_id, calls.c.at, calls.c.id)
    )
    rows = connection.execute(query).all()
    late = follow_up_kinds()["ring_back"].late_days
    for row, after in zip_longest(rows, rows[1:]):
        if row.ring_on is None or row.ring_on < since:
            continue
        rung = after is not None and after.client_id == row.client_id
        kept = _local(after.at, zone) if after is not None and rung else None
        yield Record("ring_back", (Stood(_local(row.at, zone), row.ring_on),), late, kept)


def calls_kept(connection: Connection, zone: ZoneInfo, since: date) -> Iterator[Record]:
    """Calls that were taken and asked for somebody to come, or to ring.

    Parameters
    ----------
    connection
        A reading of the book.
    zone
        Of the practice, in which a call belongs to its calendar day.
    since
        Calls before this day are left out.

    Yields
    ------
    Record
        One is kept by the first visit that answers it, or by being closed, whichever came first.
        A note that was closed as it was taken asked for nothing. One that was raised by hand stands
        for the day that was asked for then.
    """
    notes, clients = table("call_note"), table("client")
    begins = datetime.combine(since, datetime.min.time(), zone)
    query = (
        select(notes.c.id, notes.c.called_at, notes.c.urgency, notes.c.state, notes.c.answers)
        .join(clients, clients.c.id == notes.c.client_id)
        .where(
            notes.c.struck_at.is_(None), clients.c.struck_at.is_(None), notes.c.called_at >= begins
        )
    )  # fmt: skip
    rows = connection.execute(query).all()
    visited, closed = _visited(connection), _closed(connection, zone)
    kinds = follow_up_kinds()
    for row in rows:
        if row.state == "closed" and row.id not in closed:
            continue
        kind = kinds[KINDS[row.urgency]]
        called_on = _local(row.called_at, zone)
        ended = closed[row.id] if row.state == "closed" else None
        done = [day for day in (visited.get(row.id), ended) if day is not None]
        _due, last = call_days(row.urgency, called_on, raised_steps(row.answers))
        due = last - timedelta(days=kind.late_days)
        yield Record(
            kind.code, (Stood(called_on, due),), kind.late_days, min(done, default=None)
        )  # fmt: skip


def _visited(connection: Connection) -> dict[UUID, date]:
    """By call the first visit that took place for it, as the call or the visit names it."""
    purposes, visits, notes = table("visit_purpose"), table("visit"), table("call_note")
    took_place = and_(visits.c.state == "done", visits.c.struck_at.is_(None))
    named = (
        select(purposes.c.about, visits.c.on_day)
        .join(visits, visits.c.id == purposes.c.visit_id)
        .where(took_place, purposes.c.struck_at.is_(None), purposes.c.about.like("call:%"))
    )
    linked = select(notes.c.id, visits.c.on_day).join(
        visits, and_(visits.c.id == notes.c.visit_id, took_place)
    )
    found: dict[UUID, date] = {}
    for about, day in connection.execute(named):
        key = UUID(hex=about.removeprefix("call:"))
        found[key] = min(day, found.get(key, day))
    for key, day in connection.execute(linked):
        found[key] = min(day, found.get(key, day))
    return found


def _closed(connection: Connection, zone: ZoneInfo) -> dict[UUID, date]:
    """By call the day on which it was closed last, as the record of changes knows it."""
    change = table("change").c
    query = (
        select(change.row_id, change.at, change.after)
        .where(change.table_name == "call_note", change.what == "change")
        .order_by(change.rev)
    )
    return {
        key: _local(at, zone)
        for key, at, after in connection.execute(query)
        if after is not None and after.get("state") == "closed"
    }


def _local(at: datetime, zone: ZoneInfo) -> date:
    return at.astimezone(zone).date()
