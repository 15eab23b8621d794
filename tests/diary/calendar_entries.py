"""Calendar files as the tests write them, and as a parser that is not ours reads them."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from ical.calendar import Calendar
from ical.calendar_stream import IcsCalendarStream

from store.book.act import Act
from store.book.book import Book
from store.diary.calendar.read import CalendarRead, read_absences
from store.diary.kept.visits.bookings import book_visit
from store.diary.kept.visits.wishes import wish_of

NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)
LONDON = ZoneInfo("Europe/London")
SINCE, UNTIL = date(2026, 1, 1), date(2026, 12, 31)
SERIES = """
UID:a
DTSTART;TZID=Europe/London:20260504T090000
DURATION:PT1H
RRULE:FREQ=WEEKLY;COUNT=4
"""


def parsed(data: bytes) -> Calendar:
    """The one calendar of a file, by the `ical` package."""
    (calendar,) = IcsCalendarStream.from_ics(data.decode("utf-8")).calendars
    return calendar


def ics(*events: str, head: str = "") -> bytes:
    """A calendar file of these events; each is the lines between BEGIN and END."""
    lines = ["BEGIN:VCALENDAR", "VERSION:2.0", "PRODID:-//Test//Test//EN", *head.split()]
    for one in events:
        body = [line.strip() for line in one.strip().splitlines()]
        lines += ["BEGIN:VEVENT", *body, "END:VEVENT"]
    return "\r\n".join([*lines, "END:VCALENDAR", ""]).encode()


def garden(book: Book, act: Act, client: str = "Alder House", **site: Any) -> tuple[UUID, UUID]:
    """A client with one site and one pond: keys of the site and the pond."""
    with book.writing(act) as writing:
        owner = writing.add("client", name=client, phone="01632 960 001")
        place = writing.add("site", client_id=owner, **({"name": "Garden"} | site))
        return place, writing.add("pond", site_id=place, name="Long pond")


def booked(
    book: Book, act: Act, pond: UUID, on_day: date, at: time | None, staff: UUID | None = None
) -> UUID:
    """A visit as the desk books it."""
    wish = wish_of(book, pond_id=pond, kind="examination")
    with book.writing(act) as writing:
        return book_visit(writing, wish, on_day, at, staff or act.by, in_spite="as agreed")


def read(data: bytes, zone: ZoneInfo = LONDON) -> CalendarRead:
    return read_absences(data, zone, SINCE, UNTIL)
