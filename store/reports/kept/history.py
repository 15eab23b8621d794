"""The facts of a pond's history, gathered from the book."""

from __future__ import annotations

from datetime import date, datetime
from uuid import UUID

from store.book.book import Book
from store.errors import BadInput
from store.reports.history_paper import HistoryFacts
from store.reports.kept.head import Head
from store.reports.kept.history_courses import courses
from store.reports.kept.history_fish import deaths, examinations, fish_by_fish, samples
from store.reports.kept.history_pond import about, concerns, happened, visits, volumes
from store.reports.kept.history_span import Span
from store.reports.kept.history_water import water_charts, water_notes, water_tests

DAYS = 365
MOST_DAYS = 3660


def history_facts(
    book: Book,
    pond: UUID,
    first: date,
    last: date,
    now: datetime,
    head: Head,
    *,
    notes: bool = False,
    charts: bool = True,
) -> HistoryFacts:
    """What stands in the book of a pond over a span of days.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond; one that is struck through has a history too.
    first, last
        The span, both days included.
    now
        The present instant, with a time zone.
    head
        What stands at the head.
    notes
        Whether the practice's own notes are told.
    charts
        Whether charts are drawn.

    Raises
    ------
    NotFound
        No such pond.
    BadInput
        A span that ends before it begins, lies ahead or is longer than ten years, or no number to
        ring.
    """
    today = book.today(now)
    if last < first:
        raise BadInput("The last day lies before the first. Nothing was written.", field="last")
    if first > today:
        raise BadInput("The first day lies ahead. Nothing was written.", field="first")
    if (last - first).days > MOST_DAYS:
        raise BadInput(f"A history spans {MOST_DAYS} days at most.", field="first")
    last = min(last, today)
    span = Span(book, pond, first, last, now, notes=notes)
    return HistoryFacts(
        letterhead=head.to(span.here.client.name, span.here.pond.name),
        foot=head.foot_lines,
        first=first,
        last=last,
        written_on=today,
        about=tuple(about(span)),
        tables=(
            concerns(span),
            water_tests(span),
            *water_notes(span),
            examinations(span),
            fish_by_fish(span),
            *courses(span),
            deaths(span),
            happened(span),
            samples(span),
            volumes(span),
            visits(span),
        ),
        charts=water_charts(span) if charts else (),
    )
