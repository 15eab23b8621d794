"""What is due at one pond: what was promised for it by hand, and what stands of it on the desk."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime, timedelta
from uuid import UUID

from store.book.book import Book
from store.diary.desk.about import about_of
from store.diary.desk.due import DueLine, Promised
from store.diary.desk.weigh import desk_order
from store.diary.kept.calls.call_notes import calls_due
from store.diary.kept.due.desk import CLIENT_AHEAD_DAYS, MOST_AHEAD_DAYS, due_lines
from store.diary.kept.due.gather.courses import from_courses
from store.diary.kept.due.gather.exams import from_findings, from_laboratory
from store.diary.kept.due.gather.tests import from_test_plans
from store.diary.kept.due.gather.whereabouts import Whereabouts, whereabouts
from store.diary.kept.promised.open_days import open_days


def due_of_pond(
    book: Book, pond_id: UUID, now: datetime, *, ahead_days: int = CLIENT_AHEAD_DAYS
) -> tuple[DueLine, ...]:
    """What is due at one pond, worst first, each promise once.

    Parameters
    ----------
    book
        The practice's book.
    pond_id
        Key of the pond.
    now
        The present instant, with a time zone.
    ahead_days
        How far ahead it is looked [d]; what was promised by hand is looked for over a year.

    Returns
    -------
    tuple of DueLine
        Of what repeats the oldest open day alone. Without what alert rules say, which a pond tells
        by itself, and without what the client was promised for no pond. Empty for a pond that is
        struck through or not in the book.
    """
    everywhere = whereabouts(book)
    place = everywhere.ponds.get(pond_id)
    if place is None:
        return ()
    here = Whereabouts({pond_id: place}, {}, {}, everywhere.names, place.client_id)
    today = book.today(now)
    near, last = today + timedelta(days=ahead_days), today + timedelta(days=MOST_AHEAD_DAYS)
    reckoned = due_lines(book, now, _reckoned(book, here, today, near), here, near)
    promised = due_lines(book, now, _by_hand(book, pond_id, today, last), here, last)
    return tuple(sorted((*reckoned, *promised), key=desk_order))


def _reckoned(book: Book, here: Whereabouts, today: date, until: date) -> Iterator[Promised]:
    yield from calls_due(book, today)
    yield from from_courses(book, here, today, until)
    yield from from_findings(book, here, today, until)
    yield from from_laboratory(book, here, today, until)
    yield from from_test_plans(book, here, today, until)


def _by_hand(book: Book, pond_id: UUID, today: date, until: date) -> Iterator[Promised]:
    """The oldest open day of each follow-up."""
    seen = set()
    for one in open_days(book, today, until, pond_id=pond_id):
        key = about_of(one.about).key
        if key not in seen:
            seen.add(key)
            yield one
