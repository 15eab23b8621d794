"""The forms of a person's working hours and of the length of a kind of visit."""

from __future__ import annotations

import re
from collections.abc import Mapping
from datetime import date
from typing import TYPE_CHECKING, Any
from uuid import UUID

from textual import on, work

from store.errors import BadInput
from tui.screens.diary.booking_said import typed_minutes
from tui.screens.parts.edit import FormScreen
from tui.widgets.fields import Field, Form
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.book.people import Staff
    from store.book.writing import Writing
    from store.diary.kept.roster.staff_hours import StaffDay
    from store.diary.kept.roster.way_home import WayHome

_CELLS = 28


class PersonHoursScreen(FormScreen):
    """The hours of one person from a day on.

    Parameters
    ----------
    one
        The person.
    day
        The hours that are in force; None where none are entered.
    home
        Where the day ends, if not where it began.
    """

    QUESTION = "When does this person work, and from where?"
    ABOUT = (
        "Hours as one says them: Mon-Fri 9-17; Sat 09:00-13:00. What was understood appears beside "
        "the field. They hold from the day on that is stated; what held before stays in the book. "
        "The place from which the person sets out lets a day's way be reckoned; the working hours "
        "begin there, and end where the person is back. Where the day ends elsewhere, that is "
        "stated below; empty is where it began."
    )

    def __init__(self, one: Staff, day: StaffDay | None, home: WayHome | None = None) -> None:
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
            *_home_fields(home),
        )  # fmt: skip
        super().__init__(f"{one_line(one.name)}: working hours", fields, f"hours-{one.id}")
        self._one = one
        self._home = home_texts(home)

    @on(Form.Changed)
    def _understood(self, changed: Form.Changed) -> None:
        self._say(changed.form, changed.values["hours"])

    @work(exclusive=True, group="hours-read")
    async def _say(self, form: Form, text: str) -> None:
        form.remark("hours", await self.ponds_app.ask_store(understood, text))

    async def save(self, act: Any, texts: dict[str, str]) -> UUID:
        """Keep the hours."""
        app = self.ponds_app
        return await app.ask_store(_set_hours, app.book, act, self._one.id, texts, self._home)


def home_texts(home: WayHome | None) -> dict[str, str]:
    """Where a day ends as it stands in the form; empty where it began."""
    at = None if home is None else home.at
    return {
        "home_place": "" if home is None else home.place,
        "home_latitude": "" if at is None else f"{at.latitude:.10g}",
        "home_longitude": "" if at is None else f"{at.longitude:.10g}",
    }


def _home_fields(home: WayHome | None) -> tuple[Field, ...]:
    texts = home_texts(home)
    return (
        Field("home_place", "day ends at", "empty: where it began", texts["home_place"],
              width=_CELLS),
        Field("home_latitude", "latitude", "degrees, such as 51.51 N", texts["home_latitude"],
              width=_CELLS),
        Field("home_longitude", "longitude", "degrees, such as 0.13 W", texts["home_longitude"],
              width=_CELLS),
    )  # fmt: skip


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


def _set_hours(
    book: Book, act: Act, whose: UUID, texts: Mapping[str, str], before: Mapping[str, str]
) -> UUID:
    from store.book.days import typed_day
    from store.diary.kept.roster.staff_hours import set_hours

    if not texts["hours"].strip():
        raise BadInput("When? Type the hours as Mon-Fri 9-17. Nothing was saved.", field="hours")
    rest = texts["break_min"].strip()
    try:
        break_min = typed_minutes(rest) or 0
    except BadInput as trouble:
        raise BadInput(trouble.message, field="break_min") from trouble
    from_day = typed_day(texts["from_day"], book.today(act.at), ahead=True, field="from_day")
    home = {name: texts[name].strip() for name in before}
    with book.writing(act) as writing:
        set_hours(
            writing, whose, texts["hours"].strip(), from_day, break_min=break_min,
            start_place=texts["start_place"].strip(),
            start_latitude=degrees(texts["start_latitude"], "start_latitude"),
            start_longitude=degrees(texts["start_longitude"], "start_longitude"),
        )  # fmt: skip
        if home != before:
            _set_home(writing, whose, from_day, home)
    return whose


def _set_home(writing: Writing, whose: UUID, from_day: date, home: Mapping[str, str]) -> None:
    from store.diary.kept.roster.way_home import set_way_home

    try:
        set_way_home(
            writing, whose, home["home_place"], from_day,
            latitude=degrees(home["home_latitude"], "home_latitude"),
            longitude=degrees(home["home_longitude"], "home_longitude"),
        )  # fmt: skip
    except BadInput as trouble:
        field = trouble.field or "place"
        field = field if field.startswith("home_") else f"home_{field}"
        raise BadInput(trouble.message, field=field) from trouble


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
    from store.diary.kept.roster.visit_lengths import set_visit_length

    minutes = typed_minutes(texts["minutes"])
    if minutes is None:
        raise BadInput("How long? Nothing was saved yet.", field="minutes")
    if not texts["why"].strip():
        raise BadInput("Please say what it rests on. Nothing was saved.", field="why")
    with book.writing(act) as writing:
        set_visit_length(writing, texts["kind"].strip(), minutes, texts["why"].strip())
    return act.by
