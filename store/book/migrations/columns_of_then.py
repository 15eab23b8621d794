"""Columns and tables as the migrations from the second on write them.

Frozen like the migrations themselves: what stands here is never changed, a new way of writing a
column gets a name of its own.
"""

from __future__ import annotations

from typing import Any

from alembic import op
from sqlalchemy import (
    CheckConstraint,
    Column,
    Double,
    ForeignKeyConstraint,
    Integer,
    PrimaryKeyConstraint,
    String,
)

from store.book.columns import Instant, Key


def text(name: str, longest: int, *, shortest: int = 0) -> list[Any]:
    check = f"length({name}) BETWEEN {shortest} AND {longest}"
    return [Column(name, String(longest), nullable=False), CheckConstraint(check, name=name)]


def number(
    name: str, low: float, high: float, *, null: bool = False, kind: type = Double
) -> list[Any]:
    check = f"{name} BETWEEN {low!r} AND {high!r}"
    return [Column(name, kind, nullable=null), CheckConstraint(check, name=name)]


def choice(name: str, *allowed: str) -> list[Any]:
    check = f"{name} IN ({', '.join(repr(word) for word in allowed)})"
    longest = max(map(len, allowed))
    return [Column(name, String(longest), nullable=False), CheckConstraint(check, name=name)]


def instant(name: str, *, null: bool = False) -> list[Any]:
    check = f"{name} BETWEEN -2208988800000 AND 7258118400000"  # the years 1900 to 2200
    return [Column(name, Instant, nullable=null), CheckConstraint(check, name=name)]


def to(name: str, target: str, *, null: bool = False) -> list[Any]:
    return [
        Column(name, Key, nullable=null),
        ForeignKeyConstraint([name], [f"{target}.id"], ondelete="RESTRICT"),
    ]


def kept() -> list[Any]:
    return [
        Column("id", Key, nullable=False),
        *number("rev", 1, 1_000_000_000, kind=Integer),
        *instant("created_at"),
        *to("created_by", "staff"),
        *instant("changed_at"),
        *to("changed_by", "staff"),
        *instant("struck_at", null=True),
        *to("struck_by", "staff", null=True),
        *text("struck_why", 2000),
        PrimaryKeyConstraint("id"),
    ]


def index(table: str, *columns: str) -> None:
    op.create_index(f"ix_{table}_{'_'.join(columns)}", table, list(columns))
