"""Withdrawals that somebody wrote down for a pond beside the courses of this book.

They come from a medicine book or a vet's word, with a last day or without one, and nothing is
reckoned of them: the day that was written holds.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.tables import table
from store.text import day_said

KIND = "not_for_eating"
"""The kind of event that says so."""


@dataclass(frozen=True, slots=True)
class Written:
    """From which day on fish are not for eating, and the last such day; None where none is said."""

    on_day: date
    until: date | None
    note: str

    @property
    def free_from(self) -> date | None:
        """The first day on which fish are free; None where no day can be given."""
        return None if self.until is None else self.until + timedelta(days=1)

    @property
    def said(self) -> str:
        """In one sentence."""
        end = "no last day is written" if self.until is None else f"until {day_said(self.until)}"
        what = f": {self.note.strip().rstrip('.')}" if self.note.strip() else ""
        return f"Written down as not for eating from {day_said(self.on_day)}, {end}{what}."

    def runs(self, day: date) -> bool:
        """Whether it holds on a day.

        Parameters
        ----------
        day
            The calendar day.
        """
        return self.on_day <= day and (self.until is None or day <= self.until)


def written_withdrawals(book: Book, pond: UUID | None = None) -> dict[UUID, tuple[Written, ...]]:
    """What was written down, the latest end first; struck entries left out.

    Parameters
    ----------
    book
        The practice's book.
    pond
        The one pond that is wanted; None for all.
    """
    events = table("pond_event").c
    query = (
        select(events.pond_id, events.on_day, events.until_day, events.note)
        .where(events.kind == KIND, events.struck_at.is_(None))
        .order_by(events.on_day, events.id)
    )
    if pond is not None:
        query = query.where(events.pond_id == pond)
    found: dict[UUID, list[Written]] = {}
    with book.reading() as connection:
        for key, on_day, until, note in connection.execute(query):
            found.setdefault(key, []).append(Written(on_day, until, note))
    return {
        key: tuple(sorted(those, key=lambda one: -(one.until or date.max).toordinal()))
        for key, those in found.items()
    }
