"""A logger's file: time and value, thousands of rows, into the readings and days of one pond.

The file is read twice, in pieces, so that a year of minutes takes no more memory than a day: once
to see what it would bring, once to bring it.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.act import Act
from store.book.book import Book
from store.book.tables import table
from store.exchange.logger_days import renew_days
from store.exchange.logger_values import (
    KNOWN,
    Counts,
    LoggerColumn,
    LoggerFile,
    Value,
    logger_columns,
)
from store.exchange.moments import Order
from store.exchange.planned import (
    Columns,
    Done,
    Gathering,
    Plan,
    brought_before,
    keep_file,
    unread,
)
from store.exchange.table import open_sheet
from store.water.parameters import PARAMETERS

_PIECE = 5_000


@dataclass(frozen=True, slots=True)
class Series:
    """What the file holds of one parameter: how many values, from when to when, and their range."""

    parameter: str
    n: int
    first: datetime
    last: datetime
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class LoggerPlan:
    """What a logger's file would bring to one pond; `plan.items` tell the series."""

    pond: UUID
    file: LoggerFile
    plan: Plan[Series]


def read_logger(
    path: Path,
    book: Book,
    now: datetime,
    pond: UUID,
    *,
    parameter: str | None = None,
    unit: str = "",
    order: Order = "ymd",
    shift_days: int = 0,
) -> LoggerPlan:
    """What a logger's file would bring; nothing is saved.

    Columns: `time` (or `date` and `time`) and `value`, or one column headed by each parameter. A
    time without an offset is on the clock of the practice's zone; days alone stand for their noon.

    Parameters
    ----------
    path
        The file.
    book
        The practice's book.
    now
        The present instant; values of a later time are left out and counted.
    pond
        Key of the pond in which the logger hangs.
    parameter
        Code of the parameter in the column `value`; temperature when left out. With a code, only
        columns of that parameter are read.
    unit
        Unit of the values, where the heading names none: `F`, `mg/L`.
    order
        In which order the file writes day and month.
    shift_days
        Whole days by which every day of the file is moved [d].

    Returns
    -------
    LoggerPlan
        With the counts of what was left out, in words.

    Raises
    ------
    BadInput
        When the file cannot be read, or has no time or no value.
    """
    sheet = open_sheet(path)
    named = Columns(sheet.header, KNOWN)
    if not (named.has("date") or named.has("time")):
        named.need("at")
    columns, left = logger_columns(sheet, named, parameter, unit)
    file = LoggerFile(sheet, named, columns, book.zone, now, order, shift_days)
    counts, gathering = Counts(), Gathering()
    found: dict[str, Series] = {}
    for value in file.values(counts, gathering):
        found[value.parameter] = _grown(found.get(value.parameter), value)
    told = (
        *brought_before(book, sheet),
        *_told(counts, len(gathering.refused), columns),
        *unread(sheet.header, left),
    )
    plan = Plan(
        "logger",
        path,
        sheet.sha256,
        sheet.header,
        gathering.rows_read,
        tuple(found.values()),
        tuple(gathering.refused),
        0,
        told,
        sheet.separator,
        shift_days,
    )
    return LoggerPlan(pond, file, plan)


def _grown(known: Series | None, value: Value) -> Series:
    if known is None:
        return Series(value.parameter, 1, value.at, value.at, value.value, value.value)
    return replace(
        known,
        n=known.n + 1,
        first=min(known.first, value.at),
        last=max(known.last, value.at),
        low=min(known.low, value.value),
        high=max(known.high, value.value),
    )


def save_logger(book: Book, act: Act, planned: LoggerPlan) -> Done:
    """Bring a logger's file in, and reckon its days anew, in one transaction.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the file in, and when.
    planned
        From `read_logger`.

    Returns
    -------
    Done
        Values added, and values of an instant that the pond has already.

    Raises
    ------
    BadInput, BookTrouble
        Nothing was saved.
    """
    plan = planned.plan
    if not plan.items:
        return Done(0, 0, len(plan.refused))
    added = already = 0
    reached: dict[str, tuple[datetime, datetime]] = {}
    with book.writing(act) as writing:
        file = None
        for piece in _pieces(planned.file):
            for parameter, values in piece.items():
                there = _there(writing.connection, planned.pond, parameter, values)
                fresh = {at: value for at, value in values.items() if at not in there}
                already += len(values) - len(fresh)
                if not fresh:
                    continue
                added += len(fresh)
                if file is None:
                    file = keep_file(writing, plan, 0)
                writing.add_many(
                    "logger_reading",
                    [
                        {
                            "pond_id": planned.pond,
                            "parameter": parameter,
                            "at": at,
                            "value": value,
                            "import_file_id": file,
                        }
                        for at, value in fresh.items()
                    ],
                )
                first, last = reached.get(parameter, (min(fresh), max(fresh)))
                reached[parameter] = (min(first, *fresh), max(last, *fresh))
        for parameter, (first, last) in reached.items():
            renew_days(writing, planned.pond, parameter, first, last, planned.file.zone)
        if file is not None:
            writing.change("import_file", file, 1, rows_saved=added)
    return Done(added, already, len(plan.refused))


def _pieces(file: LoggerFile) -> Iterator[dict[str, dict[datetime, float]]]:
    """The values in pieces, by parameter and instant; of two at one instant the first."""
    piece: dict[str, dict[datetime, float]] = {}
    held = 0
    for value in file.values(Counts(), Gathering()):
        piece.setdefault(value.parameter, {}).setdefault(value.at, value.value)
        held += 1
        if held >= _PIECE:
            yield piece
            piece, held = {}, 0
    if piece:
        yield piece


def _there(
    connection: Connection, pond: UUID, parameter: str, values: Mapping[datetime, float]
) -> set[datetime]:
    """The instants of these at which the pond has a value already."""
    reading = table("logger_reading").c
    query = select(reading.at).where(
        reading.pond_id == pond,
        reading.parameter == parameter,
        reading.at >= min(values),
        reading.at <= max(values),
    )
    return {at for at in connection.execute(query).scalars() if at in values}


def _told(
    counts: Counts, refused_kept: int, columns: Mapping[int, LoggerColumn]
) -> tuple[str, ...]:
    """What was supposed and what was left out, one sentence each."""
    supposed = [
        f"{PARAMETERS[one.parameter].label} in {PARAMETERS[one.parameter].shown_unit}"
        for one in columns.values()
        if not one.unit and PARAMETERS[one.parameter].shown_unit
    ]
    told = [f"The file names no unit; it was taken as {', '.join(supposed)}."] if supposed else []
    for number, sentence in (
        (counts.missing, "missing values left out"),
        (counts.nothing_measured, "values left out that a probe sends when it measures nothing"),
        (counts.impossible, "values left out that water cannot have"),
        (counts.twice, "rows of the same instant as the row before, of which the first counts"),
        (counts.backward, "rows on which the logger's clock stepped back"),
        (counts.ahead, "rows left out whose time lies ahead"),
        (counts.noon, "rows with a day and no time, taken as of noon"),
        (
            counts.skipped,
            "rows left out in the hour over which the clock went forward; a logger that keeps one "
            "clock all year needs its offset in the file, as 01:30+00:00",
        ),
        (counts.refused - refused_kept, "further rows that cannot be read, not listed"),
    ):
        if number > 0:
            told.append(f"{number} {sentence}.")
    return tuple(told)
