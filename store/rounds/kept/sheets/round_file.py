"""The rounds of a day as a file: the sheet to read or print, the stops for a map or a calendar."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime
from typing import Literal
from uuid import UUID

from store.book.book import Book
from store.book.find import folded
from store.book.letterhead import practice_head
from store.errors import BadInput
from store.paper.paper import Part, as_markdown, as_text
from store.paper.pdf import Format, as_pdf
from store.rounds.day.sheet import DaySheet, has_place
from store.rounds.day.values import DayPlan
from store.rounds.kept.kits.kit import kit_list
from store.rounds.kept.sheets.sheet import day_sheets
from store.rounds.papers.geojson import geojson_bytes
from store.rounds.papers.gpx import gpx_bytes
from store.rounds.papers.kit_paper import kit_part
from store.rounds.papers.round_calendar import round_calendar
from store.rounds.papers.sheet_paper import FromPractice, day_paper, places_said

FileShape = Literal["text", "markdown", "pdf", "geojson", "gpx", "calendar"]
ENDINGS: dict[FileShape, str] = {
    "text": "txt", "markdown": "md", "pdf": "pdf", "geojson": "geojson", "gpx": "gpx",
    "calendar": "ics",
}  # fmt: skip
_MAPS = ("geojson", "gpx")
_SHARED = (*_MAPS, "calendar")
"""What others may see too: no gate code stands in it."""
_LONGEST_NAME = 40


@dataclass(frozen=True, slots=True)
class RoundFile:
    """A file with its name, and what a person should know of it in a sentence or two."""

    name: str
    data: bytes
    said: str


def round_file(
    book: Book,
    plan: DayPlan,
    staff_id: UUID | None,
    shape: FileShape,
    now: datetime,
    *,
    page: Format = "A4",
) -> RoundFile:
    """The rounds of a day in one shape.

    Parameters
    ----------
    book
        The practice's book.
    plan
        The day.
    staff_id
        Whose round; None for all of them.
    shape
        The kind of file.
    now
        The present instant, with a time zone.
    page
        Size of the page of a PDF.

    Returns
    -------
    RoundFile
        Behind the stops of a text, Markdown or PDF stands the kit list.

    Raises
    ------
    BadInput
        Nobody has a stop that day, a map is asked for and no stop has coordinates, or there is no
        such shape. Nothing was written.
    NotFound
        The person is not on the road that day, or a site is not in the book any more.
    PondroundError
        The typeface for print is not installed.
    """
    if shape not in ENDINGS:
        known = ", ".join(ENDINGS)
        raise BadInput(f"A round is written as {known}. Nothing was written.", field="shape")
    sheets = day_sheets(book, plan, now, None if staff_id is None else [staff_id])
    if not any(one.stops for one in sheets):
        raise BadInput("Nobody has a stop on this round. Nothing was written.", field="round")
    lost = places_said(sheets)
    if shape in _MAPS and not any(has_place(one) for sheet in sheets for one in sheet.stops):
        raise BadInput(f"{lost} Nothing was written.", field="shape")
    kit = () if shape in _SHARED else kit_part(kit_list(book, plan, staff_id, now))
    data, more = _written(book, sheets, shape, now, page, kit)
    who = sheets[0].who if staff_id is not None else ""
    said = [_holds(sheets, shape, lost), *more]
    return RoundFile(file_name(who, plan.asked.wish.day, shape), data, " ".join(filter(None, said)))


def _letterhead(book: Book) -> FromPractice:
    found = practice_head(book)
    if found is None:
        return FromPractice()
    return FromPractice(found.telephone, found.address, found.email)


def _written(
    book: Book,
    sheets: Sequence[DaySheet],
    shape: FileShape,
    now: datetime,
    page: Format,
    kit: Sequence[Part],
) -> tuple[bytes, list[str]]:
    if shape == "geojson":
        return geojson_bytes(sheets), ["Lines are straight between the stops, not the road."]
    if shape == "gpx":
        return gpx_bytes(sheets, now), []
    if shape == "calendar":
        return round_calendar(sheets, now), [
            "A file that is made later moves its entries; a stop that fell out since stays in a "
            "calendar until it is taken out there."
        ]
    paper = day_paper(sheets, kit, _letterhead(book))
    if shape == "pdf":
        made = as_pdf(paper, page=page)
        pages = "1 page" if made.pages == 1 else f"{made.pages} pages"
        unseen = (
            f"No picture for {made.not_shown}: ? stands there, the text has it."
            if made.not_shown
            else ""
        )
        return made.data, [f"{pages}, {page}.", unseen]
    text = as_markdown(paper) if shape == "markdown" else as_text(paper)
    return text.encode(), []


def _holds(sheets: Sequence[DaySheet], shape: FileShape, lost: str) -> str:
    many = sum(len(one.stops) for one in sheets)
    if shape in _MAPS:
        many -= sum(len(one.without_place) for one in sheets)
    stops = "1 stop" if many == 1 else f"{many} stops"
    rounds = "" if len(sheets) == 1 else f" in {len(sheets)} rounds"
    gates = " What opens gates is left out." if shape in _SHARED else ""
    return f"{stops}{rounds}." + (f" {lost}" if lost and shape in _MAPS else "") + gates


def file_name(who: str, day: date, shape: FileShape) -> str:
    """What a file is called, with letters that every system takes.

    Parameters
    ----------
    who
        Whose round; empty for all.
    day
        The local day.
    shape
        The kind of file.

    Examples
    --------
    >>> file_name("../Zoë Vét", date(2026, 3, 14), "pdf"), file_name("", date(2026, 3, 14), "gpx")
    ('round-2026-03-14-zoe-vet.pdf', 'round-2026-03-14.gpx')
    """
    letters = "".join(one if one.isascii() and one.isalnum() else "-" for one in folded(who)[:200])
    said = "-".join(part for part in letters.split("-") if part)[:_LONGEST_NAME].strip("-")
    return f"round-{day.isoformat()}{f'-{said}' if said else ''}.{ENDINGS[shape]}"
