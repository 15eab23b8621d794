"""The rounds of a day as entries of a calendar file, at their planned hours.

An entry is named by its day and its errand, so that a plan that is made anew moves it instead of
adding another one. It stands beside the entry of the diary, which tells the hour that was agreed.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import UTC, datetime

from store.diary.calendar.way_in import without_codes
from store.diary.calendar.write import Event, calendar_bytes
from store.paper.paper import one_line
from store.rounds.day.sheet import SUSPECT, DaySheet, StopSheet
from store.rounds.solving.said import clock_said
from store.text import day_said

_MINUTE_S = 60


def round_calendar(sheets: Sequence[DaySheet], now: datetime) -> bytes:
    """The calendar file of a day's rounds.

    Parameters
    ----------
    sheets
        Of one day, one a person; at least one.
    now
        The present instant, with a time zone. The later file wins over the one before it.

    Returns
    -------
    bytes
        RFC 5545. What opens gates is left out, and standings are: calendars are shared.
    """
    first = sheets[0]
    alone = len(sheets) == 1
    whose = first.who if alone else first.practice or "Pondround"
    mark = f"{first.day:%Y%m%d} {first.staff_id.hex[-12:] if alone else 'all'}"
    events = [_event(sheet, one, now, alone=alone) for sheet in sheets for one in sheet.stops]
    name = f"Round of {whose}, {day_said(first.day)}"
    return calendar_bytes(name, f"round {mark}", events, first.zone, now)


def _event(sheet: DaySheet, stop: StopSheet, now: datetime, *, alone: bool) -> Event:
    at, errand = stop.stop, stop.stop.errand
    begins, leaves = sheet.at(at.arrives), sheet.at(at.leaves)
    lasts_s = (leaves.astimezone(UTC) - begins.astimezone(UTC)).total_seconds()
    return Event(
        uid=f"round-{sheet.day:%Y%m%d}-{errand.key}",
        sequence=int(now.timestamp()) // _MINUTE_S,
        title=f"{stop.number}. {errand.kind or 'visit'}: {one_line(stop.name)}",
        on_day=begins.date(),
        at_time=begins.time(),
        minutes=max(0, int(lasts_s) // _MINUTE_S),
        made_at=now,
        changed_at=now,
        place=one_line(", ".join(stop.address)),
        text="\n".join(_told(sheet, stop, alone=alone)),
        latitude=errand.latitude,
        longitude=errand.longitude,
    )


def _told(sheet: DaySheet, stop: StopSheet, *, alone: bool) -> Iterator[str]:
    at = stop.stop
    yield f"Visit {clock_said(at.begins)} to {clock_said(at.ends)}; {one_line(stop.agreed)}"
    if stop.ring:
        yield one_line(stop.ring)
    if not alone:
        yield f"Goes: {one_line(sheet.who)}"
    # What is suspected is nobody's but the authority's, and calendars are shared.
    for why in () if stop.standing == SUSPECT else stop.whys:
        pond = f"{one_line(why.pond)}: " if why.pond else ""
        yield f"{pond}{one_line(why.says)}: {one_line(why.due)}"
    if stop.phones:
        yield f"Telephone: {one_line(', '.join(stop.phones))}"
    if stop.hours:
        yield f"Access: {one_line(stop.hours)}"
    if notes := without_codes(stop.way_in):
        yield f"Way in: {one_line(notes)}"
    yield f"Way there: {one_line(stop.way)}"
