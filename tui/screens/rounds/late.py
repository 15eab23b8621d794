"""A round that runs late: new times, what is too late, whom to ring, and what would be better."""

from __future__ import annotations

from collections.abc import Hashable
from datetime import datetime, tzinfo
from typing import TYPE_CHECKING, ClassVar
from uuid import UUID

from rich.cells import cell_len
from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content

from store.errors import PondroundError
from store.rounds.solving.halt import Halt
from tui.screens.desk.attempt import PhoneScreen, PhoneStrip, Whom
from tui.screens.parts.help import HELP
from tui.screens.rounds.late_form import LateForm, Lateness
from tui.screens.rounds.late_lines import COLUMNS, errand_at, late_rows, told_late
from tui.screens.rounds.round_lines import RoundGrid
from tui.screens.rounds.rung import note_rung, rung
from tui.screens.rounds.stop_pond import pond_of_stop
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.literal import cut_name, one_line
from tui.widgets.static import Static
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.diary.desk.due import Attempt
    from store.rounds.day.late import RunningLate
    from store.rounds.day.values import DayPlan

READING = "reckoning the new times …"
NOTHING_LEFT = "No stop is left; only the way home. l enters another delay, esc goes back."


class LateScreen(PhoneScreen):
    """What a delay does to one person's round.

    Parameters
    ----------
    plan
        The day as it was planned.
    staff_id
        Whose round.
    lateness
        How late it is, and behind which stop.
    effort
        How much work the search for another order may do; None the usual [-].
    """

    CSS_PATH = ["../sheets/desk.tcss", "../sheets/round.tcss"]  # noqa: RUF012
    QUESTION = "What becomes of a round that runs late, and whom do I ring?"
    ABOUT = (
        "The stops that are left with their new times, beside the hour that the client reckons "
        "with. “ring” stands where a visit begins a quarter of an hour or more later or earlier "
        "than that, “too late” where it is over after the hours in which one gets in. Where "
        "something comes too late, the best order from there stands below, if one helps. r, w and "
        "n log how a call went. Nothing in the diary is changed by this."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("l", "late", "other delay", id="late.again",
                tooltip="Another stop, or another delay"),
        HELP,
        Binding("escape", "back", "back", show=False, id="late.back",
                tooltip="Back to the round; a search that still goes on is ended"),
    ]  # fmt: skip

    def __init__(
        self, plan: DayPlan, staff_id: UUID, lateness: Lateness, *, effort: float | None = None
    ) -> None:
        super().__init__()
        self._plan, self._staff, self._effort = plan, staff_id, effort
        self._lateness = lateness
        self.late: RunningLate | None = None
        self._halt = Halt()

    def compose(self) -> ComposeResult:
        """Head, how late, the lines, the strip, what was logged."""
        yield Top("Late", id="late-head")
        yield Static("", id="late-state", markup=False)
        yield Line()
        yield RoundGrid(COLUMNS, empty=READING, header=True, gutter="mark", id="late-list")
        yield Line()
        yield PhoneStrip(id="late-strip")
        yield Static("", id="desk-said", markup=False)
        yield Foot()

    def on_mount(self) -> None:
        """The lines have the keys; the times are reckoned behind the first paint."""
        self.query_one("#desk-said").display = False
        self.query_one(RoundGrid).focus()
        self._reckon()

    def on_book_changed(self) -> None:
        """A call was logged, or taken back."""
        if self.late is not None and self.is_mounted:
            self._show_rows()

    def on_unmount(self) -> None:
        """Nobody waits for the answer any more."""
        self._halt.stop()

    @work(exclusive=True, group="late")
    async def _reckon(self) -> None:
        app = self.ponds_app
        self._halt.stop()
        self._halt = halt = Halt()
        self.late = None
        self._show()
        try:
            late = await app.ask_store(
                _late, self._plan, self._staff, self._lateness, self._effort, halt
            )
        except PondroundError as trouble:
            app.tell(trouble)
            return
        if halt is self._halt:
            self.late = late
            self._show()

    # Showing

    def _show(self) -> None:
        late, grid = self.late, self.query_one(RoundGrid)
        self.query_one(Top).place = self._place()
        says = "" if late is None else " ".join(late.says)
        self.query_one("#late-state", Static).update(Content(one_line(says)))
        grid.empty = READING if late is None else NOTHING_LEFT
        self._show_rows()
        self._explain()

    def _show_rows(self) -> None:
        late = self.late
        rows = [] if late is None else late_rows(late, rung(self.app, self._told_hours))
        self.query_one(RoundGrid).show(rows)

    @property
    def _told_hours(self) -> Hashable:
        """What a call is made for: the hours of this delay, and of no other."""
        return ("late", self._plan.asked.wish.day, self._staff, self._lateness)

    def _place(self) -> str:
        """Whose round, behind which stop, how late."""
        from store.rounds.solving.said import clock_said

        lateness, one = self._lateness, self._plan.round_of(self._staff)
        if one is None:
            return "Late"
        late = f"{abs(lateness.late_min)} min {'late' if lateness.late_min >= 0 else 'early'}"
        at = "" if self.late is None else f" at {clock_said(self.late.kept.drives_on)}"
        said, where = f"Late: {one_line(one.driver.who)}, {late}{at}, ", "setting out"
        if lateness.done:
            name = one_line(one.stops[lateness.done - 1].errand.name)
            room = self.app.size.width - cell_len(said) - len("behind ") - 2
            where = f"behind {cut_name(name, room)}"
        return f"{said}{where}"

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        late = self.late
        key = self.query_one(RoundGrid).cursor_key
        self.query_one(PhoneStrip).show(None if late is None else told_late(late, key))
        self.refresh_bindings()

    # Calls

    def whom(self) -> Whom | None:
        """The client of the line under the cursor."""
        late = self.late
        errand = None if late is None else errand_at(late, self.query_one(RoundGrid).cursor_key)
        if errand is None:
            return None
        visit = errand.visit
        client = errand.name if visit is None else visit.client
        pond = errand.pond_ids[0] if len(errand.pond_ids) == 1 else None
        return Whom(errand.client_id, client, None, pond, errand.site_id)

    def attempt_shown(self, attempt: Attempt) -> None:
        """How the call went stands beside the client, until it is taken back."""
        note_rung(self.app, self._told_hours, attempt)

    # Keys

    @on(LineGrid.Opened)
    @work(exclusive=True, group="late-ask")
    async def _opened(self) -> None:
        late = self.late
        errand = None if late is None else errand_at(late, self.query_one(RoundGrid).cursor_key)
        if errand is not None:
            pond = await pond_of_stop(self.ponds_app, errand)
            if pond is not None:
                self.ponds_app.open_pond(pond)

    @work(exclusive=True, group="late-ask")
    async def action_late(self) -> None:
        """Another delay."""
        minute = minute_on(self._plan, self.ponds_app.now(), self.ponds_app.book.zone)
        asked = await self.app.push_screen_wait(LateForm(self._plan, self._staff, minute))
        if asked is not None:
            self._lateness = asked
            self._reckon()

    def action_back(self) -> None:
        """Back to the round."""
        self.dismiss(None)

    def letters(self) -> frozenset[str]:
        """Actions whose keys are letters."""
        return super().letters() | {"late"}


def minute_on(plan: DayPlan, now: datetime, zone: tzinfo) -> int | None:
    """The minute that it is on the day of a plan, None where that is another day [min].

    Parameters
    ----------
    plan
        The day.
    now
        The present instant.
    zone
        The practice's time zone.
    """
    local = now.astimezone(zone)
    return local.hour * 60 + local.minute if local.date() == plan.asked.wish.day else None


def _late(
    plan: DayPlan, staff_id: UUID, lateness: Lateness, effort: float | None, halt: Halt
) -> RunningLate:
    from store.rounds.day.late import run_late
    from store.rounds.solving.proof import EFFORT

    return run_late(
        plan, staff_id, lateness.done, lateness.late_min, rested=lateness.rested,
        effort=EFFORT if effort is None else effort, halt=halt,
    )  # fmt: skip
