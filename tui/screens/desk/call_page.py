"""A call as it was taken: how urgent and why, what was advised and told, what the van carries."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from store.errors import PondroundError
from tui.screens.desk.call_lines import (
    CallKey,
    call_rows,
    causes,
    facts_line,
    line_told,
    urgency_lines,
    whole_text,
)
from tui.screens.parts.abstract import drafts_of
from tui.screens.parts.dialogs import AskReason, Reason, Tell
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.page import PageScreen
from tui.screens.ponds.pond_entry import written
from tui.widgets.columns import Column
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.static import Static
from tui.widgets.strip import BottomStrip
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.diary.kept.calls.call_page import CallPage
    from tui.app import PondroundApp

COLUMNS = (Column("part", "", 8), Column("said", "", 20, weight=1))


class CallPageScreen(PageScreen):
    """The page of one call.

    Parameters
    ----------
    call
        Key of the call.
    """

    CSS_PATH = "../sheets/call.tcss"
    QUESTION = "What was told in this call, and what goes into the van?"
    ABOUT = (
        "At the top stands how urgent it is, as reckoned when it was saved, and why. Under it what "
        "the caller was advised, every answer as it was typed, what is missing, and what the van "
        "carries, each thing with its reason. It stays on the desk until its visit took place or "
        "it is closed with a reason. Who knows more than was told raises it with u; that reason "
        "stands first then. Enter shows all of it as a text to copy."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", show=False, id="taken.back", tooltip="Back one step"),
        Binding("b", "book", "book", id="taken.book",
                tooltip="Book the visit that answers it"),
        Binding("t", "test", "water test", id="taken.test",
                tooltip="Make a water test of the readings that were told"),
        Binding("p", "pond", "pond", id="taken.pond", tooltip="Open the pond"),
        Binding("c", "client", "client", id="taken.client", tooltip="Open the client"),
        Binding("x", "close", "close", id="taken.close",
                tooltip="Close it with a reason: it leaves the desk"),
        Binding("o", "reopen", "open again", id="taken.reopen",
                tooltip="Put it back on the desk"),
        Binding("u", "raise", "more urgent", show=False, id="taken.raise",
                tooltip="Raise how urgent it is, with a reason; it is never lowered"),
        Binding("f5", "again", "look again", show=False, id="taken.again",
                tooltip="Read the call anew"),
    ]  # fmt: skip

    def __init__(self, call: UUID) -> None:
        super().__init__()
        self.call = call
        self.page: CallPage | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, urgency, the call line by line, keys."""
        yield Top("reading the call …", id="taken-head")
        yield Static("", id="taken-urgency", markup=False)
        yield Static("", id="taken-facts", markup=False)
        yield Line()
        yield LineGrid(COLUMNS, empty="reading …", gutter="mark", id="taken-list")
        yield Line()
        yield BottomStrip(id="taken-strip")
        yield Foot()

    @property
    def was_read(self) -> bool:
        """Whether there is something to show already."""
        return self.page is not None

    def on_mount(self) -> None:
        """The lines have the keys; the call is read behind the first paint."""
        self.query_one(LineGrid).focus()
        self._read()

    @work(exclusive=True, group="entry-read")
    async def _read(self) -> None:
        from store.diary.kept.calls.call_page import call_page

        app, before = self.ponds_app, self.page
        try:
            self.page = await app.ask_store(call_page, app.book, self.call, app.now())
        except PondroundError as trouble:
            self.query_one(Top).place = trouble.title
            app.tell(trouble)
            return
        grid = self.query_one(LineGrid)
        grid.show(call_rows(self.page))
        if before is not None and _stands(before) != _stands(self.page):
            grid.action_first()  # there stands why it was closed, or raised
        self._show_head()
        self._explain()
        self.refresh_bindings()

    def _show_head(self) -> None:
        page = self.page
        if page is None:
            return
        width = max(20, self.size.width - 2)
        top = self.query_one(Top)
        top.place = f"Call: {page.where}"
        top.moment = page.note.state
        self.query_one("#taken-urgency", Static).update(
            urgency_lines(
                page.note.urgency, causes(page.note.urgent_by), page.found.vet_at_once, width
            )
        )
        self.query_one("#taken-facts", Static).update(facts_line(page, width))

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        key = self.query_one(LineGrid).cursor_key
        if self.page is not None and isinstance(key, CallKey):
            self.query_one(BottomStrip).show(line_told(self.page, key))

    # Keys

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Only what can be done with this call is offered."""
        page = self.page
        if action in ("book", "test", "pond", "client", "close", "reopen", "raise"):
            if page is None or page.note.struck_at is not None:
                return False
            note = page.note
            return {
                "book": page.promised is not None and note.site_id is not None,
                "test": bool(page.readings) and note.pond_id is not None,
                "pond": note.pond_id is not None,
                "client": note.client_id is not None,
                "close": note.state == "open",
                "reopen": note.state == "closed",
                "raise": note.state == "open" and note.urgency != "same day",
            }[action]
        return super().check_action(action, parameters)

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)

    def action_again(self) -> None:
        """Read the call anew."""
        self._read()

    def action_pond(self) -> None:
        """Open the pond."""
        if self.page is not None and self.page.note.pond_id is not None:
            self.ponds_app.open_pond(self.page.note.pond_id)

    def action_client(self) -> None:
        """Open the client."""
        if self.page is not None and self.page.note.client_id is not None:
            self.ponds_app.open_client(self.page.note.client_id)

    def action_test(self) -> None:
        """A water test with the told readings typed in, to be looked at before it is saved."""
        from tui.screens.water.water_test import LINE, WaterTestScreen

        page = self.page
        if page is None or page.note.pond_id is None or not page.readings:
            return
        draft = drafts_of(self.app).of("water_test", page.note.pond_id)
        if draft.values:
            self.notify(
                "A test of this pond is begun already; what was told is not put over it.",
                markup=False,
            )
        else:
            draft.keep({LINE: page.readings})
        self.app.push_screen(WaterTestScreen(page.note.pond_id))

    @work(group="taken-book", exclusive=True)
    async def action_book(self) -> None:
        """Propose days and hours for the visit."""
        from store.diary.kept.visits.bookings import wish_for
        from tui.screens.diary.booking import BookingScreen

        app, page = self.ponds_app, self.page
        if page is None or page.promised is None:
            return
        try:
            wish = await app.ask_store(wish_for, app.book, [page.promised])
        except PondroundError as trouble:
            app.tell(trouble)
            return
        app.push_screen(BookingScreen(wish))

    @work(group="taken-state", exclusive=True)
    async def action_close(self) -> None:
        """Close it with a reason."""
        from store.diary.kept.calls.call_notes import close_call

        await self._change(close_call, "Close this call", "It leaves the desk. Why?")

    @work(group="taken-state", exclusive=True)
    async def action_reopen(self) -> None:
        """Put it back on the desk."""
        from store.diary.kept.calls.call_notes import reopen_call

        await self._change(reopen_call, "Open this call again", "It comes back to the desk. Why?")

    @work(group="taken-state", exclusive=True)
    async def action_raise(self) -> None:
        """Raise how urgent it is, with a reason."""
        from store.diary.kept.calls.call_notes import raise_call
        from tui.screens.desk.call_raise import ask_raised

        page = self.page
        if page is None:
            return
        note, draft = page.note, drafts_of(self.app).of("raise-call", page.note.id)
        answer = await ask_raised(
            self, note.urgency, start=draft.values.get("why", ""),
            typed=lambda text: draft.keep({"why": text}),
        )  # fmt: skip
        if isinstance(answer, tuple):
            if await written(self.app, raise_call, note.id, note.rev, *answer):
                draft.drop()
            self._read()

    async def _change(self, change: object, title: str, asked: str) -> None:
        page = self.page
        if page is None:
            return
        reason = await self.app.push_screen_wait(AskReason(title, asked))
        if isinstance(reason, Reason):
            await written(self.app, change, page.note.id, page.note.rev, reason.text)
            self._read()

    @on(LineGrid.Opened)
    def _opened(self, _opened: LineGrid.Opened) -> None:
        if self.page is not None:
            self.app.push_screen(Tell(f"Call: {self.page.where}", whole_text(self.page)))


def _stands(page: CallPage) -> tuple[str, str]:
    return page.note.state, page.note.urgency
