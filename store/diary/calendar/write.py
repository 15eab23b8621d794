"""A calendar file as RFC 5545 describes it, made of plain events.

A time of the day stands local, with the name of its zone, and the file describes that zone over all
days it needs, so that a reader that does not know the name still finds the instant.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from typing import TYPE_CHECKING
from zoneinfo import ZoneInfo

from store.text import plain

if TYPE_CHECKING:
    from icalendar import Event as Written
    from icalendar import Timezone

MAKER = "-//Pondround//Pondround//EN"
"""Who made the file (PRODID); by it a file of ours is known again."""
WHOSE = "X-PONDROUND-OF"
"""The property that says whose diary a file holds; short enough never to be folded."""

_LONGEST_TITLE, _LONGEST_PLACE, _LONGEST_TEXT = 200, 500, 4000
_ONE_DAY = timedelta(days=1)
_SECOND = timedelta(seconds=1)


@dataclass(frozen=True, slots=True)
class Event:
    """One entry of a calendar.

    `uid` stays the same for good and `sequence` grows with every change. Without `at_time` it lasts
    from `on_day` to `last_day`, both included; with it `minutes` from then [min]. A cancelled event
    stays in the file for a while, so that whoever reads it again removes it. `busy` tells whether
    the time is taken. `latitude` and `longitude` are degrees, both or neither.
    """

    uid: str
    sequence: int
    title: str
    on_day: date
    made_at: datetime
    changed_at: datetime
    at_time: time | None = None
    minutes: int = 0
    last_day: date | None = None
    place: str = ""
    text: str = ""
    latitude: float | None = None
    longitude: float | None = None
    cancelled: bool = False
    busy: bool = True

    @property
    def until(self) -> date:
        """The last day of an event of whole days."""
        return self.last_day or self.on_day


@dataclass(frozen=True, slots=True)
class Change:
    """From `at` on a zone is `offset` ahead of UTC, before it was `before`; `name` is its letters.

    `summer` tells whether the clock then runs ahead of the zone's standard time.
    """

    at: datetime
    before: timedelta
    offset: timedelta
    name: str
    summer: bool


def calendar_bytes(
    name: str, whose: str, events: Sequence[Event], zone: ZoneInfo, now: datetime
) -> bytes:
    """The file, in UTF-8 with lines folded at 75 octets.

    Parameters
    ----------
    name
        How the calendar is called before a person.
    whose
        Whose diary it is, in a few letters without spaces at the ends; kept under `WHOSE`.
    events
        What it holds; the file keeps their order.
    zone
        In which the times of day are meant; it has a name.
    now
        The present instant, with a time zone; every event is stamped with it.

    Returns
    -------
    bytes
        With a time zone only where an event has a time of day. An hour that the clock leaves out is
        moved on by what it leaves out, an hour that comes twice is the first, as RFC 5545, 3.3.5,
        reads them.
    """
    from icalendar import Calendar

    calendar = Calendar()
    calendar.add("version", "2.0")
    calendar.add("prodid", MAKER)
    calendar.add("calscale", "GREGORIAN")
    calendar.add(WHOSE, plain(whose)[:50])
    # RFC 7986. No METHOD: a published one would need an organizer, and nobody is invited.
    calendar.add("name", _cut(name, _LONGEST_TITLE))
    timed = [instants(one, zone) for one in events if one.at_time is not None]
    if timed:
        first = min(begins for begins, _ends in timed)
        last = max(ends for _begins, ends in timed)
        calendar.add_component(_zone(zone, first, last))
    for one in events:
        calendar.add_component(_event(one, zone, now))
    return bytes(calendar.to_ical(sorted=False))


def instants(event: Event, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """When an event with a time of day begins and ends, in UTC.

    Parameters
    ----------
    event
        With `at_time`.
    zone
        In which its time is meant.

    Examples
    --------
    >>> at = datetime(2026, 3, 1, tzinfo=UTC)
    >>> one = Event("a", 0, "", date(2026, 3, 29), at, at, time(0, 30), 60)
    >>> [f"{each:%H:%M}" for each in instants(one, ZoneInfo("Europe/London"))]
    ['00:30', '01:30']
    """
    begins = datetime.combine(event.on_day, event.at_time or time(), zone).astimezone(UTC)
    return begins, begins + timedelta(minutes=event.minutes)


def changes(zone: ZoneInfo, first: datetime, last: datetime) -> Iterator[Change]:
    """Every change of the clock between two instants, as the zone's own rules give them.

    Parameters
    ----------
    zone
        The zone.
    first, last
        Instants with a time zone.

    Yields
    ------
    Change
        By its instant, which is exact to the second.
    """
    before = first.astimezone(UTC)
    while before < last:
        # No zone has changed its clock twice within a day and a night.
        after = before + _ONE_DAY
        if _clock(zone, before) != _clock(zone, after):
            low, high = before, after
            while high - low > _SECOND:
                middle = low + (high - low) // 2
                middle = middle.replace(microsecond=0)
                low, high = (
                    (middle, high)
                    if _clock(zone, middle) == _clock(zone, before)
                    else (low, middle)
                )
            offset, name, summer = _clock(zone, high)
            yield Change(high, _clock(zone, before)[0], offset, name, summer)
        before = after


def _clock(zone: ZoneInfo, at: datetime) -> tuple[timedelta, str, bool]:
    local = at.astimezone(zone)
    ahead = local.dst() or timedelta(0)
    return local.utcoffset() or timedelta(0), local.tzname() or "", ahead > timedelta(0)


def _zone(zone: ZoneInfo, first: datetime, last: datetime) -> Timezone:
    """The description of a zone from the day before the first instant to behind the last one."""
    from icalendar import Timezone, TimezoneDaylight, TimezoneStandard

    begins = (first.astimezone(UTC) - 2 * _ONE_DAY).replace(second=0, microsecond=0)
    offset, name, summer = _clock(zone, begins)
    described = Timezone()
    described.add("tzid", zone.key)
    all_changes: Iterable[Change] = (
        Change(begins, offset, offset, name, summer),
        *changes(zone, begins, last + 2 * _ONE_DAY),
    )
    for one in all_changes:
        part = TimezoneDaylight() if one.summer else TimezoneStandard()
        # The clock on the wall just before the change, as RFC 5545, 3.6.5, has it.
        onset = (one.at + one.before).replace(tzinfo=None)
        part.add("dtstart", onset)
        # Said twice, which counts once: some readers look for beginnings in rules and RDATE alone.
        part.add("rdate", onset)
        part.add("tzoffsetfrom", one.before)
        part.add("tzoffsetto", one.offset)
        part.add("tzname", one.name)
        described.add_component(part)
    return described


def _event(event: Event, zone: ZoneInfo, now: datetime) -> Written:
    from icalendar import Event as Written

    written = Written()
    written.add("uid", plain(event.uid))
    written.add("dtstamp", _utc(now))
    written.add("sequence", event.sequence)
    written.add("created", _utc(event.made_at))
    written.add("last-modified", _utc(event.changed_at))
    if event.at_time is None:
        written.add("dtstart", event.on_day)
        written.add("dtend", event.until + _ONE_DAY)
    else:
        begins, ends = instants(event, zone)
        written.add("dtstart", begins.astimezone(zone))
        local = ends.astimezone(zone)
        # In an hour that comes twice a local time means the first; only UTC can say the second.
        written.add("dtend", ends if local.fold else local)
    written.add("summary", _cut(event.title, _LONGEST_TITLE))
    if place := _cut(event.place, _LONGEST_PLACE):
        written.add("location", place)
    if text := _cut(event.text, _LONGEST_TEXT, lines=True):
        written.add("description", text)
    if event.latitude is not None and event.longitude is not None:
        written.add("geo", (event.latitude, event.longitude))
    written.add("status", "CANCELLED" if event.cancelled else "CONFIRMED")
    taken = event.busy and not event.cancelled
    written.add("transp", "OPAQUE" if taken else "TRANSPARENT")
    # Names and telephone numbers of clients: whoever shares the calendar shows the time alone.
    written.add("class", "PRIVATE")
    return written


def _utc(at: datetime) -> datetime:
    return at.astimezone(UTC).replace(microsecond=0)


def _cut(text: str, longest: int, *, lines: bool = False) -> str:
    """Harmless text of at most so many letters, on one line unless lines are kept."""
    # Cut first: a text of a million letters is not worked through.
    text = text[: longest * 4]
    said = plain(text, lines=True).strip() if lines else plain(" ".join(text.split()))
    return said if len(said) <= longest else said[: longest - 1].rstrip() + "…"
