"""The events of a calendar file, one by one, as they are written."""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta

from store.diary.calendar.lines import Component, ContentLine
from store.diary.calendar.moments import Length, Moment, Zones, length_of, moment_of
from store.errors import BadInput
from store.text import plain

LONGEST_UID = 1000
MOST_VALUES = 5000
"""The most single times that an event may name."""
MOST_SEQUENCE = 2_000_000_000
CANCELLED = "cancelled"

_SAYS = 200
_STAMPS = frozenset({"DTSTAMP", "LAST-MODIFIED", "CREATED", "SEQUENCE"})


@dataclass(frozen=True, slots=True)
class Entry:
    """One VEVENT: a whole series, a single day, or one day of a series that differs.

    `stamped_at` is when it was last changed, as far as the file says. `extra` are further
    beginnings with their own length where they have one, `without` beginnings that are left out.
    `instead_of` is the beginning that it takes the place of; `and_later` those behind it too.
    `why_not` says why it is no absence.
    """

    line: int
    uid: str
    sequence: int
    stamped_at: datetime | None
    says: str
    begins: Moment
    length: Length
    rules: tuple[str, ...]
    not_rules: tuple[str, ...]
    extra: tuple[tuple[Moment, Length | None], ...]
    without: tuple[Moment, ...]
    instead_of: Moment | None
    and_later: bool
    why_not: str


def entry_of(component: Component, zones: Zones, *, cancelled: bool = False) -> Entry:
    """An event as it is written.

    Parameters
    ----------
    component
        A VEVENT.
    zones
        The zones of its file.
    cancelled
        The whole file takes back what it holds (METHOD:CANCEL).

    Raises
    ------
    BadInput
        It has no beginning, ends before it begins, or a property cannot be read; the sentence goes
        on after `The event`.
    """
    start = component.one("DTSTART")
    if start is None:
        raise BadInput("has no beginning (DTSTART).")
    begins = moment_of(start, zones)
    length = _length(component, begins, zones)
    instead = component.one("RECURRENCE-ID")
    return Entry(
        line=component.line,
        uid=_uid(component),
        sequence=_sequence(component),
        stamped_at=_stamped(component, zones),
        says=" ".join(component.text("SUMMARY").split())[:_SAYS],
        begins=begins,
        length=length,
        rules=tuple(one.value for one in component.every("RRULE")),
        not_rules=tuple(one.value for one in component.every("EXRULE")),
        extra=tuple(_extra(component.every("RDATE"), zones)),
        without=tuple(
            moment_of(line, zones, value) for line, value in _values(component.every("EXDATE"))
        ),
        instead_of=None if instead is None else moment_of(instead, zones),
        and_later=instead is not None and instead.parameter("RANGE").upper() == "THISANDFUTURE",
        why_not=_why_not(component, length, cancelled=cancelled),
    )


def _why_not(component: Component, length: Length, *, cancelled: bool) -> str:
    if cancelled or component.text("STATUS").strip().upper() == "CANCELLED":
        return CANCELLED
    if component.text("TRANSP").strip().upper() == "TRANSPARENT":
        return "marked as free time"
    return "of no length" if length.is_nothing else ""


def _uid(component: Component) -> str:
    if uid := plain(component.text("UID")).strip()[:LONGEST_UID].strip():
        return uid
    # Without one, what it says stands for it: the same file twice is still the same.
    told = "\n".join(
        f"{one.name}:{one.value}" for one in component.lines if one.name not in _STAMPS
    )
    return f"without-uid-{hashlib.sha256(told.encode()).hexdigest()[:32]}"


def _sequence(component: Component) -> int:
    text = component.text("SEQUENCE").strip() or "0"
    if not text.isascii() or not text.isdecimal() or len(text) > 10 or int(text) > MOST_SEQUENCE:
        raise BadInput(f"has “{plain(text)[:20]}” as its SEQUENCE, which is no such number.")
    return int(text)


def _stamped(component: Component, zones: Zones) -> datetime | None:
    found = [
        moment_of(line, zones).instant(UTC)
        for line in (component.one("DTSTAMP"), component.one("LAST-MODIFIED"))
        if line is not None
    ]
    return max(found, default=None)


def _length(component: Component, begins: Moment, zones: Zones) -> Length:
    ends, lasts = component.one("DTEND"), component.one("DURATION")
    if ends is not None:
        return _until(begins, moment_of(ends, zones))
    if lasts is not None:
        length = length_of(lasts.value)
        if not begins.whole_day:
            return length
        # Whole days last whole days; hours beside them round up.
        more = -(-length.time // timedelta(days=1))
        return Length(max(length.days + more, 1), timedelta(0))
    return Length(1 if begins.whole_day else 0, timedelta(0))


def _until(begins: Moment, ends: Moment) -> Length:
    if begins.whole_day != ends.whole_day:
        raise BadInput("begins with a day and ends with a time, or the other way round.")
    if begins.whole_day:
        days = (ends.wall - begins.wall).days
        if days < 0:
            raise BadInput("ends before it begins.")
        # The end is the day after the last; one that names the same day twice means that day.
        return Length(max(days, 1), timedelta(0))
    if (begins.zone is None) != (ends.zone is None):
        raise BadInput("has a time zone at one end only.")
    passed = (
        ends.wall - begins.wall if begins.zone is None else ends.instant(UTC) - begins.instant(UTC)
    )
    if passed < timedelta(0):
        raise BadInput("ends before it begins.")
    return Length(0, passed)


def _extra(lines: Iterable[ContentLine], zones: Zones) -> Iterable[tuple[Moment, Length | None]]:
    for line, value in _values(lines):
        first, slash, second = value.partition("/")
        begins = moment_of(line, zones, first)
        if not slash:
            yield begins, None
        elif second.strip().upper().lstrip("+-").startswith("P"):
            yield begins, length_of(second)
        else:
            yield begins, _until(begins, moment_of(line, zones, second))


def _values(lines: Iterable[ContentLine]) -> Iterable[tuple[ContentLine, str]]:
    """Each of the values of lists of times."""
    found = [(line, value) for line in lines for value in line.value.split(",", MOST_VALUES)]
    if len(found) > MOST_VALUES:
        raise BadInput(f"names more than {MOST_VALUES:,} single times.")
    return found
