"""Planning the next visit to a pond, and saying that it took place."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from typing import TYPE_CHECKING, Any, cast
from uuid import UUID

from textual.app import App

from store.errors import BadInput
from tui.said import said_since
from tui.screens.parts.dialogs import AskReason, Choose, Option, Reason, Tell
from tui.screens.ponds.pond_entry import PondEntry, written
from tui.widgets.fields import Field

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.book.visits import Visit
    from store.book.writing import Writing
    from tui.app import PondroundApp

_CELLS = 28
"""Every entry is as wide, so that hints stand under each other."""


class VisitScreen(PondEntry):
    """The next visit: day, time, who goes and what for."""

    TITLE_SAID = "Next visit"
    DRAFT = "visit"
    QUESTION = "When does somebody go there next, and who?"
    ABOUT = (
        "The morning list shows the next visit of every pond. When it took place, open it in the "
        "pond's list and say so."
    )

    def prepare(self, book: Book, today: date) -> Sequence[Field]:
        """Day, time, who, what for, note."""
        from store.book.people import staff

        people = tuple((str(one.id), one.name) for one in staff(book))
        return (
            Field("on_day", "day", "tomorrow, Mon, 3 d, 12 Dec", width=_CELLS),
            Field("at_time", "time", "09:30, or empty", width=_CELLS),
            Field("staff_id", "who", "", choices=people, width=_CELLS),
            Field("kind", "what for", "scrape, filter, vaccination", width=_CELLS),
            Field("note", "note", "in words", lines=3),
        )

    def save(self, book: Book, act: Act, values: Mapping[str, str]) -> None:
        """Enter the visit."""
        from store.book.days import typed_day, typed_time
        from store.book.visits import plan_visit

        if not values["on_day"].strip():
            raise BadInput("On which day? Nothing was saved yet.", field="on_day")
        on_day = typed_day(values["on_day"], book.today(act.at), ahead=True)
        with book.writing(act) as writing:
            plan_visit(
                writing,
                self.pond,
                on_day,
                at_time=typed_time(values["at_time"]),
                staff_id=UUID(values["staff_id"]) if values["staff_id"] else None,
                kind=values["kind"].strip(),
                note=values["note"],
            )


async def open_visit(app: App[Any], visit: Visit) -> None:
    """What can be done with a visit: say that it took place, or cancel it."""
    today = cast("PondroundApp", app).today()
    title = f"Visit on {said_since(visit.on_day, today)}"
    if visit.state != "planned":
        await app.push_screen_wait(Tell(f"{title}, {visit.state}", visit.note or "Without a note."))
        return
    options = [
        Option("done", "it took place", "asks what was found"),
        Option("cancelled", "it is cancelled", "asks why"),
    ]
    chosen = await app.push_screen_wait(Choose(title, options))
    if chosen == "done":
        found = await app.push_screen_wait(
            AskReason(f"{title}: done", "What was found or done there, in a few words?")
        )
        if isinstance(found, Reason):
            await written(app, _close_done, visit, found.text)
    elif chosen == "cancelled":
        why = await app.push_screen_wait(AskReason(f"{title}: cancelled", "Why?"))
        if isinstance(why, Reason):
            await written(app, _close_cancelled, visit, why.text)


def _close_done(writing: Writing, visit: Visit, note: str) -> None:
    from store.book.visits import close_visit

    today = writing.book.today(writing.act.at)
    close_visit(writing, visit.id, visit.rev, "done", on_day=min(visit.on_day, today), note=note)


def _close_cancelled(writing: Writing, visit: Visit, why: str) -> None:
    from store.book.visits import close_visit

    close_visit(writing, visit.id, visit.rev, "cancelled", why=why)
