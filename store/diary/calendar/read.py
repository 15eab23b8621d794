"""Days off out of a calendar file: the hours and days that its events take.

Repeating events are expanded by the clock on the wall of their zone, and only then put into the
practice's zone: a weekly afternoon stays in the afternoon across the changes of the clock.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from store.diary.calendar.entries import Entry, entry_of
from store.diary.calendar.lines import Component, Fault, components
from store.diary.calendar.moments import Length, Moment, Zones
from store.diary.calendar.series import occurrences
from store.errors import BadInput
from store.text import day_said

MOST_EVENTS = 20_000
"""The most events that a file may hold."""

PAST = "over before the days that are read"
_WHOLE = time()


@dataclass(frozen=True, slots=True, order=True)
class Stretch:
    """Days, both included, in the practice's zone, as one stretch.

    `from_time` is the hour of the first day at which it begins, `until_time` that of the last day
    at which it ends; None stands for the whole of that day.
    """

    first_day: date
    last_day: date
    from_time: time | None = None
    until_time: time | None = None


@dataclass(frozen=True, slots=True)
class Absence:
    """One event of the file with all its days, by its UID.

    `stretches` is empty where `why_not` says why nobody is away: it is cancelled, marked as free
    time, of no length, or `PAST`. `sequence` is the highest of all that the file holds under that
    UID, and `stamped_at` the latest change.
    """

    line: int
    uid: str
    sequence: int
    stamped_at: datetime | None
    says: str
    stretches: tuple[Stretch, ...]
    why_not: str


@dataclass(frozen=True, slots=True)
class CalendarRead:
    """What a file says: absences, what could not be read, what had to be supposed.

    `events` counts every VEVENT.
    """

    absences: tuple[Absence, ...]
    faults: tuple[Fault, ...]
    told: tuple[str, ...]
    events: int


def read_absences(data: bytes, zone: ZoneInfo, since: date, until: date) -> CalendarRead:
    """The absences of a calendar file.

    Parameters
    ----------
    data
        The file.
    zone
        The practice's zone: what has no zone of its own is meant there, and days are reckoned so.
    since, until
        Repeating events are expanded between these days, both included. Single events before are
        left out, those behind are kept.

    Raises
    ------
    BadInput
        The file holds no calendar, is too large, or holds more than `MOST_EVENTS` events.
    """
    calendars, found_faults = components(data)
    faults = list(found_faults)
    entries: list[Entry] = []
    told: list[str] = []
    others: dict[str, int] = {}
    events = 0
    for calendar in calendars:
        zones = Zones(calendar)
        cancelled = calendar.text("METHOD").strip().upper() == "CANCEL"
        for one in calendar.inner:
            if one.kind != "VEVENT":
                others[one.kind] = others.get(one.kind, 0) + 1
                continue
            events += 1
            if events > MOST_EVENTS:
                raise BadInput(
                    f"The file holds more than {MOST_EVENTS:,} events; nothing was brought in. "
                    "Please export the days off alone."
                )
            if (entry := _entry(one, zones, faults, cancelled=cancelled)) is not None:
                entries.append(entry)
        told += [
            f"The time zone “{name}” is not known here; it is read as the file describes it."
            for name in sorted(zones.as_described)
        ]
    told += _supposed(entries, zone, since, until)
    told += _passed_over(others)
    absences = _absences(entries, zone, since, until, faults)
    return CalendarRead(
        absences, tuple(sorted(faults, key=lambda one: one.line)), tuple(told), events
    )


def _entry(
    component: Component, zones: Zones, faults: list[Fault], *, cancelled: bool
) -> Entry | None:
    try:
        return entry_of(component, zones, cancelled=cancelled)
    except BadInput as trouble:
        faults.append(Fault(component.line, f"The event {trouble.message}"))
        return None


def _supposed(entries: Sequence[Entry], zone: ZoneInfo, since: date, until: date) -> list[str]:
    told = []
    if any(not one.begins.whole_day and one.begins.zone is None for one in entries):
        told.append(f"Hours without a time zone are taken for hours of the practice ({zone.key}).")
    if any(one.rules or one.extra for one in entries):
        told.append(
            f"What repeats is brought in from {day_said(since)} to {day_said(until)}; import the "
            "file again for later days."
        )
    if any(one.uid.startswith("without-uid-") for one in entries):
        told.append("Some events have no UID: when they change they come in beside the old ones.")
    return told


def _passed_over(others: dict[str, int]) -> list[str]:
    names = {"VTODO": "task", "VJOURNAL": "journal entry", "VFREEBUSY": "busy time"}
    many = {"VTODO": "tasks", "VJOURNAL": "journal entries", "VFREEBUSY": "busy times"}
    said = [
        f"{count} {names[kind] if count == 1 else many[kind]}"
        for kind, count in others.items()
        if kind in names
    ]
    return [f"Not read, as they are no events: {', '.join(said)}."] if said else []


def _absences(
    entries: Sequence[Entry], zone: ZoneInfo, since: date, until: date, faults: list[Fault]
) -> tuple[Absence, ...]:
    by_uid: dict[str, list[Entry]] = {}
    for one in entries:
        by_uid.setdefault(one.uid, []).append(one)
    found: list[Absence] = []
    for group in by_uid.values():
        try:
            found.append(_absence(group, zone, since, until))
        except BadInput as trouble:
            faults.append(Fault(group[0].line, f"The event {trouble.message}"))
    return tuple(found)


def _newest(entries: Iterable[Entry]) -> Entry:
    return max(
        entries,
        key=lambda one: (
            one.sequence, one.stamped_at.timestamp() if one.stamped_at else 0.0, one.line,
        ),
    )  # fmt: skip


def _absence(group: Sequence[Entry], zone: ZoneInfo, since: date, until: date) -> Absence:
    """All that stands under one UID."""
    masters = [one for one in group if one.instead_of is None]
    master = _newest(masters) if masters else None
    others: dict[datetime, list[Entry]] = {}
    for one in group:
        if one.instead_of is not None:
            others.setdefault(one.instead_of.instant(zone), []).append(one)
    instead = [_newest(same) for same in others.values()]
    leading = master or _newest(instead)
    stretches = {
        stretch
        for begins, length in occurrences(master, instead, zone, since, until)
        if (stretch := _stretch(begins, length, zone)) is not None
    }
    kept = tuple(sorted(one for one in stretches if one.last_day >= since))
    why_not = "" if kept else PAST if stretches else leading.why_not or "without a day"
    stamps = [one.stamped_at for one in group if one.stamped_at is not None]
    return Absence(
        line=leading.line,
        uid=leading.uid,
        sequence=max(one.sequence for one in group),
        stamped_at=max(stamps, default=None),
        says=leading.says,
        stretches=kept,
        why_not=why_not,
    )


def _stretch(begins: Moment, length: Length, zone: ZoneInfo) -> Stretch | None:
    """The days and hours of one occurrence in the practice's zone; None where it takes no time."""
    if begins.whole_day:
        first = begins.wall.date()
        return Stretch(first, first + timedelta(days=length.days - 1))
    one = begins.instant(zone).astimezone(zone).replace(tzinfo=None)
    other = length.after(begins, zone).astimezone(zone).replace(tzinfo=None)
    # In the hour that comes twice the clock on the wall may run from a later to an earlier time.
    since, until = _minute_before(min(one, other)), _minute_after(max(one, other))
    if since == until:
        return None
    if until.time() == _WHOLE:
        last, ends = until.date() - timedelta(days=1), None
    else:
        last, ends = until.date(), until.time()
    return Stretch(since.date(), last, None if since.time() == _WHOLE else since.time(), ends)


def _minute_before(at: datetime) -> datetime:
    return at.replace(second=0, microsecond=0)


def _minute_after(at: datetime) -> datetime:
    whole = _minute_before(at)
    return whole if whole == at else whole + timedelta(minutes=1)
