"""Whom to ask for a thermometer reading, ready to ring; one line types what was read."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING, ClassVar

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.worker import get_current_worker

from store.errors import PondroundError
from tui.said import said_head
from tui.screens.desk.asking_lines import (
    READING,
    columns_for,
    phone_of,
    row_of,
    said_counts,
    said_saved,
    told,
    why_empty,
)
from tui.screens.desk.attempt import PhoneScreen, PhoneStrip, Whom
from tui.screens.parts.help import HELP
from tui.screens.parts.page import PageScreen
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from datetime import datetime
    from zoneinfo import ZoneInfo

    from store.book.book import Book
    from store.diary.desk.ask import AskLine, AskList
    from store.diary.desk.due import Attempt
    from tui.screens.water.water_saving import Saved

BEGINS = "temp "
"""What stands in the line before the first letter: a number goes on."""
MOST_TOLD = 10
AROUND = 13
"""Lines of the strip at most, and of all else on the page."""


class AskingGrid(LineGrid):
    """The ponds; what opens one is a figure that is typed."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("enter", "open", "reading", id="asking.open",
                tooltip="Type what was read, as a water test of now or of an hour that is said"),
    ]  # fmt: skip


class AskingStrip(PhoneStrip):
    """The few ponds leave it the room to tell all that a reading would settle."""

    @property
    def lines(self) -> int:
        """Lines there are for it beside head, rules, ponds, a word that is said, and keys."""
        return max(super().lines, min(MOST_TOLD, self.app.size.height - AROUND))


class AskingScreen(PhoneScreen, PageScreen):
    """The few ponds of which one reading today would change the morning list most."""

    CSS_PATH = "../sheets/desk.tcss"
    QUESTION = "Whom do I ask for a thermometer reading?"
    ABOUT = (
        "Ponds that nobody has read today and of which an estimate cannot say whether the water "
        "lies in a window, five at most, what one reading would settle most first: most at a "
        "chance of one half, more where something at the pond would make a measured window ask "
        "for somebody, where the disease must be reported, where a course waits for the water's "
        "temperature. The interval of an estimate holds four in five. Enter opens a line in which "
        "“temp” stands already: type the figure, with “at 07:40” if it was not read now, and it "
        "is saved as a water test; the list and the morning list move at once. One key logs how a "
        "call went; whoever was reached is asked in that line, and no pond is asked for twice a "
        "day. Where nobody answered the pond goes behind the others."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("escape", "back", "back", key_display="esc", id="asking.back",
                tooltip="Back one step"),
        Binding("o", "pond", "pond", show=False, id="asking.pond", tooltip="Open the pond"),
        Binding("c", "client", "client", show=False, id="asking.client",
                tooltip="Open the client"),
        Binding("f5", "again", "look again", show=False, id="asking.again",
                tooltip="Look anew"),
    ]  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self.listed: AskList | None = None
        self._zone: ZoneInfo | None = None

    @property
    def was_read(self) -> bool:
        """Whether there is a list already."""
        return self.listed is not None

    def compose(self) -> ComposeResult:
        """Head, the ponds, the strip, what was logged."""
        yield Top("Ask for a reading", id="asking-head")
        yield Line()
        yield AskingGrid(
            columns_for(()), empty=READING, header=True, gutter="mark", id="asking-list"
        )
        yield Line()
        yield AskingStrip(id="asking-strip")
        yield Static("", id="desk-said", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """The list has the keys; it fills behind the first paint."""
        self.query_one("#desk-said").display = False
        self.query_one(LineGrid).focus()
        self._read()

    @work(exclusive=True, group="asking")
    async def _read(self) -> None:
        app = self.ponds_app
        try:
            self.listed, self._zone = await app.ask_store(_read, app.book, app.now())
        except PondroundError as trouble:
            app.tell(trouble)
            return
        if not get_current_worker().is_cancelled:
            self._show_head()

    def _show_head(self) -> None:
        listed = self.listed
        if listed is None or self._zone is None:
            return
        top = self.query_one(Top)
        top.place = f"Ask for a reading   {said_counts(listed)}"
        top.moment = said_head(listed.now, self._zone)
        grid = self.query_one(LineGrid)
        grid.empty = why_empty(listed)
        grid.show_columns(columns_for(map(phone_of, listed.lines)))
        cells = grid.cells_of("where")
        grid.show([row_of(one, listed, cells) for one in listed.lines])
        self._explain()

    @property
    def _here(self) -> AskLine | None:
        key = self.query_one(LineGrid).cursor_key
        lines = () if self.listed is None else self.listed.lines
        return next((one for one in lines if one.about == key), None)

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        line, shown = self._here, None
        if line is not None and self.listed is not None and self._zone is not None:
            shown = told(line, self.listed.today, self._zone)
        self.query_one(PhoneStrip).show(shown)

    def whom(self) -> Whom | None:
        """The client of the line under the cursor."""
        line = self._here
        if line is None:
            return None
        return Whom(
            line.client_id, line.client, None, line.pond_id, line.site_id, line.about,
            phone_of(line),
        )  # fmt: skip

    def attempt_shown(self, attempt: Attempt) -> None:
        """Who was asked leaves the list at once; who was reached is asked what was read."""
        listed = self.listed
        if listed is None:
            return
        line = next((one for one in listed.lines if one.about == attempt.about), None)
        if attempt.outcome == "no answer":
            lines = tuple(
                replace(one, attempts=one.attempts + 1, last_attempt=attempt)
                if one.client_id == attempt.client_id
                else one
                for one in listed.lines
            )
            self.listed = replace(listed, lines=lines)
        elif line is not None:
            lines = tuple(one for one in listed.lines if one is not line)
            self.listed = replace(listed, lines=lines, asked=listed.asked + 1)
        self._show_head()
        if attempt.outcome == "reached" and line is not None:
            self._type(line)

    # Going on

    @on(LineGrid.Opened)
    def _opened(self) -> None:
        line = self._here
        if line is not None:
            self._type(line)

    def _type(self, line: AskLine) -> None:
        """The line of a water test, with the first word typed already."""
        from tui.screens.water.water_test import WaterTestScreen

        def then(saved: Saved) -> None:
            self.say(said_saved(line.where, saved))

        self.app.push_screen(WaterTestScreen(line.pond_id, begins=BEGINS, then=then))

    def action_pond(self) -> None:
        """Open the pond."""
        line = self._here
        if line is not None:
            self.ponds_app.open_pond(line.pond_id)

    def action_client(self) -> None:
        """Open the client."""
        line = self._here
        if line is not None:
            self.ponds_app.open_client(line.client_id)

    def action_again(self) -> None:
        """Look anew."""
        self._read()

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def letters(self) -> frozenset[str]:
        """Actions whose keys are letters."""
        return super().letters() | {"pond", "client"}


def _read(book: Book, now: datetime) -> tuple[AskList, ZoneInfo]:
    from store.diary.kept.due.whom_to_ask import whom_to_ask

    return whom_to_ask(book, now), book.zone
