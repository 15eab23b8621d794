"""How days, hours, distances and visits are said in what speaks for or against a slot."""

from __future__ import annotations

from datetime import datetime, time
from zoneinfo import ZoneInfo

from store.diary.booking.free import Span
from store.diary.booking.values import DrivesOn, Purpose, Visiting
from store.diary.times.spell import Spell
from store.text import day_said

_NEXT_DOOR_KM = 0.05
"""Below this a distance is not told as one [km]."""


def said_window(purpose: Purpose) -> str:
    """The window of a promise in words, one day or from one to the other.

    Parameters
    ----------
    purpose
        The promise.
    """
    if purpose.first_on == purpose.last_on:
        return f"which is {day_said(purpose.first_on)} alone"
    return f"{day_said(purpose.first_on)} to {day_said(purpose.last_on)}"


def said_spells(spells: tuple[Spell, ...]) -> str:
    """Stretches of a day in words, such as `09:00–12:00 and 14:00–17:00`.

    Parameters
    ----------
    spells
        In order.
    """
    return " and ".join(f"{one.begins:%H:%M}–{_end_said(one.ends)}" for one in spells)


def said_span(span: Span, day: Span, zone: ZoneInfo) -> str:
    """The part of a stretch that lies in a day, in words.

    Parameters
    ----------
    span
        The stretch; it meets the day.
    day
        From the beginning of the local day to its end.
    zone
        The practice's time zone.
    """
    begins = max(span.begins, day.begins).astimezone(zone)
    ends = min(span.ends, day.ends)
    said = "24:00" if ends == day.ends else f"{ends.astimezone(zone):%H:%M}"
    return f"from {begins:%H:%M} to {said}"


def named(visit: Visiting) -> str:
    """Client and pond or site of a visit in one phrase.

    Parameters
    ----------
    visit
        The visit.
    """
    where = visit.pond or visit.site
    return visit.client if not where or where == visit.client else f"{visit.client}, {where}"


def _end_said(at: time) -> str:
    return "24:00" if (at.hour, at.minute) == (23, 59) else f"{at:%H:%M}"


def said_clock(span: Span, zone: ZoneInfo) -> str:
    """A stretch by the clock on the wall, such as `10:00–11:00`.

    Parameters
    ----------
    span
        The stretch.
    zone
        The practice's time zone.
    """
    begins: datetime = span.begins.astimezone(zone)
    return f"{begins:%H:%M}–{span.ends.astimezone(zone):%H:%M}"


def said_km(km: float) -> str:
    """A distance in words: one decimal below 10 km, none above.

    Parameters
    ----------
    km
        The distance [km].

    Examples
    --------
    >>> said_km(4.04), said_km(23.6), said_km(0.02)
    ('4 km', '24 km', 'less than 0.1 km')
    """
    if km < _NEXT_DOOR_KM:
        return "less than 0.1 km"
    return f"{km:.0f} km" if km >= 9.95 else f"{km:.1f}".removesuffix(".0") + " km"


def said_way(minutes: int, km: float | None, rests_on: DrivesOn) -> str:
    """A drive in words, with its distance by road where that is known.

    Parameters
    ----------
    minutes
        How long it takes [min].
    km
        How long it is by road [km]; None where that is not known.
    rests_on
        What it rests on; that it stands in the practice's table is told.

    Examples
    --------
    >>> said_way(12, 9.04, "reckoned"), said_way(12, None, "table")
    ('12 min (9 km)', "12 min (the practice's table)")
    """
    beside = [] if km is None or km < _NEXT_DOOR_KM else [said_km(km)]
    if rests_on in ("table", "both"):
        beside.append("the practice's table" if rests_on == "table" else "partly by the table")
    return f"{minutes} min" + (f" ({', '.join(beside)})" if beside else "")
