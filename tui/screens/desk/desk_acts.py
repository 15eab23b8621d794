"""Where what is due leads to: the record that keeps it, the days of a booking, a new call."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import TYPE_CHECKING, Any, Final
from uuid import UUID
from weakref import WeakKeyDictionary

from textual.app import App

from store.diary.desk.about import About, about_of
from store.errors import PondroundError
from tui.screens.desk.attempt import PhoneScreen, Whom
from tui.screens.desk.by_hand import by_hand
from tui.screens.parts.dialogs import Choose, Option
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from textual.screen import Screen

    from store.book.book import Book
    from store.diary.desk.due import DueLine
    from store.diary.kept.due.leads import Lead
    from tui.app import PondroundApp
    from tui.screens.courses.course import Asks

GONE = "The record that keeps it is not in the book any more; f5 reads the list anew."


async def settle(screen: PhoneScreen, line: DueLine) -> None:
    """Open the record that keeps what is due; what was promised by hand is kept, moved or dropped.

    Within a worker of the screen.
    """
    from store.diary.kept.due.leads import lead_of

    app = screen.ponds_app
    try:
        lead = await app.ask_store(lead_of, app.book, line.promised)
    except PondroundError as trouble:
        app.tell(trouble)
        return
    if lead is None:
        app.notify(GONE, markup=False)
    elif lead.to == "by hand":
        await by_hand(screen, line, lead.key)
    elif lead.to == "ring":
        await _ring(screen, line)
    else:
        app.push_screen(_page_of(lead, line))


_ASKS: Final[Mapping[str, Asks]] = {"answer": "answer", "turn": "anew"}
"""What a vet is asked at once on the page of a course, by the thing that is due."""


def _page_of(lead: Lead, line: DueLine) -> Screen[Any]:
    """The page of the record that keeps a promise; what a vet is asked there is asked at once."""
    if lead.to == "course":
        from tui.screens.courses.course import CourseScreen

        return CourseScreen(lead.key, asks=_ASKS.get(about_of(line.promised.about).thing))
    if lead.to == "examination":
        from tui.screens.exams.examination_page import ExaminationPageScreen

        return ExaminationPageScreen(lead.key)
    if lead.to == "water test":
        from tui.screens.water.water_test import WaterTestScreen

        return WaterTestScreen(lead.key)
    if lead.to == "samples":
        from tui.screens.exams.specimens import SpecimensScreen

        return SpecimensScreen(lead.key)
    if lead.to == "concern":
        from tui.screens.morning.explain import ExplainScreen

        return ExplainScreen(lead.key)
    from tui.screens.desk.call_page import CallPageScreen

    return CallPageScreen(lead.key)


async def _ring(screen: PhoneScreen, line: DueLine) -> None:
    chosen = await screen.app.push_screen_wait(
        Choose(
            f"Ring back {line.client}",
            [
                Option("reached", "The client was reached", "it is done"),
                Option("again", "Ring again on another day"),
            ],
        )
    )
    if chosen == "reached":
        screen.action_log("reached")
    elif chosen == "again":
        screen.action_ring_again()


def together(line: DueLine, others: Iterable[DueLine]) -> tuple[DueLine, ...]:
    """What one visit can keep: the line, and all else at its site whose window it shares."""
    own = line.promised
    return (
        line,
        *(
            one
            for one in others
            if one.promised.about != own.about
            and own.site_id is not None
            and one.promised.site_id == own.site_id
            and one.promised.needs == "visit"
            and one.booked is None
            and one.promised.first_on <= own.last_on
            and own.first_on <= one.promised.last_on
        ),
    )


async def book_line(screen: PhoneScreen, line: DueLine, others: Iterable[DueLine]) -> None:
    """Propose days and hours for what is due; what one visit can keep is booked together.

    Within a worker of the screen: of a client with several places is asked which one.
    """
    from tui.screens.diary.booking import BookingScreen

    app, own = screen.ponds_app, line.promised
    place: UUID | None = None
    try:
        if own.pond_id is None and own.site_id is None:
            places = await app.ask_store(_places, app.book, own.client_id)
            if len(places) > 1:
                chosen = await app.push_screen_wait(
                    Choose("To which place?", [Option(*each) for each in places])
                )
                if not isinstance(chosen, UUID):
                    return
                place = chosen
        wish = await app.ask_store(_wish_for, app.book, together(line, others), place)
    except PondroundError as trouble:
        app.tell(trouble)
        return
    app.push_screen(BookingScreen(wish))


async def book_place(screen: PhoneScreen, pond_id: UUID | None, site_id: UUID | None) -> None:
    """Propose days and hours for a pond or a site where nothing needs to be due."""
    from store.diary.kept.visits.wishes import wish_of
    from tui.screens.diary.booking import BookingScreen

    app = screen.ponds_app
    try:
        wish = await app.ask_store(wish_of, app.book, pond_id=pond_id, site_id=site_id, kind="call")
    except PondroundError as trouble:
        app.tell(trouble)
        return
    app.push_screen(BookingScreen(wish))


def _places(book: Book, client_id: UUID) -> tuple[tuple[UUID, str, str], ...]:
    """Key, name and town of a client's sites."""
    from store.book.clients import sites

    return tuple((one.id, one_line(one.name), one_line(one.town)) for one in sites(book, client_id))


def _wish_for(book: Book, lines: Iterable[DueLine], place: UUID | None) -> Any:
    from store.diary.kept.visits.wishes import wish_for

    return wish_for(book, [line.promised for line in lines], site_id=place)


_TAKEN: WeakKeyDictionary[App[Any], str] = WeakKeyDictionary()
"""The call that was saved last, by the name of what it promises; the desk puts its cursor there."""


def call_was_taken(app: App[Any], key: UUID) -> None:
    """A call was saved: the desk goes to its line when it is read next."""
    _TAKEN[app] = str(About("call", key))


def newly_taken(app: App[Any]) -> str | None:
    """The name of the call that was saved last, told once."""
    return _TAKEN.pop(app, None)


def take_call(app: PondroundApp, whom: Whom | None) -> None:
    """The question sheet of a new call."""
    from tui.screens.desk.call import CallScreen

    app.push_screen(CallScreen() if whom is None else CallScreen(whom.client_id, whom.pond_id))
