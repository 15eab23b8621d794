"""The diary as a calendar file: for a vet, a site or the whole practice.

Whoever reads the file a second time gets what changed: an entry keeps its UID for good, its
sequence grows with every change, and one that was cancelled, or given to somebody else, stays in
the file for some weeks as cancelled.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, select

from store.book.book import Book
from store.book.clients import client, site
from store.book.people import person, staff
from store.book.practice import practice
from store.book.rows import columns_of, made_of
from store.book.tables import table
from store.diary.booking.values import Visiting
from store.diary.calendar.way_in import without_codes
from store.diary.calendar.write import Event, calendar_bytes
from store.diary.kept.files.calendar_lately import (
    CANCELLED_DAYS,
    Gone,
    Revisions,
    Whose,
    changed_lately,
    gone,
    revisions,
    sequence,
    went_away,
)
from store.diary.kept.roster.days_off import DayOff
from store.diary.kept.visits.diary import visits_between
from store.errors import BadInput
from store.text import day_said

DAYS_AHEAD = 120
"""How far ahead a calendar looks where nobody says [d]."""

_LONGEST_SPAN_DAYS = 3700
_GONE_MIN = 60
"""Stands for the length of a visit that nobody drives to any more [min]."""


@dataclass(frozen=True, slots=True)
class CalendarOut:
    """A calendar file, its name, and how many visits, removals and days off it holds."""

    data: bytes
    name: str
    visits: int
    removed: int
    days_off: int


def calendar_of(
    book: Book,
    now: datetime,
    *,
    staff_id: UUID | None = None,
    site_id: UUID | None = None,
    first: date | None = None,
    last: date | None = None,
    codes: bool = False,
    days_off: bool = True,
) -> bytes:
    """The calendar file alone, see `calendar_out`.

    Parameters
    ----------
    book, now, staff_id, site_id, first, last, codes, days_off
        As there.
    """
    return calendar_out(
        book, now, staff_id=staff_id, site_id=site_id, first=first, last=last, codes=codes,
        days_off=days_off,
    ).data  # fmt: skip


def calendar_out(
    book: Book,
    now: datetime,
    *,
    staff_id: UUID | None = None,
    site_id: UUID | None = None,
    first: date | None = None,
    last: date | None = None,
    codes: bool = False,
    days_off: bool = True,
) -> CalendarOut:
    """The visits of a person, at a site, or of all, as a calendar file.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant, with a time zone.
    staff_id
        Whose visits; None for everybody's.
    site_id
        At which site; None for all.
    first, last
        The days of the file, both included: from today for `DAYS_AHEAD` days where left out.
    codes
        Also what opens gates; left out, notes on the way in stand there without it.
    days_off
        Also the days off of the person, or of all where nobody is named; those that came out of a
        calendar file stand in that calendar and are left out.

    Returns
    -------
    CalendarOut
        Visits that are planned or done within the days. What within the last `CANCELLED_DAYS` days
        was cancelled, struck through or given to somebody else, or moved away from these days,
        stands there too.

    Raises
    ------
    BadInput
        The last day lies before the first, or more than ten years behind it.
    NotFound
        No such person or site.
    """
    today = book.today(now)
    first = first or today
    last = last or first + timedelta(days=DAYS_AHEAD)
    if not first <= last:
        raise BadInput(
            f"{day_said(last)} lies before {day_said(first)}; nothing was written.", field="last"
        )
    if (last - first).days > _LONGEST_SPAN_DAYS:
        raise BadInput("A calendar holds at most ten years; nothing was written.", field="last")
    whose = Whose(staff_id, site_id)
    name, mark = _named(book, whose)
    with book.reading() as connection:
        lately = changed_lately(connection, now)
        moved = went_away(lately, whose, first, last)
        removed = [_gone_event(one) for one in gone(connection, lately, whose)]
    furthest = max([last, *moved.values()])
    nearest = min([first, *moved.values()])
    found = [
        one
        for one in visits_between(
            book, nearest, furthest, staff_id=staff_id, site_id=site_id, states=("planned", "done")
        )
        if first <= one.on_day <= last or one.id in moved
    ]
    with book.reading() as connection:
        known = revisions(connection, [one.id for one in found])
        away = (
            _away_events(connection, book, whose, first, last, now)
            if days_off and site_id is None
            else ()
        )
    events = [
        *(_visit_event(one, known[one.id], whose, codes=codes) for one in found),
        *removed,
        *away,
    ]
    zone = book.zone
    return CalendarOut(
        calendar_bytes(name, mark, events, zone, now),
        name,
        len(found),
        len(removed) + sum(one.cancelled for one in away),
        sum(not one.cancelled for one in away),
    )


def _named(book: Book, whose: Whose) -> tuple[str, str]:
    """How the calendar is called, and the mark by which its file is known again."""
    parts, mark = [], "practice"
    if whose.staff_id is not None:
        parts.append(person(book, whose.staff_id).name)
        mark = f"vet {whose.staff_id.hex}"
    if whose.site_id is not None:
        place = site(book, whose.site_id)
        parts.append(f"{client(book, place.client_id).name}, {place.name}")
        mark = f"site {whose.site_id.hex}" if whose.staff_id is None else f"both {_short(whose)}"
    own = practice(book)
    return ": ".join([*parts, own.name if own is not None else "Pondround"][:2]), mark


def _gone_event(one: Gone) -> Event:
    row = one.row
    return Event(
        uid=str(row.id),
        sequence=one.sequence,
        title=f"{row.kind or 'visit'}: {row.client}",
        on_day=row.on_day,
        at_time=row.at_time,
        minutes=_GONE_MIN,
        made_at=one.revisions.made_at,
        changed_at=one.revisions.changed_at,
        cancelled=True,
    )


def _visit_event(one: Visiting, known: Revisions, whose: Whose, *, codes: bool) -> Event:
    where = one.client
    for name in (one.site if whose.site_id is None else "", one.pond):
        if name and name not in where:
            where = f"{where}, {name}"
    return Event(
        uid=str(one.id),
        sequence=sequence(known.changes),
        title=f"{one.kind or 'visit'}: {where}",
        on_day=one.on_day,
        at_time=one.at_time,
        minutes=one.minutes,
        made_at=known.made_at,
        changed_at=known.changed_at,
        place=_place(one),
        text="\n".join(_told(one, whose, codes=codes)),
        latitude=one.latitude,
        longitude=one.longitude,
        # Without an hour nothing of the day is taken yet.
        busy=one.at_time is not None,
    )


def _place(one: Visiting) -> str:
    address = ", ".join(part.strip(" ,") for part in one.address.splitlines() if part.strip(" ,"))
    if one.town and one.town not in address:
        return f"{address}, {one.town}" if address else one.town
    return address


def _told(one: Visiting, whose: Whose, *, codes: bool) -> Iterator[str]:
    """What stands below the title: why, whom to ring, how to get in."""
    for purpose in one.purposes:
        window = (
            f", any day from {day_said(purpose.first_on)} to {day_said(purpose.last_on)}"
            if purpose.first_on < purpose.last_on
            else ""
        )
        yield f"{purpose.says}: due {day_said(purpose.due_on)}{window}"
    if one.note:
        yield one.note
    if one.who and whose.staff_id is None:
        yield f"Goes: {one.who}"
    if one.phone:
        yield f"Telephone: {one.phone}"
    if one.agreed_with:
        yield f"Agreed with: {one.agreed_with}"
    if one.access_hours:
        yield f"Access: {one.access_hours}"
    if notes := one.access_notes if codes else without_codes(one.access_notes):
        yield f"Way in: {notes}"
    if one.state == "done":
        yield "It took place."


def _away_events(
    connection: Connection, book: Book, whose: Whose, first: date, last: date, now: datetime
) -> tuple[Event, ...]:
    """Days off that did not come out of a calendar; those struck through lately as cancelled."""
    columns = table("day_off").c
    query = (
        select(*columns_of(DayOff, "day_off"))
        .where(
            columns.uid == "",
            columns.last_day >= first,
            columns.first_day <= last,
            columns.struck_at.is_(None)
            | (columns.struck_at >= now - timedelta(days=CANCELLED_DAYS)),
        )
        .order_by(columns.first_day, columns.id)
    )
    if whose.staff_id is not None:
        query = query.where((columns.staff_id == whose.staff_id) | columns.staff_id.is_(None))
    names = {one.id: one.name for one in staff(book, struck=True)}
    zone = book.zone
    return tuple(
        _away(made_of(DayOff, row), names, zone) for row in connection.execute(query).all()
    )


def _away(one: DayOff, names: Mapping[UUID, str], zone: ZoneInfo) -> Event:
    who = "practice closed" if one.staff_id is None else f"{names.get(one.staff_id, '')} away"
    common: dict[str, Any] = {
        "uid": str(one.id),
        "on_day": one.first_day,
        "sequence": sequence(one.rev - 1),
        "title": f"{who}: {one.says}" if one.says else who,
        "made_at": one.created_at,
        "changed_at": one.changed_at,
        "cancelled": one.struck_at is not None,
    }
    if one.from_time is None and one.until_time is None:
        return Event(**common, last_day=one.last_day)
    return Event(**common, at_time=one.from_time or time(), minutes=one.span(zone).minutes)


def _short(whose: Whose) -> str:
    keys = (whose.staff_id, whose.site_id)
    return " ".join(key.hex[-12:] for key in keys if key is not None)
