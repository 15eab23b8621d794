"""A small practice with places, people and a day of visits, for the tests of diary and bookings."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import Any
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.people import staff
from store.diary.booking.values import Purpose, Wish
from store.diary.desk.about import About
from store.diary.kept.visits.bookings import book_visit

MONDAY = date(2026, 3, 16)
WEDNESDAY = date(2026, 3, 18)
TEN = time(10)


@dataclass(frozen=True, slots=True)
class Garden:
    client: UUID
    site: UUID
    pond: UUID


def garden(book: Book, act: Act, name: str, **site: Any) -> Garden:
    """A client with one site and one pond."""
    with book.writing(act) as writing:
        client = writing.add("client", name=name, phone="0300 555 0101")
        where = writing.add("site", client_id=client, **({"name": "Garden"} | site))
        return Garden(client, where, writing.add("pond", site_id=where, name="Lower pond"))


def person(book: Book, act: Act, name: str, role: str = "vet") -> UUID:
    """Somebody more, entered after everybody else."""
    later = Act(act.by, act.at + timedelta(minutes=len(staff(book, struck=True))))
    with book.writing(later) as writing:
        return writing.add("staff", name=name, role=role)


def booked(
    book: Book, act: Act, wish: Wish, day: date = WEDNESDAY, at: Any = TEN, **more: Any
) -> UUID:
    who = more.pop("who", act.by)
    with book.writing(act) as writing:
        return book_visit(writing, wish, day, at, who, **more)


def dose_of(at: Garden, **values: Any) -> Purpose:
    given = {
        "about": str(About("dose", UUID(int=5))), "kind": "dose", "says": "dose 2 of 3",
        "pond_id": at.pond, "due_on": WEDNESDAY, "first_on": WEDNESDAY,
        "last_on": WEDNESDAY + timedelta(days=1),
    }  # fmt: skip
    return Purpose(**(given | values))


def fields_of(visit: Any) -> dict[str, Any]:
    return {name: getattr(visit, name) for name in visit.__dataclass_fields__}
