"""The day's sheet, read stop by stop on the way: one stop fills the screen."""

from __future__ import annotations

from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from rich.cells import cell_len
from textual import work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.containers import VerticalScroll

from store.errors import PondroundError
from store.rounds.solving.said import clock_said
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.page import PageScreen
from tui.screens.rounds.round_out import write_round
from tui.screens.rounds.sheet_lines import day_said, stop_said
from tui.screens.rounds.stop_pond import pond_of_stop
from tui.widgets.foot import Foot
from tui.widgets.literal import cut_name, one_line
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.rounds.day.sheet import DaySheet, StopSheet
    from store.rounds.day.values import DayPlan
    from tui.app import PondroundApp


class SheetScreen(PageScreen):
    """One person's day, stop by stop; before the first stop stands the day as a whole.

    Parameters
    ----------
    plan
        The day.
    staff_id
        Whose.
    stop
        The errand to begin with; the first stop where none is given.
    """

    CSS_PATH = "../sheets/round_sheet.tcss"
    QUESTION = "Where am I, how do I get in, and what is to be done here?"
    ABOUT = (
        "One stop at a time: when, where, how one gets in, whom to ring, how the site stands, why "
        "we come and what to do; below that what is known of its ponds. → and n go to the next "
        "stop, ← and p to the one before; before the first stands the day as a whole. The arrows "
        "up and down scroll. What is entered at the pond is at once in the book: enter opens the "
        "pond, t a water test, e an examination. x writes the sheet to a file."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("right,n", "go(1)", "next", key_display="→", id="stops.next",
                tooltip="To the next stop"),
        Binding("left,p", "go(-1)", "before", key_display="←", id="stops.before",
                tooltip="To the stop before, or the day as a whole"),
        Binding("enter", "pond", "pond", id="stops.pond", tooltip="Open the pond of the stop"),
        Binding("t", "test", "test", id="stops.test", tooltip="Enter a water test of its pond"),
        Binding("e", "examine", "examine", id="stops.examine",
                tooltip="Enter an examination at its pond"),
        Binding("x", "write", "to a file", id="stops.write",
                tooltip="Write the round to a file: to print, to read, for a map or a calendar"),
        Binding("escape", "back", "back", show=False, id="stops.back", tooltip="Back one step"),
        Binding("d", "day", "the day", show=False, id="stops.day",
                tooltip="To the day as a whole"),
        Binding("f5", "again", "look again", show=False, id="stops.again",
                tooltip="Read the book anew"),
    ]  # fmt: skip

    def __init__(self, plan: DayPlan, staff_id: UUID, stop: UUID | None = None) -> None:
        super().__init__()
        self.plan = plan
        self.staff_id = staff_id
        self.sheet: DaySheet | None = None
        one = plan.round_of(staff_id)
        keys = [] if one is None else [each.errand.key for each in one.stops]
        self.number = keys.index(stop) + 1 if stop in keys else min(1, len(keys))
        """The stop that is shown, from 1; 0 is the day as a whole."""

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    @property
    def was_read(self) -> bool:
        """Whether there is something to show already."""
        return self.sheet is not None

    @property
    def here(self) -> StopSheet | None:
        """The stop that is shown; None where that is the day as a whole."""
        if self.sheet is None or not self.number:
            return None
        return self.sheet.stops[self.number - 1]

    def compose(self) -> ComposeResult:
        """Head, the stop, keys."""
        yield Top("reading the day's sheet …", id="day-sheet-head")
        yield Line()
        with VerticalScroll(id="day-sheet-page"):
            yield Static("", id="day-sheet-text", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """The text has the keys; it is read behind the first paint."""
        self.query_one("#day-sheet-page").focus()
        self._read()

    @work(exclusive=True, group="entry-read")
    async def _read(self) -> None:
        from store.rounds.kept.sheets.sheet import day_sheet

        app = self.ponds_app
        try:
            self.sheet = await app.ask_store(
                day_sheet, app.book, self.plan, self.staff_id, app.now()
            )
        except PondroundError as trouble:
            self.query_one(Top).place = trouble.title
            app.tell(trouble)
            return
        self.number = min(self.number, len(self.sheet.stops))
        self._show_head()

    def _show_head(self) -> None:
        sheet = self.sheet
        if sheet is None:
            return
        stop, width = self.here, self.size.width - 4
        top, whose = self.query_one(Top), one_line(sheet.who)
        text = self.query_one("#day-sheet-text", Static)
        if stop is None:
            top.place = f"{whose}: the day"
            said = f"{clock_said(sheet.sets_out)}–{clock_said(sheet.back)}" if sheet.stops else ""
            text.update(day_said(sheet, width))
        else:
            top.place = f"Stop {stop.number} of {len(sheet.stops)}, {whose}"
            said = _after(sheet, stop)
            rest = sheet.rest if sheet.break_after == stop.number else ""
            text.update(stop_said(stop, width, rest))
        top.moment = cut_name(said, self.size.width - cell_len(top.place) - 4)
        self.refresh_bindings()

    # Keys

    def action_go(self, by: int) -> None:
        """To another stop."""
        if self.sheet is not None:
            self._to(self.number + by)

    def action_day(self) -> None:
        """To the day as a whole."""
        if self.sheet is not None:
            self._to(0)

    def _to(self, number: int) -> None:
        assert self.sheet is not None
        number = min(max(0, number), len(self.sheet.stops))
        if number != self.number:
            self.number = number
            self._show_head()
            self.query_one("#day-sheet-page").scroll_to(y=0, animate=False)

    def action_pond(self) -> None:
        """Open the pond of the stop."""
        self._at_pond("pond")

    def action_test(self) -> None:
        """Enter a water test of its pond."""
        self._at_pond("test")

    def action_examine(self) -> None:
        """Enter an examination at its pond."""
        self._at_pond("examine")

    @work(group="pond-open", exclusive=True)
    async def _at_pond(self, what: str) -> None:
        stop = self.here
        if stop is None:
            return
        app = self.ponds_app
        pond = await pond_of_stop(app, stop.stop.errand)
        if pond is None:
            return
        if what == "test":
            from tui.screens.water.water_test import WaterTestScreen

            app.push_screen(WaterTestScreen(pond))
        elif what == "examine":
            from tui.screens.exams.examination import ExaminationScreen

            app.push_screen(ExaminationScreen(pond))
        else:
            app.open_pond(pond)

    @work(group="diary-ask", exclusive=True)
    async def action_write(self) -> None:
        """Write the round to a file."""
        await write_round(self.ponds_app, self.plan, self.staff_id)

    def action_again(self) -> None:
        """Read the book anew."""
        self._read()

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """The day as a whole has no pond; before it and after the last stop there is nothing."""
        if self.sheet is None:
            return True
        if action in ("pond", "test", "examine"):
            return self.here is not None
        if action == "go":
            number = self.number + (1 if parameters == (1,) else -1)
            return True if 0 <= number <= len(self.sheet.stops) else None
        return True


def _after(sheet: DaySheet, stop: StopSheet) -> str:
    """What comes after a stop, in a few words."""
    if stop.number == len(sheet.stops):
        return f"then home, {clock_said(sheet.back)}"
    after = sheet.stops[stop.number]
    return f"then {clock_said(after.stop.arrives)} {one_line(after.stop.errand.name)}"
