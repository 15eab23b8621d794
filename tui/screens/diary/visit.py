"""One visit: when, where, for whom, what it is to keep; moved, cancelled, or said to be done."""

from __future__ import annotations

from datetime import date
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll
from textual.content import Content

from store.errors import PondroundError
from store.text import joined
from tui.said import said_since
from tui.screens.diary.diary_lines import (
    said_kind,
    said_length,
    said_long_day,
    said_place,
    said_purpose,
    said_times,
    said_who,
)
from tui.screens.diary.visit_history import VisitHistoryScreen
from tui.screens.diary.visit_terms import TermsScreen, said_consent
from tui.screens.parts.dialogs import AskReason, Reason
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.page import PageScreen
from tui.screens.ponds.pond_entry import written
from tui.widgets.foot import Foot
from tui.widgets.hanging import beside
from tui.widgets.literal import one_line
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.book import Book
    from store.book.writing import Writing
    from store.diary.booking.values import Visiting
    from store.diary.kept.visits.terms import Terms
    from tui.app import PondroundApp

_GUTTER = 14
_BEGINS = frozenset({"what for", "where", "access", "in spite", "note"})
"""Parts before which a line stays empty."""


class VisitScreen(PageScreen):
    """Everything about one visit.

    Parameters
    ----------
    visit
        Key of the visit.
    """

    CSS_PATH = "../sheets/diary.tcss"
    QUESTION = "Who goes there when, what for, and how does one get in?"
    ABOUT = (
        "All that was agreed: day, hour and length, whom to ring, how to get in, what the visit is "
        "to keep, and what spoke against it where it was booked all the same. m moves it, d "
        "cancels it with a reason, e says that it took place, t writes down prices and how far the "
        "consent form is. Nothing of it is lost: c shows who changed what, and when."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("m", "act('move')", "move", id="visit.move",
                tooltip="Move it to another day, hour or vet"),
        Binding("d", "act('cancel')", "cancel", id="visit.cancel",
                tooltip="Cancel it, with a reason"),
        Binding("e", "act('done')", "it took place", id="visit.done",
                tooltip="Say that it took place, and what was found"),
        Binding("t", "terms", "terms", id="visit.terms",
                tooltip="Write down the prices agreed, and the consent form"),
        Binding("o", "pond", "pond", id="visit.pond", tooltip="Open the pond"),
        Binding("y", "day", "that day", show=False, id="visit.day",
                tooltip="Open its day in the diary"),
        Binding("c", "changes", "changes", id="visit.changes",
                tooltip="Who changed it, when, from what to what"),
        Binding("escape", "back", "back", show=False, id="visit.back", tooltip="Back one step"),
        Binding("f5", "again", "look again", show=False, id="visit.again",
                tooltip="Read the visit anew"),
    ]  # fmt: skip

    def __init__(self, visit: UUID) -> None:
        super().__init__()
        self.visit = visit
        self.found: Visiting | None = None
        self.terms: Terms | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, all of it, keys."""
        yield Top("reading the visit …", id="visit-head")
        yield Line()
        with VerticalScroll(id="visit-page"):
            yield Static("", id="visit-text", markup=False)
        yield Foot()

    @property
    def was_read(self) -> bool:
        """Whether there is something to show already."""
        return self.found is not None

    def on_mount(self) -> None:
        """The text has the keys; it is read behind the first paint."""
        self.query_one("#visit-page").focus()
        self._read()

    @work(exclusive=True, group="visit-read")
    async def _read(self) -> None:
        app = self.ponds_app
        try:
            self.found, self.terms = await app.ask_store(read_visit, app.book, self.visit)
        except PondroundError as trouble:
            self.query_one(Top).place = trouble.title
            app.tell(trouble)
            return
        self._show_head()
        self.refresh_bindings()

    def _show_head(self) -> None:
        found = self.found
        if found is None:
            return
        top = self.query_one(Top)
        top.place = f"Visit: {said_place(found)}"
        top.moment = found.state
        today = self.ponds_app.today()
        text = visit_said(found, today, self.size.width - 4, self.terms)
        self.query_one("#visit-text", Static).update(text)

    @work(group="visit-act", exclusive=True)
    async def action_act(self, what: str) -> None:
        """Move it, cancel it, or say that it took place."""
        if self.found is not None:
            acts = {"move": move, "cancel": cancel, "done": done}
            if await acts[what](self.ponds_app, self.found):
                self._read()

    def action_pond(self) -> None:
        """Open the pond."""
        if self.found is not None and self.found.pond_id is not None:
            self.ponds_app.open_pond(self.found.pond_id)

    def action_terms(self) -> None:
        """Write down what was agreed about prices and consent."""
        if self.found is not None:
            where = said_place(self.found)
            self.app.push_screen(TermsScreen(self.visit, where, self.terms))

    def action_day(self) -> None:
        """Open its day in the diary."""
        from tui.screens.diary.diary import DiaryScreen

        if self.found is not None:
            self.app.push_screen(DiaryScreen(self.found.on_day, self.visit))

    def action_changes(self) -> None:
        """Who changed it."""
        if self.found is not None:
            self.app.push_screen(VisitHistoryScreen(self.visit, said_place(self.found)))

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_again(self) -> None:
        """Read the visit anew."""
        self._read()

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """What is closed stays as it is; a visit to a whole site has no pond to open."""
        if action == "act":
            return self.found is None or self.found.state == "planned"
        if action == "pond":
            return self.found is None or self.found.pond_id is not None
        return super().check_action(action, parameters)


def read_visit(book: Book, key: UUID) -> tuple[Visiting, Terms | None]:
    """A visit, and what was agreed for it about money and consent; runs in a thread."""
    from store.diary.kept.visits.diary import visiting
    from store.diary.kept.visits.terms import terms_of

    return visiting(book, key), terms_of(book, [key]).get(key)


def said_terms(terms: Terms | None, today: date) -> str:
    """Prices and the consent form, in one line."""
    if terms is None:
        return f"no prices are written down, {said_consent('not asked')}"
    prices = one_line(terms.prices) or "no prices are written down"
    when = said_since(terms.at.date(), today)
    return f"{prices}; {said_consent(terms.consent)} ({one_line(terms.by)}, {when})"


def visit_said(visit: Visiting, today: date, width: int, terms: Terms | None = None) -> Content:
    """All of a visit in words, each part beside its name."""
    when = f"{said_long_day(visit.on_day)}, {said_times(visit)}, {said_length(visit.minutes)}"
    parts: list[tuple[str, str]] = [
        ("when", f"{when}{', agreed: not to be moved' if visit.fixed else ''}"),
        ("who goes", said_who(visit)),
        ("what for", said_kind(visit)),
    ]
    if visit.state == "planned" and visit.on_day < today:
        parts.insert(1, ("", "It lies behind: did it take place (e), or is it cancelled (d)?"))
    for number, purpose in enumerate(visit.purposes):
        fits = purpose.first_on <= visit.on_day <= purpose.last_on
        said = said_purpose(purpose, today)
        outside = "" if fits else f"; {said_since(visit.on_day, today)} lies outside these days"
        parts.append(("it keeps" if not number else "", f"{said}{outside}"))
    place = [visit.client, visit.site, visit.pond]
    parts.append(("where", ", ".join(one_line(one) for one in dict.fromkeys(place) if one)))
    address = one_line(visit.address)
    town = one_line(visit.town)
    parts.append(("", ", ".join(part for part in (address, town) if part) or "no address"))
    parts.append(("ring", one_line(visit.phone) or "no telephone number"))
    parts.append(("agreed with", one_line(visit.agreed_with) or "nobody is named"))
    parts.append(("terms", said_terms(terms, today)))
    parts.append(("access", one_line(visit.access_hours) or "no hours are stated"))
    if visit.access_notes.strip():
        parts.append(("", one_line(visit.access_notes)))
    if visit.in_spite.strip():
        parts.append(("in spite", f"booked all the same, because: {one_line(visit.in_spite)}"))
    if visit.note.strip():
        for number, line in enumerate(visit.note.strip().splitlines()):
            parts.append(("note" if not number else "", one_line(line)))
    lines: list[Content | str | tuple[str, str]] = []
    for name, said in parts:
        if lines and name in _BEGINS:
            lines.append("\n")
        laid = beside(name, said, width, _GUTTER)
        lines += [(laid[:_GUTTER], "$quiet"), laid[_GUTTER:], "\n"]
    return Content.assemble(*lines)


# What is done with a visit


async def move(app: PondroundApp, visit: Visiting) -> bool:
    """Move it: the booking opens with what was agreed, and new slots beside it."""
    from store.diary.kept.visits.bookings import wish_of_visit
    from tui.screens.diary.booking import BookingScreen

    return await app.push_screen_wait(BookingScreen(wish_of_visit(visit), visit=visit)) is not None


async def cancel(app: PondroundApp, visit: Visiting) -> bool:
    """Cancel it with a reason, which stays in the record."""
    what = joined(one_line(one.says) for one in visit.purposes)
    open_again = f" What it was to keep is open again: {what}." if what else ""
    why = await app.push_screen_wait(
        AskReason(
            f"Cancel the visit to {said_place(visit)}, {said_since(visit.on_day, app.today())}",
            f"Why is it cancelled? The reason stays in the record.{open_again}",
            accept="Cancel the visit",
        )
    )
    if not isinstance(why, Reason):
        return False
    return await written(app, _cancel, visit, why.text)


def _cancel(writing: Writing, visit: Visiting, why: str) -> None:
    from store.diary.kept.visits.bookings import cancel_visit

    cancel_visit(writing, visit.id, visit.rev, why)


async def done(app: PondroundApp, visit: Visiting) -> bool:
    """Say that it took place, and what was found."""
    today = app.today()
    on_day = min(visit.on_day, today)
    said = (
        f"It is entered as of {said_since(on_day, today)}. What was found or done there, in a few "
        "words? Tests, examinations and doses are entered on their own pages."
    )
    title = f"The visit to {said_place(visit)} took place"
    found = await app.push_screen_wait(AskReason(title, said))
    if not isinstance(found, Reason):
        return False
    return await written(app, _finish, visit, on_day, found.text)


def _finish(writing: Writing, visit: Visiting, on_day: date, note: str) -> None:
    from store.diary.kept.visits.bookings import finish_visit

    finish_visit(writing, visit.id, visit.rev, on_day, note)
