"""The days of a logger, reckoned from its values in the calendar of the practice."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, time, timedelta, tzinfo
from typing import Any
from uuid import UUID

from sqlalchemy import delete, select

from store.book.tables import table
from store.book.writing import Writing

_PIECE = 2_000
_DAYS_AT_ONCE = 20
"""So many days of a value a minute are held in memory at a time."""


@dataclass(slots=True)
class _Day:
    day: date
    n: int = 0
    total: float = 0.0
    low: float = 0.0
    high: float = 0.0

    def take(self, value: float) -> None:
        self.low = value if self.n == 0 else min(self.low, value)
        self.high = value if self.n == 0 else max(self.high, value)
        self.n += 1
        self.total += value


def renew_days(
    writing: Writing, pond: UUID, parameter: str, first: datetime, last: datetime, zone: tzinfo
) -> int:
    """Reckon the days between two instants anew from all values that the book has of them.

    Parameters
    ----------
    writing
        The action it belongs to.
    pond
        Key of the pond.
    parameter
        Code of the parameter.
    first, last
        Both days are reckoned anew, from midnight to midnight.
    zone
        The practice's time zone.

    Returns
    -------
    int
        How many days have a value. A day's mean is the plain mean of its values.
    """
    from_day, to_day = first.astimezone(zone).date(), last.astimezone(zone).date()
    days = table("logger_day")
    writing.connection.execute(
        delete(days).where(
            days.c.pond_id == pond,
            days.c.parameter == parameter,
            days.c.day >= from_day,
            days.c.day <= to_day,
        )
    )
    count = 0
    piece: list[dict[str, Any]] = []
    for day in _days(writing, pond, parameter, from_day, to_day, zone):
        piece.append(
            {
                "pond_id": pond,
                "parameter": parameter,
                "day": day.day,
                "n": day.n,
                # Rounding of the sum may lift a mean of equal values over them.
                "mean": min(max(day.total / day.n, day.low), day.high),
                "low": day.low,
                "high": day.high,
            }
        )
        count += 1
        if len(piece) >= _PIECE:
            writing.add_many("logger_day", piece)
            piece = []
    writing.add_many("logger_day", piece)
    return count


def _days(
    writing: Writing, pond: UUID, parameter: str, from_day: date, to_day: date, zone: tzinfo
) -> Iterator[_Day]:
    first = from_day
    while first <= to_day:
        behind = min(first + timedelta(days=_DAYS_AT_ONCE), to_day + timedelta(days=1))
        now: _Day | None = None
        for at, value in _values(writing, pond, parameter, first, behind, zone):
            day = at.astimezone(zone).date()
            if now is None or now.day != day:
                if now is not None:
                    yield now
                now = _Day(day)
            now.take(value)
        if now is not None:
            yield now
        first = behind


def _values(
    writing: Writing, pond: UUID, parameter: str, first: date, behind: date, zone: tzinfo
) -> list[tuple[datetime, float]]:
    reading = table("logger_reading").c
    query = select(reading.at, reading.value).where(
        reading.pond_id == pond,
        reading.parameter == parameter,
        reading.at >= _midnight(first, zone),
        reading.at < _midnight(behind, zone),
    )
    rows = writing.connection.execute(query.order_by(reading.at))
    return [(row.at, row.value) for row in rows]


def _midnight(day: date, zone: tzinfo) -> datetime:
    return datetime.combine(day, time(), zone).astimezone(UTC)
