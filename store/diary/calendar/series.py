"""The single beginnings of an event that repeats, with the days of it that differ."""

from __future__ import annotations

import re
from collections.abc import Sequence
from datetime import date, datetime, time, timedelta, tzinfo
from zoneinfo import ZoneInfo

from store.diary.calendar.entries import CANCELLED, Entry
from store.diary.calendar.lines import Component, ContentLine
from store.diary.calendar.moments import Length, Moment, Zones, moment_of
from store.diary.times.repeats import days_of
from store.errors import BadInput
from store.text import plain

MOST_TIMES = 2000
"""The most beginnings of one event that are read."""

_UNTIL = re.compile(r"UNTIL=([0-9TZ]+)", re.IGNORECASE)
_LONGEST_DAYS = 400
"""How long before the days that are read something may have begun that still lasts [d]."""


def occurrences(
    master: Entry | None, instead: Sequence[Entry], zone: ZoneInfo, since: date, until: date
) -> list[tuple[Moment, Length]]:
    """When an event takes place, and how long each time.

    Parameters
    ----------
    master
        The event itself; None where the file only holds days of it that differ.
    instead
        The days that differ, the newest of each.
    zone
        The practice's zone, for what has none.
    since, until
        Repeats are expanded between these days, both included.

    Raises
    ------
    BadInput
        A rule that cannot be read or does not fall on days, or too many times.
    """
    found: dict[datetime, tuple[Moment, Length]] = {}
    if master is not None and master.why_not == CANCELLED:
        return []
    if master is not None and not master.why_not:
        found = _of_series(master, zone, since, until)
    for one in sorted(instead, key=lambda one: _instead_of(one).instant(zone)):
        at = _instead_of(one).instant(zone)
        later = [each for each in found if each > at] if one.and_later else []
        replaced = found.pop(at, None)
        moved = _moved(one, _instead_of(one))
        if not one.why_not and (replaced is not None or not one.and_later):
            found[at] = (one.begins, one.length)
        for each in later:
            begins, _length = found.pop(each)
            if not one.why_not:
                found[each] = (_shifted(begins, moved, one), one.length)
    return list(found.values())


def _instead_of(one: Entry) -> Moment:
    assert one.instead_of is not None
    return one.instead_of


def _moved(one: Entry, at: Moment) -> timedelta:
    """By how much the clock on the wall differs from that of the beginning it stands for."""
    if at.zone is not None and one.begins.zone is not None:
        wall = at.wall.replace(tzinfo=at.zone).astimezone(one.begins.zone).replace(tzinfo=None)
        return one.begins.wall - wall
    return one.begins.wall - at.wall


def _shifted(begins: Moment, moved: timedelta, one: Entry) -> Moment:
    wall = begins.wall
    if begins.zone is not None and one.begins.zone is not None:
        wall = wall.replace(tzinfo=begins.zone).astimezone(one.begins.zone).replace(tzinfo=None)
    return Moment(wall + moved, one.begins.whole_day, one.begins.zone)


def _of_series(
    master: Entry, zone: ZoneInfo, since: date, until: date
) -> dict[datetime, tuple[Moment, Length]]:
    """Beginnings by their instant: by rule and by single days, without those left out."""
    start = master.begins
    found = {start.instant(zone): (start, master.length)}
    reach = min(master.length.days + master.length.time.days + 1, _LONGEST_DAYS)
    early = since - timedelta(days=reach)
    for rule in master.rules:
        for day in _days(rule, start, early, until):
            moment = Moment(datetime.combine(day, start.wall.time()), start.whole_day, start.zone)
            found[moment.instant(zone)] = (moment, master.length)
        if len(found) > MOST_TIMES:
            raise BadInput(f"comes more than {MOST_TIMES:,} times within the days that are read.")
    for moment, length in master.extra:
        own = _like(moment, start)
        found[own.instant(zone)] = (own, length or master.length)
    for rule in master.not_rules:
        for day in _days(rule, start, early, until):
            moment = Moment(datetime.combine(day, start.wall.time()), start.whole_day, start.zone)
            found.pop(moment.instant(zone), None)
    # Some writers name the day alone where a time is asked.
    days = {one.wall.date() for one in master.without if one.whole_day and not start.whole_day}
    times = {
        _like(one, start).instant(zone)
        for one in master.without
        if start.whole_day or not one.whole_day
    }
    return {
        at: (begins, length)
        for at, (begins, length) in found.items()
        if at not in times and begins.wall.date() not in days
    }


def _like(moment: Moment, start: Moment) -> Moment:
    """A single day of a series as a time of it, and a time of a series of days as a day."""
    if moment.whole_day == start.whole_day:
        return moment
    if start.whole_day:
        return Moment(datetime.combine(moment.wall.date(), time()), True, None)
    return Moment(datetime.combine(moment.wall.date(), start.wall.time()), False, start.zone)


def _days(rule: str, start: Moment, early: date, until: date) -> tuple[date, ...]:
    """The local days that a rule gives; an end that names an instant becomes a day first."""
    first = start.wall.date()
    text = rule.strip().upper()
    ends = _UNTIL.search(text)
    if ends is not None and "T" in ends[1]:
        last = _last_day(ends[1], start)
        if last < first:
            return (first,)
        text = text.replace(ends[0], f"UNTIL={last:%Y%m%d}")
    try:
        return days_of(text, first, early, until)
    except BadInput as trouble:
        raise BadInput(
            f"repeats by a rule that is not read here ({plain(rule)[:60]}): {trouble.message}"
        ) from trouble


def _last_day(text: str, start: Moment) -> date:
    """The last local day on which something may begin that does not begin after an instant."""
    line = ContentLine(0, "UNTIL", {}, text)
    end = moment_of(line, Zones(Component("VCALENDAR", 0)))
    wall = end.wall
    if end.zone is not None and start.zone is not None:
        wall = _in(end, start.zone)
    day = wall.date()
    return day if wall.time() >= start.wall.time() else day - timedelta(days=1)


def _in(moment: Moment, zone: tzinfo) -> datetime:
    return moment.wall.replace(tzinfo=moment.zone).astimezone(zone).replace(tzinfo=None)
