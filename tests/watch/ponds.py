"""Ponds as the rules see them, made for a test without a book."""

from __future__ import annotations

import json
from datetime import date, datetime, time, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from store.warmth.estimate import Ahead
from store.watch.seen import Circumstance, DayOf, LoggerDay, PondSeen
from store.water.packed import PackedTest

ZONE = ZoneInfo("Europe/London")
TODAY = date(2026, 6, 17)


def taken_at(day: date, hour: int = 8, minute: int = 0, **values: float) -> PackedTest:
    """A test taken at that local hour."""
    at = datetime.combine(day, time(hour, minute), ZONE)
    packed = json.dumps(values)
    return PackedTest(round(at.timestamp() * 1000), values.get("temperature_c"), packed)


def days_ago(days: int, hour: int = 8, minute: int = 0, **values: float) -> PackedTest:
    """A test taken so many days before `TODAY`."""
    return taken_at(TODAY - timedelta(days=days), hour, minute, **values)


def pond(
    *tests: PackedTest,
    today: date = TODAY,
    every_days: int | None = 7,
    circumstances: tuple[Circumstance, ...] = (),
    logger: dict[str, list[LoggerDay]] | None = None,
    altitude_m: float = 0.0,
    ahead: Ahead | None = None,
) -> PondSeen:
    """A pond with these tests, newest first or in any order."""
    day_of = DayOf(ZONE)
    midnight = datetime.combine(today, time(), ZONE)
    return PondSeen(
        pond=UUID(int=1),
        altitude_m=altitude_m,
        indoor=False,
        every_days=every_days,
        seasons=(),
        tests=sorted(tests, key=lambda test: test.at_ms, reverse=True),
        local_day=day_of,
        local_hour=day_of.hour,
        midnight_ms=round(midnight.timestamp() * 1000),
        added=today - timedelta(days=100),
        logger=logger or {},
        circumstances=circumstances,
        ahead=ahead,
    )


def ahead_of(*means_c: float, spread_c: float = 1.0, today: date = TODAY, back: int = 14) -> Ahead:
    """An estimate by day, the first so many days before today; the last mean goes on to the end."""
    span = back + 1 + 14
    means = [*means_c, *[means_c[-1]] * (span - len(means_c))]
    day = today.toordinal()
    return Ahead(day - back, day, means, [spread_c] * span)
