"""Every paper of the practice by one door: what is asked for, and the file that comes of it."""

from __future__ import annotations

from collections.abc import Set
from datetime import date, datetime, timedelta
from uuid import UUID

from store.book.book import Book
from store.book.people import person
from store.book.ponds import card
from store.courses.kept.morning import morning_list
from store.courses.kept.records import Course, course, courses_of
from store.courses.papers.mix_sheet import feed_mix, mix_paper
from store.courses.papers.owner_sheet import owner_sheet
from store.courses.planning.fed import is_fed
from store.errors import BadInput, NotFound
from store.paper.paper import Paper, one_line
from store.paper.pdf import Format
from store.reports.history_paper import history_paper
from store.reports.kept.as_given import plan_as_given
from store.reports.kept.head import Head
from store.reports.kept.history import DAYS, history_facts
from store.reports.kept.report_file import PaperShape, ReportFile, report_file
from store.reports.kept.visit import MONTHS, report_days, visit_facts
from store.reports.morning_paper import morning_paper
from store.reports.visit_paper import visit_paper
from store.reports.visit_values import USUAL, Piece


def visit_report(
    book: Book,
    pond: UUID,
    now: datetime,
    head: Head,
    shape: PaperShape,
    *,
    day: date | None = None,
    include: Set[Piece] = USUAL,
    months: int = MONTHS,
    page: Format = "A4",
) -> ReportFile:
    """The report of a visit for the owner, as a file.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    now
        The present instant, with a time zone.
    head
        What stands at its head.
    shape
        The kind of file.
    day
        The day that it is about; None for the newest on which something was done or found.
    include
        Which pieces it tells.
    months
        How far back its charts reach [months].
    page
        Size of the page of a PDF.

    Raises
    ------
    NotFound
        No such pond, or it is struck through.
    BadInput
        A day ahead, an unknown shape, no number to ring.
    PondroundError
        The typeface for print is not installed.
    """
    if day is None:
        known = report_days(book, pond, now)
        day = known[0].day if known else book.today(now)
    facts = visit_facts(book, pond, day, now, head, months=months)
    paper = visit_paper(facts, include)
    return report_file(paper, shape, "visit", _of(book, pond), day, page=page)


def history_report(
    book: Book,
    pond: UUID,
    now: datetime,
    head: Head,
    shape: PaperShape,
    *,
    first: date | None = None,
    last: date | None = None,
    notes: bool = False,
    charts: bool = True,
    page: Format = "A4",
) -> ReportFile:
    """A pond's history for a referral, as a file.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    now
        The present instant, with a time zone.
    head
        What stands at its head.
    shape
        The kind of file.
    first, last
        The span of days; the last year where they are left out.
    notes
        Whether the practice's own notes are told.
    charts
        Whether charts are drawn.
    page
        Size of the page of a PDF.

    Raises
    ------
    NotFound
        No such pond.
    BadInput
        A span that cannot be, an unknown shape, no number to ring.
    PondroundError
        The typeface for print is not installed.
    """
    last = last or book.today(now)
    first = first or last - timedelta(days=DAYS)
    facts = history_facts(book, pond, first, last, now, head, notes=notes, charts=charts)
    return report_file(
        history_paper(facts), shape, "history", _of(book, pond), facts.last, page=page
    )


def morning_report(
    book: Book, now: datetime, shape: PaperShape, *, calm: bool = False, page: Format = "A4"
) -> ReportFile:
    """The morning list for the wall, as a file.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant, with a time zone.
    shape
        The kind of file.
    calm
        Whether calm ponds stand on it too.
    page
        Size of the page of a PDF.

    Raises
    ------
    BadInput
        An unknown shape.
    PondroundError
        The typeface for print is not installed.
    """
    today = book.today(now)
    paper = morning_paper(morning_list(book, now), today, calm=calm)
    return report_file(paper, shape, "morning", "", today, page=page)


def course_report(
    book: Book,
    found: Course,
    now: datetime,
    head: Head,
    shape: PaperShape,
    *,
    feed: bool = False,
    page: Format = "A4",
) -> ReportFile:
    """The owner's sheet of a course, or the mix sheet of its feed with the label, as a file.

    Parameters
    ----------
    book
        The practice's book.
    found
        The course, from `course_named`.
    now
        The present instant, with a time zone.
    head
        What stands at its head.
    shape
        The kind of file.
    feed
        True for the mix sheet.
    page
        Size of the page of a PDF.

    Raises
    ------
    BadInput
        Nothing of the course is given with the feed, an unknown shape, no number to ring.
    PondroundError
        The typeface for print is not installed.
    """
    here, today = card(book, found.pond_id), book.today(now)
    vet = person(book, found.prescribed_by).name
    letterhead = head.to(here.client.name, here.pond.name, vet)
    paper: Paper
    if feed:
        names = dict.fromkeys((here.client.name, here.pond.name or here.client.name))
        mix = feed_mix(found.plan, today, ", ".join(names))
        paper = mix_paper(mix, letterhead, today, use=found.plan.water.use)
    else:
        paper = owner_sheet(plan_as_given(found), letterhead, today, begun=found.state != "planned")
    kind = "feed" if feed else "course"
    return report_file(paper, shape, kind, _of(book, found.pond_id), today, page=page)


def course_named(book: Book, pond: UUID | None, key: UUID | None, *, feed: bool = False) -> Course:
    """The course that is meant: by its key, or the one that runs or is planned at a pond.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond, where no course is named.
    key
        Key of the course.
    feed
        Only a course of which something is given with the feed.

    Raises
    ------
    NotFound
        No such course, none that runs or is planned at the pond, or several.
    """
    if key is not None:
        return course(book, key)
    if pond is None:
        raise BadInput("Please name the pond or the course.", field="pond")
    open_ones = [
        one
        for one in courses_of(book, pond)
        if one.state in ("planned", "running")
        and (not feed or any(is_fed(step) for step in one.plan.steps))
    ]
    what = "course with medicated feed" if feed else "course"
    if not open_ones:
        raise NotFound(f"No {what} runs or is planned at this pond.")
    running = [one for one in open_ones if one.state == "running"]
    chosen = running or open_ones
    if len(chosen) > 1:
        keys = "; ".join(f"{one.plan.reason} ({one.id})" for one in chosen)
        raise NotFound(f"Several courses fit: {keys}. Please name one by its key.")
    return chosen[0]


def _of(book: Book, pond: UUID) -> str:
    here = card(book, pond)
    return one_line(" ".join(dict.fromkeys((here.client.name, here.pond.name))))
