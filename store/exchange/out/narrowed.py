"""A table narrowed to one pond, one client or a span of days, by what its rows point at."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from functools import cache
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Column, ColumnElement, Table, or_, select

import store.book.tables  # noqa: F401 - fills the metadata
from store.book.columns import EARLIEST, LATEST, Base, Instant
from store.book.row_values import KEPT, spoken
from store.errors import BadInput

Path = tuple[Column[Any], ...]
"""From column to column: each points at the table in which the next one stands."""

_WHEN = {
    "volume_estimate": "measured_on", "water_test": "taken_at", "logger_reading": "at",
    "logger_day": "day", "air_day": "day", "pond_event": "on_day", "visit": "on_day",
    "change": "at",
    "course_dose": "due_on", "course_task": "on_day", "dose_given": "given_at",
    "examination": "at", "lab_sample": "taken_on", "death_count": "on_day",
    "head_count": "on_day", "follow_up": "first_on", "follow_up_day": "due_on",
    "contact_attempt": "at", "visit_purpose": "due_on", "working_hours": "from_day",
    "day_off": "first_day", "call_note": "called_at", "way_home": "from_day",
}  # fmt: skip
"""The column by which the days of a table count; of others the day on which a row was entered."""
_WHOLE = frozenset({"practice", "staff", "book_meta", "air_station", "air_day"})
"""What belongs to no client, though a way could be found."""


@dataclass(frozen=True, slots=True)
class Narrow:
    """Which rows are wanted; None leaves it open. Days are calendar days of the practice."""

    pond: UUID | None = None
    client: UUID | None = None
    first_day: date | None = None
    last_day: date | None = None

    def __post_init__(self) -> None:
        if self.first_day and self.last_day and self.first_day > self.last_day:
            raise BadInput("The first day lies after the last one.", field="from")


def conditions(name: str, narrow: Narrow, zone: ZoneInfo) -> tuple[ColumnElement[bool], ...]:
    """What the rows of a table have to meet.

    Parameters
    ----------
    name
        The table.
    narrow
        What is wanted.
    zone
        The practice's time zone, in which its days are reckoned.

    Raises
    ------
    BadInput
        Rows of this table belong to no pond, no client or no day.
    """
    found: list[ColumnElement[bool]] = []
    for target, key in (("pond", narrow.pond), ("client", narrow.client)):
        if key is not None:
            ways = paths(name, target)
            if not ways:
                raise BadInput(
                    f"Rows of the table {name} belong to no {target}; it can only go out whole.",
                    field=target,
                )
            found.append(or_(*(_leads(way, lambda one, key=key: one == key) for way in ways)))
    if narrow.first_day is not None or narrow.last_day is not None:
        way = day_path(name)
        if way is None:
            raise BadInput(
                f"Rows of the table {name} have no day; it can only go out whole.", field="from"
            )
        found.append(_leads(way, lambda one: _within(one, narrow, zone)))
    return tuple(found)


def _leads(way: Path, condition: Any) -> ColumnElement[bool]:
    """The condition on the last column of a way, asked for at its beginning."""
    asked: ColumnElement[bool] = condition(way[-1])
    for column in reversed(way[:-1]):
        (key,) = column.foreign_keys
        asked = column.in_(select(key.column).where(asked))
    return asked


def _within(column: Column[Any], narrow: Narrow, zone: ZoneInfo) -> ColumnElement[bool]:
    first, last = narrow.first_day, narrow.last_day
    asked: list[ColumnElement[bool]] = []
    if isinstance(column.type, Instant):
        if first is not None:
            asked.append(column >= _midnight(first, zone))
        if last is not None:
            asked.append(column < _midnight(last + timedelta(days=1), zone))
    else:
        if first is not None:
            asked.append(column >= first)
        if last is not None:
            asked.append(column <= last)
    return asked[0] if len(asked) == 1 else asked[0] & asked[1]


def _midnight(day: date, zone: ZoneInfo) -> datetime:
    at = datetime.combine(day, time(), zone)
    return min(max(at, EARLIEST), LATEST)


@cache
def paths(name: str, target: str) -> tuple[Path, ...]:
    """The shortest ways from a table to the key of a pond or client.

    Parameters
    ----------
    name
        The table.
    target
        `pond` or `client`.

    Returns
    -------
    tuple of tuple of Column
        Empty where rows belong to none. Several where a row has two ends, such as a drive. What
        may be unknown is only followed at the first step: a row belongs to its visit, but not to
        whatever that visit may also be for.
    """
    if name in _WHOLE:
        return ()
    tables = Base.metadata.tables
    ways: list[Path] = [()]
    at: list[str] = [name]
    while ways and len(ways[0]) <= len(tables):
        there = tuple(
            (*way, tables[target].c.id)
            for way, here in zip(ways, at, strict=True)
            if here == target
        )
        if there:
            return _shortened(there)
        further = [
            ((*way, column), next(iter(column.foreign_keys)).column.table.name)
            for way, here in zip(ways, at, strict=True)
            for column in _pointing(tables[here])
            if not way or not column.nullable or _is_end(column, target)
        ]
        ways, at = [one for one, _ in further], [one for _, one in further]
    return ()


def _pointing(table: Table) -> list[Column[Any]]:
    """Columns that say what a row belongs to; never who wrote it, nor what it corrects."""
    return [
        one
        for one in table.columns
        if one.foreign_keys
        and one.name not in KEPT
        and next(iter(one.foreign_keys)).column.table.name not in (table.name, *_WHOLE)
    ]


def _is_end(column: Column[Any], target: str) -> bool:
    return next(iter(column.foreign_keys)).column.table.name == target


def _shortened(ways: tuple[Path, ...]) -> tuple[Path, ...]:
    """The key of the target stands in the last column before it already.

    Where one way is always known, those that may be unknown are left aside.
    """
    sure = tuple(way for way in ways if not way[0].nullable)
    return tuple(way[:-1] if len(way) > 1 else way for way in sure or ways)


@cache
def day_path(name: str) -> Path | None:
    """The way from a table to the column by which its days count; None where there is none.

    Parameters
    ----------
    name
        The table.
    """
    table = Base.metadata.tables[name]
    if name in _WHEN:
        return (table.c[_WHEN[name]],)
    if name == "reading":
        return (table.c.test_id, *(day_path("water_test") or ()))
    return (table.c.created_at,) if "created_at" in table.c else None


def day_said(name: str) -> str:
    """By what the days of a table count, within a sentence.

    Parameters
    ----------
    name
        The table.

    Examples
    --------
    >>> day_said("reading"), day_said("client")
    ('taken at of the water test', 'the day on which a row was entered')
    """
    way = day_path(name)
    if way is None:
        return ""
    if way[-1].name == "created_at":
        return "the day on which a row was entered"
    of = f" of the {spoken(way[-1].table.name)}" if len(way) > 1 else ""
    return way[-1].name.replace("_", " ") + of
