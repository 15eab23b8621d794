"""What the tests of standings ask, and what they let happen at ponds."""

from __future__ import annotations

from datetime import datetime
from typing import Any
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.events import record_event
from store.courses.kept.morning import morning_list
from store.exams.deaths import NewDeaths, record_deaths
from store.rounds.kept.standing.standing import site_standings
from store.rounds.kept.standing.standing_values import (
    SiteStanding,
)
from tests.book.entries import NOW
from tests.rounds.standing_ponds import DAY, TODAY


def standing(book: Book, site: UUID, now: datetime = NOW) -> SiteStanding:
    """The same with and without the morning list at hand."""
    found = site_standings(book, now)
    assert site_standings(book, now, morning_list(book, now)) == found
    return found[site]


def event(book: Book, act: Act, pond: UUID, kind: str, days: int, **values: Any) -> None:
    """Something that happened at a pond so many days ago."""
    with book.writing(act) as writing:
        record_event(writing, pond, kind, TODAY - days * DAY, **values)


def died(book: Book, act: Act, pond: UUID, days: int, dead: int) -> None:
    """So many fish that died so many days ago."""
    with book.writing(act) as writing:
        assert record_deaths(writing, pond, NewDeaths(TODAY - days * DAY, dead), sure=True).key
