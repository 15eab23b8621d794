"""What stands on the page of a booking: what it is for, the proposed slots, what was typed."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, time
from typing import TYPE_CHECKING
from uuid import UUID

from rich.cells import cell_len
from textual.content import Content

from store.errors import BadInput
from store.text import joined, with_days
from tui.said import DAYS, said_date, said_since
from tui.screens.diary.diary_lines import (
    said_end,
    said_hour,
    said_long_day,
    said_purpose,
)
from tui.widgets.fields import Field
from tui.widgets.hanging import hanging
from tui.widgets.literal import cut, one_line, wrapped

if TYPE_CHECKING:
    from store.diary.booking.values import Objection, Slot, Visiting, Wish

CELLS = 24
_MOST_PURPOSES = 2
_NARROW, _NARROW_LINES, _INDENT = 66, 2, 4
YES, NO = "yes", "no"


@dataclass(frozen=True, slots=True)
class Place:
    """Where a visit goes and whom one rings there, in words."""

    name: str
    phone: str
    access: str
    town: str


@dataclass(frozen=True, slots=True)
class Typed:
    """What was typed for a booking, understood; None where it stays open.

    `minutes` is the length beside the pond [min].
    """

    on_day: date | None
    at_time: time | None
    staff_id: UUID | None
    minutes: int | None


def wish_typed(wish: Wish, values: Mapping[str, str], minutes: int | None) -> Wish:
    """The wish with what stands in the form."""
    return replace(
        wish,
        kind=values.get("kind", wish.kind),
        minutes=minutes or wish.minutes,
        agreed_with=values.get("agreed_with", wish.agreed_with).strip(),
        note=values.get("note", wish.note).strip(),
        fixed=values.get("fixed", YES if wish.fixed else NO) == YES,
    )


# Fields


def booking_fields(
    wish: Wish, people: Sequence[tuple[str, str]], kinds: Sequence[str], visit: Visiting | None
) -> tuple[Field, ...]:
    """The fields of a booking; of a visit that is moved, as it stands."""
    chosen = tuple(people)
    in_spite = Field("in_spite", "all the same", "because", lines=2)
    if visit is not None:
        at = "" if visit.at_time is None else said_hour(visit.at_time)
        staff_id = "" if visit.staff_id is None else str(visit.staff_id)
        return (
            Field("on_day", "day", "Mon, 3 d, 12 Dec", visit.on_day.isoformat(), width=CELLS),
            Field("at_time", "hour", "09:30, or empty", at, width=CELLS),
            Field("staff_id", "who goes", "", staff_id, choices=chosen, width=CELLS),
            Field("minutes", "length", "minutes", str(visit.minutes), width=CELLS),
            in_spite,
            Field("why", "why moved", "stays in the record", width=CELLS),
        )
    names = tuple(dict.fromkeys((*kinds, wish.kind))) if wish.kind else tuple(kinds)
    return (
        Field("on_day", "day", "Mon, 3 d, 12 Dec", width=CELLS),
        Field("at_time", "hour", "09:30, or empty", width=CELLS),
        Field("staff_id", "who goes", "", choices=chosen, width=CELLS),
        Field("minutes", "length", "minutes", str(wish.minutes), width=CELLS),
        in_spite,
        Field("kind", "what for", "", wish.kind, choices=tuple((one, one) for one in names),
              width=CELLS),
        Field("fixed", "the hour", "", YES if wish.fixed else NO,
              choices=((NO, "may be moved"), (YES, "is not to be moved")), width=CELLS),
        Field("agreed_with", "agreed with", "by name", wish.agreed_with, width=CELLS),
        Field("note", "note", "in words", wish.note, lines=2),
    )  # fmt: skip


def said_day_typed(day: date | None, marks: Sequence[str]) -> str | None:
    """The day that was understood, and what is to be known of it; None while there is none."""
    if day is None:
        return None
    return ". ".join([said_long_day(day), *(one.rstrip(".") for one in marks)])


def from_slot(slot: Slot) -> dict[str, str]:
    """What a slot puts into the form."""
    return {
        "on_day": slot.on_day.isoformat(),
        "at_time": said_hour(slot.at_time),
        "staff_id": str(slot.staff_id),
        "minutes": str(slot.minutes),
    }


def typed(values: Mapping[str, str], today: date) -> Typed:
    """What was typed, understood.

    Raises
    ------
    BadInput
        At its field: it is no day, no hour, no length.
    """
    from store.book.days import typed_day, typed_time

    day = values["on_day"].strip()
    return Typed(
        typed_day(day, today, ahead=True) if day else None,
        typed_time(values["at_time"]),
        UUID(values["staff_id"]) if values["staff_id"] else None,
        typed_minutes(values["minutes"]),
    )


def half_typed(values: Mapping[str, str], today: date) -> Typed:
    """What can be understood already while somebody types; the rest is taken to stay open."""
    kept = dict(values)
    for name in ("on_day", "at_time", "minutes"):
        alone = {"on_day": "", "at_time": "", "minutes": "", "staff_id": "", name: kept[name]}
        try:
            typed(alone, today)
        except BadInput:
            kept[name] = ""
    return typed(kept, today)


def typed_minutes(text: str) -> int | None:
    """A length as people type it: `45`, `45 min`, `1 h 30`, `1:30`; None where nothing stands.

    Raises
    ------
    BadInput
        It is no length of time.

    Examples
    --------
    >>> typed_minutes("45 min"), typed_minutes("1 h 30"), typed_minutes("1:15"), typed_minutes("")
    (45, 90, 75, None)
    """
    said = " ".join(text.casefold().replace("hours", "h").replace("hour", "h").split())
    if not said:
        return None
    hours, parted, rest = said.partition(":") if ":" in said else said.partition("h")
    if not parted:
        hours, rest = "", said
    rest = rest.removesuffix("minutes").removesuffix("min").strip()
    hours = hours.strip()
    numbers = [part for part in (hours, rest) if part]
    if not numbers or not all(part.isdecimal() and len(part) < 5 for part in numbers):
        raise BadInput(
            f"“{one_line(text.strip()):.20}” is no length of time. Please type minutes, such as "
            "45, or 1 h 30.",
            field="minutes",
        )
    return (int(hours) * 60 if hours else 0) + (int(rest) if rest else 0)


# What is said


def said_booked(day: date, at: time | None, who: str, minutes: int) -> str:
    """A booking as it is said on the telephone."""
    from tui.screens.diary.diary_lines import said_length

    hour = f"at {said_hour(at)}" if at is not None else "no hour agreed"
    return f"{said_long_day(day)}, {hour}, {one_line(who)}, {said_length(minutes)}"


def said_what(wish: Wish, place: Place, today: date, width: int) -> Content:
    """What is to be kept and until when; whom to ring, how to get in."""
    lines = [said_purpose(one, today) for one in wish.purposes[:_MOST_PURPOSES]]
    more = len(wish.purposes) - len(lines)
    if more > 0:
        lines[-1] = f"{lines[-1]}; and {more} more"
    ring = f"ring {place.phone}" if place.phone else "no telephone number"
    access = f"access {place.access}" if place.access else "no access hours are stated"
    facts = joined((ring, access, place.town))
    parts: list[tuple[str, str]] = [(cut(line, width) + "\n", "") for line in lines]
    return Content.assemble(*parts, (cut(facts, width), "$quiet"))


def slot_said(slot: Slot, today: date, width: int) -> Content:
    """A slot with the reasons for it, and what to know of it, broken for the width there is."""
    ends = said_end(slot.ends)
    weekday = DAYS[slot.on_day.weekday()]
    day = "today" if slot.on_day == today else f"{weekday} {said_date(slot.on_day, today)}"
    parts: list[Content | tuple[str, str]] = [
        (f"{day}, {said_hour(slot.at_time)}–{ends}, {one_line(slot.who)}", "bold"),
    ]
    reasons = one_line(joined(slot.reasons))
    marks = one_line(joined(slot.marks)).rstrip(".")
    if reasons:
        parts.append(("\n" + hanging(reasons, width), ""))
    if marks:
        mind = f"mind: {marks}"
        beside = bool(reasons) and cell_len(f"  {reasons} · {mind}") <= width
        parts.append((f" · {mind}" if beside else "\n" + hanging(mind, width), "$level-watch"))
    return Content.assemble(*parts)


def said_search(
    said: Sequence[str], only: str, today: date, width: int, *, tall: bool = False
) -> Content:
    """Where was looked and what holds of all the slots, told once; `only` names a single vet.

    Where it is narrow, and the terminal not tall, it takes two lines, and the slots have the rest.
    """
    whose = f"Slots of {only} only. " if only else ""
    text = with_days(" ".join(said), lambda day: said_since(day, today))
    text = one_line(f"{whose}{text}").replace("Looked on today", "Looked today")
    lines = wrapped(text, width) if width > _INDENT else [text]
    if width < _NARROW and not tall and len(lines) > _NARROW_LINES:
        lines = [*lines[: _NARROW_LINES - 1], cut(" ".join(lines[_NARROW_LINES - 1 :]), width)]
    return Content.styled("\n".join(lines), "$quiet")


def objections_at(
    found: Sequence[Objection], fields: frozenset[str]
) -> dict[str, tuple[str, bool]]:
    """What stands at each field, and whether it can never be; first what can never be."""
    told: dict[str, tuple[str, bool]] = {}
    for one in found:
        field = one.field if one.field in fields else "on_day"
        says = f"Cannot be booked: {one.says}" if one.bars == "never" else one.says
        before, never = told.get(field, ("", False))
        told[field] = (f"{before}\n{says}".strip(), never or one.bars == "never")
    return told
