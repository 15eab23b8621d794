"""Who is away: days off of each person and of the practice, and the public holidays."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from rich.text import Text
from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from store.errors import PondroundError
from tui.said import DAYS, said_date, said_since
from tui.screens.diary.diary_lines import said_hour, said_long_day
from tui.screens.parts.dialogs import AskReason, Reason
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.page import PageScreen
from tui.screens.ponds.pond_entry import written
from tui.widgets.columns import Column
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid, Row
from tui.widgets.literal import one_line
from tui.widgets.strip import BottomStrip, Told
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.book import Book
    from store.book.writing import Writing
    from store.diary.kept.roster.days_off import DayOff
    from tui.app import PondroundApp

COLUMNS = (
    Column("days", "Days", 23),
    Column("who", "Who", 18),
    Column("says", "Why", 24, weight=1),
    Column("from", "From", 13, drop_order=1),
)
EMPTY = (
    "Nobody is away in the coming year. Press a to enter days off, i to bring in a calendar file."
)
BEHIND_DAYS, AHEAD_DAYS = 30, 366


@dataclass(frozen=True, slots=True)
class AwayPage:
    """Days off and public holidays around today, and whose holidays they are."""

    today: date
    days_off: tuple[DayOff, ...]
    holidays: Mapping[date, str]
    region: str
    people: Mapping[UUID, str]


def read_away(book: Book, today: date) -> AwayPage:
    """All that keeps somebody away, from a month ago for a year; runs in a thread."""
    from store.book.people import staff
    from store.diary.kept.roster.days_off import days_off
    from store.diary.kept.roster.holiday_region import holiday_region, holidays

    first, last = today - timedelta(days=BEHIND_DAYS), today + timedelta(days=AHEAD_DAYS)
    country, region = holiday_region(book)
    return AwayPage(
        today=today,
        days_off=days_off(book, first, last),
        holidays=holidays(book, today, last),
        region=_named(country, region),
        people={one.id: one.name for one in staff(book, struck=True)},
    )


def _named(country: str, region: str) -> str:
    """Whose public holidays, in words: the name of the part, the country by its letters."""
    from store.diary.times.public_holidays import regions

    if not country or not region:
        return country
    return f"{dict(regions(country)).get(region, region)}, {country}"


class AwayScreen(PageScreen):
    """Days off by their first day, the public holidays among them."""

    CSS_PATH = "../sheets/diary.tcss"
    QUESTION = "Who is away, and when does the practice rest?"
    ABOUT = (
        "From a month ago for a year: days off of each person and of the whole practice, and the "
        "public holidays among them. No visit is proposed where somebody is away; visits that "
        "stand there already stay, and are to be moved: enter opens that day in the diary. i "
        "brings in days off from a calendar file (.ics); brought in again, it updates what it "
        "brought before. g says whose public holidays are marked. What is struck through stays "
        "in the book."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("a", "add", "add", id="away.add", tooltip="Enter days off"),
        Binding("s", "strike", "strike", id="away.strike",
                tooltip="Strike the entry under the cursor through, with a reason"),
        Binding("i", "bring", "bring in", id="away.bring",
                tooltip="Bring in days off from a calendar file"),
        Binding("g", "region", "holidays", id="away.region",
                tooltip="Whose public holidays are marked"),
        Binding("escape", "back", "back", id="away.back", tooltip="Back one step"),
        Binding("f5", "again", "look again", show=False, id="away.again", tooltip="Read it anew"),
    ]  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self.page: AwayPage | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, the days, the strip."""
        yield Top("Days off", id="away-head")
        yield Line()
        yield LineGrid(
            COLUMNS, empty="reading the days off …", header=True, gutter="mark", id="away-list"
        )
        yield Line()
        yield BottomStrip(id="away-strip")
        yield Foot()

    @property
    def was_read(self) -> bool:
        """Whether there is something to show already."""
        return self.page is not None

    def on_mount(self) -> None:
        """The list has the keys; it fills behind the first paint."""
        self.query_one(LineGrid).focus()
        self._read()

    @work(exclusive=True, group="away")
    async def _read(self) -> None:
        app = self.ponds_app
        try:
            self.page = await app.ask_store(read_away, app.book, app.today())
        except PondroundError as trouble:
            self.query_one(Top).place = trouble.title
            app.tell(trouble)
            return
        grid = self.query_one(LineGrid)
        grid.empty = EMPTY
        grid.show(away_rows(self.page))
        self._show_head()
        self._explain()

    def _show_head(self) -> None:
        page = self.page
        if page is None:
            return
        count = len(page.days_off)
        many = "no entry" if not count else "1 entry" if count == 1 else f"{count} entries"
        top = self.query_one(Top)
        top.place = f"Days off: {many}"
        top.moment = f"public holidays of {page.region}" if page.region else "no public holidays"

    def _here(self) -> DayOff | None:
        key = self.query_one(LineGrid).cursor_key
        page = self.page
        if page is None:
            return None
        return next((one for one in page.days_off if one.id == key), None)

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        page = self.page
        if page is None:
            return
        one, key = self._here(), self.query_one(LineGrid).cursor_key
        told = None
        if one is not None:
            told = Told(
                f"{said_whose(one, page)}: {said_days_off(one, page.today)}",
                one_line(one.says),
                "Brought in from a calendar file; brought in again, it is updated."
                if one.uid
                else "Entered by hand.",
                "Next: s strikes it through, where somebody is there after all.",
            )
        elif isinstance(key, date):
            told = Told(
                f"{said_long_day(key)}: {one_line(page.holidays[key])}",
                f"Public holiday of {page.region}. Booking a visit on it asks for a reason.",
                "",
                "Next: g says whose public holidays are marked.",
            )
        self.query_one(BottomStrip).show(told)

    @on(LineGrid.Opened)
    def _opened(self, opened: LineGrid.Opened) -> None:
        """The diary of that day: visits that stand there are to be moved."""
        from tui.screens.diary.diary import DiaryScreen

        one = self._here()
        day = one.first_day if one is not None else opened.key
        if isinstance(day, date):
            self.app.push_screen(DiaryScreen(day))

    @work(group="away-ask", exclusive=True)
    async def action_add(self) -> None:
        """Enter days off."""
        people = await self._people()
        if people is not None:
            from tui.screens.diary.away_forms import DayOffScreen

            await self.app.push_screen_wait(DayOffScreen(people))

    @work(group="away-ask", exclusive=True)
    async def action_bring(self) -> None:
        """Bring in a calendar file."""
        from tui.screens.diary.away_file import BringDaysOffScreen

        people = await self._people()
        if people is not None:
            await self.app.push_screen_wait(BringDaysOffScreen(people))

    @work(group="away-ask", exclusive=True)
    async def action_region(self) -> None:
        """Whose public holidays are marked."""
        from tui.screens.diary.away_forms import RegionScreen

        app = self.ponds_app
        try:
            country, region, known = await app.ask_store(_region, app.book)
        except PondroundError as trouble:
            app.tell(trouble)
            return
        await self.app.push_screen_wait(RegionScreen(country, region, known))

    @work(group="away-ask", exclusive=True)
    async def action_strike(self) -> None:
        """Strike the entry under the cursor through."""
        one, page = self._here(), self.page
        if one is None or page is None:
            self.notify("A public holiday is not struck through; g says whose are marked.",
                        markup=False)  # fmt: skip
            return
        title = f"Strike through: {said_whose(one, page)}, {said_days_off(one, page.today)}"
        why = await self.app.push_screen_wait(
            AskReason(title, "Why? The entry stays in the book, with the reason.")
        )
        if isinstance(why, Reason):
            await written(self.ponds_app, _strike, one, why.text)
            self._read()

    async def _people(self) -> tuple[tuple[str, str], ...] | None:
        app = self.ponds_app
        try:
            return await app.ask_store(_people, app.book)
        except PondroundError as trouble:
            app.tell(trouble)
            return None

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_again(self) -> None:
        """Read the days off anew."""
        self._read()

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)


def _people(book: Book) -> tuple[tuple[str, str], ...]:
    from store.book.people import staff

    return tuple((str(one.id), one.name) for one in staff(book))


def _region(book: Book) -> tuple[str, str, tuple[tuple[str, str], ...]]:
    from store.diary.kept.roster.holiday_region import holiday_region
    from store.diary.times.public_holidays import regions

    country, region = holiday_region(book)
    return country, region, regions(country) if country else ()


def _strike(writing: Writing, one: DayOff, why: str) -> None:
    from store.diary.kept.roster.days_off import drop_day_off

    drop_day_off(writing, one.id, one.rev, why)


def said_whose(one: DayOff, page: AwayPage) -> str:
    """Who is away."""
    if one.staff_id is None:
        return "the whole practice"
    return one_line(page.people.get(one.staff_id, "somebody"))


def said_days_off(one: DayOff, today: date) -> str:
    """Which days, and which hours of them."""
    first, last = said_since(one.first_day, today), said_since(one.last_day, today)
    begins = "" if one.from_time is None else f" {said_hour(one.from_time)}"
    ends = "" if one.until_time is None else f" {said_hour(one.until_time)}"
    if one.first_day != one.last_day:
        return f"{first}{begins} – {last}{ends}"
    if begins and ends:
        return f"{first}{begins}–{ends.strip()}"
    return f"{first}{' from' if begins else ''}{begins}{' to' if ends else ''}{ends}"


def away_rows(page: AwayPage) -> list[Row]:
    """Days off and public holidays by their day."""
    placed: list[tuple[date, int, Row]] = []
    for one in page.days_off:
        source = "calendar file" if one.uid else ""
        quiet = one.last_day < page.today
        texts = (said_days_off(one, page.today), said_whose(one, page), one_line(one.says), source)
        cells = tuple(Text(text, style="quiet") if quiet else text for text in texts)
        placed.append((one.first_day, 1, Row(one.id, cells)))
    for day, name in page.holidays.items():
        weekday = "" if day == page.today else f"{DAYS[day.weekday()]} "
        said = "today" if day == page.today else said_date(day, page.today)
        cells = (f"{weekday}{said}", Text("public holiday", style="watch"),
                 one_line(name), page.region)  # fmt: skip
        placed.append((day, 0, Row(day, cells)))
    return [row for _, _, row in sorted(placed, key=lambda one: one[:2])]
