"""A small practice with places, people and a day of visits, for the tests of diary and bookings."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.people import staff

MONDAY = date(2026, 3, 16)
WEDNESDAY = date(2026, 3, 18)


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
