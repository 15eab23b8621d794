"""Visits as the diary shows them, out of the rows of the book."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import ColumnElement, Connection, select

from store.book.tables import table
from store.diary.booking.free import wall_end
from store.diary.booking.values import Purpose, Visiting
from store.diary.kept.roster.visit_lengths import length_of, visit_lengths

_CHUNK = 500
"""Keys that are asked for at once: SQLite and PostgreSQL bound the variables of a statement."""


def read_visits(
    connection: Connection, *conditions: ColumnElement[bool], struck: bool = False
) -> tuple[Visiting, ...]:
    """Visits with client, site, pond and what was agreed, by day and hour.

    Parameters
    ----------
    connection
        Reading, or within a writing.
    *conditions
        On the columns of `visit`, `site` and `client`.
    struck
        Those that are struck through as well.

    Returns
    -------
    tuple of Visiting
        Those without an hour last in their day. A visit without a booking has the usual length of
        its kind.
    """
    visits, sites, clients = table("visit").c, table("site").c, table("client").c
    ponds, people = table("pond").c, table("staff").c
    practices = table("practice").c
    practice = select(practices.time_zone).where(practices.struck_at.is_(None)).limit(1)
    query = (
        select(
            visits.id, visits.rev, visits.on_day, visits.at_time, visits.staff_id,
            people.name.label("who"), visits.kind, visits.state, visits.note,
            sites.client_id, visits.site_id, visits.pond_id, clients.name.label("client"),
            sites.name.label("site"), ponds.name.label("pond"), sites.town, sites.address,
            sites.postcode, sites.access_hours, sites.access_notes, clients.phone, clients.phone2,
            sites.latitude, sites.longitude, practice.scalar_subquery().label("zone"),
        )
        .select_from(table("visit"))
        .join(table("site"), sites.id == visits.site_id)
        .join(table("client"), clients.id == sites.client_id)
        .join(table("pond"), ponds.id == visits.pond_id, isouter=True)
        .join(table("staff"), people.id == visits.staff_id, isouter=True)
        .where(*conditions)
        .order_by(
            visits.on_day, visits.at_time.is_(None), visits.at_time, visits.created_at, visits.id
        )
    )  # fmt: skip
    if not struck:
        query = query.where(visits.struck_at.is_(None))
    rows = connection.execute(query).all()
    keys = [row.id for row in rows]
    agreed, purposes = _agreed(connection, keys), _purposes(connection, keys)
    lengths = visit_lengths(connection)
    return tuple(
        _visiting(
            row, agreed.get(row.id), purposes.get(row.id, ()), length_of(lengths, row.kind)[0]
        )
        for row in rows
    )


def _visiting(row: Any, agreed: Any, purposes: Iterable[Purpose], usual_min: int) -> Visiting:
    minutes, ends = usual_min if agreed is None else agreed.minutes, None
    if row.at_time is not None and row.zone is not None:
        ends = wall_end(row.on_day, row.at_time, minutes, ZoneInfo(row.zone))
    return Visiting(
        id=row.id,
        rev=row.rev,
        on_day=row.on_day,
        at_time=row.at_time,
        minutes=minutes,
        fixed=False if agreed is None else agreed.fixed,
        staff_id=row.staff_id,
        who=row.who or "",
        kind=row.kind,
        state=row.state,
        note=row.note,
        in_spite="" if agreed is None else agreed.in_spite,
        agreed_with="" if agreed is None else agreed.agreed_with,
        client_id=row.client_id,
        site_id=row.site_id,
        pond_id=row.pond_id,
        client=row.client,
        site=row.site,
        pond=row.pond or "",
        town=row.town,
        address=", ".join(part for part in (*row.address.splitlines(), row.postcode) if part),
        access_hours=row.access_hours,
        access_notes=row.access_notes,
        phone=row.phone or row.phone2,
        latitude=row.latitude,
        longitude=row.longitude,
        purposes=tuple(purposes),
        ends=ends,
    )


def _agreed(connection: Connection, keys: list[UUID]) -> dict[UUID, Any]:
    bookings = table("booking").c
    found: dict[UUID, Any] = {}
    for some in _chunks(keys):
        query = (
            select(
                bookings.visit_id, bookings.minutes, bookings.fixed, bookings.in_spite,
                bookings.agreed_with,
            )
            .where(bookings.visit_id.in_(some), bookings.struck_at.is_(None))
            .order_by(bookings.created_at, bookings.id)
        )  # fmt: skip
        found |= {row.visit_id: row for row in connection.execute(query)}
    return found


def _purposes(connection: Connection, keys: list[UUID]) -> dict[UUID, list[Purpose]]:
    kept = table("visit_purpose").c
    found: dict[UUID, list[Purpose]] = defaultdict(list)
    for some in _chunks(keys):
        query = (
            select(
                kept.visit_id, kept.about, kept.kind, kept.says, kept.pond_id, kept.due_on,
                kept.first_on, kept.last_on,
            )
            .where(kept.visit_id.in_(some), kept.struck_at.is_(None))
            .order_by(kept.last_on, kept.created_at, kept.id)
        )  # fmt: skip
        for visit_id, *values in connection.execute(query):
            found[visit_id].append(Purpose(*values))
    return found


def _chunks(keys: list[UUID]) -> Iterable[list[UUID]]:
    return (keys[at : at + _CHUNK] for at in range(0, len(keys), _CHUNK))
