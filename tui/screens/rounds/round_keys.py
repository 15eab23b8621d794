"""The keys of a round, and what is under the cursor when one is pressed."""

from __future__ import annotations

from abc import abstractmethod
from dataclasses import replace
from datetime import date, timedelta
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.binding import Binding, BindingType
from textual.screen import Screen

from tui.screens.parts.abstract import AbstractScreen
from tui.screens.parts.help import HELP, open_help
from tui.screens.rounds.round_lines import DayGrid, RoundKey, driver_of, errand_of
from tui.widgets.grid import LineGrid

if TYPE_CHECKING:
    from store.diary.booking.values import Visiting
    from store.rounds.day.values import DayPlan, DayWish, Driver, Errand
    from tui.app import PondroundApp
    from tui.widgets.strip import Told


class RoundKeys(Screen[None], metaclass=AbstractScreen):
    """A day with what is wished for it and its plan; its keys change the wish or open pages."""

    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("l", "late", "late", id="round.late",
                tooltip="A round runs late: new times, whom to ring, the best order from there"),
        Binding("y", "agree", "to the diary", id="round.agree",
                tooltip="Enter the plan in the diary: what would change, each to be ticked"),
        Binding("s", "sheet", "sheet", id="round.sheet",
                tooltip="The day's sheet, stop by stop: how one gets in, why we come, what to do"),
        Binding("m", "map", "map", id="round.map",
                tooltip="Where the stops lie, and in which order they are driven to"),
        Binding("x", "export", "to a file", show=False, id="round.export",
                tooltip="Write the round to a file: to print, to read, for a map or a calendar"),
        Binding("w", "week", "week ahead", show=False, id="round.week",
                tooltip="What is due and booked, spread over the days and vets of a week"),
        Binding("e", "explain", "explain", show=False, id="round.explain",
                tooltip="All that the strip says of this line, in full"),
        Binding("r", "remarks", "remarks", show=False, id="round.remarks",
                tooltip="All that is not known, strange, or to be known of this day"),
        Binding("g", "agreed", "agreed hours", show=False, id="round.agreed",
                tooltip="Keep agreed hours, or plan as if all but fixed ones could move"),
        Binding("a", "add_due", "add due", show=False, id="round.add_due",
                tooltip="Add what is due and near the way, or booked visits only"),
        Binding("i", "hold", "hold in", show=False, id="round.hold",
                tooltip="Hold in what is not booked, or no longer"),
        Binding("d", "leave_out", "leave out", show=False, id="round.leave_out",
                tooltip="Leave out what is not booked, or let it in again"),
        Binding("o", "order", "order rule", show=False, id="round.order",
                tooltip="Drive without clean before infected, after a question; or keep it again"),
        Binding("v", "vet", "vet", show=False, id="round.vet",
                tooltip="The round of one vet, or of everybody who drives"),
        Binding("t", "today", "today", show=False, id="round.today", tooltip="Back to today"),
        Binding("p", "visit", "visit", show=False, id="round.visit",
                tooltip="Open the booked visit"),
        Binding("b", "bag", "pack the bag", show=False, id="round.bag",
                tooltip="Pack what this day needs into a file for a laptop without signal"),
        Binding("f5", "again", "plan again", show=False, id="round.again",
                tooltip="Read the day anew and plan it again"),
        Binding("escape", "back", "back", show=False, id="round.back",
                tooltip="Keep the best so far; else back to where you came from"),
    ]  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self.wish: DayWish | None = None
        self.plan: DayPlan | None = None
        self.aside: dict[UUID, Errand] = {}
        """What was left out by hand, as it was seen last."""
        self.as_agreed: DayPlan | None = None
        """The plan that kept the agreed hours, while one looks what it would be without."""
        self.who = ""
        self._today: date | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    @property
    @abstractmethod
    def is_planning(self) -> bool:
        """Whether the day is being planned; an older plan may stand there until it is."""

    @property
    @abstractmethod
    def remarks(self) -> tuple[str, ...]:
        """All that is to be known of the day."""

    @abstractmethod
    def plan_anew(self, wish: DayWish | None = None) -> None:
        """Read the day and plan it, with another wish where one is given."""

    @abstractmethod
    def _visits(self) -> dict[UUID, Visiting]:
        """The visits in the diary."""

    @abstractmethod
    def _told(self) -> Told | None:
        """What the strip says."""

    # What is under the cursor

    @property
    def here(self) -> Errand | None:
        """The errand under the cursor, in a round or not."""
        key = self.query_one(DayGrid).cursor_key
        if not isinstance(key, RoundKey) or not isinstance(key.key, UUID):
            return None
        if key.kind != "errand" or self.plan is None:
            return None
        return errand_of(self.plan, key.key) or self.aside.get(key.key)

    @property
    def driver_here(self) -> Driver | None:
        """Who drives to what is under the cursor; the only one where one alone drives."""
        if self.plan is None:
            return None
        return driver_of(self.plan, self.query_one(DayGrid).cursor_key)

    @on(LineGrid.Opened)
    @work(exclusive=True, group="round-ask")
    async def _opened(self) -> None:
        from tui.screens.rounds.round_acts import open_stop

        key = self.query_one(DayGrid).cursor_key
        visit = None
        if isinstance(key, RoundKey) and isinstance(key.key, UUID):
            visit = self._visits().get(key.key)
        if self.here is None and visit is None:
            self.action_explain()
        else:
            await open_stop(self, self.here, visit)

    # Keys

    def action_go(self, by: int) -> None:
        """To another day; what was wished for this one is not wished for that."""
        if self.wish is not None:
            self.to_day(self.wish.day + timedelta(days=by))

    def action_today(self) -> None:
        """Back to today."""
        if self._today is None or self.wish is None:
            return
        if self.wish.day == self._today:
            self.notify("This is today.", markup=False)
        else:
            self.to_day(self._today)

    def to_day(self, day: date) -> None:
        """The rounds of that day."""
        from store.rounds.day.values import DayWish

        self.aside.clear()
        self.as_agreed = None
        self.query_one(DayGrid).action_first()
        self.plan_anew(DayWish(day, self.wish.staff if self.wish is not None else ()))

    def action_explain(self) -> None:
        """All that the strip says."""
        from tui.screens.parts.dialogs import Tell
        from tui.screens.rounds.round_said import explained

        said = self._told()
        if said is not None:
            self.app.push_screen(Tell(said.head, explained(said) or said.head))

    def action_remarks(self) -> None:
        """All that is to be known of the day."""
        from tui.screens.rounds.round_acts import show_remarks

        show_remarks(self)

    def action_agreed(self) -> None:
        """Keep agreed hours, or not."""
        if self.wish is not None:
            agreed = self.wish.agreed == "kept"
            self.as_agreed = self.plan if agreed and not self.is_planning else None
            self.plan_anew(replace(self.wish, agreed="free" if agreed else "kept"))

    def action_add_due(self) -> None:
        """Add what is due, or booked visits only."""
        from store.rounds.day.values import MOST_ADDED

        if self.wish is not None:
            self.plan_anew(replace(self.wish, add_due=0 if self.wish.add_due else MOST_ADDED))

    def action_hold(self) -> None:
        """Hold it in."""
        from tui.screens.rounds.round_acts import hold

        hold(self)

    def action_leave_out(self) -> None:
        """Leave it out."""
        from tui.screens.rounds.round_acts import leave_out

        leave_out(self)

    @work(exclusive=True, group="round-ask")
    async def action_order(self) -> None:
        """Without clean before infected, after a question."""
        from tui.screens.rounds.round_acts import turn_order

        await turn_order(self)

    @work(exclusive=True, group="round-ask")
    async def action_vet(self) -> None:
        """Whose round."""
        from tui.screens.rounds.round_acts import choose_vet

        await choose_vet(self)

    def action_visit(self) -> None:
        """The booked visit."""
        from tui.screens.diary.visit import VisitScreen
        from tui.screens.rounds.round_acts import NO_VISIT_HERE

        key = self.query_one(DayGrid).cursor_key
        if isinstance(key, RoundKey) and isinstance(key.key, UUID) and key.key in self._visits():
            self.app.push_screen(VisitScreen(key.key))
        elif self.here is not None:
            self.notify("It is not booked: y enters it in the diary.", markup=False)
        else:
            self.notify(NO_VISIT_HERE, markup=False)

    @work(exclusive=True, group="round-ask")
    async def action_bag(self) -> None:
        """Pack the bag of this day."""
        from tui.screens.bag.pack import pack_bag

        if self.wish is not None:
            whose = self.wish.staff[0] if len(self.wish.staff) == 1 else None
            await pack_bag(self.ponds_app, self.wish.day, whose)

    @work(exclusive=True, group="round-ask")
    async def action_late(self) -> None:
        """A round runs late."""
        from tui.screens.rounds.round_acts import run_late

        await run_late(self)

    @work(exclusive=True, group="round-ask")
    async def action_agree(self) -> None:
        """Enter the plan in the diary."""
        from tui.screens.rounds.round_acts import agree

        await agree(self)

    @work(exclusive=True, group="round-ask")
    async def action_kit(self) -> None:
        """What goes into the van."""
        from tui.screens.rounds.kit import KitScreen
        from tui.screens.rounds.round_acts import whose

        who = await whose(self, "Whose kit?")
        if who is not None and self.plan is not None:
            self.app.push_screen(KitScreen(self.plan, who.staff_id))

    @work(exclusive=True, group="round-ask")
    async def action_sheet(self) -> None:
        """The day's sheet, from the stop under the cursor on."""
        from tui.screens.rounds.round_acts import whose
        from tui.screens.rounds.sheet import SheetScreen

        here = self.here
        who = await whose(self, "Whose sheet?")
        if who is not None and self.plan is not None:
            stop = None if here is None else here.key
            self.app.push_screen(SheetScreen(self.plan, who.staff_id, stop))

    def action_map(self) -> None:
        """Where the stops lie."""
        from tui.screens.rounds.map import MapScreen
        from tui.screens.rounds.round_acts import planned_or_said

        who, plan = self.driver_here, planned_or_said(self)
        if plan is not None:
            self.app.push_screen(MapScreen(plan, None if who is None else who.staff_id))

    @work(exclusive=True, group="round-ask")
    async def action_export(self) -> None:
        """Write the round to a file."""
        from tui.screens.rounds.round_acts import planned_or_said
        from tui.screens.rounds.round_out import write_round

        who, plan = self.driver_here, planned_or_said(self)
        if plan is not None:
            await write_round(self.ponds_app, plan, None if who is None else who.staff_id)

    def action_week(self) -> None:
        """The week ahead."""
        from tui.screens.rounds.week import WeekScreen

        if self.wish is not None:
            self.app.push_screen(WeekScreen(self.wish.day))

    def action_again(self) -> None:
        """Plan it again."""
        self.plan_anew()

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)
