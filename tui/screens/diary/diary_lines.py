"""The lines of the diary: a vet's day with its visits and its free time, and the days of a week."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import TYPE_CHECKING, Literal
from uuid import UUID

from rich.style import Style
from rich.text import Text

from tui.said import DAYS, MONTHS, said_since
from tui.widgets.columns import Column
from tui.widgets.grid import Cell, Row
from tui.widgets.literal import one_line
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from store.diary.booking.values import DiaryDay, Purpose, Visiting
    from store.diary.times.spell import Spell

DAY_COLUMNS = (
    Column("time", "Time", 11),
    Column("length", "Length", 7, align="right"),
    Column("where", "Where", 16, weight=2),
    Column("kind", "What for", 12),
    Column("town", "Town", 16, drop_order=1),
)
WEEK_COLUMNS = (
    Column("day", "Day", 10),
    Column("who", "Who", 9, weight=1),
    Column("bar", "Booked", 8, drop_order=1),
    Column("load", "Of the day", 25),
    Column("free", "Free", 11, weight=2),
)
NOBODY = "nobody chosen"
NO_HOUR = "no hour"
_BAR_CELLS = 8
_STRONG = Style(bold=True)


@dataclass(frozen=True, slots=True)
class DiaryKey:
    """What a line of the diary stands for; a visit stands for itself by its key."""

    kind: Literal["day", "away", "holiday", "free"]
    day: date
    staff_id: UUID | None = None
    begins: time | None = None


# Words


def said_long_day(day: date) -> str:
    """A day by which people agree: `Mon 30 Nov 2026`.

    Examples
    --------
    >>> said_long_day(date(2026, 11, 30))
    'Mon 30 Nov 2026'
    """
    return f"{DAYS[day.weekday()]} {day.day} {MONTHS[day.month - 1]} {day.year}"


def said_length(minutes: int) -> str:
    """A length of time: `45 min`, `4 h 10`, `8 h`.

    Examples
    --------
    >>> said_length(45), said_length(250), said_length(480)
    ('45 min', '4 h 10', '8 h')
    """
    hours, rest = divmod(minutes, 60)
    if not hours:
        return f"{rest} min"
    return f"{hours} h {rest:02}" if rest else f"{hours} h"


def said_hour(at: time) -> str:
    """An hour of the day; the last minute is the end of it.

    Examples
    --------
    >>> said_hour(time(9, 5)), said_hour(time(23, 59))
    ('09:05', '24:00')
    """
    return "24:00" if (at.hour, at.minute) == (23, 59) else f"{at.hour:02}:{at.minute:02}"


def said_spell(spell: Spell) -> str:
    """A stretch of a day: `09:00–17:00`."""
    return f"{said_hour(spell.begins)}–{said_hour(spell.ends)}"


def said_spells(spells: Sequence[Spell]) -> str:
    """Stretches of a day, one after another."""
    return ", ".join(said_spell(one) for one in spells)


def said_short(spells: Sequence[Spell]) -> str:
    """Stretches of a day for a narrow column: `8–11, 11:45–18`."""

    def hour(at: time) -> str:
        hours, _, minutes = said_hour(at).partition(":")
        return hours.lstrip("0") + (f":{minutes}" if minutes != "00" else "") or "0"

    return ", ".join(f"{hour(one.begins)}–{hour(one.ends)}" for one in spells)


def said_times(visit: Visiting) -> str:
    """From when to when a visit is; where no hour was agreed, that."""
    if visit.at_time is None:
        return NO_HOUR
    return f"{said_hour(visit.at_time)}–{said_end(visit.ends)}"


def said_end(ends: time | None) -> str:
    """When a visit ends; one over midnight is told by its beginning and its length."""
    return "" if ends is None else said_hour(ends)


def said_place(visit: Visiting) -> str:
    """Client and pond; the site where the visit is for all of it."""
    name = visit.pond or visit.site
    client = one_line(visit.client)
    return client if not name or name == visit.client else f"{client}, {one_line(name)}"


def said_who(visit: Visiting) -> str:
    """Who goes."""
    return one_line(visit.who) or NOBODY


def said_kind(visit: Visiting) -> str:
    """What for, and that it is no longer to come."""
    kind = one_line(visit.kind) or "visit"
    return kind if visit.state == "planned" else f"{kind}, {visit.state}"


def said_load(day: DiaryDay) -> str:
    """How full a day is: `5 visits, 4 h 10 of 8 h`."""
    many = len(planned(day))
    visits = "no visit" if not many else "1 visit" if many == 1 else f"{many} visits"
    return f"{visits}, {said_share(day)}"


def said_share(day: DiaryDay) -> str:
    """What is booked of the working hours; without working hours, what is booked."""
    if not day.work_min:
        return f"{said_length(day.booked_min)}; no hours" if day.booked_min else "no hours"
    return f"{said_length(day.booked_min)} of {said_length(day.work_min)}"


def planned(day: DiaryDay) -> tuple[Visiting, ...]:
    """The visits that take time: planned ones and those that took place."""
    return tuple(one for one in day.visits if one.state != "cancelled")


def overfull(day: DiaryDay) -> bool:
    """More is booked than there are working hours."""
    return day.booked_min > day.work_min


def bar(day: DiaryDay) -> Text:
    """How full a day is, in eight cells; an overfull one ends with a mark."""
    if overfull(day):
        return Text("█" * (_BAR_CELLS - 1) + "+")
    if not day.work_min:
        return Text("")
    filled = round(_BAR_CELLS * day.booked_min / day.work_min)
    return Text("█" * filled).append("░" * (_BAR_CELLS - filled), "quiet")


def said_purpose(purpose: Purpose, today: date) -> str:
    """One promise with the days on which it can be kept."""
    says = one_line(purpose.says)
    due = said_since(purpose.due_on, today)
    if purpose.first_on == purpose.last_on:
        return f"{says}, due {due}, on that day"
    first, last = said_since(purpose.first_on, today), said_since(purpose.last_on, today)
    return f"{says}, due {due}, between {first} and {last}"


# Lines


def day_rows(days: Sequence[DiaryDay]) -> list[Row]:
    """Every vet's day: the load, why somebody is away, visits and free time by the hour."""
    rows: list[Row] = []
    for holiday in dict.fromkeys((one.day, one.holiday) for one in days if one.holiday):
        key = DiaryKey("holiday", holiday[0])
        said = Text(one_line(holiday[1]), style="watch")
        rows.append(Row(key, (Text("holiday", style="watch"), "", said, "", "")))
    for day in days:
        rows.append(_head_row(day))
        if day.away:
            said = Text(one_line(day.away), style="watch")
            key = DiaryKey("away", day.day, day.staff_id)
            rows.append(Row(key, ("", "", said, "", "")))
        rows += _visit_rows(day)
    return rows


def _head_row(day: DiaryDay) -> Row:
    many = len(planned(day))
    visits = "no visit" if not many else "1 visit" if many == 1 else f"{many} visits"
    share = Text(said_share(day), style="act" if overfull(day) else "")
    who = Text(one_line(day.who) or NOBODY, style=_STRONG)
    return Row(DiaryKey("day", day.day, day.staff_id), ("", "", who, visits, share))


def _visit_rows(day: DiaryDay) -> list[Row]:
    from store.diary.times.spell import minute_of

    placed: list[tuple[int, int, Row]] = []
    for visit in day.visits:
        at = 24 * 60 + 1 if visit.at_time is None else minute_of(visit.at_time)
        placed.append((at, 0, visit_row(visit)))
    for spell in day.free:
        key = DiaryKey("free", day.day, day.staff_id, spell.begins)
        cells: tuple[Cell, ...] = (
            Text(said_spell(spell), style="quiet"), Text(said_length(spell.minutes), style="quiet"),
            Text("free", style="quiet"), "", "",
        )  # fmt: skip
        placed.append((minute_of(spell.begins), 1, Row(key, cells)))
    return [row for _, _, row in sorted(placed, key=lambda one: one[:2])]


def visit_row(visit: Visiting) -> Row:
    """One visit: hour, length, where, what for, town."""
    quiet = "" if visit.state == "planned" else "quiet"
    texts = (
        said_times(visit), said_length(visit.minutes), said_place(visit), said_kind(visit),
        one_line(visit.town),
    )  # fmt: skip
    return Row(visit.id, tuple(Text(text, style=quiet) if quiet else text for text in texts))


def week_rows(days: Sequence[DiaryDay], today: date, *, visits: bool = False) -> list[Row]:
    """A line for each vet and day; of a day only the first line names it.

    With `visits` each day's visits stand under it, as there is room for where one vet is shown.
    """
    rows: list[Row] = []
    before: date | None = None
    for day in days:
        name = ""
        if day.day != before:
            name = f"{DAYS[day.day.weekday()]} {day.day.day} {MONTHS[day.day.month - 1]}"
        before = day.day
        said: Cell = name
        if day.day == today:
            said = Text(name, style=_STRONG)
        load = Text(said_load(day), style="act" if overfull(day) else "" if day.visits else "quiet")
        key = DiaryKey("day", day.day, day.staff_id)
        rows.append(Row(key, (said, one_line(day.who) or NOBODY, bar(day), load, _free(day))))
        if visits:
            rows += [_week_visit(one) for one in day.visits]
    return rows


def _week_visit(visit: Visiting) -> Row:
    texts = ("", said_times(visit), "", said_place(visit), said_kind(visit))
    return Row(visit.id, tuple(Text(text, style="quiet") for text in texts))


def _free(day: DiaryDay) -> Text | str:
    holiday = f"public holiday: {one_line(day.holiday)}" if day.holiday else ""
    marks = "; ".join(part for part in (one_line(day.away), holiday) if part)
    free = said_short(day.free)
    if not marks:
        return free
    return Text(f"{marks}; {free}" if free else marks, style="watch")


# The strip


def told_day(day: DiaryDay, today: date) -> Told:
    """A vet's day: load, hours, what is free, what to do."""
    who = one_line(day.who) or NOBODY
    facts = []
    if day.holiday:
        facts.append(f"Public holiday: {one_line(day.holiday)}.")
    if day.away:
        facts.append(f"{_capital(one_line(day.away))}.")
    facts.append(f"Works {said_spells(day.work)}." if day.work else "No working hours that day.")
    if overfull(day):
        facts.append("More is booked than there are working hours.")
    visits = "; ".join(f"{said_times(one)} {said_place(one)}" for one in planned(day))
    return Told(
        f"{who}, {said_since(day.day, today)}: {said_load(day)}",
        " ".join(facts),
        f"Free {said_spells(day.free)}." if day.free else "Nothing free." if day.work else "",
        visits,
    )


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def told_visit(visit: Visiting, today: date) -> Told:
    """A visit: what it keeps, whom to ring, how to get in, what to do."""
    what = "; ".join(said_purpose(one, today) for one in visit.purposes)
    ring = f"Ring {one_line(visit.phone)}." if visit.phone else "No telephone number."
    access = one_line(visit.access_hours)
    note = one_line(visit.note)
    spite = f"In spite of what spoke against it: {one_line(visit.in_spite)}."
    return Told(
        f"{said_times(visit)} {said_place(visit)}: {said_kind(visit)}, {said_who(visit)}",
        what or note,
        f"{ring} Access {access}." if access else ring,
        f"{spite if visit.in_spite else ''} Next: enter opens it.".strip(),
    )


def told_free(key: DiaryKey, days: Sequence[DiaryDay]) -> Told | None:
    """Free time, and from where a visit is booked into it."""
    for day in days:
        if (day.day, day.staff_id) != (key.day, key.staff_id):
            continue
        for spell in day.free:
            if spell.begins == key.begins:
                long = said_length(spell.minutes)
                return Told(
                    f"{one_line(day.who)} is free {said_spell(spell)}, {long}",
                    said_load(day),
                    "",
                    "Next: book from the desk, or with v on the page of a pond.",
                )
    return None


def monday_of(day: date) -> date:
    """The Monday of the week in which a day lies.

    Examples
    --------
    >>> monday_of(date(2027, 1, 1))
    datetime.date(2026, 12, 28)
    """
    return day - timedelta(days=day.weekday())


def said_week(day: date) -> str:
    """The week in which a day lies: `week 53, 28 Dec 2026 – 3 Jan 2027`.

    Examples
    --------
    >>> said_week(date(2027, 1, 1))
    'week 53, 28 Dec 2026 – 3 Jan 2027'
    """
    first = monday_of(day)
    last = first + timedelta(days=6)
    year = "" if first.year == last.year else f" {first.year}"
    begins = f"{first.day} {MONTHS[first.month - 1]}{year}"
    ends = f"{last.day} {MONTHS[last.month - 1]} {last.year}"
    return f"week {first.isocalendar().week}, {begins} – {ends}"
