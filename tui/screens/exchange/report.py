"""A paper about one pond written to a file: for the owner, for whoever mixes, for a colleague."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any, ClassVar, Literal
from uuid import UUID

from textual import work
from textual.binding import Binding, BindingType

from store.errors import PondroundError
from tui.screens.parts.to_file import FileForm
from tui.widgets.fields import Field
from tui.widgets.literal import cut

if TYPE_CHECKING:
    from store.book.book import Book
    from store.courses.kept.course_values import Course
    from store.reports.kept.head import Head
    from store.reports.kept.report_file import ReportFile
    from store.reports.kept.visit import ReportDay
    from tui.app import PondroundApp

VISIT, HISTORY, COURSE, FEED = "visit", "history", "course", "feed"
PAPERS = ((VISIT, "visit report, for the owner"), (HISTORY, "history, for a referral"))
SHAPES = (
    ("pdf A4", "PDF, A4 paper"),
    ("pdf Letter", "PDF, Letter paper"),
    ("text", "text, for a mail"),
    ("markdown", "Markdown"),
)
PaperShape = Literal["pdf", "text", "markdown"]
Format = Literal["A4", "Letter"]
_KINDS: tuple[PaperShape, ...] = ("pdf", "text", "markdown")
CHARTS = (("3", "the last 3 months"), ("6", "the last 6 months"), ("12", "the last 12 months"),
          ("", "without charts"))  # fmt: skip
NOTES = (
    ("", "leave them out"), ("notes", "with our notes"), ("access", "with the way in"),
    ("notes,access", "with notes and way in"),
)  # fmt: skip
FOR_OWNERS = "What the practice noted for itself, and the way in, are left out."
WITH_NOTES = "It carries what the practice noted for itself: look at it before it is handed out."
FOR_COLLEAGUES = "It tells everything of the days from that day on, for a colleague."
FOR_TREATING = (
    "What is given and done day by day, as the vet planned it. Day, charts and notes play no part."
)
FOR_MIXING = "How the feed is mixed, and the label for the tub. Day, charts and notes play no part."
_CELLS = 34
_LONGEST = 29
"""Cells for the words of a choice."""


@dataclass(frozen=True, slots=True)
class Asked:
    """What a form of papers begins with.

    `days` are those on which something was done or found, newest first; today where there is none.
    `courses` are papers of courses that run or are planned, as choices.
    """

    name: str
    days: tuple[tuple[str, str], ...]
    head: Head
    courses: tuple[tuple[str, str], ...] = ()


class ReportScreen(FileForm):
    """Which paper, of which day, with what in it, into which file.

    Parameters
    ----------
    pond
        Key of the pond.
    asked
        What it begins with.
    """

    WHAT = "the paper"
    QUESTION = "What does the owner, or a colleague, get in the hand?"
    ABOUT = (
        "The visit report tells of one day: readings with their meaning, what was found and done, "
        "what to do and when to ring, what comes next, charts. The history tells everything from a "
        "day on in tables. Of a course that runs or is planned there is the owner's sheet, and of "
        "a medicated feed how it is mixed, with its label. A file that is there already is written "
        "over only after you say so. Nothing is sent. F4 changes the letterhead."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f4", "letterhead", "letterhead", key_display="F4", id="report.letterhead",
                tooltip="What stands at the head of the practice's papers"),
    ]  # fmt: skip

    def __init__(self, pond: UUID, asked: Asked) -> None:
        papers = (*PAPERS, *asked.courses)
        fields = (
            Field("paper", "paper", "", VISIT, choices=papers, width=_CELLS),
            Field(
                "day",
                "day",
                "history: from it on",
                asked.days[0][0],
                choices=asked.days,
                width=_CELLS,
            ),
            Field("charts", "charts", "", CHARTS[0][0], choices=CHARTS, width=_CELLS),
            Field("notes", "our notes", "", "", choices=NOTES, width=_CELLS),
            Field("shape", "as", "", SHAPES[0][0], choices=SHAPES, width=_CELLS),
            Field("file", "file", "empty: in this folder", width=_CELLS),
        )
        super().__init__(f"Paper: {asked.name}", fields, f"report-{pond}")
        self._pond, self._head = pond, asked.head

    def care(self, values: Mapping[str, str]) -> str:
        """What is in it that not everybody may read."""
        kind = values["paper"].partition(" ")[0]
        if kind in (COURSE, FEED):
            return FOR_MIXING if kind == FEED else FOR_TREATING
        if values["notes"]:
            return WITH_NOTES
        return FOR_COLLEAGUES if values["paper"] == HISTORY else FOR_OWNERS

    @work(group="entry-save", exclusive=True)
    async def action_letterhead(self) -> None:
        """What stands at the head of papers."""
        from store.reports.kept.head import head_of

        app = self.ponds_app
        from tui.screens.exchange.letterhead import LetterheadScreen

        if await self.app.push_screen_wait(LetterheadScreen(self._head)) is not None:
            self._head = await app.ask_store(head_of, app.book)

    async def write(self, texts: dict[str, str]) -> str:
        """Make it and write it."""
        app = self.ponds_app
        made = await app.ask_store(_made, app.book, self._pond, self._head, texts, app.now())
        return await self.written(texts["file"], made.name, made.data, made.said)


def paper_shape(typed: str) -> tuple[PaperShape, Format]:
    """The kind of file and the page that were chosen.

    Parameters
    ----------
    typed
        One of `SHAPES`; empty for the first.
    """
    shape, _, paper = (typed or SHAPES[0][0]).partition(" ")
    kind: PaperShape = next(one for one in _KINDS if one == shape)
    return kind, "Letter" if paper == "Letter" else "A4"


def _made(book: Book, pond: UUID, head: Head, texts: Mapping[str, str], now: Any) -> ReportFile:
    from store.reports.kept.reports import (
        course_named,
        course_report,
        history_report,
        visit_report,
    )
    from store.reports.visit_values import USUAL, Piece

    kind, page = paper_shape(texts["shape"])
    paper, _, key = texts["paper"].partition(" ")
    if paper in (COURSE, FEED):
        feed = paper == FEED
        found = course_named(book, pond, UUID(key), feed=feed)
        return course_report(book, found, now, head, kind, feed=feed, page=page)
    day = None
    with suppress(ValueError):
        day = date.fromisoformat(texts["day"])
    told = texts["notes"].split(",")
    if paper == HISTORY:
        return history_report(
            book, pond, now, head, kind, first=day, notes="notes" in told,
            charts=bool(texts["charts"]), page=page,
        )  # fmt: skip
    include: set[Piece] = set(USUAL)
    include |= {one for one in ("notes", "access") if one in told}
    if not texts["charts"]:
        include.discard("charts")
    return visit_report(
        book, pond, now, head, kind, day=day, include=include,
        months=int(texts["charts"] or 3), page=page,
    )  # fmt: skip


def _asked(book: Book, pond: UUID, now: Any) -> Asked:
    from store.book.ponds import card
    from store.courses.kept.records import courses_of
    from store.reports.kept.head import head_of
    from store.reports.kept.visit import report_days

    here = card(book, pond)
    name = ", ".join(dict.fromkeys(filter(None, (here.client.name, here.pond.name))))
    days = _choices(report_days(book, pond, now), book.today(now))
    return Asked(name, days, head_of(book), tuple(_course_papers(courses_of(book, pond))))


def _course_papers(courses: Sequence[Course]) -> Iterator[tuple[str, str]]:
    """The papers of courses that run or are planned; those that run come first."""
    from store.courses.kept.under_way import course_name
    from store.courses.planning.fed import is_fed

    open_ones = [one for one in courses if one.state in ("planned", "running")]
    for one in sorted(open_ones, key=lambda one: one.state != "running"):
        name = course_name(one.plan)
        planned = "" if one.state == "running" else " (planned)"
        if any(step.doses for step in one.plan.steps):
            yield f"{COURSE} {one.id}", cut(f"course sheet{planned}: {name}", _LONGEST)
        if any(is_fed(step) for step in one.plan.steps):
            yield f"{FEED} {one.id}", cut(f"mix sheet, label{planned}: {name}", _LONGEST)


def _choices(days: tuple[ReportDay, ...], today: date) -> tuple[tuple[str, str], ...]:
    from store.text import day_said

    found = tuple((one.day.isoformat(), f"{day_said(one.day)}: {one.what}") for one in days)
    return found or ((today.isoformat(), f"{day_said(today)}: nothing done yet"),)


async def write_report(app: PondroundApp, pond: UUID) -> None:
    """Ask which paper of a pond is wanted, and write it; without a letterhead that is asked first.

    Within a worker of a screen or of the application.

    Parameters
    ----------
    app
        The application.
    pond
        Key of the pond.
    """
    from tui.screens.exchange.letterhead import LetterheadScreen

    try:
        asked = await app.ask_store(_asked, app.book, pond, app.now())
        if not asked.head.kept:
            app.notify(
                "Papers need the practice's letterhead once, with the number to ring.",
                markup=False,
            )
            if await app.push_screen_wait(LetterheadScreen(asked.head)) is None:
                return
            asked = await app.ask_store(_asked, app.book, pond, app.now())
    except PondroundError as trouble:
        app.tell(trouble)
        return
    await app.push_screen_wait(ReportScreen(pond, asked))
