"""Values that cannot be right, though the book can hold them."""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from functools import cache
from typing import Any

from sqlalchemy import Connection, Row, String, Table, func, select

from store.book.checked import checked
from store.book.columns import Instant
from store.book.row_values import KEPT
from store.book.tables import table
from store.errors import PondroundError
from store.guard.found import Found, Progress
from store.guard.said import Sayer

_DAY = timedelta(days=1)
_FIRST_TEST = datetime(1970, 1, 1, tzinfo=UTC)
_LOOK = "Look it up and correct it in Pondround, with the reason."
_HAPPENED = frozenset({
    "created_at", "changed_at", "struck_at", "at", "called_at", "done_at", "given_at", "taken_at",
    "tested_at",
})  # fmt: skip
"""Instants of what has happened: none of them can lie ahead."""


class Values:
    """Looks at the values of rows.

    Parameters
    ----------
    found
        Takes what is found.
    sayer
        Names rows.
    now
        The present instant.
    """

    def __init__(self, found: Found, sayer: Sayer, now: datetime) -> None:
        self._found, self._sayer, self._now = found, sayer, now

    def look(self, target: Table, row: Row[Any]) -> None:
        """Look at a row.

        Parameters
        ----------
        target
            Its table.
        row
            With all columns of the table.
        """
        for (name, look), value in zip(_looks(target), row, strict=True):
            if look is not None and value is not None and not look(value):
                self._refused(target, row, name, value)
            elif name in _HAPPENED and value is not None and value > self._now + _DAY:
                self._remark(target, row, f"{name.replace('_', ' ')} lies ahead ({value:%Y-%m-%d})")
        if "struck_at" in target.c and row.struck_at is not None and not row.struck_why:
            self._remark(target, row, "it is struck through without a reason")
        if target.name == "water_test" and row.taken_at < _FIRST_TEST:
            self._remark(target, row, f"it is said to be taken in {row.taken_at:%Y}")

    def _refused(self, target: Table, row: Row[Any], name: str, value: Any) -> None:
        try:
            if checked(target.c[name], value) == value:
                return
            why = f"{name.replace('_', ' ')} holds characters that Pondround would not keep"
        except PondroundError as error:
            why = error.message.partition(". Nothing was saved")[0].partition("; nothing")[0]
            why = why[:1].lower() + why[1:]
        self._remark(target, row, why)

    def _remark(self, target: Table, row: Row[Any], why: str) -> None:
        self._found.remark(
            "value", _LOOK, lambda: f"The {self._sayer.row(target.name, row.id)}: {why}."
        )


@cache
def _looks(target: Table) -> tuple[tuple[str, Callable[[Any], bool] | None], ...]:
    """For each column a quick look by which most values are known to be good."""
    return tuple(
        (one.name, None if one.name in KEPT else _quick(one.type, one.info, one))
        for one in target.columns
    )


def _quick(kind: Any, info: Any, column: Any) -> Callable[[Any], bool] | None:
    if isinstance(kind, Instant) or column.foreign_keys:
        return None
    if isinstance(kind, String) and not info.keys() & {"choices", "check"}:
        longest, shortest = info.get("longest", 1 << 30), info.get("shortest", 0)

        def text_good(value: Any) -> bool:
            return (
                isinstance(value, str)
                and shortest <= len(value) <= longest
                and value.isascii()
                and value.isprintable()
                and value == value.strip()
            )

        return text_good
    if isinstance(kind, String) and "choices" in info and "check" not in info:
        allowed = frozenset(info["choices"])
        return lambda value: value in allowed
    if {"low", "high"} <= info.keys():
        low, high = info["low"], info["high"]
        return lambda value: isinstance(value, int | float) and low <= value <= high

    def slow(_value: Any) -> bool:
        return False

    return slow if "check" in info else None


def check_courses(connection: Connection, found: Found, sayer: Sayer) -> None:
    """Doses that were given before their course began.

    Parameters
    ----------
    connection
        On the book.
    found
        Takes what is found.
    sayer
        Names rows.
    """
    found.told(Progress("doses beside their courses"))
    given, dose, step, course = (
        table(name) for name in ("dose_given", "course_dose", "course_step", "course")
    )
    query = (
        select(given.c.id, given.c.given_at, course.c.started_on)
        .join_from(given, dose, given.c.dose_id == dose.c.id)
        .join(step, dose.c.step_id == step.c.id)
        .join(course, step.c.course_id == course.c.id)
        .where(given.c.struck_at.is_(None), course.c.started_on.is_not(None))
    )
    for key, at, began in connection.execute(query):
        if (at + _DAY).date() < began:  # whatever the zone
            found.remark(
                "value", _LOOK,
                f"The {sayer.row('dose_given', key)} was given on {at:%Y-%m-%d}, before its "
                f"course began ({began:%Y-%m-%d}).",
            )  # fmt: skip


def check_readings_values(connection: Connection, found: Found) -> None:
    """Measured values that are out of what their column may hold.

    Parameters
    ----------
    connection
        On the book.
    found
        Takes what is found.
    """
    for name in ("reading", "logger_reading", "logger_day", "air_day"):
        target = table(name)
        for column in target.columns:
            if {"low", "high"} <= column.info.keys() and not isinstance(column.type, Instant):
                low, high = column.info["low"], column.info["high"]
                query = select(func.count()).where(column.is_not(None), ~column.between(low, high))
                if count := connection.execute(query).scalar():
                    found.remark(
                        "value", _LOOK,
                        f"{count:,} of the {kind_words(name)} have a {column.name} outside "
                        f"{low:,.15g} to {high:,.15g}.",
                    )  # fmt: skip


def kind_words(name: str) -> str:
    """The rows of a table of measured values in words.

    Parameters
    ----------
    name
        Of the table.
    """
    return {
        "reading": "readings", "logger_reading": "logger values", "logger_day": "logger days",
        "air_day": "days of the air",
    }[name]  # fmt: skip
