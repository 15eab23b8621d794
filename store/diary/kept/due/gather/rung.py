"""Who was rung, how often in vain, and whom to ring back when."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from uuid import UUID

from store.book.book import Book
from store.diary.desk.about import About
from store.diary.desk.due import Attempt, Promised
from store.diary.kept.due.gather.whereabouts import Whereabouts
from store.diary.kept.promised.attempts import last_attempts, ring_backs
from store.exams.remembered import remembered
from store.facts.follow_ups import follow_up_kinds
from store.text import day_said

_RESTS_ON = ("contact_attempt", "client", "staff")
MOST_AHEAD_DAYS = 3660
"""How far ahead ring-backs are read: all that are open [d]."""


@dataclass(frozen=True, slots=True)
class Rung:
    """The calls to every client.

    `last` gives by client how many calls were in vain since the client was last reached, and the
    last call; `back` the open ring-back of a client, if any.
    """

    last: Mapping[UUID, tuple[int, Attempt]]
    back: Mapping[UUID, Attempt]

    def of(self, client_id: UUID) -> tuple[int, Attempt | None]:
        """Calls in vain since the client was last reached, and the last call [calls]."""
        return self.last.get(client_id, (0, None))


def rung(book: Book, today: date) -> Rung:
    """The calls to every client of the book.

    Parameters
    ----------
    book
        The practice's book.
    today
        The practice's calendar day.
    """

    def read() -> Rung:
        open_ones = ring_backs(book, today + timedelta(days=MOST_AHEAD_DAYS))
        return Rung(last_attempts(book), {one.client_id: one for one in open_ones})

    return remembered(book, "calls", _RESTS_ON, today, read)


def from_ring_backs(book: Book, where: Whereabouts, calls: Rung, until: date) -> Iterator[Promised]:
    """Clients who are to be rung back, each once.

    Parameters
    ----------
    book
        The practice's book.
    where
        The clients that are wanted.
    calls
        From `rung`.
    until
        The last day looked at.

    Yields
    ------
    Promised
        Its window is its day alone.
    """
    kind, zone = follow_up_kinds()["ring_back"], book.zone
    for key, one in calls.back.items():
        day = one.ring_on
        if key not in where.clients or day is None or day > until:
            continue
        place = where.ponds.get(one.pond_id) if one.pond_id is not None else None
        hour = f" at {one.ring_at:%H:%M}" if one.ring_at is not None else ""
        on = one.at.astimezone(zone).date()
        note = f" {one.note.rstrip('.')}." if one.note.strip() else ""
        yield Promised(
            about=str(About("ring", key)),
            kind="ring_back",
            client_id=key,
            site_id=None if place is None else place.site_id,
            pond_id=None if place is None else place.pond_id,
            says=f"ring back{hour}",
            because=f"Agreed by {one.by} on {day_said(on)} ({one.outcome}).{note}",
            origin="call",
            promised_by=one.by,
            promised_on=on,
            due_on=day,
            first_on=day - timedelta(days=kind.early_days),
            last_on=day + timedelta(days=kind.late_days),
            needs=kind.needs,
        )
