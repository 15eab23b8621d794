"""Between the clock on the wall and instants, over the changes of the clock.

The zone is put on last: a day and an hour are agreed as the clock on the wall shows them, and only
here they become an instant. Transitions are those of the time zone database, by `zoneinfo`.
"""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from store.errors import BadInput
from store.text import day_said

_STEP = timedelta(seconds=1)


def at_instant(day: date, at: time, zone: ZoneInfo) -> datetime:
    """The instant of a local day and hour.

    Parameters
    ----------
    day
        The local day.
    at
        The hour on the wall.
    zone
        Where the wall stands.

    Returns
    -------
    datetime
        In UTC. An hour that comes twice is the first of the two; `hour_twice` says so.

    Raises
    ------
    BadInput
        At the field `at_time`: the clock leaves that hour out on that day.

    Examples
    --------
    >>> london = ZoneInfo("Europe/London")
    >>> str(at_instant(date(2026, 7, 1), time(9, 30), london))
    '2026-07-01 08:30:00+00:00'
    >>> str(at_instant(date(2026, 10, 25), time(1, 30), london))
    '2026-10-25 00:30:00+00:00'
    """
    wall = datetime.combine(day, at.replace(tzinfo=None, fold=0))
    instant = wall.replace(tzinfo=zone).astimezone(UTC)
    if instant.astimezone(zone).replace(tzinfo=None, fold=0) != wall:
        goes_from, goes_to = _left_out(wall, zone)
        if goes_to - goes_from >= timedelta(days=1):
            sentence = (
                f"There is no {day_said(day)} in {zone.key}: the calendar there left that day out."
            )
        else:
            sentence = (
                f"On {day_said(day)} the clock goes from {goes_from:%H:%M} to {goes_to:%H:%M}, so "
                f"there is no {at:%H:%M}. Please choose another hour."
            )
        raise BadInput(sentence, field="at_time")
    return instant


def hour_twice(day: date, at: time, zone: ZoneInfo) -> str:
    """What to say of an hour that the clock shows twice on that day.

    Parameters
    ----------
    day
        The local day.
    at
        The hour on the wall.
    zone
        Where the wall stands.

    Returns
    -------
    str
        A sentence, empty for an hour that comes once or not at all.

    Examples
    --------
    >>> hour_twice(date(2026, 10, 25), time(1, 30), ZoneInfo("Europe/London"))
    'The clock shows 01:30 twice on 25 Oct 2026; the first of the two is meant.'
    >>> hour_twice(date(2026, 10, 25), time(2, 30), ZoneInfo("Europe/London"))
    ''
    """
    wall = datetime.combine(day, at.replace(tzinfo=None, fold=0))
    early = wall.replace(tzinfo=zone, fold=0).astimezone(UTC)
    late = wall.replace(tzinfo=zone, fold=1).astimezone(UTC)
    # Where an hour is left out the two stand the other way round.
    if late <= early:
        return ""
    return f"The clock shows {at:%H:%M} twice on {day_said(day)}; the first of the two is meant."


def ends_at(day: date, at: time, minutes: int, zone: ZoneInfo) -> tuple[date, time]:
    """When the clock on the wall shows the end of something.

    Parameters
    ----------
    day
        The local day on which it begins.
    at
        The hour on the wall at which it begins.
    minutes
        How long it takes, in minutes that pass [min].
    zone
        Where the wall stands.

    Returns
    -------
    tuple of date and time
        Local day and hour; the day after where it passes midnight.

    Raises
    ------
    BadInput
        At the field `at_time`: the clock leaves the hour of the beginning out.

    Examples
    --------
    >>> day, at = ends_at(date(2026, 3, 29), time(0, 30), 60, ZoneInfo("Europe/London"))
    >>> str(day), str(at)
    ('2026-03-29', '02:30:00')
    """
    end = (at_instant(day, at, zone) + timedelta(minutes=minutes)).astimezone(zone)
    return end.date(), end.time()


def _left_out(wall: datetime, zone: ZoneInfo) -> tuple[datetime, datetime]:
    """What the wall shows just before and just after the change that leaves an hour out."""
    # One reading lies before the change and one after it: halve the time between, to the second.
    before = wall.replace(tzinfo=zone, fold=1).astimezone(UTC)
    after = wall.replace(tzinfo=zone, fold=0).astimezone(UTC)
    old, new = _offset(before, zone), _offset(after, zone)
    while after - before > _STEP:
        middle = before + timedelta(seconds=(after - before) // _STEP // 2)
        if _offset(middle, zone) == old:
            before = middle
        else:
            after = middle
    change = after.replace(tzinfo=None, microsecond=0)
    return change + old, change + new


def _offset(instant: datetime, zone: ZoneInfo) -> timedelta:
    return instant.astimezone(zone).utcoffset() or timedelta()
