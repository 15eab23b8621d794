"""Many hands: the chain through the log, and who signs in.

Frozen: what a book of this number holds beside the tables of the one before. Lines that are there
become the first links of this copy's chain, in the order in which they were written; each saw the
line of its row before it.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import groupby
from typing import Any
from uuid import UUID, uuid4, uuid5

from alembic import op
from sqlalchemy import (
    BigInteger,
    Column,
    Connection,
    ForeignKeyConstraint,
    MetaData,
    PrimaryKeyConstraint,
    String,
    Table,
    insert,
    select,
)

from store.book.columns import Instant, Json, Key
from store.book.copies.chain import READING, Line, Link, link_hash, readings_hash
from store.book.migrations.columns_of_then import index, instant, number, text, to
from store.book.triggers import statements

revision = "0009"
down_revision = "0008"

ONLY_ADDED_TO = ("change_link",)
AT_ONCE = 2000

_THEN = MetaData()
CHANGE = Table(
    "change",
    _THEN,
    Column("id", Key),
    Column("at", Instant),
    Column("by", Key),
    Column("table_name", String),
    Column("row_id", Key),
    Column("rev", BigInteger),
    Column("what", String),
    Column("before", Json),
    Column("after", Json),
    Column("why", String),
)
LINK = Table(
    "change_link",
    _THEN,
    Column("change_id", Key),
    Column("copy", Key),
    Column("nth", BigInteger),
    Column("seen", Json),
    Column("readings", String),
    Column("prior", String),
    Column("hash", String),
)
READ = Table("reading", _THEN, Column("test_id", Key), *(Column(name, None) for name in READING))
META = Table("book_meta", _THEN, Column("key", String), Column("value", String))


def upgrade() -> None:
    op.create_table(
        "change_link",
        Column("change_id", Key, nullable=False),
        Column("copy", Key, nullable=False),
        *number("nth", 1, 1 << 62, kind=BigInteger),
        Column("seen", Json, nullable=False),
        *text("readings", 64),
        *text("prior", 64),
        *text("hash", 64, shortest=64),
        ForeignKeyConstraint(["change_id"], ["change.id"], ondelete="RESTRICT"),
        PrimaryKeyConstraint("change_id"),
        sqlite_with_rowid=False,
    )
    index("change_link", "copy", "nth")
    op.create_table(
        "sign_in",
        *to("staff_id", "staff"),
        *text("passphrase", 500),
        *text("login", 63),
        *instant("changed_at"),
        *to("changed_by", "staff"),
        PrimaryKeyConstraint("staff_id"),
    )
    connection = op.get_bind()
    _link_all(connection)
    for statement in statements(connection.dialect.name, ONLY_ADDED_TO):
        if not statement.startswith("CREATE FUNCTION"):  # it is there since the first tables
            op.execute(statement)


def _link_all(connection: Connection) -> None:
    # The same older book becomes the same book, however it is brought up to date.
    first = connection.execute(select(CHANGE.c.id).order_by(CHANGE.c.id).limit(1)).scalar()
    copy = uuid4() if first is None else uuid5(first, "copy")
    nth, prior = 0, ""
    newest: dict[UUID, UUID] = {}
    for lines in _lines(connection):
        read = _readings(connection, [one for one in lines if one.table_name == "water_test"])
        rows: list[dict[str, Any]] = []
        for line in lines:
            nth += 1
            seen = (newest[line.row_id],) if line.row_id in newest else ()
            newest[line.row_id] = line.id
            of_test = read.get(line.row_id, "") if line.what == "add" else ""
            link = Link(copy, nth, seen, of_test, prior)
            prior = link_hash(line, link)
            rows.append({
                "change_id": line.id, "copy": copy, "nth": nth, "seen": list(map(str, seen)),
                "readings": of_test, "prior": link.prior, "hash": prior,
            })  # fmt: skip
        connection.execute(insert(LINK), rows)
    connection.execute(
        insert(META),
        [{"key": "copy", "value": str(copy)}, {"key": "chain", "value": f"{nth} {prior}"}],
    )


def _lines(connection: Connection) -> Iterator[list[Line]]:
    """All lines, those of one row in the order of its revisions also where a clock was set back."""
    keys = connection.execute(select(CHANGE.c.id).order_by(CHANGE.c.at, CHANGE.c.rev, CHANGE.c.id))
    listed = [key for (key,) in keys]
    for at in range(0, len(listed), AT_ONCE):
        part = listed[at : at + AT_ONCE]
        found = {
            row[0]: Line(*row)
            for few in range(0, len(part), 500)
            for row in connection.execute(
                select(CHANGE).where(CHANGE.c.id.in_(part[few : few + 500]))
            )
        }
        yield [found[key] for key in part]


def _readings(connection: Connection, lines: list[Line]) -> dict[UUID, str]:
    tests = [one.row_id for one in lines if one.what == "add"]
    found: dict[UUID, str] = {}
    for at in range(0, len(tests), 500):
        query = (
            select(READ).where(READ.c.test_id.in_(tests[at : at + 500])).order_by(READ.c.test_id)
        )
        for test, rows in groupby(connection.execute(query), key=lambda row: row[0]):
            found[test] = readings_hash([tuple(row)[1:] for row in rows])
    return found
