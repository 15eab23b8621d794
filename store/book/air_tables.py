"""The tables of the air: stations, and the temperature of their days.

A station belongs to no client: one file of the weather serves all ponds around.
"""

from __future__ import annotations

from datetime import date
from uuid import UUID

from sqlalchemy.orm import Mapped, mapped_column

from store.book.columns import Base, Day, notes, number, to, whole, words
from store.book.kept import Kept

LEAST_AIR_C, MOST_AIR_C = -90.0, 60.0
"""Between these the air near the ground has been on every day on record, to the next ten [°C]."""


class AirStationRow(Kept, Base):
    """A place at which the temperature of the air was measured."""

    __tablename__ = "air_station"
    name: Mapped[str] = words(required=True)
    latitude: Mapped[float | None] = number(-90.0, 90.0)
    longitude: Mapped[float | None] = number(-180.0, 180.0)
    elevation_m: Mapped[float | None] = number(-500.0, 9000.0)
    notes: Mapped[str] = notes()


class AirDayRow(Base):
    """The air of one calendar day at a station, replaced when a file has more values of that day.

    `n` is how many values of a file it rests on, 1 where the file gives the day as a whole. Lowest
    and highest are empty where the file says neither.
    """

    __tablename__ = "air_day"
    station_id: Mapped[UUID] = to("air_station", primary=True)
    day: Mapped[date] = mapped_column(Day, primary_key=True)
    n: Mapped[int] = whole(1, 1_000_000)
    mean_c: Mapped[float] = number(LEAST_AIR_C, MOST_AIR_C)
    low_c: Mapped[float | None] = number(LEAST_AIR_C, MOST_AIR_C)
    high_c: Mapped[float | None] = number(LEAST_AIR_C, MOST_AIR_C)
    import_file_id: Mapped[UUID | None] = to("import_file")
    __table_args__ = {"sqlite_with_rowid": False}  # noqa: RUF012 - as SQLAlchemy reads it
