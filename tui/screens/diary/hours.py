"""Who works when and sets out from where, and how long a visit of each kind takes."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Any, ClassVar, cast
from uuid import UUID

from rich.text import Text
from textual import on, work
from textual.app import ComposeResult
from textual.binding import Binding, BindingType

from store.errors import BadInput, PondroundError
from tui.said import said_since
from tui.screens.diary.booking_said import typed_minutes
from tui.screens.diary.diary_lines import said_length
from tui.screens.parts.edit import FormScreen
from tui.screens.parts.help import HELP, open_help
from tui.screens.parts.page import PageScreen
from tui.widgets.columns import Column
from tui.widgets.fields import Field, Form
from tui.widgets.foot import Foot
from tui.widgets.grid import LineGrid, Row
from tui.widgets.literal import one_line
from tui.widgets.strip import BottomStrip, Told
from tui.widgets.top import Line, Top

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.book.people import Staff
    from store.diary.kept.staff_hours import StaffDay
    from tui.app import PondroundApp

COLUMNS = (
    Column("who", "Who, or which visits", 20, weight=1),
    Column("hours", "Works, or takes", 20, weight=2),
    Column("break", "Break", 7, align="right", drop_order=1),
    Column("from", "Sets out from, or why", 16, weight=1, drop_order=2),
)
_CELLS = 28


@dataclass(frozen=True, slots=True)
class HoursPage:
    """The hours of everybody as they are in force today, and the usual lengths of visits [min]."""

    today: date
    people: tuple[Staff, ...]
    hours: Mapping[UUID, StaffDay]
    lengths: Mapping[str, tuple[int, str]]


def read_hours_page(book: Book, today: date) -> HoursPage:
    """Hours and lengths as they stand in the book; runs in a thread."""
    from store.book.people import staff
    from store.diary.kept.staff_hours import hours_on
    from store.diary.kept.visit_lengths import visit_lengths

    return HoursPage(today, staff(book), hours_on(book, today), visit_lengths(book))


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
        page = self.page
        if page is None:
            return
        if isinstance(opened.key, UUID):
            one = next(one for one in page.people if one.id == opened.key)
            self.app.push_screen(PersonHoursScreen(one, page.hours.get(one.id)))
        else:
            kind = str(opened.key)
            minutes, _ = page.lengths[kind]
            self.app.push_screen(LengthScreen(kind, minutes))

    def action_kind(self) -> None:
        """How long visits of another kind take."""
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
        if day is None or not day.typed:
            usual = f"not entered, {day.usual} stands in" if day is not None else "not entered"
            said: str | Text = Text(usual, style="unknown")
            rest, place = "", ""
        else:
            said = one_line(day.typed)
            rest = said_length(day.break_min) if day.break_min else ""
            place = one_line(day.start_place)
        rows.append(Row(one.id, (one_line(one.name), said, rest, place)))
    for kind, (minutes, why) in page.lengths.items():
        rows.append(Row(kind, (f"visit: {one_line(kind)}", said_length(minutes), "",
                               Text(one_line(why), style="quiet"))))  # fmt: skip
    return rows


def told_hours(key: UUID, page: HoursPage) -> Told:
    """What is known of a person's hours, and what was not understood of them."""
    one = next(one for one in page.people if one.id == key)
    day = page.hours.get(key)
    if day is None or not day.typed:
        return Told(
            f"{one_line(one.name)}: no working hours are entered",
            f"{one_line(day.usual)} stands in for them." if day is not None and day.usual else "",
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
        f"{since} {rest} {unknown}".strip(),
        f"Sets out from: {place}{where}",
        "Next: enter changes it.",
    )


def told_length(kind: str, page: HoursPage) -> Told:
    """How long a kind of visit takes, and why."""
    minutes, why = page.lengths[kind]
    return Told(
        f"A visit of the kind “{one_line(kind)}” takes {said_length(minutes)} beside the pond",
        one_line(why),
        "",
        "Next: enter changes it, with a reason.",
    )


class PersonHoursScreen(FormScreen):
    """The hours of one person from a day on.

    Parameters
    ----------
    one
        The person.
    day
        The hours that are in force; None where none are entered.
    """

    QUESTION = "When does this person work, and from where?"
    ABOUT = (
        "Hours as one says them: Mon-Fri 9-17; Sat 09:00-13:00. What was understood appears beside "
        "the field. They hold from the day on that is stated; what held before stays in the book. "
        "The place from which the person sets out lets a day's way be reckoned."
    )

    def __init__(self, one: Staff, day: StaffDay | None) -> None:
        typed = day.typed if day is not None else ""
        north = day.start_latitude if day is not None else None
        east = day.start_longitude if day is not None else None
        fields = (
            Field("hours", "works", "Mon-Fri 9-17; Sat 9-13", typed, width=_CELLS),
            Field("from_day", "from", "today, Mon, 12 Dec", "today", width=_CELLS),
            Field("break_min", "break", "minutes, or empty",
                  str(day.break_min) if day is not None and day.break_min else "", width=_CELLS),
            Field("start_place", "sets out from", "home, practice",
                  day.start_place if day is not None else "", width=_CELLS),
            Field("start_latitude", "latitude", "degrees, such as 51.51 N",
                  "" if north is None else f"{north:.10g}", width=_CELLS),
            Field("start_longitude", "longitude", "degrees, such as 0.13 W",
                  "" if east is None else f"{east:.10g}", width=_CELLS),
        )  # fmt: skip
        super().__init__(f"{one_line(one.name)}: working hours", fields, f"hours-{one.id}")
        self._one = one

    @on(Form.Changed)
    def _understood(self, changed: Form.Changed) -> None:
        self._say(changed.form, changed.values["hours"])

    @work(exclusive=True, group="hours-read")
    async def _say(self, form: Form, text: str) -> None:
        form.remark("hours", await self.ponds_app.ask_store(understood, text))

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Keep the hours."""
        app = self.ponds_app
        return await app.ask_store(_set_hours, app.book, act, self._one.id, texts)


def understood(text: str) -> str | None:
    """What was understood of typed hours, and what was not; None where nothing stands."""
    from store.diary.times.hours import read_hours, said_hours

    if not text.strip():
        return None
    found = read_hours(text)
    said = said_hours(found)
    if found.unknown:
        return (
            f"{said}; not understood: {found.unknown}"
            if said
            else f"not understood: {found.unknown}"
        )
    return said


def _set_hours(book: Book, act: Act, whose: UUID, texts: Mapping[str, str]) -> UUID:
    from store.book.days import typed_day
    from store.diary.kept.staff_hours import set_hours

    if not texts["hours"].strip():
        raise BadInput("When? Type the hours as Mon-Fri 9-17. Nothing was saved.", field="hours")
    rest = texts["break_min"].strip()
    try:
        break_min = typed_minutes(rest) or 0
    except BadInput as trouble:
        raise BadInput(trouble.message, field="break_min") from trouble
    with book.writing(act) as writing:
        set_hours(
            writing, whose, texts["hours"].strip(),
            typed_day(texts["from_day"], book.today(act.at), ahead=True, field="from_day"),
            break_min=break_min,
            start_place=texts["start_place"].strip(),
            start_latitude=degrees(texts["start_latitude"], "start_latitude"),
            start_longitude=degrees(texts["start_longitude"], "start_longitude"),
        )  # fmt: skip
    return whose


def degrees(text: str, field: str) -> float | None:
    """Degrees north or east as they are typed; None where nothing stands.

    Raises
    ------
    BadInput
        It is no number of degrees, or stands on the side of the other axis.

    Examples
    --------
    >>> degrees("51.5 N", "start_latitude"), degrees("0.13 W", "start_longitude")
    (51.5, -0.13)
    """
    if not text.strip():
        return None
    sides = "NS" if field.endswith("latitude") else "EW"
    found = re.fullmatch(rf"([+-]?\d+(?:[.,]\d+)?)\s*°?\s*([{sides}]?)", text.strip().upper())
    if found is None:
        raise BadInput(
            f"Write degrees with decimals, such as 51.5074, with or without {sides[0]} or "
            f"{sides[1]}. Nothing was saved.",
            field=field,
        )
    number = float(found[1].replace(",", "."))
    return -abs(number) if found[2] in ("S", "W") else number


class LengthScreen(FormScreen):
    """How long a kind of visit takes in this practice.

    Parameters
    ----------
    kind
        Which; empty for another one.
    minutes
        As it is [min]; None for another kind.
    """

    QUESTION = "How long does such a visit take?"
    ABOUT = (
        "Beside the pond, without the drive. It holds for visits that are booked from now on; the "
        "reason stays beside it, and what stood before stays readable."
    )

    def __init__(self, kind: str, minutes: int | None) -> None:
        fields = (
            Field("kind", "kind of visit", "in a word or two", kind, width=_CELLS),
            Field("minutes", "takes", "minutes, or 1 h 30",
                  "" if minutes is None else str(minutes), width=_CELLS),
            Field("why", "because", "what it rests on", width=_CELLS),
        )  # fmt: skip
        super().__init__("Length of a visit", fields, f"length-{kind or 'new'}")

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Keep the length."""
        app = self.ponds_app
        return await app.ask_store(_set_length, app.book, act, texts)


def _set_length(book: Book, act: Act, texts: Mapping[str, str]) -> UUID:
    from store.diary.kept.visit_lengths import set_visit_length

    minutes = typed_minutes(texts["minutes"])
    if minutes is None:
        raise BadInput("How long? Nothing was saved yet.", field="minutes")
    if not texts["why"].strip():
        raise BadInput("Please say what it rests on. Nothing was saved.", field="why")
    with book.writing(act) as writing:
        set_visit_length(writing, texts["kind"].strip(), minutes, texts["why"].strip())
    return act.by
