"""Whether a file that came back is what its own log says, or was written past the application."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.copies.chain import READING, readings_hash
from store.book.copies.joining import Joined
from store.book.copies.lineage import stand
from store.book.copies.steps import steps_of
from store.book.copies.together import groups
from store.book.row_values import from_json
from store.book.some_rows import rows_of
from store.book.tables import TableName, table
from store.book.told.hanging import tables_in_order
from store.errors import BadInput

_Found = tuple[str, UUID]


def refuse_altered(
    here: Connection, there: Connection, joined: Joined, path: Path, *, every_row: bool
) -> None:
    """Refuse a file with records that are not what its log says.

    Parameters
    ----------
    here
        On the book, what is new being in it.
    there
        On the file.
    joined
        What came in.
    path
        The file, for the sentence.
    every_row
        Look also at rows of which nothing new came in: what was altered there without a line in
        the log would otherwise be passed over in silence.

    Raises
    ------
    BadInput
        Naming the first of them.
    """
    altered = dict.fromkeys([*_other_readings(here, joined), *_other_rows(there, joined)])
    if every_row:
        altered |= dict.fromkeys(_silently(here, there))
    if not altered:
        return
    name, key = next(iter(altered))
    raise BadInput(
        f"{path} was altered outside Pondround: {len(altered)} of its records "
        f"{'is' if len(altered) == 1 else 'are'} not what its own log says, the first of them a "
        f"{name.replace('_', ' ')} ({key}). Nothing was brought in. Keep the file, and bring in a "
        "copy of it from before, or enter the day by hand.",
        field="file",
        title="Altered outside",
    )


def _other_readings(here: Connection, joined: Joined) -> Iterator[_Found]:
    """Tests that came in with other readings than their line of the log was written with."""
    tests = joined.added.get("water_test", [])
    change, link = table("change").c, table("change_link").c
    found = _readings(here, tests)
    query = (
        select(change.row_id, link.readings)
        .join_from(table("change"), table("change_link"), link.change_id == change.id)
        .where(change.what == "add")
    )
    for test, said in rows_of(here, query, change.row_id, tests):
        if readings_hash(found.get(test, ())) != said:
            yield "water_test", test


def _readings(connection: Connection, tests: Any) -> dict[UUID, list[tuple[Any, ...]]]:
    readings = table("reading").c
    found: dict[UUID, list[tuple[Any, ...]]] = {}
    query = select(readings.test_id, *(readings[name] for name in READING))
    for test, *row in rows_of(connection, query, readings.test_id, tests):
        found.setdefault(test, []).append(tuple(row))
    return found


def _other_rows(there: Connection, joined: Joined) -> Iterator[_Found]:
    """Rows of the file that are not what the lines in the file say of them."""
    names: dict[TableName, set[UUID]] = {}
    for rows in (joined.added, joined.changed):
        for name, keys in rows.items():
            names.setdefault(name, set()).update(keys)
    for name, wanted in sorted(names.items()):
        target = table(name)
        steps = steps_of(there, sorted(wanted))
        found = set()
        for row in rows_of(there, select(target), target.c.id, wanted):
            found.add(row.id)
            now = stand(steps[row.id], groups(target))
            values = from_json(target, now.values) | {"rev": now.rev}
            if any(getattr(row, column) != value for column, value in values.items()):
                yield name, row.id
        yield from ((name, key) for key in sorted(wanted - found))


def _silently(here: Connection, there: Connection) -> Iterator[_Found]:
    """Rows with as many lines as in the book that say something else, and rows without any line."""
    for target in tables_in_order():
        if "rev" not in target.c:
            continue
        theirs = {row.id: row for row in there.execute(select(target))}
        ours = {row.id: row for row in rows_of(here, select(target), target.c.id, theirs)}
        for key, row in theirs.items():
            mine = ours.get(key)
            if mine is None or (mine.rev == row.rev and tuple(mine) != tuple(row)):
                yield target.name, key
        if target.name == "water_test":
            read, known = _readings(there, theirs), _readings(here, theirs)
            yield from (
                (target.name, key)
                for key in theirs
                if readings_hash(read.get(key, ())) != readings_hash(known.get(key, ()))
            )
