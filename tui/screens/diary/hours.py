"""Who works when and sets out from where, and how long a visit of each kind takes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, ClassVar, cast
from uuid import UUID

from rich.text import Text
from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from store.errors import PondroundError
from tui.said import said_since
from tui.screens.diary.diary_lines import said_length
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.page import PageScreen
from tui.widgets.columns import Column
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid, Row
from tui.widgets.literal import one_line
from tui.widgets.strip import BottomStrip, Told
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.book import Book
    from store.book.people import Staff
    from store.diary.kept.roster.staff_hours import StaffDay
    from store.diary.kept.roster.way_home import WayHome
    from tui.app import PondroundApp

COLUMNS = (
    Column("who", "Who, or which visits", 20, weight=1),
    Column("hours", "Works, or takes", 20, weight=2),
    Column("break", "Break", 7, align="right", drop_order=1),
    Column("from", "Sets out from, or why", 16, weight=1, drop_order=2),
)


@dataclass(frozen=True, slots=True)
class HoursPage:
    """The hours of everybody as they are in force today, and the usual lengths of visits [min].

    `ahead` are hours that hold from a later day on, with that day; `homes` is where days end that
    do not end where they began.
    """

    today: date
    people: tuple[Staff, ...]
    hours: Mapping[UUID, StaffDay]
    ahead: Mapping[UUID, tuple[tuple[date, str], ...]]
    lengths: Mapping[str, tuple[int, str]]
    homes: Mapping[UUID, WayHome]


def read_hours_page(book: Book, today: date) -> HoursPage:
    """Hours and lengths as they stand in the book; runs in a thread."""
    from store.book.people import staff
    from store.diary.kept.roster.staff_hours import roster
    from store.diary.kept.roster.visit_lengths import visit_lengths
    from store.diary.kept.roster.way_home import ways_home

    found = roster(book)
    ahead: dict[UUID, tuple[tuple[date, str], ...]] = {}
    for whose, entries in found.hours.items():
        # The newest of a day is in force, and they stand newest first.
        later = {one.from_day: one.typed for one in reversed(entries) if one.from_day > today}
        ahead[whose] = tuple(sorted(later.items()))
    return HoursPage(
        today, staff(book), found.on(today), ahead, visit_lengths(book), ways_home(book, today)
    )


class HoursScreen(PageScreen):
    """Everybody's working hours, then the usual lengths of visits."""

    CSS_PATH = "../sheets/diary.tcss"
    QUESTION = "Who works when, and how long does a visit take?"
    ABOUT = (
        "At the top everybody with the working hours that are in force today and the place from "
        "which they set out; below how long a visit of each kind takes beside the pond, without "
        "the drive. Enter changes the line under the cursor. Hours hold from a day on, and what "
        "stood before stays readable; a length needs its reason."
    )
    BINDINGS: ClassVar[list[BindingType]] = [
        HELP,
        Binding("n", "kind", "another kind", id="hours.kind",
                tooltip="State how long visits of another kind take"),
        Binding("escape", "back", "back", id="hours.back", tooltip="Back one step"),
        Binding("f5", "again", "look again", show=False, id="hours.again", tooltip="Read it anew"),
    ]  # fmt: skip

    def __init__(self) -> None:
        super().__init__()
        self.page: HoursPage | None = None

    @property
    def ponds_app(self) -> PondroundApp:
        """The application, by its own contract."""
        return cast("PondroundApp", self.app)

    def compose(self) -> ComposeResult:
        """Head, people and kinds, the strip."""
        yield Top("Working hours and lengths of visits", id="hours-head")
        yield Line()
        yield LineGrid(COLUMNS, empty="reading …", header=True, gutter="mark", id="hours-list")
        yield Line()
        yield BottomStrip(id="hours-strip")
        yield Foot()

    @property
    def was_read(self) -> bool:
        """Whether there is something to show already."""
        return self.page is not None

    def on_mount(self) -> None:
        """The list has the keys; it fills behind the first paint."""
        self.query_one(LineGrid).focus()
        self._read()

    @work(exclusive=True, group="hours")
    async def _read(self) -> None:
        app = self.ponds_app
        try:
            self.page = await app.ask_store(read_hours_page, app.book, app.today())
        except PondroundError as trouble:
            self.query_one(Top).place = trouble.title
            app.tell(trouble)
            return
        self.query_one(LineGrid).show(hours_rows(self.page))
        self._explain()

    def _show_head(self) -> None:
        """The head says the same at any width."""

    @on(LineGrid.CursorMoved)
    def _explain(self) -> None:
        page, key = self.page, self.query_one(LineGrid).cursor_key
        if page is None or key is None:
            return
        told = told_length(str(key), page) if isinstance(key, str) else None
        if isinstance(key, UUID):
            told = told_hours(key, page)
        self.query_one(BottomStrip).show(told)

    @on(LineGrid.Opened)
    def _opened(self, opened: LineGrid.Opened) -> None:
        from tui.screens.diary.hours_forms import LengthScreen, PersonHoursScreen

        page = self.page
        if page is None:
            return
        if isinstance(opened.key, UUID):
            one = next(one for one in page.people if one.id == opened.key)
            self.app.push_screen(
                PersonHoursScreen(one, page.hours.get(one.id), page.homes.get(one.id))
            )
        else:
            kind = str(opened.key)
            minutes, _ = page.lengths[kind]
            self.app.push_screen(LengthScreen(kind, minutes))

    def action_kind(self) -> None:
        """How long visits of another kind take."""
        from tui.screens.diary.hours_forms import LengthScreen

        self.app.push_screen(LengthScreen("", None))

    def action_back(self) -> None:
        """Back one step."""
        self.dismiss(None)

    def action_again(self) -> None:
        """Read it anew."""
        self._read()

    def action_help(self) -> None:
        """What this page is for, and its keys."""
        open_help(self.app)


def hours_rows(page: HoursPage) -> list[Row]:
    """Everybody with their hours, then each kind of visit with its length."""
    rows = []
    for one in page.people:
        day = page.hours.get(one.id)
        rest, place = "", ""
        if day is None or not day.typed:
            said = f"not entered, {day.usual} stands in" if day is not None else "not entered"
        else:
            said = one_line(day.typed)
        for from_day, typed in page.ahead.get(one.id, ()):
            said = f"{said}; from {said_since(from_day, page.today)} {one_line(typed)}"
        if day is not None and day.typed:
            rest = said_length(day.break_min) if day.break_min else ""
            place = one_line(day.start_place)
        style = "" if day is not None and day.typed else "unknown"
        rows.append(Row(one.id, (one_line(one.name), Text(said, style=style), rest, place)))
    for kind, (minutes, why) in page.lengths.items():
        rows.append(Row(kind, (f"visit: {one_line(kind)}", said_length(minutes), "",
                               Text(one_line(why), style="quiet"))))  # fmt: skip
    return rows


def told_hours(key: UUID, page: HoursPage) -> Told:
    """What is known of a person's hours, and what was not understood of them."""
    one = next(one for one in page.people if one.id == key)
    day = page.hours.get(key)
    ahead = " ".join(
        f"From {said_since(from_day, page.today)}: {one_line(typed)}."
        for from_day, typed in page.ahead.get(key, ())
    )
    if day is None or not day.typed:
        return Told(
            f"{one_line(one.name)}: no working hours are entered",
            f"{one_line(day.usual) if day is not None else ''} stands in for them. {ahead}".strip(),
            "Common practice",
            "Next: enter says when this person works, and from where.",
        )
    since = f"In force since {said_since(day.from_day, page.today)}." if day.from_day else ""
    unknown = f"Not understood: {one_line(day.unknown)}." if day.unknown else ""
    rest = f"Break {said_length(day.break_min)}." if day.break_min else "No break."
    place = one_line(day.start_place) or "not stated"
    where = "" if day.start_latitude is not None else " (where that is, is not entered)"
    return Told(
        f"{one_line(one.name)} works {one_line(day.typed)}",
        " ".join(part for part in (since, rest, ahead, unknown) if part),
        f"Sets out from: {place}{where}{_said_home(page.homes.get(key))}",
        "Next: enter changes it.",
    )


def _said_home(home: WayHome | None) -> str:
    if home is None:
        return ""
    where = "" if home.at is not None else " (where that is, is not entered)"
    return f"; the day ends at: {one_line(home.place)}{where}"


def told_length(kind: str, page: HoursPage) -> Told:
    """How long a kind of visit takes, and why."""
    minutes, why = page.lengths[kind]
    return Told(
        f"A visit of the kind “{one_line(kind)}” takes {said_length(minutes)} beside the pond",
        one_line(why),
        "",
        "Next: enter changes it, with a reason.",
    )
