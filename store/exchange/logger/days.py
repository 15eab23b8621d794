"""The days of a logger, reckoned from its values in the calendar of the practice."""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator
from datetime import date, datetime, timedelta, tzinfo
from typing import Any
from uuid import UUID

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import Connection, delete

from store.book.columns import milliseconds
from store.book.tables import table
from store.book.writing import Writing
from store.exchange.logger.clock import midnights
from store.exchange.logger.keep import values_there
from store.exchange.logger.spool import VALUE, Spool

_PIECE = 2_000
_VALUES_AT_ONCE = 200_000
_DAYS_AT_ONCE = 2
"""So many days of a value a second are held in memory at a time."""
_MOST_DAYS_AT_ONCE = 400
_FIRST_DAY = date(1970, 1, 1)


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
        How many days have a value. A day's mean is the plain mean of its values; the sum is exact
        before it is divided, so that the order in which values came does not matter.
    """
    days, begins = midnights(milliseconds(first), milliseconds(last), zone)
    kept = table("logger_day")
    writing.connection.execute(
        delete(kept).where(
            kept.c.pond_id == pond,
            kept.c.parameter == parameter,
            kept.c.day >= _day(days[0]),
            kept.c.day <= _day(days[-1]),
        )
    )
    return _add(
        writing, pond, parameter, reckoned_days(writing.connection, pond, parameter, days, begins)
    )


def days_between(first_ms: int, last_ms: int, zone: tzinfo) -> tuple[int, int]:
    """The first and last instant of the calendar days on which two instants fall [ms].

    Parameters
    ----------
    first_ms, last_ms
        Instants [ms since 1970].
    zone
        The practice's time zone.
    """
    begins = midnights(first_ms, last_ms, zone)[1]
    return int(begins[0]), int(begins[-1]) - 1


def add_days(writing: Writing, pond: UUID, parameter: str, spool: Spool, zone: tzinfo) -> int:
    """Add the days of values that are all that the book has of these days.

    Parameters
    ----------
    writing
        The action it belongs to.
    pond
        Key of the pond.
    parameter
        Code of the parameter.
    spool
        The values by time, one an instant.
    zone
        The practice's time zone.

    Returns
    -------
    int
        How many days have a value, reckoned as by `renew_days`.
    """
    days, begins = midnights(spool.first_at, spool.last_at, zone)
    return _add(writing, pond, parameter, _of_spool(spool, days, begins))


def _add(writing: Writing, pond: UUID, parameter: str, days: Iterable[dict[str, Any]]) -> int:
    count = 0
    piece: list[dict[str, Any]] = []
    for day in days:
        piece.append({"pond_id": pond, "parameter": parameter, **day})
        count += 1
        if len(piece) >= _PIECE:
            writing.add_many("logger_day", piece)
            piece = []
    writing.add_many("logger_day", piece)
    return count


def _of_spool(spool: Spool, days: list[int], begins: NDArray[np.int64]) -> Iterator[dict[str, Any]]:
    held = np.empty(0, VALUE)
    for block in spool.blocks():
        rows = np.concatenate((held, block)) if len(held) else block
        at = rows["at"]
        last = int(np.searchsorted(begins, at[-1], side="right")) - 1
        first = int(np.searchsorted(begins, at[0], side="right")) - 1
        edges = np.searchsorted(at, begins[first : last + 1])
        for place in range(first, last):
            low, high = edges[place - first], edges[place - first + 1]
            if high > low:
                yield _one_day(days[place], rows["value"][low:high])
        held = rows[edges[-1] :]
    if len(held):
        last = int(np.searchsorted(begins, held["at"][-1], side="right")) - 1
        yield _one_day(days[last], held["value"])


def _day(ordinal: int) -> date:
    return _FIRST_DAY + timedelta(days=ordinal)


def reckoned_days(
    connection: Connection, pond: UUID, parameter: str, days: list[int], begins: NDArray[np.int64]
) -> Iterator[dict[str, Any]]:
    """The days of a series, reckoned from its values; those without a value are left out.

    Parameters
    ----------
    connection
        Of the book, reading or writing.
    pond
        Key of the pond.
    parameter
        Code of the parameter.
    days, begins
        As `midnights` gives them: days since 1970, and where they and the one behind begin [ms].

    Yields
    ------
    dict
        The columns of `logger_day` from `day` on, values in the stored unit.
    """
    start, many = 0, _DAYS_AT_ONCE
    while start < len(days):
        behind = min(start + many, len(days))
        there = values_there(
            connection, pond, parameter, int(begins[start]), int(begins[behind]) - 1
        )
        for place in range(start, behind):
            low, high = np.searchsorted(there.at_ms, begins[place : place + 2])
            if high > low:
                yield _one_day(days[place], there.value[low:high])
        # As many days at once as their values allow.
        a_day = max(1, len(there.at_ms) // (behind - start))
        many = max(_DAYS_AT_ONCE, min(_VALUES_AT_ONCE // a_day, 2 * many, _MOST_DAYS_AT_ONCE))
        start = behind


def _one_day(ordinal: int, values: NDArray[np.float64]) -> dict[str, Any]:
    low, high = float(values.min()), float(values.max())
    mean = math.fsum(values.tolist()) / len(values)
    return {
        "day": _day(ordinal),
        "n": len(values),
        # Rounding may lift a mean of equal values over them.
        "mean": min(max(mean, low), high),
        "low": low,
        "high": high,
    }
