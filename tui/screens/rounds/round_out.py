"""A round written to a file: to print, to read, for a map, a satellite receiver or a calendar."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any, Literal, cast
from uuid import UUID

from tui.screens.parts.to_file import FileForm
from tui.widgets.fields import Field

if TYPE_CHECKING:
    from store.book.book import Book
    from store.rounds.day.values import DayPlan
    from store.rounds.kept.sheets.round_file import RoundFile
    from tui.app import PondroundApp

Shape = Literal["text", "markdown", "pdf", "geojson", "gpx", "calendar"]
SHAPES = (
    ("pdf A4", "PDF, A4 paper"),
    ("pdf Letter", "PDF, Letter paper"),
    ("text", "text, to read"),
    ("markdown", "Markdown"),
    ("geojson", "GeoJSON, for a map"),
    ("gpx", "GPX, to drive by"),
    ("calendar", "calendar (.ics)"),
)
_PAPERS = ("pdf", "text", "markdown")
ON_PAPER = (
    "It carries names, addresses, telephone numbers and ways in of clients: it is for who drives."
)
FOR_PROGRAMS = (
    "It carries names and addresses of clients, and the program that opens it may pass them on: "
    "give it only to one that you trust."
)
EVERYBODY = "everybody"
_CELLS = 34


class RoundOutScreen(FileForm):
    """Whose round, in which shape, into which file.

    Parameters
    ----------
    plan
        The day.
    staff_id
        Whose round is proposed; None for all of the day.
    """

    WHAT = "the round"
    QUESTION = "In which shape does the round go into which file?"
    ABOUT = (
        "PDF, text and Markdown are the day's sheet: the order, and stop by stop all that is "
        "needed there, and behind it what goes into the van. GeoJSON and GPX hold the places in "
        "their order for a map or a satellite receiver; stops without coordinates stay out of "
        "them, and that is said. The calendar holds the stops with their hours. A file that is "
        "there already is written over only after you say so. Nothing is sent."
    )

    def __init__(self, plan: DayPlan, staff_id: UUID | None) -> None:
        driving = [one.driver for one in plan.rounds if one.stops]
        whose = EVERYBODY if staff_id is None else str(staff_id)
        people = tuple((str(one.staff_id), one.who) for one in driving)
        fields = [
            Field("shape", "as", "", SHAPES[0][0], choices=SHAPES, width=_CELLS),
            Field("file", "file", "empty: in this folder", width=_CELLS),
        ]
        if len(driving) > 1:
            everybody = ((EVERYBODY, "all of the day"), *people)
            field = Field("staff_id", "whose", "", whose, choices=everybody, width=_CELLS)
            fields.insert(0, field)
        day = plan.asked.wish.day.isoformat()
        super().__init__("The round to a file", tuple(fields), f"round-out-{day}")
        self._plan, self._staff_id = plan, staff_id

    def care(self, values: Mapping[str, str]) -> str:
        """For whom it is."""
        return _care(values["shape"])

    async def write(self, texts: dict[str, str]) -> str:
        """Make it and write it."""
        app = self.ponds_app
        whose = self._whose(texts)
        made = await app.ask_store(_made, app.book, self._plan, whose, texts, app.now())
        return await self.written(texts["file"], made.name, made.data, made.said)

    def _whose(self, texts: Mapping[str, str]) -> UUID | None:
        if "staff_id" not in texts:
            return self._staff_id
        whose = texts["staff_id"]
        return None if whose in ("", EVERYBODY) else UUID(whose)


def _care(shape: str) -> str:
    return ON_PAPER if not shape or shape.split(maxsplit=1)[0] in _PAPERS else FOR_PROGRAMS


def _made(
    book: Book, plan: DayPlan, staff_id: UUID | None, texts: Mapping[str, str], now: Any
) -> RoundFile:
    from store.rounds.kept.sheets.round_file import round_file

    shape, _, paper = (texts["shape"] or SHAPES[0][0]).partition(" ")
    page: Literal["A4", "Letter"] = "Letter" if paper == "Letter" else "A4"
    return round_file(book, plan, staff_id, cast("Shape", shape), now, page=page)


async def write_round(app: PondroundApp, plan: DayPlan, staff_id: UUID | None) -> None:
    """Ask in which shape and where a round goes, and write it.

    Within a worker of a screen or of the application.

    Parameters
    ----------
    app
        The application.
    plan
        The day.
    staff_id
        Whose round is proposed; None for all of the day.
    """
    if not any(one.stops for one in plan.rounds):
        app.notify("Nobody drives anywhere on this day: there is nothing to write.", markup=False)
        return
    await app.push_screen_wait(RoundOutScreen(plan, staff_id))
