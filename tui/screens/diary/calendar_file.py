"""The calendar of a vet, of a site or of the whole practice, written to a file."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import TYPE_CHECKING, Any
from uuid import UUID

from store.errors import BadInput, NotFound, PondroundError
from tui.screens.parts.edit import FormScreen
from tui.widgets.fields import Field

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from tui.app import PondroundApp

EVERYBODY = "everybody"
_CELLS = 30


class CalendarFileScreen(FormScreen):
    """Whose calendar, for which days, into which file.

    Parameters
    ----------
    people
        Key and name of everybody.
    staff_id
        Whose diary is looked at; None for all.
    first
        The first day, as it is proposed.
    """

    QUESTION = "Whose calendar goes into which file?"
    ABOUT = (
        "A file that calendars read (.ics), with every visit at its local hour. Read in again it "
        "updates what was read before instead of doubling it, and takes away what was cancelled. "
        "Codes of gates stay out of it unless they are asked for. Only a calendar of the same "
        "diary is written over, no other file. Nothing is sent."
    )

    def __init__(
        self, people: tuple[tuple[str, str], ...], staff_id: UUID | None, first: date
    ) -> None:
        choices = ((EVERYBODY, "the whole practice"), *people)
        chosen = EVERYBODY if staff_id is None else str(staff_id)
        fields = (
            Field("staff_id", "whose", "", chosen, choices=choices, width=_CELLS),
            Field("site", "site", "empty: all; a client's name", width=_CELLS),
            Field("first", "first day", "Mon, 12 Dec", first.isoformat(), width=_CELLS),
            Field("last", "last day", "empty: 4 months", width=_CELLS),
            Field("codes", "gate codes", "", "no", width=_CELLS,
                  choices=(("no", "stay out"), ("yes", "stand in it"))),
            Field("file", "file", "empty: in this folder", width=_CELLS),
        )  # fmt: skip
        super().__init__("Calendar to a file", fields, "calendar-file")

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Write it; the book is only read."""
        app = self.ponds_app
        said = await app.ask_store(_write, app.book, act, texts)
        self.notify(said, title="Written", markup=False)
        return UUID(int=0)


def _write(book: Book, act: Act, texts: Mapping[str, str]) -> str:
    from store.book.days import typed_day
    from store.diary.calendar.save import save_calendar
    from store.diary.kept.files.calendar_out import calendar_out
    from store.diary.kept.files.site_named import site_named

    today = book.today(act.at)
    whose = None if texts["staff_id"] in ("", EVERYBODY) else UUID(texts["staff_id"])
    first = typed_day(texts["first"], today, ahead=True, field="first")
    last = None
    if texts["last"].strip():
        last = typed_day(texts["last"], first, ahead=True, field="last")
    try:
        site = site_named(book, texts["site"]) if texts["site"].strip() else None
    except NotFound as trouble:
        raise BadInput(trouble.message, field="site") from trouble
    made = calendar_out(
        book, act.at, staff_id=whose, site_id=site, first=first, last=last,
        codes=texts["codes"] == "yes",
    )  # fmt: skip
    named = "-".join(re.findall(r"\w+", made.name.casefold())) or "practice"
    path = Path(texts["file"].strip() or f"diary-{named}.ics").expanduser()
    save_calendar(path, made.data)
    many = "1 visit" if made.visits == 1 else f"{made.visits} visits"
    gone = f", {made.removed} taken away" if made.removed else ""
    return f"{path.resolve()}: {many}{gone}"


async def write_calendar(app: PondroundApp, staff_id: UUID | None, first: date | None) -> None:
    """Ask whose calendar goes where, and write it."""
    from store.book.people import staff

    try:
        people = await app.ask_store(staff, app.book)
    except PondroundError as trouble:
        app.tell(trouble)
        return
    choices = tuple((str(one.id), one.name) for one in people)
    await app.push_screen_wait(CalendarFileScreen(choices, staff_id, first or app.today()))
