"""One pond over a span of days: what every kind of record in its history is read by."""

from __future__ import annotations

from datetime import date, datetime, time, timedelta
from uuid import UUID

from store.book.book import Book
from store.book.people import staff
from store.book.ponds import PondCard, card
from store.text import day_said
from store.water.water_tests import WaterTest, list_tests

_MOST_TESTS = 20_000
_AT_ONCE = 1000


class Span:
    """The pond, the days, and the water tests of them, read once.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    first, last
        Both days included.
    now
        The present instant, with a time zone.
    notes
        Whether the practice's own notes are told.

    Raises
    ------
    NotFound
        No such pond.
    """

    def __init__(
        self, book: Book, pond: UUID, first: date, last: date, now: datetime, *, notes: bool
    ) -> None:
        self.book, self.pond, self.now, self.notes = book, pond, now, notes
        self.first, self.last, self.zone = first, last, book.zone
        self.here: PondCard = card(book, pond)
        self.people = {one.id: one.name for one in staff(book, struck=True)}
        self.begin = datetime.combine(first, time(), self.zone)
        self.end = datetime.combine(last + timedelta(days=1), time(), self.zone)
        self.water = self._tests()

    def _tests(self) -> tuple[WaterTest, ...]:
        """Of the span, old to new, however many there are."""
        found: list[WaterTest] = []
        before = self.end
        while len(found) < _MOST_TESTS:
            page = list_tests(self.book, self.pond, _AT_ONCE, before=before)
            within = [one for one in page if one.taken_at >= self.begin]
            found += within
            if len(within) < _AT_ONCE:
                break
            before = within[-1].taken_at
        return tuple(reversed(found))

    def within(self, day: date) -> bool:
        """Whether a day lies in the span."""
        return self.first <= day <= self.last

    def when(self, at: datetime) -> str:
        """Day and hour of an instant."""
        local = at.astimezone(self.zone)
        return f"{day_said(local.date())} {local:%H:%M}"

    def day(self, at: datetime) -> date:
        """The practice's day of an instant."""
        return at.astimezone(self.zone).date()
