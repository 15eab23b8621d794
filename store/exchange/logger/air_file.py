"""A file of the weather, of any shape that a logger's file may have, into the days of a station."""

from __future__ import annotations

import math
from dataclasses import dataclass
from datetime import date, datetime, timedelta, timezone, tzinfo
from pathlib import Path
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, delete, select

from store.book.act import Act
from store.book.book import Book
from store.book.columns import milliseconds
from store.book.tables import table
from store.book.writing import Writing
from store.errors import BadInput
from store.exchange.logger.air_columns import AirRoles, air_roles
from store.exchange.logger.air_days import (
    DAILY_MS,
    LEAST_HOURS,
    SELDOM_MS,
    DayOfAir,
    reckoned_air,
    usual_step_ms,
    values_of,
    whole_days,
    writes_in_utc,
)
from store.exchange.logger.asks import Ask, ask_clock, ask_word, clock_seen, order_shown, zone_of
from store.exchange.logger.clock import Clock
from store.exchange.logger.columns import supposed
from store.exchange.logger.head import read_head
from store.exchange.logger.pieces import open_source
from store.exchange.logger.read import Reading, Tell
from store.exchange.logger.rows import How
from store.exchange.logger.zones import zone_words
from store.exchange.plain.moments import Order
from store.exchange.plain.planned import Done, Plan, brought_before, keep_file, unread
from store.exchange.plain.table import Sheet
from store.text import plain
from store.water.air import AirStation, stations

WARMEST_MEAN_C = 33.0
"""No place with ponds has such a mean over a file: then it is asked whether °F was meant [°C]."""
_MOST_OTHER = 0.1
"""Where more rows than this share repeat an instant with another value, it is of two places."""
_SAME_C = 0.005
"""So near are two values of a day the same [°C]: files write a tenth, or a hundredth."""
_AT_ONCE = 500
_TALKED = ("missing", "nothing", "marked", "twice", "other", "again", "ahead", "skipped")


@dataclass(frozen=True, slots=True)
class StationSaid:
    """What a person says of the station; None where nothing."""

    name: str
    latitude: float | None = None
    longitude: float | None = None
    elevation_m: float | None = None

    @property
    def place(self) -> dict[str, Any]:
        """What was said of where it stands, by column."""
        said = {
            "latitude": self.latitude, "longitude": self.longitude,
            "elevation_m": self.elevation_m,
        }  # fmt: skip
        return {name: value for name, value in said.items() if value is not None}


@dataclass(frozen=True, slots=True)
class AirPlan:
    """What a file of the weather would bring; `plan.items` are days that are new or known better.

    `grown` of them stand in the book with fewer values and are replaced. `station` is None where
    it is new. While `asks` are open nothing is saved.
    """

    said: StationSaid
    station: UUID | None
    plan: Plan[DayOfAir]
    asks: tuple[Ask, ...]
    grown: int
    refused_n: int


def read_air(
    path: Path,
    book: Book,
    now: datetime,
    said: StationSaid,
    *,
    unit: str = "",
    order: Order | None = None,
    clock: str = "",
    column: str = "",
    progress: Tell | None = None,
) -> AirPlan:
    """What a file of the weather would bring to a station; nothing is saved.

    Parameters
    ----------
    path
        The file: a row a day, or rows of up to six hours.
    book
        The practice's book.
    now
        The present instant; later values are left out and counted.
    said
        The station; one of that name in the book is taken for it.
    unit
        `C` or `F`, where the headings name none.
    order, clock
        As for `read_logger`.
    column
        Heading of the one column to be read; else mean, lowest and highest are found.
    progress
        Is called after every piece.

    Returns
    -------
    AirPlan
        With the counts of what was left out, in words, and what has to be asked.

    Raises
    ------
    Unclear
        The order of day and month would have to be guessed.
    BadInput
        The file cannot be read, or no column is of the air.
    """
    if not said.name.strip():
        raise BadInput("The station needs a name; nothing was brought in.", field="station")
    source = open_source(path)
    head = read_head(source)
    times = (head.at, head.clock, head.offset_at)
    if head.at is None:
        raise BadInput(
            f"{path.name} has no column of date or time; nothing was brought in. A line above the "
            "values names the columns.",
            field="at",
        )
    taken = frozenset(place for place in times if place is not None)
    air = air_roles(head.header, taken, unit=unit, column=column, file_name=path.name)
    found = order or order_shown(source, head)
    zone, clock_told, sure = zone_of(book.zone, head, clock)
    how = How(head, air.roles, found, zone_words(book.zone, said=bool(clock)))
    ticks = Clock(zone, milliseconds(now), 0, head.descending)
    reading = Reading(source, how, ticks, now, descends=head.descending)
    reading.run(progress)
    _refuse_two_places(reading, path)
    days, days_told = _days(reading, air, zone, book.zone, path)
    asks = (
        *(ask_word(reading.clock, head, book.zone) if not clock else ()),
        *ask_clock(reading.clock, zone, sure=sure),
        *_ask_unit(reading),
    )
    with book.reading() as connection:
        station = _station(connection, said)
        there = _there(connection, None if station is None else station.id, days)
    items, grown, already, other = _beside(days, there)
    sheet = Sheet(path, source.sha256, head.separator, head.header, source.encoding)
    order_said = {"dmy": "day before month", "mdy": "month before day"}.get(found, "")
    told = (
        *brought_before(book, sheet),
        *_station_told(said, station),
        *([f"Days are read with the {order_said}, as one above 12 shows."]
          if order_said and order is None else ()),
        *([clock_told] if clock_told else ()),
        *clock_seen(reading.clock),
        *([line] if (line := supposed(air.roles.columns)) else ()),
        *days_told,
        *([_replaced(grown)] if grown else ()),
        *([f"{_count(other)} in the book with another mean, from as many values; they stay."]
          if other else ()),
        *_left(reading),
        *unread(head.header, air.roles.left),
    )  # fmt: skip
    plan = Plan(
        "air", path, source.sha256, head.header, reading.rows_read, tuple(items),
        tuple(reading.refused), already, told, head.separator,
    )  # fmt: skip
    return AirPlan(
        said, None if station is None else station.id, plan, asks, grown,
        reading.tally.n.get("refused", 0),
    )  # fmt: skip


def save_air(book: Book, act: Act, planned: AirPlan) -> Done:
    """Bring the days in, in one transaction; the station with them where it is new.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the file in, and when.
    planned
        From `read_air`, with nothing left to be asked.

    Returns
    -------
    Done
        Days added or known better, and days that the station has already.

    Raises
    ------
    BadInput, BookTrouble
        Nothing was saved.
    """
    plan = planned.plan
    if planned.asks:
        raise BadInput(planned.asks[0].sentence, field=planned.asks[0].field)
    with book.writing(act) as writing:
        station = _station(writing.connection, planned.said)
        there = _there(writing.connection, None if station is None else station.id, plan.items)
        items, _grown, already, _other = _beside(plan.items, there)
        if not items and (station is None or not _moved(planned.said, station)):
            return Done(0, plan.already + already, planned.refused_n)
        key = _put_station(writing, planned.said, station)
        if items:
            file = keep_file(writing, plan, len(items), refused=planned.refused_n)
            _put_days(writing, key, file, items, there)
    return Done(len(items), plan.already + already, planned.refused_n)


def _put_days(
    writing: Writing, station: UUID, file: UUID, items: list[DayOfAir], there: dict[date, Any]
) -> None:
    days = table("air_day")
    grown = [one.day for one in items if one.day in there]
    for at in range(0, len(grown), _AT_ONCE):
        some = days.c.day.in_(grown[at : at + _AT_ONCE])
        writing.connection.execute(delete(days).where(days.c.station_id == station, some))
    writing.add_many(
        "air_day",
        [
            {
                "station_id": station, "day": one.day, "n": one.n, "mean_c": one.mean_c,
                "low_c": one.low_c, "high_c": one.high_c, "import_file_id": file,
            }
            for one in items
        ],
    )  # fmt: skip


def _put_station(writing: Writing, said: StationSaid, station: AirStation | None) -> UUID:
    if station is None:
        return writing.add("air_station", name=plain(said.name).strip()[:500], **said.place)
    if moved := _moved(said, station):
        kept = table("air_station").c
        rev = writing.connection.execute(select(kept.rev).where(kept.id == station.id)).scalar_one()
        writing.change("air_station", station.id, rev, **moved)
    return station.id


def _moved(said: StationSaid, station: AirStation) -> dict[str, Any]:
    return {name: now for name, now in said.place.items() if getattr(station, name) != now}


def _folded(name: str) -> str:
    return " ".join(plain(name).casefold().split())


def _station(connection: Connection, said: StationSaid) -> AirStation | None:
    found = [one for one in stations(connection) if _folded(one.name) == _folded(said.name)]
    return found[0] if found else None


def _station_told(said: StationSaid, station: AirStation | None) -> tuple[str, ...]:
    if station is None:
        where = "" if {"latitude", "longitude"} <= said.place.keys() else (
            " Nobody said where it stands: --lat and --lon help to know which ponds lie near."
        )  # fmt: skip
        return (f"{plain(said.name):.60} is a new station.{where}",)
    return tuple(
        f"Its {name.removesuffix('_m')} was {was:g} and becomes {now:g}."
        for name, now in _moved(said, station).items()
        if (was := getattr(station, name)) is not None
    )


def _there(
    connection: Connection, station: UUID | None, days: list[DayOfAir] | tuple[DayOfAir, ...]
) -> dict[date, Any]:
    if station is None or not days:
        return {}
    kept = table("air_day").c
    query = select(kept.day, kept.n, kept.mean_c).where(
        kept.station_id == station, kept.day >= days[0].day, kept.day <= days[-1].day
    )
    return {row.day: row for row in connection.execute(query)}


def _beside(
    days: list[DayOfAir] | tuple[DayOfAir, ...], there: dict[date, Any]
) -> tuple[list[DayOfAir], int, int, int]:
    """What is new or rests on more values; of these how many stand there; known; of them other."""
    items = [one for one in days if one.day not in there or one.n > there[one.day].n]
    grown = sum(one.day in there for one in items)
    known = [one for one in days if one.day in there and one.n <= there[one.day].n]
    other = sum(
        one.n == there[one.day].n
        and not math.isclose(one.mean_c, there[one.day].mean_c, abs_tol=_SAME_C)
        for one in known
    )
    return items, grown, len(known), other


def _days(
    reading: Reading, air: AirRoles, zone: tzinfo, practice: tzinfo, path: Path
) -> tuple[list[DayOfAir], tuple[str, ...]]:
    columns = {kind: values_of(reading.spools[at]) for at, kind in enumerate(air.kinds)}
    longest = max(columns.values(), key=len)
    step = usual_step_ms(longest)
    bare = bool(len(longest)) and not reading.clock.local_rows
    without_time = reading.tally.n.get("noon", 0) > 0
    if step >= DAILY_MS or (without_time and not step):
        if bare and not without_time and writes_in_utc(longest):
            zone = timezone(timedelta(0))
        found = list(whole_days(columns.get("mean"), columns.get("low"), columns.get("high"), zone))
        middle = "" if "mean" in columns else (
            " The file has no mean: the middle of lowest and highest is taken for it."
        )  # fmt: skip
        return found, (f"A row is a day, as the file writes it.{middle}",)
    if step > SELDOM_MS:
        raise BadInput(
            f"{path.name} has a value every {step / 3_600_000:.3g} hours, which tells too little "
            "of a day; nothing was brought in. A value every six hours is the least.",
            field="file",
        )
    if "mean" not in columns:
        raise BadInput(
            f"{path.name} has several rows a day and only lowest and highest values; nothing was "
            "brought in. Name the column of the air's temperature with --column.",
            field="column",
        )
    found, too_few = reckoned_air(columns["mean"], step, practice)
    told = ["The mean of a day is that of its hours."]
    if too_few:
        told.append(
            f"{_count(too_few)} left out, with values for less than {LEAST_HOURS:.0f} hours."
        )
    return found, tuple(told)


def _refuse_two_places(reading: Reading, path: Path) -> None:
    if reading.tally.n.get("other", 0) > _MOST_OTHER * max(reading.rows_read, 1):
        raise BadInput(
            f"Many rows of {path.name} repeat an instant with another value, as where a file holds "
            "more than one station; nothing was brought in. Part it by station first.",
            field="file",
        )


def _ask_unit(reading: Reading) -> tuple[Ask, ...]:
    for place, column in enumerate(reading.how.roles.columns):
        n, total = reading.level.get(place, (0, 0.0))
        if n and not column.unit and total / n > WARMEST_MEAN_C:
            return (
                Ask(
                    "unit",
                    f"The file names no unit, and {total / n:.0f} °C on average is warmer than the "
                    "air gets where ponds are; nothing was saved. Say --unit F or --unit C.",
                    ("F", "C"),
                ),
            )
    return ()


def _left(reading: Reading) -> tuple[str, ...]:
    told = [one.sentence for one in reading.tally.all() if one.reason in _TALKED]
    if n := reading.tally.n.get("impossible", 0):
        told.append(f"{n:,} value{'s' * (n > 1)} left out that the air cannot have.")
    return tuple(told)


def _replaced(grown: int) -> str:
    verb = "is" if grown == 1 else "are"
    days = f"{grown:,} day{'s' * (grown > 1)}"
    return f"{days} that the book has from fewer values {verb} reckoned anew."


def _count(days: int) -> str:
    return f"{days:,} day{'s are' if days > 1 else ' is'}"
