"""The temperature of the air around the ponds, as files of the weather brought it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import NamedTuple
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.tables import table


@dataclass(frozen=True, slots=True)
class AirStation:
    """A place where the air was measured; None where nobody said it."""

    id: UUID
    name: str
    latitude: float | None
    longitude: float | None
    elevation_m: float | None


class AirDay(NamedTuple):
    """The air of one calendar day at a station [°C]; `n` values of a file stand behind it."""

    station: UUID
    day: date
    mean_c: float
    low_c: float | None
    high_c: float | None
    n: int


def stations(connection: Connection) -> tuple[AirStation, ...]:
    """The stations that stand in the book, by name.

    Parameters
    ----------
    connection
        Reading the book.

    Returns
    -------
    tuple of AirStation
        Without those that are struck through.
    """
    kept = table("air_station").c
    query = (
        select(kept.id, kept.name, kept.latitude, kept.longitude, kept.elevation_m)
        .where(kept.struck_at.is_(None))
        .order_by(kept.name, kept.id)
    )
    return tuple(AirStation(*row) for row in connection.execute(query))


def air_days(connection: Connection, first: date, last: date) -> tuple[AirDay, ...]:
    """The days of all stations that stand in the book, by station and day.

    Parameters
    ----------
    connection
        Reading the book.
    first, last
        Calendar days, both included.

    Returns
    -------
    tuple of AirDay
        Each covers at least 18 hours of its day, or is a day as its file gives it.
    """
    days, kept = table("air_day"), table("air_station")
    query = (
        select(days.c.station_id, days.c.day, days.c.mean_c, days.c.low_c, days.c.high_c, days.c.n)
        .join(kept, kept.c.id == days.c.station_id)
        .where(kept.c.struck_at.is_(None), days.c.day >= first, days.c.day <= last)
        .order_by(days.c.station_id, days.c.day)
    )
    return tuple(AirDay(*row) for row in connection.execute(query))
