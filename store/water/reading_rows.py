"""The readings of a test as rows of the narrow table, and back again."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.tables import table
from store.errors import BadInput
from store.water.parameters import PARAMETERS
from store.water.understood import ReadingValue


def check_readings(readings: Iterable[ReadingValue]) -> None:
    """Refuse readings that cannot be kept.

    Parameters
    ----------
    readings
        Of one test.

    Raises
    ------
    BadInput
        A parameter that no test measures, one that stands twice, or a value that cannot exist.
    """
    seen: set[str] = set()
    for reading in readings:
        parameter = PARAMETERS.get(reading.parameter)
        if parameter is None:
            raise BadInput(f"“{reading.parameter}” is nothing that a water test measures.")
        if reading.parameter in seen:
            raise BadInput(
                f"There are two values for {parameter.label}. Nothing was saved; keep one.",
                field=reading.parameter,
            )
        seen.add(reading.parameter)
        if not parameter.possible_low <= reading.value <= parameter.possible_high:
            raise BadInput(
                f"{parameter.label} {reading.typed or reading.value} cannot be: it must lie "
                f"between {parameter.possible_low:g} and {parameter.possible_high:g} "
                f"{parameter.unit}. Nothing was saved.",
                field=reading.parameter,
            )


def reading_rows(test: UUID, readings: Iterable[ReadingValue]) -> list[dict[str, Any]]:
    """The rows of the narrow table for the readings of one test.

    Parameters
    ----------
    test
        Key of the test.
    readings
        Its readings.

    Returns
    -------
    list of dict
        One a reading, by column.
    """
    return [
        {
            "test_id": test,
            "parameter": reading.parameter,
            "value": reading.value,
            "low": reading.low,
            "high": reading.high,
            "bound": reading.bound,
            "typed": reading.typed,
            "unit": reading.unit,
            "form": reading.form,
        }
        for reading in readings
    ]


def readings_of(
    connection: Connection, keys: Sequence[UUID]
) -> dict[UUID, dict[str, ReadingValue]]:
    """The readings of some tests.

    Parameters
    ----------
    connection
        A reading connection of the book.
    keys
        Of the tests.

    Returns
    -------
    dict
        Test to its readings by parameter, in the order in which parameters are shown; a test
        without readings is missing.
    """
    if not keys:
        return {}
    reading = table("reading")
    found: dict[UUID, dict[str, ReadingValue]] = {}
    for row in connection.execute(select(reading).where(reading.c.test_id.in_(keys))):
        found.setdefault(row.test_id, {})[row.parameter] = ReadingValue(
            row.parameter, row.value, row.low, row.high, row.bound, row.typed, row.unit, row.form
        )
    order = {code: place for place, code in enumerate(PARAMETERS)}
    return {
        key: dict(sorted(values.items(), key=lambda item: order.get(item[0], len(order))))
        for key, values in found.items()
    }
