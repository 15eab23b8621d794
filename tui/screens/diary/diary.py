"""The diary: who goes where on a day or in a week, how full it is, and what is free."""

from __future__ import annotations

from collections.abc import Hashable
from datetime import date, timedelta
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType
from textual.screen import Screen

from store.errors import PondroundError
from store.text import day_said
from tui.said import said_head
from tui.screens.diary.diary_lines import (
    DAY_COLUMNS,
    WEEK_COLUMNS,
    DiaryKey,
    day_rows,
    monday_of,
    said_long_day,
    said_week,
    told_day,
    told_free,
    told_visit,
    week_rows,
)
from tui.screens.parts.help import HELP, open_help
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid
from tui.widgets.literal import one_line
from tui.widgets.strip import BottomStrip, Told
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.diary.booking.values import DiaryDay, Visiting
    from tui.app import PondroundApp


class DiaryGrid(LineGrid):
    """The lines of the diary; the arrows to the sides go to another day or week."""

    BINDINGS: ClassVar[list[BindingType]] = [
        Binding("left", "screen.go(-1)", "before", key_display="←", id="diary.before",
                tooltip="To the day before, or the week before"),
        Binding("right", "screen.go(1)", "next", key_display="→", id="diary.next",
                tooltip="To the next day, or the next week"),
    ]  # fmt: skip


EMPTY_DAY = (
    "Nobody works and nothing is booked on this day. Press h to say who works when; "
    "a visit is booked from the desk, or with v on the page of a pond."
)
_ALL = "all"


class DiaryScreen(Screen[None]):
    """A day or a week of every vet, or of one.

    Parameters
    ----------
    day
        The day to begin with; today where none is given.
    visit
        The visit on which the cursor stands at first.
    """

    CSS_PATH = "../sheets/diary.tcss"
    QUESTION = "Who goes where, how full is it, and what is free?"
    ABOUT = (
        "A day shows for each vet the visits by the hour, the free time between them, how much of "
        "the working hours is booked, and whether somebody is away or there is a public holiday. "
        "w shows the week: a line for each vet and day, with the visits where v chose one vet. "
        "Enter opens a visit, or the day under the cursor; on a visit m moves it, d cancels it, e "
        "says that it took place. Visits are booked from the desk or from the page of a pond; h "
        "says who works when, o who is away, r shows the round of the day, x writes the calendar "
        "to a file, t goes back to today."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("w", "week", "week/day", id="diary.week", tooltip="The week, or one day of it"),
        Binding("v", "vet", "vet", id="diary.vet", tooltip="One vet's diary, or everybody's"),
        Binding("o", "away", "days off", id="diary.away",
                tooltip="Who is away: days off, public holidays, a calendar file to bring in"),
        Binding("t", "today", "today", show=False, id="diary.today", tooltip="Back to today"),
        Binding("h", "hours", "hours", show=False, id="diary.hours",
                tooltip="Who works when and sets out from where; how long visits take"),
        Binding("x", "export", "to a file", show=False, id="diary.export",
                tooltip="Write the calendar of a vet or the practice to a file"),
        Binding("r", "round", "round", show=False, id="diary.round",
                tooltip="The round of the day: where one drives, and in which order"),
        Binding("p", "pond", "pond", show=False, id="diary.pond",
                tooltip="Open the pond of the visit"),
        Binding("m", "act('move')", "move", show=False, id="diary.move",
                tooltip="Move the visit to another day or hour"),
        Binding("d", "act('cancel')", "cancel", show=False, id="diary.cancel",
                tooltip="Cancel the visit, with a reason"),
        Binding("e", "act('done')", "took place", show=False, id="diary.done",
                tooltip="The visit took place"),
        Binding("escape", "back", "back", show=False, id="diary.back",
                tooltip="Back one step: from the day to the week, or to where you came from"),
        Binding("f5", "again", "look again", show=False, id="diary.again",
                tooltip="Read the diary anew"),
    ]  # fmt: skip

    def __init__(self, day: date | None = None, visit: UUID | None = None) -> None:
        super().__init__()
        self.day = day
        self.by_week = False
        self.staff_id: UUID | None = None
        self._who = ""
        self._today: date | None = None
        self.days: tuple[DiaryDay, ...] = ()
        self._visits: dict[UUID, Visiting] = {}
        self._wanted: Hashable | None = visit
        """Where the cursor goes once the days are there."""

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, the lines, the strip."""
        yield Top("Diary", id="diary-head")
        yield Line()
        yield DiaryGrid(
            DAY_COLUMNS, empty="reading the diary …", header=True, gutter="mark", id="diary-list"
        )
        yield Line()
        yield BottomStrip(id="diary-strip")
        yield Foot()

    def on_mount(self) -> None:
        """The lines have the keys; they fill behind the first paint."""
        self.query_one(LineGrid).focus()
        self._read()

    def on_screen_resume(self) -> None:
        """A visit may have been booked meanwhile."""
        self._read()

    def on_book_opened(self) -> None:
        """The book can be asked now."""
        self._read()

    def on_book_changed(self) -> None:
        """The book has grown: read the diary anew."""
        self._read()

    def _read(self) -> None:
        if getattr(self.app, "book_is_open", True):
            self._read_days()

    def _stretch(self, today: date) -> tuple[date, date]:
        day = self.day or today
        if not self.by_week:
            return day, day
        first = monday_of(day)
        return first, first + timedelta(days=6)

    @work(exclusive=True, group="diary")
    async def _read_days(self) -> None:
        from store.diary.kept.visits.diary import diary

        app = self.ponds_app
        try:
            self._today = today = await app.ask_store(app.today)
            first, last = self._stretch(today)
            days = await app.ask_store(diary, app.book, first, last, staff_id=self.staff_id)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        self.days = days
        self._visits = {visit.id: visit for day in days for visit in day.visits}
        self._show(today)

    def _show(self, today: date) -> None:
        day = self.day or today
        whose = f" of {one_line(self._who)}" if self._who else ""
        top = self.query_one(Top)
        said = said_week(day) if self.by_week else said_long_day(day)
        if not self.by_week and any(one.holiday for one in self.days):
            said = f"{said}, public holiday"
        away = "today, " if day == today and not self.by_week else ""
        top.place = f"Diary{whose}: {away}{said}"
        top.moment = said_head(self.ponds_app.now(), self.ponds_app.book.zone)
        grid = self.query_one(LineGrid)
        grid.empty = EMPTY_DAY
        grid.show_columns(WEEK_COLUMNS if self.by_week else DAY_COLUMNS)
        rows = day_rows(self.days)
        if self.by_week:
            rows = week_rows(self.days, today, visits=self.staff_id is not None)
        grid.show(rows)
        if self._wanted is not None:
            if not grid.move_to(self._wanted) and self.by_week:
                self._to_day(day)
            self._wanted = None
        self._explain()
        self.refresh_bindings()

    def _to_day(self, day: date) -> None:
        for one in self.days:
            if one.day == day:
                self.query_one(LineGrid).move_to(DiaryKey("day", day, one.staff_id))
                return

    # What is under the cursor

    def _here(self) -> Visiting | None:
        key = self.query_one(LineGrid).cursor_key
        return self._visits.get(key) if isinstance(key, UUID) else None

    @on(LineGrid.CursorMoved)
    def _moved(self) -> None:
        self._explain()
        self.refresh_bindings()

    def _explain(self) -> None:
        key, told, today = self.query_one(LineGrid).cursor_key, None, self._today
        if today is None:
            return
        visit = self._here()
        if visit is not None:
            told = told_visit(visit, today)
        elif isinstance(key, DiaryKey) and key.kind == "free":
            told = told_free(key, self.days)
        elif isinstance(key, DiaryKey):
            told = self._told_day(key, today)
        self.query_one(BottomStrip).show(told)

    def _told_day(self, key: DiaryKey, today: date) -> Told | None:
        for one in self.days:
            if one.day == key.day and (key.kind == "holiday" or one.staff_id == key.staff_id):
                if key.kind == "holiday":
                    return Told(f"{day_said(one.day)}: public holiday, {one_line(one.holiday)}")
                return told_day(one, today)
        return None

    @on(LineGrid.Opened)
    def _opened(self, opened: LineGrid.Opened) -> None:
        visit = self._here()
        if visit is not None:
            from tui.screens.diary.visit import VisitScreen

            self.app.push_screen(VisitScreen(visit.id))
        elif isinstance(opened.key, DiaryKey) and self.by_week:
            self.by_week, self.day = False, opened.key.day
            self._wanted = opened.key
            self._read()

    # Keys

    def action_go(self, by: int) -> None:
        """To another day, or another week."""
        if self._today is None:
            return
        day = self.day or self._today
        self.day = day + timedelta(days=by * (7 if self.by_week else 1))
        self._read()

    def action_today(self) -> None:
        """Back to today."""
        self.day = None
        self._wanted = DiaryKey("day", self._today, self.staff_id) if self._today else None
        self._read()

    def action_week(self) -> None:
        """The week, or the day of it that is under the cursor."""
        key = self.query_one(LineGrid).cursor_key
        visit = self._here()
        staff_id = visit.staff_id if visit is not None else None
        if isinstance(key, DiaryKey):
            staff_id = key.staff_id
        if self.by_week and (visit is not None or isinstance(key, DiaryKey)):
            self.day = visit.on_day if visit is not None else cast("DiaryKey", key).day
        self.by_week = not self.by_week
        day = self.day or self._today
        self._wanted = DiaryKey("day", day, staff_id) if day is not None else None
        self._read()

    @work(group="diary-ask", exclusive=True)
    async def action_vet(self) -> None:
        """Choose whose diary is shown."""
        from store.book.people import staff
        from tui.screens.parts.dialogs import Choose, Option

        app = self.ponds_app
        try:
            people = await app.ask_store(staff, app.book)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        options = [Option(_ALL, "everybody")]
        busy = {visit.staff_id for visit in self._visits.values()}
        options += [
            Option(one.id, one.name, one.role) for one in people if one.is_vet or one.id in busy
        ]
        chosen = await self.app.push_screen_wait(
            Choose("Whose diary?", options, start=self.staff_id or _ALL)
        )
        if chosen is None:
            return
        self.staff_id = chosen if isinstance(chosen, UUID) else None
        self._who = next((one.name for one in people if one.id == self.staff_id), "")
        self._read()

    def action_away(self) -> None:
        """Days off and public holidays."""
        from tui.screens.diary.away import AwayScreen

        self.app.push_screen(AwayScreen())

    def action_hours(self) -> None:
        """Working hours and usual lengths."""
        from tui.screens.diary.hours import HoursScreen

        self.app.push_screen(HoursScreen())

    @work(group="diary-ask", exclusive=True)
    async def action_export(self) -> None:
        """Write the calendar to a file."""
        from tui.screens.diary.calendar_file import write_calendar

        await write_calendar(self.ponds_app, self.staff_id, self.day)

    def action_round(self) -> None:
        """The round of the day, or of the day under the cursor."""
        from tui.screens.rounds.round import RoundScreen

        key, visit = self.query_one(LineGrid).cursor_key, self._here()
        day = self.day or self._today
        if visit is not None:
            day = visit.on_day
        elif isinstance(key, DiaryKey):
            day = key.day
        self.app.push_screen(RoundScreen(day))

    def action_pond(self) -> None:
        """Open the pond of the visit."""
        visit = self._here()
        if visit is not None and visit.pond_id is not None:
            self.ponds_app.open_pond(visit.pond_id)

    @work(group="diary-ask", exclusive=True)
    async def action_act(self, what: str) -> None:
        """Move the visit under the cursor, cancel it, or say that it took place."""
        from tui.screens.diary.visit import cancel, done, move

        visit = self._here()
        if visit is not None:
            await {"move": move, "cancel": cancel, "done": done}[what](self.ponds_app, visit)

    def action_back(self) -> None:
        """From the day to the week it was opened from is w; here back to where one came from."""
        if len(self.app.screen_stack) > 1 and self.app.screen_stack[0] is not self:
            self.dismiss(None)

    def action_again(self) -> None:
        """Read the diary anew."""
        self._read()

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)

    def check_action(self, action: str, parameters: tuple[object, ...]) -> bool | None:
        """A visit that is closed is neither moved nor cancelled."""
        if action == "act":
            visit = self._here() if self.is_mounted else None
            return visit is not None and visit.state == "planned"
        return super().check_action(action, parameters)
