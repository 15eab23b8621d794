"""Measured values: readings beside the hash of their test, logger days beside their values."""

from __future__ import annotations

import math
from collections.abc import Iterator
from datetime import timedelta
from functools import partial
from itertools import groupby
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, LargeBinary, func, select, type_coerce

from store.book.columns import EARLIEST, LATEST, milliseconds
from store.book.copies.chain import READING, readings_hash
from store.book.tables import table
from store.exchange.logger.clock import midnights
from store.exchange.logger.days import reckoned_days
from store.guard.found import OUTSIDE, Found, Progress
from store.guard.said import Sayer
from store.water.parameters import PARAMETERS

_AT_ONCE = 5000
_MARGIN = timedelta(days=3)


def check_readings(connection: Connection, found: Found, sayer: Sayer) -> None:
    """Compare the readings of every test with the hash that was kept when they were entered.

    Parameters
    ----------
    connection
        On the book.
    found
        Takes what is found.
    sayer
        Names rows.
    """
    reading, change, link = table("reading"), table("change").c, table("change_link").c
    whole = connection.execute(select(func.count()).select_from(reading)).scalar() or 0
    rows = connection.execute(
        select(_plain_key(connection, reading.c.test_id), *(reading.c[name] for name in READING))
        .order_by(reading.c.test_id)
        .execution_options(yield_per=_AT_ONCE)
    )
    kept = connection.execute(
        select(_plain_key(connection, change.row_id), link.readings)
        .join_from(table("change"), table("change_link"), link.change_id == change.id)
        .where(change.table_name == "water_test", change.what == "add")
        .order_by(change.row_id)
        .execution_options(yield_per=_AT_ONCE)
    )
    done = 0
    for test, count, there, said in _beside(rows, kept):
        done += count
        if there != said:
            found.fault(
                "readings altered",
                OUTSIDE + " The record holds no values of readings: a backup has the old ones.",
                partial(_said, sayer, test, there, said),
            )
        if count and done // _AT_ONCE != (done - count) // _AT_ONCE:
            found.told(Progress("readings beside their tests", done, whole))
    found.looked_at["readings"] = done


def _plain_key(connection: Connection, column: Any) -> Any:
    """A key as it lies in a file: many are compared, few are told."""
    return type_coerce(column, LargeBinary) if connection.dialect.name == "sqlite" else column


def _said(sayer: Sayer, key: UUID | bytes, there: str, said: str | None) -> str:
    test = key if isinstance(key, UUID) else UUID(bytes=key)
    which = sayer.row("water_test", test)
    if said is None:
        return f"The {which} has readings, but the record does not know of it."
    if not there:
        return f"All readings of the {which} were taken out."
    if not said:
        return f"Readings were put into the {which}, which was entered without any."
    return f"Readings of the {which} were altered, added or taken out since they were entered."


def _beside(rows: Any, kept: Any) -> Iterator[tuple[Any, int, str, str | None]]:
    """Test by test how many readings there are, their hash, and the hash that was kept."""
    of_test = groupby(rows, key=lambda row: row[0])
    here = next(of_test, None)
    for test, said in kept:
        while here is not None and here[0] < test:
            yield _hashed(*here, None)
            here = next(of_test, None)
        if here is not None and here[0] == test:
            yield _hashed(*here, said)
            here = next(of_test, None)
        else:
            yield test, 0, "", said
    while here is not None:
        yield _hashed(*here, None)
        here = next(of_test, None)


def _hashed(test: Any, rows: Any, said: str | None) -> tuple[Any, int, str, str | None]:
    listed = [tuple(row)[1:] for row in rows]
    return test, len(listed), readings_hash(listed), said


def check_days(connection: Connection, found: Found, sayer: Sayer, zone: ZoneInfo) -> None:
    """Compare the days of loggers with those that follow from their values.

    Parameters
    ----------
    connection
        On the book.
    found
        Takes what is found.
    sayer
        Names rows.
    zone
        Of the practice.
    """
    values, days = table("logger_reading").c, table("logger_day").c
    spans = {
        (pond, name): (first, last, count)
        for pond, name, first, last, count in connection.execute(
            select(
                values.pond_id, values.parameter, func.min(values.at), func.max(values.at),
                func.count(),
            ).group_by(values.pond_id, values.parameter)
        )
    }  # fmt: skip
    known = connection.execute(
        select(days.pond_id, days.parameter).distinct().order_by(days.pond_id, days.parameter)
    )
    series = {(pond, name) for pond, name in known} | spans.keys()
    done, whole = 0, sum(count for _first, _last, count in spans.values())
    for pond, name in sorted(series):
        there = _days_there(connection, pond, name)
        wanted: dict[Any, tuple[Any, ...]] = {}
        if (pond, name) in spans:
            first, last, count = spans[pond, name]
            done += count
            if last > LATEST - _MARGIN or first < EARLIEST + _MARGIN:
                found.remark(
                    "value", "Look at the file that it came with.",
                    f"A logger at the {sayer.row('pond', pond)} has values of the years "
                    f"{first.year} to {last.year}; its days were not looked at.",
                )  # fmt: skip
                continue
            numbers, begins = midnights(milliseconds(first), milliseconds(last), zone)
            wanted = {
                one["day"]: (one["n"], one["mean"], one["low"], one["high"])
                for one in reckoned_days(connection, pond, name, numbers, begins)
            }
        differing = sorted(
            day for day in there.keys() | wanted.keys()
            if not _near(there.get(day), wanted.get(day))
        )  # fmt: skip
        if differing:
            _tell(connection, found, sayer, pond, name, differing)
        found.told(Progress("logger values beside their days", done, whole))
    found.looked_at["logger values"] = whole


def _tell(
    connection: Connection, found: Found, sayer: Sayer, pond: UUID, name: str, differing: list[Any]
) -> None:
    many = len(differing)
    said = (
        f"{many:,} day{'s' * (many > 1)} of the logger at the {sayer.row('pond', pond)} "
        f"({PARAMETERS[name].label if name in PARAMETERS else name}), "
        f"the first {differing[0]:%Y-%m-%d}, "
        f"{'do' if many > 1 else 'does'} not follow from the values"
    )
    change = table("change").c
    moved = connection.execute(
        select(change.after)
        .where(change.table_name == "practice", change.what == "change")
        .order_by(change.at)
    ).scalars()
    if any("time_zone" in (one or {}) for one in moved):
        found.remark(
            "days", "Bring the logger's file in again where the days matter.",
            f"{said}: the practice's time zone was changed since.",
        )  # fmt: skip
        return
    found.fault("days", OUTSIDE, f"{said}: values or days were altered.")


def _days_there(connection: Connection, pond: UUID, name: str) -> dict[Any, tuple[Any, ...]]:
    days = table("logger_day").c
    query = select(days.day, days.n, days.mean, days.low, days.high).where(
        days.pond_id == pond, days.parameter == name
    )
    return {row[0]: tuple(row[1:]) for row in connection.execute(query)}


def _near(one: tuple[Any, ...] | None, two: tuple[Any, ...] | None) -> bool:
    if one is None or two is None:
        return False
    return one[0] == two[0] and all(
        math.isclose(a, b, rel_tol=1e-9, abs_tol=1e-9)
        for a, b in zip(one[1:], two[1:], strict=True)
    )
