"""The round: where one drives on a day and in which order, what it rests on, what is left out."""

from __future__ import annotations

import asyncio
from collections.abc import Hashable
from contextlib import suppress
from datetime import date
from typing import TYPE_CHECKING
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.content import Content

from store.errors import PondroundError
from tui.said import said_head
from tui.screens.rounds.round_keys import RoundKeys
from tui.screens.rounds.round_lines import (
    DayGrid,
    RoundKey,
    aside_rows,
    booked_rows,
    columns_for,
    round_rows,
)
from tui.screens.rounds.round_said import (
    CHANGED,
    NO_VISIT,
    NOT_BOOKED,
    NOTHING_DUE,
    WITHOUT_DUE,
    Shown,
    remarks_of,
    said_place,
    said_planning,
    said_state,
    said_unplanned,
    told,
    told_booked,
)
from tui.screens.rounds.round_work import (
    Basis,
    Held,
    Planning,
    asked_for,
    basis,
    changed_since,
    first_day,
    planned,
)
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid, Row
from tui.widgets.literal import one_line
from tui.widgets.static import Static
from tui.widgets.strip import BottomStrip, Told
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.diary.booking.values import Visiting
    from store.rounds.day.values import DayAsked, DayPlan, DayWish

READING = "reading the day …"


class RoundScreen(RoundKeys):
    """The rounds of a day, of every vet who drives or of one.

    Parameters
    ----------
    day
        The day; where none is given today, or the next working day once the work is over.
    effort
        How much work the search may do; None the usual [-].
    """

    CSS_PATH = "../sheets/round.tcss"
    QUESTION = "Where do I drive, in which order?"
    ABOUT = (
        "For each vet a line with setting out, being back and driving, then the stops in their "
        "order: clean ponds before doubtful, infected and suspect ones. The strip tells why a stop "
        "stands where it does, its hours, the way and what that rests on. While it is being "
        "planned the booked visits stand here; esc keeps the best so far. What is due and near the "
        "way is added, and marked “not booked”: i holds it in, d leaves it out. What is left out "
        "stands below with the reason. Agreed hours are kept; g plans as if they could move, and "
        "marks whom to ring. Nothing is written to the diary before y. l tells what becomes of a "
        "round that runs late. Where the diary changes meanwhile it is said, and f5 plans again."
    )

    def __init__(self, day: date | None = None, *, effort: float | None = None) -> None:
        super().__init__()
        self.day, self._effort = day, effort
        self._asked: DayAsked | None = None
        self._basis: Basis | None = None
        self._held: Held | None = None
        self._planning: Planning | None = None
        self._changed = ""
        self._first_key: Hashable | None = None

    @property
    def is_planning(self) -> bool:
        """Whether the day is being planned; an older plan may stand there until it is."""
        return self._planning is not None

    def compose(self) -> ComposeResult:
        """Head, how far the plan is, the rounds, the strip."""
        yield Top("Round", id="round-head")
        yield Static("", id="round-state", markup=False)
        yield Line()
        yield DayGrid(
            columns_for(self.app.size.width), empty=READING, header=True, gutter="mark",
            id="round-list",
        )  # fmt: skip
        yield Line()
        yield BottomStrip(id="round-strip")
        yield Foot()

    def on_mount(self) -> None:
        """The lines have the keys; the day is planned behind the first paint."""
        self.query_one(DayGrid).focus()
        self.set_interval(1.0, self._tick)
        if getattr(self.app, "book_is_open", True):
            self.plan_anew()

    def on_unmount(self) -> None:
        """Nobody waits for the plan any more."""
        if self._planning is not None:
            self._planning.halt.stop()

    def on_book_opened(self) -> None:
        """The book can be asked now."""
        self.plan_anew()

    def on_book_changed(self) -> None:
        """What was planned is never replaced unasked; that it is out of date is said."""
        self._look()

    def on_screen_resume(self) -> None:
        """Somebody else may have written meanwhile."""
        self._look()

    def on_resize(self) -> None:
        """More columns in a wide window."""
        self.call_after_refresh(self._show)

    # Planning

    def plan_anew(self, wish: DayWish | None = None) -> None:
        """Read the day and plan it, with another wish where one is given."""
        if self._planning is not None:
            self._planning.halt.stop()
        self.wish = wish or self.wish
        self._plan_day()

    @work(exclusive=True, group="round-plan")
    async def _plan_day(self) -> None:
        from store.rounds.day.values import DayWish

        app = self.ponds_app
        now = app.now()
        try:
            self._today = await app.ask_store(app.today)
            wish = self.wish
            if wish is None:
                day = self.day
                if day is None:
                    day = await app.ask_store(first_day, app.book, now)
                wish = self.wish = DayWish(day)
            planning = self._planning = Planning(wish, now)
            if self.plan is not None and self.plan.asked.wish.day != wish.day:
                self.plan = self._asked = self._basis = None
            self._basis = await app.ask_store(basis, app.book, wish.day)
            self._changed = ""
            self._show()
            asked, self._held = await app.ask_store(asked_for, app.book, wish, now, self._held)
            self._asked = asked
            self._show()
            plan = await self._planned(asked, planning)
        except PondroundError as trouble:
            self._planning = None
            if self.plan is not None:
                self.wish = self.plan.asked.wish  # what stands here is the plan of that
            self._show()
            app.tell(trouble)
            return
        if self._planning is planning:
            self.plan, self._planning = plan, None
            self._show()
            if plan is not None and plan.broken:
                self.query_one(DayGrid).move_to(RoundKey("broken", 0))

    async def _planned(self, asked: DayAsked, planning: Planning) -> DayPlan | None:
        if not asked.drivers or not asked.errands:
            return None
        loop = asyncio.get_running_loop()

        def better(plan: DayPlan) -> None:
            with suppress(RuntimeError):  # the application was left meanwhile
                loop.call_soon_threadsafe(self._better, planning, plan.found.drive_min)

        return await self.ponds_app.ask_store(planned, asked, self._effort, planning.halt, better)

    def _better(self, planning: Planning, drive_min: int) -> None:
        planning.best_min = drive_min
        if planning is self._planning and self.is_mounted:
            self._show_head()

    @work(exclusive=True, group="round-look")
    async def _look(self) -> None:
        """Whether the plan is out of date."""
        app, wish, before = self.ponds_app, self.wish, self._basis
        if wish is None or before is None:
            return
        try:
            self._today = await app.ask_store(app.today)
            what = await app.ask_store(changed_since, app.book, wish.day, before)
        except PondroundError:
            return  # the next key that reads will tell it
        if before is not self._basis or wish is not self.wish:
            return
        if what and self.plan is None and self._planning is None:
            self.plan_anew()  # there is nothing that could be replaced
            return
        self._changed = CHANGED.format(what=what.capitalize()) if what else ""
        self._show_head()

    # Showing

    def _tick(self) -> None:
        if self._basis is not None:
            self._show_head()

    def _show_head(self) -> None:
        wish, today, app = self.wish, self._today, self.ponds_app
        if wish is None or today is None:
            return
        top = self.query_one(Top)
        top.place = said_place(wish.day, today, self.who)
        top.moment = said_head(app.now(), app.book.zone) if app.screen_stack[:1] == [self] else ""
        state, style = self._state(wish)
        line = self.query_one("#round-state", Static)
        said = "\n".join(one_line(one) for one in state.splitlines())
        line.update(Content.styled(said, style))

    def _state(self, wish: DayWish) -> tuple[str, str]:
        planning, plan = self._planning, self.plan
        style = "$level-watch" if self._changed else ""
        if planning is not None:
            said = said_planning(planning.seconds(self.ponds_app.now()), planning.best_min)
            if planning.halt.stopped:
                said = "ending, with the best so far …"
            return (f"{self._changed}   {said}" if self._changed else said), style
        if plan is None:
            asked = self._asked
            said = "" if asked is None else said_unplanned(asked, self.who, self._changed)
            return said or self._changed, style
        shown = Shown(wish, self._changed, self.as_agreed, self.app.size.width - 2)
        return said_state(plan, shown), style

    def _show(self) -> None:
        wish = self.wish
        if wish is None or not self.is_mounted:
            return
        grid = self.query_one(DayGrid)
        width = self.app.size.width
        grid.empty = self._why_empty()
        grid.show_columns(columns_for(width))
        rows = self._rows(width)
        stays = grid.cursor_key != self._first_key
        self._first_key = rows[0].key if rows else None
        grid.show(rows)
        if not stays:
            grid.action_first()  # what comes before the line where one began is read first
        self._show_head()
        self._explain()
        self.refresh_bindings()

    def _rows(self, width: int) -> list[Row]:
        plan, asked = self.plan, self._asked
        left = [one for key, one in self.aside.items() if self.wish and key in self.wish.left]
        if plan is not None:
            known = {one.key for one in plan.asked.errands}
            return [*round_rows(plan, width), *aside_rows(
                [one for one in left if one.key not in known], width
            )]  # fmt: skip
        sites = {} if asked is None else {one.site_id: one.standing for one in asked.errands}
        rows = booked_rows(self._visits().values(), sites, width)
        return [*rows, *aside_rows(left, width)]

    def _visits(self) -> dict[UUID, Visiting]:
        """The visits in the diary of those who are asked for."""
        if self._basis is None or self.wish is None:
            return {}
        only = self.wish.staff
        return {
            visit.id: visit
            for day in self._basis.days
            if not only or day.staff_id in only
            for visit in day.visits
        }

    def _why_empty(self) -> str:
        if self._asked is None or self._planning is not None:
            return READING
        if not self._asked.drivers:
            return NOT_BOOKED
        added = self.wish is not None and self.wish.add_due
        return (NOTHING_DUE if added else WITHOUT_DUE) + NO_VISIT

    @property
    def remarks(self) -> tuple[str, ...]:
        """All that is to be known of the day."""
        return () if self._asked is None else remarks_of(self._asked, self.plan)

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        self.query_one(BottomStrip).show(self._told())
        self.refresh_bindings()

    def _told(self) -> Told | None:
        key, today = self.query_one(DayGrid).cursor_key, self._today
        if today is None or not isinstance(key, RoundKey):
            return None
        if self.plan is not None:
            return told(self.plan, key, today, self.aside)
        visit = self._visits().get(key.key) if isinstance(key.key, UUID) else None
        return None if visit is None else told_booked(visit, today)

    # Leaving

    def action_back(self) -> None:
        """Keep the best so far, or go back to where one came from."""
        if self._planning is not None:
            self._planning.halt.stop()
            self._show_head()
        elif len(self.app.screen_stack) > 1 and self.app.screen_stack[0] is not self:
            self.dismiss(None)
