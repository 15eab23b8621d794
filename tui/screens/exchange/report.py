"""A paper about one pond written to a file: the visit report, or its history for a referral."""

from __future__ import annotations

from collections.abc import Mapping
from contextlib import suppress
from datetime import date
from typing import TYPE_CHECKING, Any, ClassVar, Literal
from uuid import UUID

from textual import work
from textual.binding import Binding, BindingType

from tui.screens.parts.to_file import FileForm
from tui.widgets.fields import Field

if TYPE_CHECKING:
    from store.book.book import Book
    from store.reports.kept.head import Head
    from store.reports.kept.report_file import ReportFile
    from store.reports.kept.visit import ReportDay
    from tui.app import PondroundApp

VISIT, HISTORY = "visit", "history"
PAPERS = ((VISIT, "visit report, for the owner"), (HISTORY, "history, for a referral"))
SHAPES = (
    ("pdf A4", "PDF, A4 paper"),
    ("pdf Letter", "PDF, Letter paper"),
    ("text", "text, for a mail"),
    ("markdown", "Markdown"),
)
CHARTS = (("3", "the last 3 months"), ("6", "the last 6 months"), ("12", "the last 12 months"),
          ("", "without charts"))  # fmt: skip
NOTES = (
    ("", "leave them out"), ("notes", "with our notes"), ("access", "with the way in"),
    ("notes,access", "with notes and way in"),
)  # fmt: skip
FOR_OWNERS = "What the practice noted for itself, and the way in, are left out."
WITH_NOTES = "It carries what the practice noted for itself: look at it before it is handed out."
FOR_COLLEAGUES = "It tells everything of the days from that day on, for a colleague."
_CELLS = 34


class ReportScreen(FileForm):
    """Which paper, of which day, with what in it, into which file.

    Parameters
    ----------
    pond
        Key of the pond.
    name
        What it is called.
    days
        Those on which something was done or found, newest first; today where there is none.
    head
        What stands at the head of papers.
    """

    WHAT = "the paper"
    QUESTION = "What does the owner, or a colleague, get in the hand?"
    ABOUT = (
        "The visit report tells of one day: readings with their meaning, what was found and done, "
        "what to do and when to ring, what comes next, charts. The history tells everything from a "
        "day on in tables. A file that is there already is written over only after you say so. "
        "Nothing is sent. F4 changes the letterhead."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("f4", "letterhead", "letterhead", key_display="F4", id="report.letterhead",
                tooltip="What stands at the head of the practice's papers"),
    ]  # fmt: skip

    def __init__(
        self, pond: UUID, name: str, days: tuple[tuple[str, str], ...], head: Head
    ) -> None:
        fields = (
            Field("paper", "paper", "", VISIT, choices=PAPERS, width=_CELLS),
            Field("day", "day", "or: from", days[0][0], choices=days, width=_CELLS),
            Field("charts", "charts", "", CHARTS[0][0], choices=CHARTS, width=_CELLS),
            Field("notes", "our notes", "", "", choices=NOTES, width=_CELLS),
            Field("shape", "as", "", SHAPES[0][0], choices=SHAPES, width=_CELLS),
            Field("file", "file", "empty: in this folder", width=_CELLS),
        )
        super().__init__(f"Paper: {name}", fields, f"report-{pond}")
        self._pond, self._head = pond, head

    def care(self, values: Mapping[str, str]) -> str:
        """What is in it that not everybody may read."""
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

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Make it and write it; the book is only read."""
        app = self.ponds_app
        made = await app.ask_store(_made, app.book, self._pond, self._head, texts, act.at)
        return await self.written(texts["file"], made.name, made.data, made.said)


def _made(book: Book, pond: UUID, head: Head, texts: Mapping[str, str], now: Any) -> ReportFile:
    from store.reports.kept.reports import history_report, visit_report
    from store.reports.visit_values import USUAL, Piece

    shape, _, paper = (texts["shape"] or SHAPES[0][0]).partition(" ")
    page: Literal["A4", "Letter"] = "Letter" if paper == "Letter" else "A4"
    kind = next(one for one in ("pdf", "text", "markdown") if one == shape)
    day = None
    with suppress(ValueError):
        day = date.fromisoformat(texts["day"])
    told = texts["notes"].split(",")
    if texts["paper"] == HISTORY:
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


def _asked(book: Book, pond: UUID, now: Any) -> tuple[Head, str, tuple[ReportDay, ...], date]:
    from store.book.ponds import card
    from store.reports.kept.head import head_of
    from store.reports.kept.visit import report_days

    here = card(book, pond)
    name = ", ".join(dict.fromkeys(filter(None, (here.client.name, here.pond.name))))
    return head_of(book), name, report_days(book, pond, now), book.today(now)


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

    head, name, days, today = await app.ask_store(_asked, app.book, pond, app.now())
    if not head.kept:
        app.notify(
            "Papers need the practice's letterhead once, with the number to ring.", markup=False
        )
        if await app.push_screen_wait(LetterheadScreen(head)) is None:
            return
        head, name, days, today = await app.ask_store(_asked, app.book, pond, app.now())
    await app.push_screen_wait(ReportScreen(pond, name, _choices(days, today), head))
