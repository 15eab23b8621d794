"""Days, times of the day, lengths and zones as a calendar file writes them (RFC 5545, 3.3)."""

from __future__ import annotations

import io
import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from functools import cache
from zoneinfo import ZoneInfo

from store.diary.calendar.lines import Component, ContentLine
from store.errors import BadInput
from store.text import plain

EARLIEST_YEAR, LATEST_YEAR = 1900, 2199

_MOMENT = re.compile(r"([0-9]{4})([0-9]{2})([0-9]{2})(?:T([0-9]{2})([0-9]{2})([0-9]{2})(Z)?)?")
_LENGTH = re.compile(
    r"([+-])?P(?:([0-9]{1,4})W)?(?:([0-9]{1,5})D)?"
    r"(?:T(?:([0-9]{1,6})H)?(?:([0-9]{1,8})M)?(?:([0-9]{1,9})S)?)?"
)
_OBSERVED = ("STANDARD", "DAYLIGHT")
_OF_A_ZONE = ("DTSTART", "RRULE", "RDATE", "TZOFFSETFROM", "TZOFFSETTO", "TZNAME")


@dataclass(frozen=True, slots=True)
class Moment:
    """A day, or a time of the day, as the clock on the wall of its zone shows it.

    `zone` is None for a whole day, where `wall` is its beginning, and for a time that floats: it is
    meant wherever the reader is.
    """

    wall: datetime
    whole_day: bool
    zone: tzinfo | None

    def instant(self, own: tzinfo) -> datetime:
        """In UTC; what floats is meant in the zone `own`. An hour that comes twice is the first."""
        return self.wall.replace(tzinfo=self.zone or own).astimezone(UTC)


@dataclass(frozen=True, slots=True)
class Length:
    """How long something lasts: whole days by the calendar, then time by the clock.

    A day by the calendar may have 23 or 25 hours.
    """

    days: int
    time: timedelta

    @property
    def is_nothing(self) -> bool:
        """Whether it takes no time at all."""
        return not self.days and not self.time

    def after(self, begins: Moment, own: tzinfo) -> datetime:
        """When it is over, in UTC."""
        zone = begins.zone or own
        wall = begins.wall + timedelta(days=self.days)
        return wall.replace(tzinfo=zone).astimezone(UTC) + self.time


class Zones:
    """The time zones that a calendar names, by the names it uses.

    Parameters
    ----------
    calendar
        With the zones it describes.
    """

    def __init__(self, calendar: Component) -> None:
        self._described = {
            one.text("TZID"): one for one in calendar.inner if one.kind == "VTIMEZONE"
        }
        self._found: dict[str, tzinfo] = {}
        self.as_described: set[str] = set()
        """Names that nobody knows and that are read as the file describes them."""

    def of(self, name: str) -> tzinfo:
        """The zone of a name.

        Raises
        ------
        BadInput
            Nobody knows it, and the file does not describe it.
        """
        if name not in self._found:
            known = _known(name)
            if known is None and name in self._described:
                known = _described(self._described[name], name)
                if known is not None:
                    self.as_described.add(name)
            if known is None:
                raise BadInput(
                    f"names the time zone “{plain(name)[:60]}”, which is not known and which the "
                    "file does not describe."
                )
            self._found[name] = known
        return self._found[name]


def moment_of(line: ContentLine, zones: Zones, value: str | None = None) -> Moment:
    """The day or time of the day that a property holds.

    Parameters
    ----------
    line
        The property, for its parameters.
    zones
        The zones of the file.
    value
        One of several values; the whole value where left out.

    Raises
    ------
    BadInput
        It is none, lies outside the years 1900 to 2199, or names a zone that is not known.
    """
    text = (line.value if value is None else value).strip()
    found = _MOMENT.fullmatch(text)
    try:
        if found is None:
            raise ValueError(text)
        day = date(int(found[1]), int(found[2]), int(found[3]))
        at = time() if found[4] is None else _time(found[4], found[5], found[6])
    except ValueError:
        raise BadInput(f"has “{plain(text)[:40]}”, which is no day and no time.") from None
    if not EARLIEST_YEAR <= day.year <= LATEST_YEAR:
        raise BadInput(f"has the year {day.year}, which cannot be right.")
    wall = datetime.combine(day, at)
    if found[4] is None:
        return Moment(wall, True, None)
    name = line.parameter("TZID")
    # A time in UTC has no zone; some writers name one all the same.
    return Moment(wall, False, UTC if found[7] else zones.of(name) if name else None)


def _time(hours: str, minutes: str, seconds: str) -> time:
    # A leap second is the last second of its minute to those that know none.
    return time(int(hours), int(minutes), min(int(seconds), 59) if seconds <= "60" else 60)


def length_of(text: str) -> Length:
    """How long a DURATION says that something lasts.

    Parameters
    ----------
    text
        Such as `P1W`, `P1DT8H` or `PT45M`.

    Raises
    ------
    BadInput
        It is none, or runs backwards.

    Examples
    --------
    >>> length_of("P1DT8H")
    Length(days=1, time=datetime.timedelta(seconds=28800))
    """
    found = _LENGTH.fullmatch(text.strip())
    if found is None or not any(found[at] for at in range(2, 7)):
        raise BadInput(f"has “{plain(text.strip())[:40]}”, which is no length of time.")
    if found[1] == "-":
        raise BadInput("lasts less than nothing.")
    weeks, days, hours, minutes, seconds = (int(found[at] or 0) for at in range(2, 7))
    return Length(weeks * 7 + days, timedelta(hours=hours, minutes=minutes, seconds=seconds))


@cache
def _known(name: str) -> tzinfo | None:
    """The zone of a name by the tables that everybody has."""
    from icalendar.timezone.windows_to_olson import WINDOWS_TO_OLSON

    name = name.strip()
    parts = name.strip("/").split("/")
    # Some writers set their own name before that of the zone, /example.org/Europe/Oslo.
    tried = [name, "/".join(parts[-2:]), "/".join(parts[-3:])] if "/" in name else [name]
    for one in (*tried, WINDOWS_TO_OLSON.get(name, "")):
        if not re.fullmatch(r"[A-Za-z0-9+_/-]{1,60}", one) or one.startswith("/"):
            continue
        try:
            return ZoneInfo(one)
        except (LookupError, ValueError, OSError):
            continue
    return None


def _described(component: Component, name: str) -> tzinfo | None:
    """The zone as the file describes it; None where it cannot be read, or would take for ever."""
    from dateutil.tz import tzical

    written = ["BEGIN:VTIMEZONE", "TZID:described"]
    for part in component.inner:
        if part.kind not in _OBSERVED:
            continue
        written.append(f"BEGIN:{part.kind}")
        for line in _of_a_zone(part.lines):
            if line.name == "RRULE" and "FREQ=YEARLY" not in line.value.upper():
                return None
            written.append(f"{line.name}:{line.value}")
        written.append(f"END:{part.kind}")
    written.append("END:VTIMEZONE")
    try:
        found: tzinfo | None = tzical(io.StringIO("\r\n".join(written))).get()
        if found is not None:
            datetime(2026, 1, 1, tzinfo=found).utcoffset()
    except (ValueError, TypeError, KeyError, AttributeError, OverflowError):
        return None
    return found


def _of_a_zone(lines: Iterable[ContentLine]) -> Iterable[ContentLine]:
    return (one for one in lines if one.name in _OF_A_ZONE)
