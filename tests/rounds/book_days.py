"""What the tests of days out of the book enter and ask."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from typing import Any
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.diary.booking.values import Wish
from store.diary.kept.roster.staff_hours import set_hours
from store.rounds.day.values import DayAsked, DayWish
from store.rounds.kept.days.day import day_asked
from tests.book.entries import NOW
from tests.diary.practice_round import WEDNESDAY, Garden, booked, garden

FIRST = date(2026, 3, 1)
YARD: dict[str, Any] = {
    "start_latitude": 52.0, "start_longitude": 0.1, "start_place": "the yard",
}  # fmt: skip
DAY = timedelta(days=1)


def hours(book: Book, act: Act, text: str, who: UUID | None = None, **more: Any) -> None:
    """Working hours of a person, from the yard."""
    with book.writing(act) as writing:
        set_hours(writing, who or act.by, text, FIRST, **(YARD | more))


def place(
    book: Book, act: Act, name: str = "Brook House", north: float = 0.1, **more: Any
) -> Garden:
    """A client with a site and a pond, so far north of the yard."""
    return garden(book, act, name, latitude=52.0 + north, longitude=0.1, **more)


def visit(book: Book, act: Act, at: Garden, hour: time | None = None, **more: Any) -> UUID:
    """A booked visit of an hour."""
    kind = more.pop("kind", "examination")
    return booked(book, act, Wish(at.site, at.pond, kind, 60), at=hour, **more)


def asked(book: Book, day: date = WEDNESDAY, now: datetime = NOW, **wish: Any) -> DayAsked:
    """The day as it is asked for."""
    return day_asked(book, DayWish(day, **wish), now)


def says(found: DayAsked, part: str) -> bool:
    """Whether something is told of it."""
    told = [*found.remarks, *(said for one in found.drivers for said in one.remarks)]
    return any(part in one for one in told)
