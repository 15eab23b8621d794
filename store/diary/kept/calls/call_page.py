"""A call as its page shows it: what was told and advised, how urgent, what the van carries."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import select

from store.book.book import Book
from store.book.clients import client, site
from store.book.people import person
from store.book.ponds import pond
from store.book.tables import table
from store.diary.calling.sheet import Told, readings_line
from store.diary.calling.triage import Triage
from store.diary.calling.van import Carried, van_list
from store.diary.desk.about import About
from store.diary.desk.due import Promised
from store.diary.kept.calls.call_notes import CallNote, call_note, calls_due, told_in
from store.text import day_said


@dataclass(frozen=True, slots=True)
class CallPage:
    """A call with everything that is shown of it.

    `told` and `found` are understood anew by the facts of today; `note.urgency` is what was kept.
    `readings` is the line of a water test, empty where none was told. `promised` is its line on the
    desk, None once it is done or closed. `visits` are the visits booked for it, in words.
    """

    note: CallNote
    client: str
    site: str
    pond: str
    taken_by: str
    told: Told
    found: Triage
    carried: tuple[Carried, ...]
    readings: str
    promised: Promised | None
    visits: tuple[str, ...]
    zone: ZoneInfo
    today: date

    @property
    def where(self) -> str:
        """Client and pond, as far as they are known."""
        return ", ".join(part for part in (self.client, self.pond) if part) or self.note.caller


def call_page(book: Book, key: UUID, now: datetime) -> CallPage:
    """A call with what the van carries, and what became of it.

    Parameters
    ----------
    book
        The book.
    key
        Of the call.
    now
        The present instant, with a time zone.

    Raises
    ------
    NotFound
        There is no such call.
    """
    note = call_note(book, key)
    one, found = told_in(note, book.zone)
    about = str(About("call", key))
    today = book.today(now)
    promised = next((each for each in calls_due(book, today) if each.about == about), None)
    return CallPage(
        note=note,
        client="" if note.client_id is None else client(book, note.client_id).name,
        site="" if note.site_id is None else site(book, note.site_id).name,
        pond="" if note.pond_id is None else pond(book, note.pond_id).name,
        taken_by=person(book, note.created_by).name,
        told=one,
        found=found,
        carried=() if note.short else van_list(one, found),
        readings="" if note.short else readings_line(one),
        promised=promised,
        visits=_visits(book, about),
        zone=book.zone,
        today=today,
    )


def _visits(book: Book, about: str) -> tuple[str, ...]:
    purposes, visits = table("visit_purpose"), table("visit")
    query = (
        select(visits.c.on_day, visits.c.at_time, visits.c.state)
        .join(purposes, purposes.c.visit_id == visits.c.id)
        .where(
            purposes.c.about == about, purposes.c.struck_at.is_(None), visits.c.struck_at.is_(None)
        )
        .order_by(visits.c.on_day, visits.c.id)
    )
    with book.reading() as connection:
        rows = connection.execute(query).all()
    return tuple(
        f"visit {row.state} for {day_said(row.on_day)}"
        + (f" at {row.at_time:%H:%M}" if row.at_time is not None else "")
        for row in rows
    )
