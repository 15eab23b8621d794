"""The daily mean water temperatures of a pond over any stretch of time."""

from __future__ import annotations

from datetime import UTC, date, datetime, time, timedelta
from math import fsum
from uuid import UUID

from sqlalchemy import select

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
    first = since - timedelta(days=max(GAP_DAYS, TREND_DAYS))
    zone = book.zone
    start = datetime.combine(first, time(), zone).astimezone(UTC)
    end = datetime.combine(until + timedelta(days=1), time(), zone).astimezone(UTC)
    tests, readings, loggers = (table(name) for name in ("water_test", "reading", "logger_day"))
    by_test = (
        select(tests.c.taken_at, readings.c.value)
        .join(readings, readings.c.test_id == tests.c.id)
        .where(
            tests.c.pond_id == pond,
            tests.c.struck_at.is_(None),
            tests.c.taken_at >= start,
            tests.c.taken_at < end,
            readings.c.parameter == "temperature_c",
        )
    )
    by_logger = select(loggers.c.day, loggers.c.mean).where(
        loggers.c.pond_id == pond,
        loggers.c.parameter == "temperature_c",
        loggers.c.day >= first,
        loggers.c.day <= until,
    )
    tested: dict[date, list[float]] = {}
    with book.reading() as connection:
        for taken_at, value in connection.execute(by_test):
            tested.setdefault(taken_at.astimezone(zone).date(), []).append(value)
        logged = {row.day: row.mean for row in connection.execute(by_logger)}
    means = {day: fsum(values) / len(values) for day, values in tested.items()} | logged
    return dict(sorted(means.items()))
