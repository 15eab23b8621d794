"""The lines of a week ahead: each day with its visits, what is left out, what to know."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass
from datetime import date
from typing import TYPE_CHECKING, Literal
from uuid import UUID

from rich.style import Style
from rich.text import Text

from store.rounds.solving.said import clock_said
from store.text import with_days
from tui.said import DAYS, said_date, said_since
from tui.screens.rounds.round_lines import Across
from tui.widgets.columns import Column
from tui.widgets.grid import Row
from tui.widgets.literal import one_line
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from store.rounds.week.values import WeekDay, WeekLine, WeekPlan

WIDE_FROM = 104
_STRONG = Style(bold=True)
BOOKED = "booked"
LATER = "later than is borne"


@dataclass(frozen=True, slots=True)
class WeekKey:
    """What a line stands for: a day, a visit by its errand, one that is left out, a sentence."""

    kind: Literal["day", "visit", "left", "note"]
    key: UUID | date | int


def columns_for(width: int) -> tuple[Column, ...]:
    """The columns of a week; in a wide window telephone and end have their own.

    Parameters
    ----------
    width
        Of the window [cells].
    """
    wide = width >= WIDE_FROM
    columns = (
        Column("begins", "Begin", 5),
        *((Column("ends", "End", 5),) if wide else ()),
        Column("who", "Who", 15 if wide else 11, drop_order=2),
        Column("name", "Where", 16, weight=2),
        Column("what", "What for", 12, weight=1),
        Column("when", "In time", 11),
        Column("added", "Adds", 7, align="right", drop_order=1),
    )
    return (*columns, Column("phone", "Telephone", 13)) if wide else columns


def week_rows(plan: WeekPlan, today: date, width: int, booked: Collection[UUID] = ()) -> list[Row]:
    """Every day with its visits, then what is left out, the proof, and what to know.

    Parameters
    ----------
    plan
        The week.
    today
        The practice's calendar day.
    width
        Of the window [cells].
    booked
        Keys of errands that were booked since.
    """
    rows: list[Row] = []
    for day in plan.days:
        rows.append(_across(WeekKey("day", day.day), _day_said(plan, day, today), strong=True))
        rows += [
            Row(WeekKey("visit", line.errand.key), _cells(line, width, booked))
            for line in plan.lines_of(day.day)
        ]
    if plan.left_out:
        rows.append(_across(WeekKey("note", -1), "Left out", strong=True))
        for one in plan.left_out:
            rows.append(_across(WeekKey("left", one.errand.key), _near(one.says, today)))
    rows.append(_across(WeekKey("note", -2), "To know", strong=True))
    for nth, said in enumerate(notes_of(plan)):
        rows.append(_across(WeekKey("note", nth), _near(said, today)))
    return rows


def notes_of(plan: WeekPlan) -> tuple[str, ...]:
    """The proof, what is to be known of the week, and on what it rests.

    Parameters
    ----------
    plan
        The week.
    """
    return (plan.proof, *plan.remarks, *plan.asked.rests_on)


def _across(key: WeekKey, text: str, *, strong: bool = False) -> Across:
    shown = one_line(text)
    return Across(key, (Text(shown, style=_STRONG) if strong else shown,))


def _near(text: str, today: date) -> str:
    return with_days(text, lambda day: said_date(day, today))


def _day_said(plan: WeekPlan, day: WeekDay, today: date) -> str:
    name = "today" if day.day == today else f"{DAYS[day.day.weekday()]} {said_date(day.day, today)}"
    lines = list(plan.lines_of(day.day))
    holiday = f", public holiday ({one_line(day.holiday)})" if day.holiday else ""
    if not lines:
        nobody = "" if day.asked.drivers or day.holiday else ", nobody works"
        return f"{name}{holiday}{nobody}: nothing"
    visits = "1 visit" if len(lines) == 1 else f"{len(lines)} visits"
    return f"{name}{holiday}: {visits}, {day.drive_min} min of driving"


def _cells(line: WeekLine, width: int, booked: Collection[UUID]) -> tuple[str | Text, ...]:
    one, stop = line.errand, line.stop
    first: tuple[str | Text, ...] = (clock_said(stop.begins),)
    if width >= WIDE_FROM:
        first = (*first, clock_said(stop.ends))
    cells: tuple[str | Text, ...] = (
        *first,
        one_line(line.driver.who),
        one_line(one.name),
        why_said(line),
        _when(line, booked),
        f"+{line.added_min} min",
    )
    return (*cells, one_line(one.phone)) if width >= WIDE_FROM else cells


def why_said(line: WeekLine) -> str:
    """What a visit is for: what it keeps, else its kind.

    Parameters
    ----------
    line
        The visit.
    """
    says = "; ".join(one_line(one.says) for one in line.errand.purposes)
    return says or one_line(line.errand.kind) or "visit"


def _when(line: WeekLine, booked: Collection[UUID]) -> Text:
    if line.errand.booked:
        return Text(BOOKED, style="quiet")
    if line.errand.key in booked:
        return Text("booked now", style="calm")
    late = line.late_days or 0
    if late > 0:
        return Text(f"{late} d late", style="act" if line.widened else "watch")
    return Text("last day" if late == 0 else f"{-late} d left")


# The strip


def told(plan: WeekPlan, key: WeekKey, today: date, booked: Collection[UUID]) -> Told | None:
    """What the strip tells of a line.

    Parameters
    ----------
    plan, today, booked
        As for `week_rows`.
    key
        Of the line.
    """
    if key.kind == "day":
        day = next((one for one in plan.days if one.day == key.key), None)
        return None if day is None else Told(_day_said(plan, day, today), *_of_day(day))
    if key.kind == "left":
        left = next((one for one in plan.left_out if one.errand.key == key.key), None)
        if left is None:
            return None
        limit = plan.asked.limits.get(left.errand.key)
        said = "" if limit is None else _near(limit.said, today)
        worth = one_line(left.errand.worth_said)
        return Told(_near(one_line(left.says), today), one_line(said), worth)
    if key.kind == "note":
        notes = notes_of(plan)
        said = notes[key.key] if isinstance(key.key, int) and 0 <= key.key < len(notes) else ""
        return Told(_near(one_line(said), today)) if said else None
    line = next((one for one in plan.lines if one.errand.key == key.key), None)
    return None if line is None else _of_visit(plan, line, today, booked)


def _of_day(day: WeekDay) -> Iterator[str]:
    rounds = [
        f"{one_line(one.driver.who)} {clock_said(one.sets_out)} to {clock_said(one.back)}, "
        f"{one.drive_min} min of driving"
        for one in day.rounds
        if one.stops
    ]
    yield "; ".join(rounds) or "Nobody drives."


def _of_visit(plan: WeekPlan, line: WeekLine, today: date, booked: Collection[UUID]) -> Told:
    one, stop = line.errand, line.stop
    when = f"{said_since(line.day, today)} {clock_said(stop.begins)}–{clock_said(stop.ends)}"
    head = f"{one_line(one.name)}: {why_said(line)}"
    limit, worth = plan.asked.limits.get(one.key), one_line(one.worth_said)
    said = "" if limit is None else f"{_near(one_line(limit.said), today)}. "
    if line.widened:
        said = f"{said}Comes {LATER}: no day before was open or had room. "
    way = f"way there {stop.way.planned_min} min, {one_line(stop.way.said)}"
    source = f"Access: {one_line(one.hours_said)}; {one_line(one.standing_said)}; {way}"
    return Told(
        _near(f"{when}, {one_line(line.driver.who)}. {head}", today),
        f"{said}Adds {line.added_min} min of driving. {worth[:1].upper()}{worth[1:]}".strip(),
        _near(source, today),
        _next(line, booked),
    )


def _next(line: WeekLine, booked: Collection[UUID]) -> str:
    if line.errand.booked:
        return "It stands in the diary; enter opens it."
    if line.errand.key in booked:
        return "It was booked since; f5 plans the week again."
    phone = one_line(line.errand.phone)
    ring = f"Ring {phone}" if phone else "No telephone number is entered"
    return f"{ring}; enter books it, with this day and hour to begin with."
