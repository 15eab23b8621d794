"""Days and times out of cells, in the zone of the practice."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, timezone, tzinfo
from typing import Literal

from store.errors import BadInput

Order = Literal["ymd", "dmy", "mdy"]
Told = Literal["", "no time", "twice"]

NOON = time(12)
_ISO_DAY = re.compile(r"(\d{4})-(\d{1,2})-(\d{1,2})")
_OTHER_DAY = re.compile(r"(\d{1,2})[./-](\d{1,2})[./-](\d{4})")
_TIME = re.compile(
    r"(?P<hour>\d{1,2})(?::(?P<minute>\d{2})(?::(?P<second>\d{2})(?:[.,]\d+)?)?)?"
    r"[ ]?(?P<half>[ap]\.?m\.?)?[ ]?(?P<offset>Z|[+-]\d{2}:?\d{2}|UTC)?",
    re.IGNORECASE,
)


@dataclass(frozen=True, slots=True)
class Moment:
    """An instant, and what had to be supposed to find it.

    `no time` is a day alone, taken at noon; `twice` is an hour that the clock showed twice when it
    went back, of which the first is taken.
    """

    at: datetime
    told: Told = ""


class Skipped(BadInput):
    """The clock went forward over that time, so no clock of this zone ever showed it."""


def read_day(text: str, order: Order = "ymd") -> date:
    """The calendar day that a cell says.

    Parameters
    ----------
    text
        `2026-05-02`, or day and month in the order given.
    order
        In which order the file writes figures; it is never guessed.

    Returns
    -------
    date
        The day.

    Raises
    ------
    BadInput
        When the cell is no day, or its order would have to be guessed.

    Examples
    --------
    >>> read_day("2/5/2026", "dmy")
    datetime.date(2026, 5, 2)
    """
    cell = text.strip()
    try:
        if iso := _ISO_DAY.fullmatch(cell):
            return date(*(int(part) for part in iso.groups()))
        if other := _OTHER_DAY.fullmatch(cell):
            if order == "ymd":
                raise BadInput(
                    f"“{cell}” may be day and month in either order. Write it as 2026-05-02, or "
                    "say --dates dmy or --dates mdy."
                )
            first, second, year = (int(part) for part in other.groups())
            return date(year, second, first) if order == "dmy" else date(year, first, second)
    except ValueError as error:
        raise BadInput(f"“{cell:.40}” is no day of the calendar.") from error
    raise BadInput(f"“{cell:.40}” is no day. Write it as 2026-05-02.")


def read_moment(
    text: str,
    zone: tzinfo,
    *,
    clock: str = "",
    order: Order = "ymd",
    shift_days: int = 0,
    second_time: bool = False,
) -> Moment:
    """The instant that a cell says: day and time, with or without an offset from UTC.

    Parameters
    ----------
    text
        `2026-05-02 07:40`, `2026-05-02T07:40:00Z`, `2/5/2026 7:40 pm`, or a day alone.
    zone
        The zone in which a time without an offset is meant.
    clock
        The time of day, where it stands in a cell of its own.
    order
        In which order the file writes figures.
    shift_days
        Whole days by which the local day is moved, the time on the clock staying the same [d].
    second_time
        Take the second of two when the clock showed the time twice.

    Returns
    -------
    Moment
        With what had to be supposed.

    Raises
    ------
    Skipped
        The clock of the zone skipped that time.
    BadInput
        No day, no time, or an order that would have to be guessed.

    Examples
    --------
    >>> from zoneinfo import ZoneInfo
    >>> read_moment("2026-07-02 09:15", ZoneInfo("Europe/London")).at.isoformat()
    '2026-07-02T08:15:00+00:00'
    """
    day_text, _, rest = text.strip().replace("T", " ", 1).partition(" ")
    # A cell of "00:00" beside the clock's own column is how spreadsheets write a bare day.
    said = clock.strip() or rest.strip()
    try:
        day = read_day(day_text, order) + timedelta(days=shift_days)
    except OverflowError as error:
        raise BadInput(f"“{text.strip():.40}” is no day of the calendar.") from error
    if not said:
        return Moment(_instant(day, NOON, zone)[0], "no time")
    found = _TIME.fullmatch(said)
    on_clock = None if found is None else _clock(found)
    if found is None or on_clock is None:
        raise BadInput(f"“{said:.40}” is no time. Write it as 07:40.")
    if found["offset"]:
        at = datetime.combine(day, on_clock, _offset(found["offset"]))
        return Moment(at.astimezone(UTC))
    first, second, shown = _instant(day, on_clock, zone)
    if not shown:
        raise Skipped(
            f"“{text.strip()} {clock.strip()}".rstrip() + "”: the clock went forward over that "
            "time. Write it with its offset, as 07:40+01:00."
        )
    if first == second:
        return Moment(first)
    return Moment(second if second_time else first, "twice")


def _instant(day: date, at: time, zone: tzinfo) -> tuple[datetime, datetime, bool]:
    """The first and second instant of a local time, and whether the clock showed it at all."""
    wall = datetime.combine(day, at)
    first = wall.replace(tzinfo=zone).astimezone(UTC)
    second = wall.replace(tzinfo=zone, fold=1).astimezone(UTC)
    shown = first.astimezone(zone).replace(tzinfo=None) == wall
    return first, second, shown


def _clock(found: re.Match[str]) -> time | None:
    hour, minute = int(found["hour"]), int(found["minute"] or 0)
    second = int(found["second"] or 0)
    half = (found["half"] or "").lower()[:1]
    if half:
        if not 1 <= hour <= 12:
            return None
        hour = hour % 12 + (12 if half == "p" else 0)
    elif found["minute"] is None:
        return None
    if hour > 23 or minute > 59 or second > 59:
        return None
    return time(hour, minute, second)


def _offset(text: str) -> tzinfo:
    if text.upper() in ("Z", "UTC"):
        return UTC
    ahead = timedelta(hours=int(text[1:3]), minutes=int(text[-2:]))
    if ahead >= timedelta(hours=24):
        raise BadInput(f"“{text}” is no offset from UTC.")
    return timezone(-ahead if text[0] == "-" else ahead)
