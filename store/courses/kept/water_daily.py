"""The daily mean water temperatures of a pond over any stretch of time."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import UTC, date, datetime, time, timedelta
from math import fsum
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, null, select, type_coerce, union_all

from store.book.book import Book
from store.book.tables import table
from store.courses.food.water_since import GAP_DAYS, TREND_DAYS


def daily_temperatures(book: Book, pond: UUID, since: date, until: date) -> dict[date, float]:
    """One water temperature a day, by the logger where it has the day, else by the tests.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    since
        The day of a dose; some days before it come along, for what lies between two readings.
    until
        The last day.

    Returns
    -------
    dict
        Day of the practice's zone to its mean [°C], in order; a day without any is not there.
    """
    with book.reading() as connection:
        return daily_of(connection, book.zone, {pond: since}, until)[pond]


def daily_of(
    connection: Connection, zone: ZoneInfo, since: Mapping[UUID, date], until: date
) -> dict[UUID, dict[date, float]]:
    """As `daily_temperatures`, for many ponds in one query.

    Parameters
    ----------
    connection
        Reading, or within a writing.
    zone
        Of the practice.
    since
        Key of each pond to the day from which it is asked for; some days before come along.
    until
        The last day.

    Returns
    -------
    dict
        Each pond to its days.
    """
    if not since:
        return {}
    begins = {pond: day - timedelta(days=max(GAP_DAYS, TREND_DAYS)) for pond, day in since.items()}
    first = min(begins.values())
    start = datetime.combine(first, time(), zone).astimezone(UTC)
    end = datetime.combine(until + timedelta(days=1), time(), zone).astimezone(UTC)
    tests, readings, loggers = (table(name) for name in ("water_test", "reading", "logger_day"))
    by_test = (
        select(
            tests.c.pond_id,
            tests.c.taken_at,
            type_coerce(null(), loggers.c.day.type).label("day"),
            readings.c.value,
        )
        .join(readings, readings.c.test_id == tests.c.id)
        .where(
            tests.c.pond_id.in_(since),
            tests.c.struck_at.is_(None),
            tests.c.taken_at >= start,
            tests.c.taken_at < end,
            readings.c.parameter == "temperature_c",
        )
    )
    by_logger = select(
        loggers.c.pond_id,
        type_coerce(null(), tests.c.taken_at.type),
        loggers.c.day,
        loggers.c.mean,
    ).where(
        loggers.c.pond_id.in_(since),
        loggers.c.parameter == "temperature_c",
        loggers.c.day >= first,
        loggers.c.day <= until,
    )
    tested: dict[UUID, dict[date, list[float]]] = {pond: {} for pond in since}
    logged: dict[UUID, dict[date, float]] = {pond: {} for pond in since}
    for pond, taken_at, day, value in connection.execute(union_all(by_test, by_logger)):
        if day is not None:
            logged[pond][day] = value
        else:
            tested[pond].setdefault(taken_at.astimezone(zone).date(), []).append(value)
    found = {}
    for pond, own in tested.items():
        means = {day: fsum(values) / len(values) for day, values in own.items()} | logged[pond]
        found[pond] = {day: means[day] for day in sorted(means) if day >= begins[pond]}
    return found
