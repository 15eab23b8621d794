"""Two copies of one book brought together: all lines of both, and the rows that follow from them.

Nothing is decided here that depends on which copy came first: lines are added as they were written,
and every row of which there are new ones is what `store.book.copies.lineage` says of all of them.
So however copies are brought together, and however often, they end in the same state.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from sqlalchemy import Column, Connection, Insert, Table, func, insert, select, update
from sqlalchemy.dialects import postgresql, sqlite

from store.book import schema
from store.book.columns import Base
from store.book.copies.chain import Line, Link, link_hash
from store.book.copies.lineage import Difference, Step, differences, heads, stand
from store.book.copies.log import line_values, link_values
from store.book.copies.steps import AT_ONCE, linked, links_query, steps_of
from store.book.copies.together import groups
from store.book.row_values import from_json, with_defaults
from store.book.tables import TableName, table
from store.book.writing import Writing
from store.errors import BadInput


@dataclass(slots=True)
class Joined:
    """What came in: lines of the log, rows added and changed by table, logger values.

    `differing` has the rows that were changed on both sides to different things; a person chooses,
    see `store.book.copies.choosing`. `struck` has rows that one side struck through while the other
    changed them. `series` has, by pond and parameter, the first and last instant of logger values
    that came in: their days are to be reckoned anew.
    """

    lines: int = 0
    added: dict[TableName, list[UUID]] = field(default_factory=dict)
    changed: dict[TableName, list[UUID]] = field(default_factory=dict)
    logger_values: int = 0
    series: dict[tuple[UUID, str], tuple[datetime, datetime]] = field(default_factory=dict)
    differing: list[tuple[TableName, UUID, tuple[Difference, ...]]] = field(default_factory=list)
    struck: list[tuple[TableName, UUID]] = field(default_factory=list)


def same_book(here: Connection, there: Connection) -> None:
    """Refuse to bring together what are not two copies of one book of the same number.

    Parameters
    ----------
    here, there
        On the two.

    Raises
    ------
    BadInput
        They are of two practices, or of two versions.
    """
    practice = table("practice").c
    first = select(practice.id, practice.name).order_by(practice.id).limit(1)
    ours, theirs = here.execute(first).first(), there.execute(first).first()
    if ours is None or theirs is None or ours.id != theirs.id:
        names = " and ".join(
            f"“{one.name:.60}”" if one is not None else "a book without a practice"
            for one in (ours, theirs)
        )
        raise BadInput(
            f"These are not two copies of one book but were begun apart ({names}); nothing was "
            "brought in.",
            field="file",
            title="Another book",
        )
    if (numbers := (schema.number(here), schema.number(there))) != (schema.HEAD, schema.HEAD):
        raise BadInput(
            f"The two are of different versions ({numbers[0]} and {numbers[1]}); nothing was "
            "brought in. Open both with this version first.",
            field="file",
            title="Another version",
        )


def join(writing: Writing, there: Connection) -> Joined:
    """Bring into a book what another copy of it holds beyond it.

    Parameters
    ----------
    writing
        An action on the book. Nothing is logged of the action itself: what comes in names who wrote
        it and when, in the other copy.
    there
        Reading the other copy. It may hold only a part of the book, see `store.exchange.bag`.

    Returns
    -------
    Joined
        Empty where all of it is there already.

    Raises
    ------
    BadInput
        The other is no copy of this book, or what it says of a line does not fit its hash.
    """
    here = writing.connection
    same_book(here, there)
    joined = Joined()
    new = list(_new_lines(here, there))
    if new:
        _bring_lines(writing, there, new, joined)
    return joined


def _new_lines(here: Connection, there: Connection) -> Iterator[tuple[Line, Link, str]]:
    change = table("change").c
    keys = [key for (key,) in there.execute(select(change.id).order_by(change.id))]
    for part in _parts(keys):
        known = set(here.execute(select(change.id).where(change.id.in_(part))).scalars())
        missing = [key for key in part if key not in known]
        if missing:
            for row in there.execute(links_query().where(change.id.in_(missing))):
                yield _whole(*linked(row))


def _whole(line: Line, link: Link, hashed: str) -> tuple[Line, Link, str]:
    if link_hash(line, link) != hashed or line.table_name not in Base.metadata.tables:
        raise BadInput(
            "A line of the other copy's log is not as it was written: it was altered outside "
            "Pondround. Nothing was brought in; “pondround check” says which.",
            field="file",
            title="Altered outside",
        )
    return line, link, hashed


def _bring_lines(
    writing: Writing, there: Connection, new: list[tuple[Line, Link, str]], joined: Joined
) -> None:
    here = writing.connection
    if here.dialect.name == "sqlite":
        here.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
    joined.lines = len(new)
    by_row: dict[UUID, list[Step]] = {}
    for line, link, _hash in new:
        by_row.setdefault(line.row_id, []).append(Step(line, frozenset(link.seen)))
    known = steps_of(here, sorted(by_row))
    whole = {row: (*known.get(row, ()), *steps) for row, steps in by_row.items()}
    names: dict[UUID, TableName] = {line.row_id: line.table_name for line, _l, _h in new}  # type: ignore[misc]
    late: list[tuple[Table, UUID, dict[str, Any]]] = []
    for target in Base.metadata.sorted_tables:
        of_table = sorted(row for row, name in names.items() if name == target.name)
        if of_table and "id" in target.c:
            _bring_rows(here, target, of_table, whole, known, joined, late)
            writing.touch(target.name)  # type: ignore[arg-type]
    for target, key, values in late:
        here.execute(update(target).where(target.c.id == key).values(values))
    for part in _parts(new):
        here.execute(insert(table("change")), [line_values(line) for line, _l, _h in part])
        here.execute(
            insert(table("change_link")),
            [link_values(line.id, link, hashed) for line, link, hashed in part],
        )
    _bring_readings(writing, there, joined.added.get("water_test", []))
    _bring_series(writing, there, joined)
    _bring_air(writing, there, joined)


def _bring_rows(
    here: Connection, target: Table, rows: Sequence[UUID], steps: Mapping[UUID, Sequence[Step]],
    known: Mapping[UUID, Sequence[Step]], joined: Joined,
    late: list[tuple[Table, UUID, dict[str, Any]]],
) -> None:  # fmt: skip
    """The rows of a table as they follow from all lines; what points at a later row comes last."""
    name: TableName = target.name  # type: ignore[assignment]
    together, pointing = groups(target), _late(target)
    fresh: list[dict[str, Any]] = []
    for key in rows:
        now = stand(steps[key], together)
        values = from_json(target, now.values)
        values |= {
            "rev": now.rev, "created_at": now.created_at, "created_by": now.created_by,
            "changed_at": now.changed_at, "changed_by": now.changed_by,
        }  # fmt: skip
        if found := differences(steps[key], together):
            joined.differing.append((name, key, found))
        if _struck_beside_a_change(steps[key]):
            joined.struck.append((name, key))
        if key in known:
            late.append((target, key, values))
            joined.changed.setdefault(name, []).append(key)
            continue
        whole = with_defaults(target, values) | {"id": key}
        if wait := {one: whole[one] for one in pointing if whole[one] is not None}:
            late.append((target, key, wait))
            whole |= dict.fromkeys(wait)
        fresh.append(whole)
        joined.added.setdefault(name, []).append(key)
    if fresh and name == "staff":  # people may have entered each other
        here.execute(insert(target).values(fresh))
    elif fresh:
        here.execute(insert(target), fresh)


def _late(target: Table) -> list[str]:
    """Columns that point at a row which may come later, and may be empty until then."""

    def is_late(column: Column[Any]) -> bool:
        keys = column.foreign_keys
        return bool(column.nullable) and any(
            key.use_alter or key.column.table is target for key in keys
        )

    return [column.name for column in target.columns if is_late(column)]


def _struck_beside_a_change(steps: Sequence[Step]) -> bool:
    ends = set(heads(steps))
    kinds = {one.line.what for one in steps if one.line.id in ends}
    return "strike" in kinds and len(kinds) > 1


def _bring_readings(writing: Writing, there: Connection, tests: Sequence[UUID]) -> None:
    readings = table("reading")
    for part in _parts(tests):
        rows = there.execute(select(readings).where(readings.c.test_id.in_(part))).mappings().all()
        if rows:
            writing.connection.execute(insert(readings), [dict(row) for row in rows])
            writing.touch("reading")


def _bring_series(writing: Writing, there: Connection, joined: Joined) -> None:
    series = table("logger_reading").c
    for file in joined.added.get("import_file", []):
        query = (
            select(series.pond_id, series.parameter, func.min(series.at), func.max(series.at))
            .where(series.import_file_id == file)
            .group_by(series.pond_id, series.parameter)
        )
        for pond, parameter, first, last in there.execute(query).all():
            old = joined.series.get((pond, parameter), (first, last))
            joined.series[pond, parameter] = min(old[0], first), max(old[1], last)
            joined.logger_values += _bring_values(writing, there, file, pond, parameter)


def _bring_values(
    writing: Writing, there: Connection, file: UUID, pond: UUID, parameter: str
) -> int:
    series = table("logger_reading")
    wanted = (
        select(series)
        .where(series.c.pond_id == pond, series.c.parameter == parameter)
        .where(series.c.import_file_id == file)
    )
    put, count = _put_value(writing.connection), 0
    for rows in there.execute(wanted).mappings().partitions(5000):
        writing.connection.execute(put, [dict(row) for row in rows])
        count += len(rows)
    writing.touch("logger_reading")
    return count


def _bring_air(writing: Writing, there: Connection, joined: Joined) -> None:
    """Of two of one day that with more values stands; of as many, whose file came first."""
    days = table("air_day")
    made = (sqlite if writing.connection.dialect.name == "sqlite" else postgresql).insert(days)
    new = made.excluded
    put = made.on_conflict_do_update(
        index_elements=[days.c.station_id, days.c.day],
        set_={name: new[name] for name in ("n", "mean_c", "low_c", "high_c", "import_file_id")},
        where=(new.n > days.c.n)
        | ((new.n == days.c.n) & (new.import_file_id < days.c.import_file_id)),
    )
    for part in _parts(joined.added.get("import_file", [])):
        wanted = select(days).where(days.c.import_file_id.in_(part))
        for rows in there.execute(wanted).mappings().partitions(5000):
            writing.connection.execute(put, [dict(row) for row in rows])
            writing.touch("air_day")


def _put_value(here: Connection) -> Insert:
    """Of two values of one instant the one whose file was read in first stands, as in one book."""
    series = table("logger_reading")
    made = (sqlite if here.dialect.name == "sqlite" else postgresql).insert(series)
    put: Insert = made.on_conflict_do_update(
        index_elements=[series.c.pond_id, series.c.parameter, series.c.at],
        set_={"value": made.excluded.value, "import_file_id": made.excluded.import_file_id},
        where=made.excluded.import_file_id < series.c.import_file_id,
    )
    return put


def _parts(listed: Sequence[Any]) -> Iterable[Any]:
    for at in range(0, len(listed), AT_ONCE):
        yield listed[at : at + AT_ONCE]
