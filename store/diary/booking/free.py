"""Stretches of time: working hours less what is taken, over clock changes too.

Stretches are reckoned between instants, so that a day of 23 or 25 hours has the minutes it has, and
are said by the clock on the wall.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from store.diary.booking.values import Visiting
from store.diary.times.spell import MIDNIGHT, Spell, minute_of


@dataclass(frozen=True, slots=True)
class Span:
    """From one instant to before another, both in UTC."""

    begins: datetime
    ends: datetime

    @property
    def minutes(self) -> int:
        """Whole minutes that pass in it [min]."""
        return int((self.ends - self.begins) / timedelta(minutes=1))

    def meets(self, other: Span) -> bool:
        """Whether the two share any time; one that ends where the other begins shares none.

        Parameters
        ----------
        other
            Another stretch.
        """
        return self.begins < other.ends and other.begins < self.ends

    def holds(self, other: Span) -> bool:
        """Whether all of the other lies in this one.

        Parameters
        ----------
        other
            Another stretch.
        """
        return self.begins <= other.begins and other.ends <= self.ends


def instant_of(day: date, at: time, zone: ZoneInfo) -> datetime:
    """The instant of a local hour, `MIDNIGHT` being the beginning of the next day.

    Parameters
    ----------
    day, at
        Local day and hour. An hour that comes twice is the first; one that the clock change leaves
        out is as long after midnight as it says.
    zone
        The practice's time zone.

    Examples
    --------
    >>> instant_of(date(2026, 10, 25), time(1, 30), ZoneInfo("Europe/London")).hour
    0
    """
    if minute_of(at) == 1440:
        day, at = day + timedelta(days=1), time(0)
    return datetime.combine(day, at.replace(second=0, microsecond=0), zone).astimezone(UTC)


def is_left_out(day: date, at: time, zone: ZoneInfo) -> bool:
    """Whether the clock change leaves out that hour of that day.

    Parameters
    ----------
    day, at
        Local day and hour.
    zone
        The practice's time zone.

    Examples
    --------
    >>> is_left_out(date(2026, 3, 29), time(1, 30), ZoneInfo("Europe/London"))
    True
    """
    wall = datetime.combine(day, at)
    return wall.replace(tzinfo=zone).astimezone(UTC).astimezone(zone).replace(tzinfo=None) != wall


def spans_of(day: date, spells: Iterable[Spell], zone: ZoneInfo) -> tuple[Span, ...]:
    """Stretches of a local day between instants, in order; those that touch or overlap are joined.

    Parameters
    ----------
    day
        The local day.
    spells
        By the clock on the wall, in any order.
    zone
        The practice's time zone.
    """
    made = (Span(instant_of(day, s.begins, zone), instant_of(day, s.ends, zone)) for s in spells)
    found: list[Span] = []
    for one in sorted((s for s in made if s.begins < s.ends), key=lambda s: s.begins):
        if found and one.begins <= found[-1].ends:
            found[-1] = Span(found[-1].begins, max(found[-1].ends, one.ends))
        else:
            found.append(one)
    return tuple(found)


def without(spans: Sequence[Span], taken: Iterable[Span]) -> tuple[Span, ...]:
    """What remains of stretches when others are taken out.

    Parameters
    ----------
    spans
        In order, none meeting another.
    taken
        What is taken, in any order; nothing is said of what lies outside.

    Returns
    -------
    tuple of Span
        In order; empty stretches are left out.
    """
    left = list(spans)
    for out in taken:
        left = [part for one in left for part in _around(one, out)]
    return tuple(left)


def _around(one: Span, out: Span) -> list[Span]:
    if not out.meets(one):
        return [one]
    parts = (Span(one.begins, out.begins), Span(out.ends, one.ends))
    return [part for part in parts if part.begins < part.ends]


def shared(spans: Sequence[Span], others: Sequence[Span]) -> tuple[Span, ...]:
    """What two rows of stretches have in common.

    Parameters
    ----------
    spans, others
        Each in order, none meeting another of its row.
    """
    return tuple(
        Span(max(one.begins, other.begins), min(one.ends, other.ends))
        for one in spans
        for other in others
        if one.meets(other)
    )


def minutes_in(spans: Iterable[Span]) -> int:
    """Minutes that pass in all of the stretches together [min].

    Parameters
    ----------
    spans
        None meeting another.
    """
    return sum(one.minutes for one in spans)


def spells_of(spans: Iterable[Span], zone: ZoneInfo) -> tuple[Spell, ...]:
    """Stretches as the clock on the wall shows them; each lies within one local day.

    Parameters
    ----------
    spans
        Between instants.
    zone
        The practice's time zone.
    """
    found = []
    for one in spans:
        begins, ends = one.begins.astimezone(zone), one.ends.astimezone(zone)
        last = MIDNIGHT if ends.date() > begins.date() else ends.time()
        found.append(Spell(begins.time(), last))
    return tuple(found)


def span_of(visit: Visiting, zone: ZoneInfo) -> Span | None:
    """When a visit takes place, None while no hour was agreed.

    Parameters
    ----------
    visit
        The visit, its hour in the practice's zone.
    zone
        The practice's time zone.
    """
    if visit.at_time is None:
        return None
    return taken(visit.on_day, visit.at_time, visit.minutes, zone)


def wall_end(day: date, at: time, minutes: int, zone: ZoneInfo) -> time | None:
    """What the clock on the wall shows at the end of a visit.

    Parameters
    ----------
    day, at
        Local day and hour at which it begins.
    minutes
        How long it takes [min].
    zone
        The practice's time zone.

    Returns
    -------
    time or None
        `MIDNIGHT` at the end of that day, None behind it.

    Examples
    --------
    >>> str(wall_end(date(2026, 3, 29), time(0, 30), 60, ZoneInfo("Europe/London")))
    '02:30:00'
    """
    span = taken(day, at, minutes, zone)
    if span.ends == instant_of(day, MIDNIGHT, zone):
        return MIDNIGHT
    ends = span.ends.astimezone(zone)
    return ends.time().replace(fold=0) if ends.date() == day else None


def taken(day: date, at: time, minutes: int, zone: ZoneInfo) -> Span:
    """The stretch from a local hour on.

    Parameters
    ----------
    day, at
        Local day and hour at which it begins.
    minutes
        How long it takes [min].
    zone
        The practice's time zone.
    """
    begins = instant_of(day, at, zone)
    return Span(begins, begins + timedelta(minutes=minutes))
