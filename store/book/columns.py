"""The kinds of column a book has, the same on SQLite and PostgreSQL.

A builder below gives a column its type and, in `info`, what may stand in it; `Base` turns that into
a named CHECK, and `store.book.checked` into a sentence before the database has to refuse.
"""

from __future__ import annotations

from collections.abc import Callable
from datetime import UTC, date, datetime, timedelta
from typing import Any
from uuid import UUID

from sqlalchemy import (
    JSON,
    BigInteger,
    Boolean,
    CheckConstraint,
    Column,
    Date,
    Dialect,
    Double,
    ForeignKey,
    Integer,
    LargeBinary,
    MetaData,
    String,
    Table,
    Uuid,
)
from sqlalchemy.dialects.postgresql import JSONB
from sqlalchemy.orm import DeclarativeBase, MappedColumn, mapped_column
from sqlalchemy.types import TypeDecorator, TypeEngine

from store.errors import BadInput

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MILLISECOND = timedelta(milliseconds=1)
EARLIEST = datetime(1900, 1, 1, tzinfo=UTC)
LATEST = datetime(2200, 1, 1, tzinfo=UTC)


class Key(TypeDecorator[UUID]):
    """A UUID: 16 bytes in SQLite, the native type in PostgreSQL."""

    impl = LargeBinary
    cache_ok = True

    def load_dialect_impl(self, dialect: Dialect) -> TypeEngine[Any]:
        if dialect.name == "postgresql":
            return dialect.type_descriptor(Uuid(as_uuid=True))
        return dialect.type_descriptor(LargeBinary(16))

    def process_bind_param(self, value: UUID | None, dialect: Dialect) -> Any:
        if value is None:
            return None
        if not isinstance(value, UUID):
            raise BadInput(f"A key was expected, {value!r:.40} was given; nothing was saved.")
        return value if dialect.name == "postgresql" else value.bytes

    def process_result_value(self, value: Any, dialect: Dialect) -> UUID | None:
        if value is None or isinstance(value, UUID):
            return value
        return UUID(bytes=value)


class Instant(TypeDecorator[datetime]):
    """An instant: whole milliseconds since 1970 in the book, an aware UTC datetime in Python."""

    impl = BigInteger
    cache_ok = True

    def process_bind_param(self, value: datetime | None, dialect: Dialect) -> int | None:
        return None if value is None else milliseconds(value)

    def process_result_value(self, value: int | None, dialect: Dialect) -> datetime | None:
        return None if value is None else _EPOCH + value * _MILLISECOND


class Day(TypeDecorator[date]):
    """A calendar day of the practice; an instant is refused."""

    impl = Date
    cache_ok = True

    def process_bind_param(self, value: date | None, dialect: Dialect) -> date | None:
        if isinstance(value, datetime) or not isinstance(value, date | None):
            raise BadInput(f"A calendar day was expected, {value!r:.40} was given.")
        return value


Json = JSON(none_as_null=True).with_variant(JSONB(none_as_null=True), "postgresql")


def milliseconds(at: datetime) -> int:
    """The instant in milliseconds since 1970, as the book stores it.

    Parameters
    ----------
    at
        An instant with a time zone. Fractions of a millisecond are cut off.

    Returns
    -------
    int
        Negative before 1970.

    Raises
    ------
    BadInput
        If `at` has no time zone or lies outside the years 1900 to 2200.
    """
    if not isinstance(at, datetime) or at.tzinfo is None:
        raise BadInput("A time needs its time zone before it is saved; nothing was saved.")
    if not EARLIEST <= at <= LATEST:
        raise BadInput(f"The year {at.year} cannot be right for an entry; nothing was saved.")
    return (at - _EPOCH) // _MILLISECOND


def to_the_millisecond(at: datetime) -> datetime:
    """The instant as the book will give it back.

    Parameters
    ----------
    at
        An instant with a time zone, refused as by `milliseconds`.

    Returns
    -------
    datetime
        In UTC, without fractions of a millisecond.
    """
    return _EPOCH + milliseconds(at) * _MILLISECOND


def instant(**options: Any) -> MappedColumn[Any]:
    """A column for an instant.

    Parameters
    ----------
    options
        Anything that `sqlalchemy.orm.mapped_column` takes, such as `index`.
    """
    bounds = {"low": milliseconds(EARLIEST), "high": milliseconds(LATEST)}
    return mapped_column(Instant, info=bounds, **options)


def number(low: float, high: float, **options: Any) -> MappedColumn[Any]:
    """A column for a measured number between two bounds, in the unit its name ends in.

    Parameters
    ----------
    low, high
        Least and greatest number it may hold [the unit that the column's name ends in].
    options
        Anything else that `sqlalchemy.orm.mapped_column` takes, such as `default`.
    """
    return mapped_column(Double, info={"low": low, "high": high}, **options)


def whole(low: int, high: int, **options: Any) -> MappedColumn[Any]:
    """A column for a count between two bounds.

    Parameters
    ----------
    low, high
        Least and greatest count it may hold.
    options
        Anything else that `sqlalchemy.orm.mapped_column` takes, such as `default`.
    """
    kind = Integer if max(-low, high) < 1 << 31 else BigInteger
    return mapped_column(kind, info={"low": low, "high": high}, **options)


def words(
    longest: int = 500, *, required: bool = False, lines: bool = False, **options: Any
) -> MappedColumn[Any]:
    """A column for text.

    Parameters
    ----------
    longest
        How many characters at the most.
    required
        Refuse the empty text.
    lines
        Keep line feeds.
    options
        Anything else that `sqlalchemy.orm.mapped_column` takes, such as `default`.
    """
    info = {"lines": lines, "shortest": 1 if required else 0, "longest": longest}
    if not required:
        options.setdefault("default", "")
    return mapped_column(String(longest), info=info, **options)


def notes() -> MappedColumn[Any]:
    """A column for free text of several lines."""
    return words(20_000, lines=True)


def choice(*allowed: str, **options: Any) -> MappedColumn[Any]:
    """A column that holds one of a few words.

    Parameters
    ----------
    allowed
        The words.
    options
        Anything else that `sqlalchemy.orm.mapped_column` takes, such as `default`.
    """
    return mapped_column(String(max(map(len, allowed))), info={"choices": allowed}, **options)


def yes_no(name: str, default: bool, **options: Any) -> MappedColumn[Any]:
    """A column for yes or no; SQLite has no such type, hence the named check.

    Parameters
    ----------
    name
        Name of the check, which is the name of the column.
    default
        What stands there when nothing was said.
    options
        Anything else that `sqlalchemy.orm.mapped_column` takes, such as `server_default` for a
        column that came into a table which has rows.
    """
    kind = Boolean(create_constraint=True, name=name)
    return mapped_column(kind, default=default, **options)


def to(
    target: str, *, late: bool = False, index: bool = False, primary: bool = False
) -> MappedColumn[Any]:
    """A column that points at a row of another table.

    Parameters
    ----------
    target
        Name of the other table.
    late
        For two tables that point at each other: PostgreSQL adds the constraint when both are there.
    index
        Whether rows are looked for by this column.
    primary
        Whether it is part of the key of its own table.
    """
    key = ForeignKey(f"{target}.id", ondelete="RESTRICT", use_alter=late)
    return mapped_column(Key, key, index=index, primary_key=primary)


def data(check: Callable[[Any], None], **options: Any) -> MappedColumn[Any]:
    """A column for a list or mapping.

    Parameters
    ----------
    check
        Called with the value; raises `BadInput` for what does not belong there.
    options
        Anything else that `sqlalchemy.orm.mapped_column` takes, such as `default`.
    """
    return mapped_column(Json, info={"check": check}, **options)


class Base(DeclarativeBase):
    """The tables of a book. What a column may hold becomes a named CHECK."""

    metadata = MetaData(
        naming_convention={
            "ix": "ix_%(table_name)s_%(column_0_N_name)s",
            "uq": "uq_%(table_name)s_%(column_0_N_name)s",
            "ck": "ck_%(table_name)s_%(constraint_name)s",
            "fk": "fk_%(table_name)s_%(column_0_name)s",
            "pk": "pk_%(table_name)s",
        }
    )

    def __init_subclass__(cls, **options: Any) -> None:
        super().__init_subclass__(**options)
        table = cls.__table__
        if isinstance(table, Table):
            for column in table.columns:
                if (condition := _condition(column)) is not None:
                    table.append_constraint(CheckConstraint(condition, name=column.name))


def _condition(column: Column[Any]) -> str | None:
    info = column.info
    if "choices" in info:
        return f"{column.name} IN ({', '.join(repr(word) for word in info['choices'])})"
    if "low" in info:
        return f"{column.name} BETWEEN {info['low']!r} AND {info['high']!r}"
    if "longest" in info:
        return f"length({column.name}) BETWEEN {info['shortest']} AND {info['longest']}"
    return None
