"""From a pond or a course to the booking of a visit: what is due there is offered to be kept."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime
from typing import TYPE_CHECKING
from uuid import UUID

from store.errors import PondroundError
from tui.said import said_since
from tui.screens.parts.dialogs import Choose, Option
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from store.book.book import Book
    from store.diary.booking.values import Wish
    from store.diary.desk.due import DueLine, Promised
    from tui.app import PondroundApp

_ALL, _OTHER = "all", "other"


def due_here(book: Book, now: datetime, pond: UUID) -> tuple[DueLine, ...]:
    """What is due at a pond, needs somebody to go there and is not booked; runs in a thread."""
    from store.book.ponds import card
    from store.diary.kept.due.desk import due_of_client

    client = card(book, pond).client.id
    return tuple(
        one
        for one in due_of_client(book, client, now)
        if one.promised.pond_id == pond and one.promised.needs == "visit" and one.booked is None
    )


async def book_for_pond(
    app: PondroundApp, pond: UUID, wanted: Callable[[Promised], bool] | None = None
) -> None:
    """Book a visit to a pond; where something is due there, what it is to keep is asked first.

    Parameters
    ----------
    app
        The application, by its own contract.
    pond
        Key of the pond.
    wanted
        Which promises it is about, as those of a course; one alone needs no question.
    """
    from tui.screens.diary.booking import BookingScreen

    try:
        lines = await app.ask_store(due_here, app.book, app.now(), pond)
    except PondroundError as trouble:
        app.tell(trouble)
        return
    asked = [one for one in lines if wanted is None or wanted(one.promised)]
    chosen = asked
    if asked and (wanted is None or len(asked) > 1):
        answer = await app.push_screen_wait(
            Choose("What is the visit to keep?", _options(app, asked))
        )
        if answer is None:
            return
        chosen = [one for one in asked if answer in (_ALL, one.promised.about)]
    try:
        wish = await app.ask_store(_wish, app.book, pond, [one.promised for one in chosen])
    except PondroundError as trouble:
        app.tell(trouble)
        return
    app.push_screen(BookingScreen(wish))


def _options(app: PondroundApp, lines: list[DueLine]) -> list[Option]:
    today = app.today()
    options = [
        Option(
            one.promised.about,
            one_line(one.promised.says),
            f"due {said_since(one.promised.due_on, today)}",
        )
        for one in lines
    ]
    if len(lines) > 1:
        options.append(Option(_ALL, "all of these"))
    return [*options, Option(_OTHER, "something else")]


def _wish(book: Book, pond: UUID, promised: list[Promised]) -> Wish:
    from store.diary.kept.visits.bookings import wish_for, wish_of

    return wish_for(book, promised) if promised else wish_of(book, pond_id=pond)
