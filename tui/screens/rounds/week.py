"""The week ahead: what is due and booked, spread over vets and days, to be agreed by telephone."""

from __future__ import annotations

import asyncio
from contextlib import suppress
from datetime import date, timedelta
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.content import Content
from textual.screen import Screen

from store.errors import PondroundError
from tui.said import DAYS, said_date, said_head
from tui.screens.parts.help import HELP, open_help
from tui.screens.rounds.round_lines import RoundGrid
from tui.screens.rounds.week_lines import WeekKey, columns_for, told, week_rows
from tui.screens.rounds.week_work import Planning, asked_for, planned
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.literal import one_line
from tui.widgets.static import Static
from tui.widgets.strip import BottomStrip
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.rounds.week.values import WeekDay, WeekLine, WeekPlan
    from tui.app import PondroundApp

READING = "reading what is due and booked in these days …"
CHANGED = "the book has changed since: f5 plans again"
_WEEK = timedelta(days=7)


class WeekGrid(RoundGrid):
    """The lines of a week; the arrows to the sides go to other weeks."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "screen.go(-1)", "before", key_display="←", id="week.before",
                tooltip="The seven days before, not further than today"),
        Binding("right", "screen.go(1)", "next", key_display="→", id="week.next",
                tooltip="The next seven days"),
    ]  # fmt: skip


class WeekScreen(Screen[None]):
    """Seven days with everybody's visits, booked and to be agreed.

    Parameters
    ----------
    day
        The first day; today where it lies behind, or none is given.
    effort
        How much work the search may do; None the usual [-].
    """

    CSS_PATH = "../sheets/week.tcss"
    QUESTION = "Whom do I ring for which day of the week?"
    ABOUT = (
        "The visits of seven days. What is booked stays on its day, at its hour and with its vet. "
        "What is due and needs a visit is spread over vets and days within hours of access, "
        "working hours and windows, so that little is driven; what is late comes early, and where "
        "it cannot, that is said. Nothing of it is in the diary: ring the client, and enter opens "
        "the booking with day, hour and vet to begin with. “Adds” is the drive that a visit adds "
        "to its day. While it is being planned esc keeps the best so far. Below stand the visits "
        "that are left out, each with its reason, and what is to be known."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("d", "day", "that day", id="week.day", tooltip="The day under the cursor in the "
                "diary"),
        Binding("p", "pond", "pond", id="week.pond", tooltip="Open the pond of the visit"),
        Binding("f5", "again", "plan again", key_display="F5", id="week.again",
                tooltip="Read the book and plan the week again"),
        Binding("escape", "back", "stop/back", id="week.back",
                tooltip="Keep the best so far; else back to where you came from"),
    ]  # fmt: skip

    def __init__(self, day: date | None = None, *, effort: float | None = None) -> None:
        super().__init__()
        self.day, self._effort = day, effort
        self.plan: WeekPlan | None = None
        self.booked: set[UUID] = set()
        """Keys of errands that were booked since the week was planned."""
        self._planning: Planning | None = None
        self._best: WeekPlan | None = None
        """The best so far, while there is no plan yet."""
        self._today: date | None = None
        self._changed = False

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    @property
    def shown(self) -> WeekPlan | None:
        """The plan, or the best so far while there is none."""
        return self.plan or self._best

    @property
    def is_planning(self) -> bool:
        """Whether the week is being planned; an older plan may stand there until it is."""
        return self._planning is not None

    def compose(self) -> ComposeResult:
        """Head, how far the plan is, the days, the strip."""
        yield Top("Week ahead", id="week-head")
        yield Static("", id="week-state", markup=False)
        yield Line()
        yield WeekGrid(
            columns_for(self.app.size.width), empty=READING, header=True, gutter="mark",
            id="week-list",
        )  # fmt: skip
        yield Line()
        yield BottomStrip(id="week-strip")
        yield Foot()

    def on_mount(self) -> None:
        """The lines have the keys; the week is planned behind the first paint."""
        self.query_one(WeekGrid).focus()
        self.set_interval(1.0, self._show_head)
        if getattr(self.app, "book_is_open", True):
            self._plan_week()

    def on_unmount(self) -> None:
        """Nobody waits for the plan any more."""
        if self._planning is not None:
            self._planning.halt.stop()

    def on_book_opened(self) -> None:
        """The book can be asked now."""
        self._plan_week()

    def on_book_changed(self) -> None:
        """A plan from which somebody is telephoning is never replaced unasked."""
        self._changed = self.plan is not None
        self._show_head()

    def on_resize(self) -> None:
        """More columns in a wide window."""
        self.call_after_refresh(self._show)

    # Planning

    @work(exclusive=True, group="week-plan")
    async def _plan_week(self) -> None:
        if self._planning is not None:
            self._planning.halt.stop()
        app = self.ponds_app
        now = app.now()
        try:
            self._today = await app.ask_store(app.today)
            first = max(self.day or self._today, self._today)
            planning = self._planning = Planning(first, now)
            if self.plan is not None and self.plan.asked.wish.first != first:
                self.plan = None
            self._best = None
            self._show()
            asked = await app.ask_store(asked_for, app.book, first, now)
            loop = asyncio.get_running_loop()

            def better(plan: WeekPlan) -> None:
                with suppress(RuntimeError):  # the application was left meanwhile
                    loop.call_soon_threadsafe(self._better, planning, plan)

            plan = await app.ask_store(planned, asked, self._effort, planning.halt, better)
        except PondroundError as trouble:
            self._planning = self._best = None
            self._show()
            app.tell(trouble)
            return
        if self._planning is planning:
            self.plan, self._best, self._planning = plan, None, None
            self.booked, self._changed = set(), False
            self._show()

    def _better(self, planning: Planning, plan: WeekPlan) -> None:
        planning.best_min = plan.drive_min
        if planning is self._planning and self.is_mounted:
            self._best = plan
            self._show()

    # Showing

    def _show_head(self) -> None:
        if self._today is None or not self.is_mounted:
            return
        first = max(self.day or self._today, self._today)
        last = first + _WEEK - timedelta(days=1)
        top = self.query_one(Top)
        top.place = f"Week ahead: {self._said(first)} to {self._said(last)}"
        top.moment = said_head(self.ponds_app.now(), self.ponds_app.book.zone)
        state, style = self._state()
        self.query_one("#week-state", Static).update(Content.styled(one_line(state), style))

    def _said(self, day: date) -> str:
        return f"{DAYS[day.weekday()]} {said_date(day, self._today or day)}"

    def _state(self) -> tuple[str, str]:
        if self._planning is not None:
            return self._planning.said(self.ponds_app.now()), ""
        if self.plan is None:
            return "", ""
        changed = self._changed or bool(self.booked)
        said = self._sums(self.plan)
        return (f"{said}   {CHANGED}", "$level-watch") if changed else (said, "")

    @staticmethod
    def _sums(plan: WeekPlan) -> str:
        booked = sum(line.errand.booked for line in plan.lines)
        parts = [f"{booked} booked"]
        if due := len(plan.lines) - booked:
            parts.append(f"{due} to be agreed")
        if plan.left_out:
            parts.append(f"{len(plan.left_out)} left out")
        proof = "proven" if plan.found.proven else f"{plan.found.gap_min} min less at most"
        return f"{', '.join(parts)}; {plan.drive_min} min of driving, {proof}"

    def _show(self) -> None:
        if self._today is None or not self.is_mounted:
            return
        grid, width = self.query_one(WeekGrid), self.app.size.width
        grid.show_columns(columns_for(width))
        plan = self.shown
        grid.show([] if plan is None else week_rows(plan, self._today, width, self.booked))
        self._show_head()
        self._explain()
        self.refresh_bindings()

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        key = self.query_one(WeekGrid).cursor_key
        said, plan = None, self.shown
        if plan is not None and self._today is not None and isinstance(key, WeekKey):
            said = told(plan, key, self._today, self.booked)
        self.query_one(BottomStrip).show(said)
        self.refresh_bindings()

    # What is under the cursor

    @property
    def line_here(self) -> WeekLine | None:
        """The visit under the cursor."""
        key, plan = self.query_one(WeekGrid).cursor_key, self.shown
        if plan is None or not isinstance(key, WeekKey) or key.kind != "visit":
            return None
        return next((one for one in plan.lines if one.errand.key == key.key), None)

    @property
    def day_here(self) -> WeekDay | None:
        """The day under the cursor, that of a visit too."""
        key, line, plan = self.query_one(WeekGrid).cursor_key, self.line_here, self.shown
        if plan is None or not isinstance(key, WeekKey):
            return None
        day = line.day if line is not None else key.key if key.kind == "day" else None
        return next((one for one in plan.days if one.day == day), None)

    @on(LineGrid.Opened)
    def _opened(self) -> None:
        line = self.line_here
        if line is not None and line.errand.visit is not None:
            from tui.screens.diary.visit import VisitScreen

            self.app.push_screen(VisitScreen(line.errand.visit.id))
        elif line is not None and self._planning is not None:
            self.notify("The week is still being planned; esc keeps the best so far.", markup=False)
        elif line is not None and line.errand.key not in self.booked:
            self._book(line)
        elif self.day_here is not None and line is None:
            self.action_day()

    @work(exclusive=True, group="week-ask")
    async def _book(self, line: WeekLine) -> None:
        """Book what was agreed; the plan stays as it is, so that one can ring on."""
        from tui.screens.rounds.week_work import WeekBooking

        visit = await self.app.push_screen_wait(WeekBooking(line))
        if visit is not None:
            self.booked.add(line.errand.key)
            self._show()

    # Keys

    def action_go(self, by: int) -> None:
        """To other days."""
        if self._today is None:
            return
        first = max(self.day or self._today, self._today)
        day = max(self._today, first + by * _WEEK)
        if day != first:
            self.day = day
            self._plan_week()

    def action_day(self) -> None:
        """The day under the cursor in the diary."""
        from tui.screens.diary.diary import DiaryScreen

        here = self.day_here
        if here is not None:
            self.app.push_screen(DiaryScreen(here.day))

    def action_pond(self) -> None:
        """Open the pond of the visit."""
        line = self.line_here
        if line is not None and line.errand.pond_ids:
            self.ponds_app.open_pond(line.errand.pond_ids[0])

    def action_again(self) -> None:
        """Plan the week again."""
        self._plan_week()

    def action_back(self) -> None:
        """Keep the best so far, or go back to where one came from."""
        if self._planning is not None and not self._planning.halt.stopped:
            self._planning.halt.stop()
            self._show_head()
        elif len(self.app.screen_stack) > 1 and self.app.screen_stack[0] is not self:
            self.dismiss(None)

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """Only where there is something to open."""
        if action in ("day", "pond") and self.is_mounted:
            if action == "day":
                return self.day_here is not None
            return self.line_here is not None and bool(self.line_here.errand.pond_ids)
        return super().check_action(action, parameters)
