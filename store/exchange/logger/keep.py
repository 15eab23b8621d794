"""Values of a logger into the book, many at a time, in the way that each database is quickest."""

from __future__ import annotations

import struct
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Any
from uuid import UUID

import numpy as np
from numpy.typing import NDArray
from sqlalchemy import BigInteger, Connection, select, type_coerce

from store.book.tables import table
from store.book.trouble import sentence
from store.book.writing import Writing
from store.exchange.logger.spool import Table

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
# One statement for many rows: a statement a row takes three times as long.
_AT_ONCE = 500
_SQLITE = (
    "WITH k (pond, name, file) AS (VALUES (?, ?, ?)) "
    "INSERT INTO logger_reading (pond_id, parameter, at, value, import_file_id) "
    "SELECT k.pond, k.name, v.column1, v.column2, k.file FROM k CROSS JOIN (VALUES {rows}) AS v"
)
_COPY = (
    "COPY logger_reading (pond_id, parameter, at, value, import_file_id) "
    "FROM STDIN WITH (FORMAT BINARY)"
)


@dataclass(frozen=True, slots=True)
class There:
    """Values that the book has, by time: instants [ms] and values [stored unit]."""

    at_ms: NDArray[np.int64]
    value: NDArray[np.float64]


def instant_of(ms: int) -> datetime:
    """The instant of milliseconds since 1970, in UTC.

    Parameters
    ----------
    ms
        Milliseconds since 1970.
    """
    return _EPOCH + timedelta(milliseconds=ms)


def values_there(
    connection: Connection, pond: UUID, parameter: str, first_ms: int, last_ms: int
) -> There:
    """The values of one parameter that a pond has between two instants, both included.

    Parameters
    ----------
    connection
        Of the book, reading or writing.
    pond
        Key of the pond.
    parameter
        Code of the parameter.
    first_ms, last_ms
        Instants [ms since 1970].
    """
    reading = table("logger_reading").c
    query = (
        select(type_coerce(reading.at, BigInteger), reading.value)
        .where(reading.pond_id == pond, reading.parameter == parameter)
        .where(reading.at >= instant_of(first_ms), reading.at <= instant_of(last_ms))
        .order_by(reading.at)
    )
    rows = connection.execute(query).all()
    return There(
        np.array([row[0] for row in rows], np.int64),
        np.array([row[1] for row in rows], np.float64),
    )


def has_values(
    connection: Connection, pond: UUID, parameter: str, first_ms: int, last_ms: int
) -> bool:
    """Whether a pond has any value of a parameter between two instants, both included.

    Parameters
    ----------
    connection
        Of the book, reading or writing.
    pond
        Key of the pond.
    parameter
        Code of the parameter.
    first_ms, last_ms
        Instants [ms since 1970].
    """
    reading = table("logger_reading").c
    query = (
        select(reading.value)
        .where(reading.pond_id == pond, reading.parameter == parameter)
        .where(reading.at >= instant_of(first_ms), reading.at <= instant_of(last_ms))
        .limit(1)
    )
    return connection.execute(query).first() is not None


def only_new(rows: Table, there: There) -> tuple[Table, int, int]:
    """The rows whose instant is not in the book; how many are, and how many with another value.

    Parameters
    ----------
    rows
        Of the type `VALUE`, by time.
    there
        What the book has of their time.
    """
    if not len(there.at_ms):
        return rows, 0, 0
    place = np.searchsorted(there.at_ms, rows["at"])
    place = np.minimum(place, len(there.at_ms) - 1)
    known = there.at_ms[place] == rows["at"]
    near = np.isclose(there.value[place], rows["value"], rtol=1e-9, atol=1e-9)
    return rows[~known], int(known.sum()), int((known & ~near).sum())


def add_values(writing: Writing, pond: UUID, parameter: str, rows: Table, file: UUID) -> None:
    """Add values whose instants the book has not.

    Parameters
    ----------
    writing
        The action it belongs to.
    pond
        Key of the pond.
    parameter
        Code of the parameter.
    rows
        Of the type `VALUE`, values in the stored unit.
    file
        Key of the file they come from.

    Raises
    ------
    BookTrouble
        When the database refuses them; the action as a whole is taken back.
    """
    if not len(rows):
        return
    connection = writing.connection
    dialect = connection.dialect
    raw: Any = connection.connection.dbapi_connection
    writing.touch("logger_reading")
    try:
        if dialect.name == "postgresql":
            with raw.cursor() as cursor, cursor.copy(_COPY) as copy:
                copy.write(_copied(pond, parameter, rows, file))
        else:
            _into_sqlite(raw, (pond.bytes, parameter, file.bytes), rows)
    except dialect.loaded_dbapi.Error as error:
        raise sentence(error, writing.book.name) from error


def _into_sqlite(raw: Any, keys: tuple[bytes, str, bytes], rows: Table) -> None:
    pairs: list[Any] = [None] * (2 * len(rows))
    pairs[::2], pairs[1::2] = rows["at"].tolist(), rows["value"].tolist()
    cursor = raw.cursor()
    for start in range(0, len(pairs), 2 * _AT_ONCE):
        piece = pairs[start : start + 2 * _AT_ONCE]
        marks = ", ".join(["(?, ?)"] * (len(piece) // 2))
        cursor.execute(_SQLITE.format(rows=marks), (*keys, *piece))
    cursor.close()


def _copied(pond: UUID, parameter: str, rows: Table, file: UUID) -> bytes:
    """The rows as PostgreSQL takes them in binary: every row has the same size."""
    name = parameter.encode()
    layout = np.dtype(
        [
            ("fields", ">i2"), ("pond_n", ">i4"), ("pond", "V16"),
            ("name_n", ">i4"), ("name", f"V{len(name)}"), ("at_n", ">i4"), ("at", ">i8"),
            ("value_n", ">i4"), ("value", ">f8"), ("file_n", ">i4"), ("file", "V16"),
        ]
    )  # fmt: skip
    out = np.zeros(len(rows), layout)
    out["fields"], out["pond_n"], out["name_n"] = 5, 16, len(name)
    out["at_n"], out["value_n"], out["file_n"] = 8, 8, 16
    out["pond"], out["name"], out["file"] = np.void(pond.bytes), np.void(name), np.void(file.bytes)
    out["at"], out["value"] = rows["at"], rows["value"]
    head = b"PGCOPY\n\xff\r\n\0" + struct.pack(">ii", 0, 0)
    return head + out.tobytes() + struct.pack(">h", -1)
