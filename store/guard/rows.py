"""Every row beside what its lines of the record say, and every line beside its hash."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, partial
from itertools import groupby
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, Row, Select, Table, bindparam, func, select
from sqlalchemy.exc import SQLAlchemyError

from store.book.columns import Base
from store.book.copies.chain import Line, Link, link_hash
from store.book.copies.lineage import Stand, Step, stand
from store.book.copies.steps import linked, links_query
from store.book.copies.together import groups
from store.book.row_values import from_json, with_defaults
from store.book.tables import table
from store.errors import PondroundError
from store.guard.found import BACKUP, OUTSIDE, Found, Progress
from store.guard.said import Sayer
from store.guard.values import Values

_AT_ONCE = 2000
_UNREADABLE = (
    SQLAlchemyError, PondroundError, ValueError, TypeError, KeyError, OverflowError, RecursionError,
)  # fmt: skip
"""What comes of a value in the file that is of no kind which its column can hold."""


@dataclass(frozen=True, slots=True)
class _Said:
    """A row as its lines say it."""

    table: str
    key: UUID
    stand: Stand | None
    newest: Line


def check_lines(connection: Connection, found: Found, *, values: Values, sayer: Sayer) -> None:
    """Compare every line with its hash and every row with its lines.

    Parameters
    ----------
    connection
        On the book.
    found
        Takes what is found.
    values
        Looks at the values of each row by the way.
    sayer
        Names rows.
    """
    link = table("change_link")
    whole = connection.execute(select(func.count()).select_from(link)).scalar() or 0
    change = table("change").c
    query = links_query().order_by(change.row_id).execution_options(yield_per=2000)
    done = 0
    waiting: list[_Said] = []
    rows = _readable(connection.execute(query), found)
    for key, of_row in groupby(rows, key=lambda one: one[0].row_id):
        lines = list(of_row)
        done += len(lines)
        for line, place, hashed in lines:
            if not _fits(line, place, hashed):
                found.fault(
                    "line altered", OUTSIDE,
                    partial(_line_altered, sayer, line),
                )  # fmt: skip
        waiting.append(_said(key, [(line, place) for line, place, _hash in lines]))
        if len(waiting) >= _AT_ONCE:
            found.told(Progress("rows compared with the record", done, whole))
            _compare(connection, waiting, found, values, sayer)
            waiting = []
    _compare(connection, waiting, found, values, sayer)
    found.looked_at["lines of the record"] = done
    _without_lines(connection, found, sayer)


def check_hashes(connection: Connection, found: Found, *, sayer: Sayer) -> None:
    """Compare every line with its hash and no more.

    Parameters
    ----------
    connection
        On the book.
    found
        Takes what is found.
    sayer
        Names rows.
    """
    query = links_query().execution_options(yield_per=2000)
    done = 0
    for line, place, hashed in _readable(connection.execute(query), found):
        done += 1
        if not _fits(line, place, hashed):
            found.fault(
                "line altered", OUTSIDE,
                partial(_line_altered, sayer, line),
            )  # fmt: skip
        if done % 10_000 == 0:
            found.told(Progress("lines of the record", done))
    found.looked_at["lines of the record"] = done


def _fits(line: Line, place: Link, hashed: str) -> bool:
    try:
        return link_hash(line, place) == hashed
    except (PondroundError, ValueError, TypeError):
        return False


def _readable(rows: Any, found: Found) -> Iterator[tuple[Line, Link, str]]:
    try:
        for row in rows:
            yield linked(row)
    except _UNREADABLE as error:
        found.fault(
            "damaged", BACKUP,
            f"The record of changes cannot be read on: a line holds what none can hold "
            f"({str(error).partition(chr(10))[0]:.120}).",
        )  # fmt: skip


def _said(key: UUID, lines: Sequence[tuple[Line, Link]]) -> _Said:
    newest = max((line for line, _link in lines), key=lambda one: (one.at, one.id))
    name = newest.table_name
    if len(lines) == 1 and newest.what == "add":
        at, by = newest.at, newest.by
        return _Said(name, key, Stand(newest.after or {}, 1, at, by, at, by), newest)
    target = Base.metadata.tables.get(name)
    if target is None:
        return _Said(name, key, None, newest)
    try:
        now = stand([Step(line, frozenset(link.seen)) for line, link in lines], groups(target))
    except ValueError:
        return _Said(name, key, None, newest)
    return _Said(name, key, now, newest)


def _compare(
    connection: Connection, waiting: Sequence[_Said], found: Found, values: Values, sayer: Sayer
) -> None:
    by_table: dict[str, list[_Said]] = {}
    for one in waiting:
        by_table.setdefault(one.table, []).append(one)
    for name, listed in by_table.items():
        target = Base.metadata.tables.get(name)
        if target is None or "id" not in target.c:
            continue
        rows = _rows(connection, target, [one.key for one in listed], found)
        compared = _comparer(target)
        found.looked_at["rows compared with the record"] += len(listed)
        for one in listed:
            row = rows.get(one.key)
            if one.stand is None:
                found.fault(
                    "no beginning", OUTSIDE,
                    partial(_no_beginning, sayer, one),
                )  # fmt: skip
            elif row is None:
                found.fault(
                    "row missing", OUTSIDE,
                    partial(_missing, sayer, one),
                )  # fmt: skip
            elif row is not _BROKEN:
                for column in compared.differing(row, one.stand):
                    found.fault(
                        "row altered", OUTSIDE,
                        partial(
                            sayer.altered, one.table, one.key, column, one.stand, row, one.newest
                        ),
                    )  # fmt: skip
                values.look(target, row)


_BROKEN: Any = object()


@cache
def _of_keys(target: Table) -> Select[Any]:
    return select(target).where(target.c.id.in_(bindparam("keys", expanding=True)))


def _rows(
    connection: Connection, target: Table, keys: Sequence[UUID], found: Found
) -> dict[UUID, Any]:
    try:
        return {row.id: row for row in connection.execute(_of_keys(target), {"keys": keys})}
    except _UNREADABLE:
        if connection.dialect.name != "sqlite":
            raise
    rows: dict[UUID, Any] = {}
    for key in keys:
        try:
            for row in connection.execute(select(target).where(target.c.id == key)):
                rows[key] = row
        except _UNREADABLE as error:
            rows[key] = _BROKEN
            said = str(error).partition("\n")[0]
            found.fault(
                "damaged", BACKUP,
                f"A row of {target.name} holds what none of its columns can hold ({said:.120}).",
            )  # fmt: skip
    return rows


@dataclass(frozen=True, slots=True)
class _Comparer:
    """Which columns of a row are not what the record says."""

    target: Table
    columns: tuple[str, ...]

    def differing(self, row: Row[Any], now: Stand) -> list[str]:
        """The names of the columns."""
        said = with_defaults(self.target, _from_record(self.target, now.values))
        said |= {
            "id": row.id, "rev": now.rev, "created_at": now.created_at,
            "created_by": now.created_by, "changed_at": now.changed_at,
            "changed_by": now.changed_by,
        }  # fmt: skip
        return [
            name for name, there in zip(self.columns, row, strict=True)
            if said[name] != there and not _same(said[name], there)
        ]  # fmt: skip


def _from_record(target: Table, values: Mapping[str, Any]) -> dict[str, Any]:
    try:
        return from_json(target, values)
    except _UNREADABLE:
        return {}


@cache
def _comparer(target: Table) -> _Comparer:
    return _Comparer(target, tuple(one.name for one in target.columns))


def _same(one: Any, two: Any) -> bool:
    """Numbers as both databases give them, within data as well."""
    if isinstance(one, bool) or isinstance(two, bool):
        return one is two
    if isinstance(one, int | float) and isinstance(two, int | float):
        return float(one) == float(two)
    if isinstance(one, Mapping) and isinstance(two, Mapping):
        return one.keys() == two.keys() and all(_same(one[name], two[name]) for name in one)
    if isinstance(one, list | tuple) and isinstance(two, list | tuple):
        return len(one) == len(two) and all(map(_same, one, two))
    return bool(one == two)


def _without_lines(connection: Connection, found: Found, sayer: Sayer) -> None:
    change = table("change").c
    for name, target in Base.metadata.tables.items():
        if "id" not in target.c or "rev" not in target.c or name == "change":
            continue
        found.told(Progress("rows without a line"))
        query = select(target.c.id).where(
            ~select(1).where(change.row_id == target.c.id, change.table_name == name).exists()
        )
        for (key,) in connection.execute(query.limit(10_000)).all():
            found.fault(
                "row added", OUTSIDE,
                partial(_added, sayer, name, key),
            )  # fmt: skip


def _line_altered(sayer: Sayer, line: Line) -> str:
    return f"A line of the record is not as it was written: {sayer.line(line)}."


def _no_beginning(sayer: Sayer, one: _Said) -> str:
    row = sayer.row(one.table, one.key, one.newest)
    return f"The record does not say who entered the {row}: that line is missing."


def _missing(sayer: Sayer, one: _Said) -> str:
    row = sayer.row(one.table, one.key, one.newest)
    return f"The {row} is missing: the record says that it is there, {sayer.who(one.newest)}."


def _added(sayer: Sayer, name: str, key: UUID) -> str:
    return (
        f"The {sayer.row(name, key)} stands in the book, but the record has no line of it: it was "
        "not entered by Pondround."
    )
