"""The temperatures of a book as estimates take them: one a pond and day, with how uncertain it is.

How far a reading may lie from the mean of its day is common practice of this project, kept in the
constants below: a garden pond's surface moves by some degrees between dawn and afternoon, so that
a reading says the mean of its day to less than a degree, several at different hours more closely,
and a logger that ran all day to 0.2 °C, which is what such loggers state of their own accuracy.
"""

from __future__ import annotations

import math
from bisect import bisect_right
from collections.abc import Collection, Sequence
from datetime import date, datetime, time
from itertools import chain
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, TextClause, bindparam, text

from store.book.columns import Day, Key
from store.book.some_rows import in_parts
from store.warmth.values import Value

ONE_READING_C = 0.7
"""Standard deviation of one reading at any hour about the mean of its day [°C]."""
SEVERAL_TESTS_C = 0.4
"""Tests of one day, however many: they are made by daylight, with one thermometer [°C]."""
LOGGER_DAY_C = 0.2
"""A logger's mean of a day with a value in every hour or so [°C]."""
DAILY_LEAST, DAILY_APART = 14, 1.5
"""A logger's series with one value a day is one of daily means, where it has so many days with no
more than so many days from one to the next [d]."""
AIR_DAY_C = 0.3
"""The air's mean of a day [°C]: no day stands in the book of which less than 18 hours are known."""
LEAST_C, MOST_C = -5.0, 110.0
"""Beyond these it is the temperature of no water in either unit, and is not looked at; what lies
between and cannot be is doubted and told [°C]."""
_NEAR_MIDNIGHT_MS = 2 * 3_600_000
_AT_ONCE = 10_000

# From the ponds on: the readings of days are found by the index of a pond's tests, where a scan
# would read every value of every parameter.
_TESTS = """
SELECT t.pond_id, t.taken_at, r.value FROM pond p
CROSS JOIN water_test t
CROSS JOIN reading r
WHERE p.struck_at IS NULL AND t.pond_id = p.id AND t.struck_at IS NULL
AND t.taken_at >= :first_ms AND t.taken_at < :end_ms
AND r.test_id = t.id AND r.parameter = 'temperature_c' AND r.bound IN ('=', '~')
"""
_LOGGERS = """
SELECT d.pond_id, d.day, d.mean, d.n FROM pond p
CROSS JOIN logger_day d
WHERE p.struck_at IS NULL AND d.pond_id = p.id AND d.parameter = 'temperature_c'
AND d.day >= :first AND d.day <= :last
"""
_AIR = """
SELECT d.station_id, d.day, d.mean_c FROM air_station p
CROSS JOIN air_day d
WHERE p.struck_at IS NULL AND d.station_id = p.id AND d.day >= :first AND d.day <= :last
"""


def values(
    connection: Connection,
    zone: ZoneInfo,
    first_day: int,
    last_day: int,
    ponds: Collection[UUID] | None = None,
) -> list[Value]:
    """Daily temperatures: by logger where it has the day, else the mean of the day's tests.

    Parameters
    ----------
    connection
        A reading connection of the book.
    zone
        The practice's zone, in which its days are reckoned.
    first_day, last_day
        Ordinals, both days included.
    ponds
        Ponds and stations of the air that are wanted; None for all.

    Returns
    -------
    list of Value
        [°C]; of stations the air. Tests that are struck through are left out, struck ponds too,
        and readings of which only a bound is known (`< 4`).
    """
    if last_day < first_day:
        return []
    begins = [_midnight_ms(day, zone) for day in range(first_day, last_day + 2)]
    span = {"first_ms": begins[0] - _NEAR_MIDNIGHT_MS, "end_ms": begins[-1] + _NEAR_MIDNIGHT_MS}
    totals: dict[tuple[Any, int], list[float]] = {}
    for part in in_parts(ponds):
        for pond, at_ms, value in _rows(connection, _TESTS, part, span):
            day = bisect_right(begins, at_ms) - 1
            if day < 0 or at_ms - begins[day] < _NEAR_MIDNIGHT_MS:
                # Where a clock is put back over midnight, the evening comes twice.
                day = datetime.fromtimestamp(at_ms / 1000, zone).toordinal() - first_day
            if 0 <= day <= last_day - first_day and LEAST_C <= value <= MOST_C:
                total = totals.setdefault((pond, day + first_day), [0.0, 0.0])
                total[0] += value
                total[1] += 1.0
    found = {
        at: (total / n, max(SEVERAL_TESTS_C, ONE_READING_C / math.sqrt(n)))
        for at, (total, n) in totals.items()
    }
    days = {"first": date.fromordinal(first_day), "last": date.fromordinal(last_day)}
    for part in in_parts(ponds):
        logged = list(_rows(connection, _LOGGERS, part, days))
        whole = _whole_days(logged)
        for pond, day_of, mean, n in logged:
            if LEAST_C <= mean <= MOST_C:
                noise = max(LOGGER_DAY_C, 0.0 if pond in whole else ONE_READING_C / math.sqrt(n))
                found[pond, _ordinal(day_of)] = mean, noise
        for station, day_of, mean in _rows(connection, _AIR, part, days):
            found[station, _ordinal(day_of)] = mean, AIR_DAY_C
    keys: dict[Any, UUID] = {}
    for raw, _ in found:
        if raw not in keys:
            keys[raw] = raw if isinstance(raw, UUID) else UUID(bytes=raw)
    return [
        Value._make((keys[raw], day, mean, noise)) for (raw, day), (mean, noise) in found.items()
    ]


def _whole_days(logged: Sequence[Any]) -> set[Any]:
    """Ponds whose file has one value for each day: that is the day's mean, not one of its hours."""
    days: dict[Any, list[int]] = {}
    several = set()
    for pond, day_of, _, n in logged:
        days.setdefault(pond, []).append(_ordinal(day_of))
        if n > 1:
            several.add(pond)
    return {
        pond
        for pond, some in days.items()
        if pond not in several
        and len(some) >= DAILY_LEAST
        and max(some) - min(some) < DAILY_APART * len(some)
    }


def _rows(
    connection: Connection, statement: str, part: list[UUID] | None, bound: dict[str, Any]
) -> Any:
    asked: TextClause = text(statement if part is None else f"{statement} AND p.id IN :keys")
    types: list[Any] = [bindparam(name, type_=Day) for name in bound if name in ("first", "last")]
    if part is not None:
        types.append(bindparam("keys", expanding=True, type_=Key))
    asked = asked.bindparams(*types)
    found = connection.execute(asked, bound if part is None else {**bound, "keys": part})
    # Row by row the driver is asked as often as there are readings.
    return chain.from_iterable(found.partitions(_AT_ONCE))


def _midnight_ms(day: int, zone: ZoneInfo) -> int:
    return round(datetime.combine(date.fromordinal(day), time(), zone).timestamp() * 1000)


def _ordinal(day: Any) -> int:
    return (date.fromisoformat(day) if isinstance(day, str) else day).toordinal()
