"""Rows that came back to a client, site or pond that is struck through by now.

Where two became one meanwhile, what came back moves on to the one that stayed, each row with its
line in the log. Where it was struck through for another reason nobody guesses: it is told.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, select, update

from store.book.copies.joining import Joined
from store.book.merging import merge_clients, merge_ponds, merge_sites
from store.book.merging.repointing import rename, repoint
from store.book.some_rows import rows_of
from store.book.tables import TableName, table
from store.book.writing import Writing

PLACES: tuple[TableName, ...] = ("client", "site", "pond")
_POINTING: Mapping[str, Sequence[tuple[TableName, str]]] = {
    "client": merge_clients.POINTING,
    "site": merge_sites.POINTING,
    "pond": merge_ponds.POINTING,
}
_NAMED_AS = {"client": ("ring",), "pond": ("finding", "concern", "test"), "site": ()}
_NAMING: tuple[tuple[TableName, str], ...] = (
    ("contact_attempt", "about"), ("visit_purpose", "about"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class MovedOn:
    """Rows that moved from a place that was emptied meanwhile to the one that stayed.

    `stayed_behind` counts what cannot move: values of a logger at an instant that the other has one
    of, limits of a pond's own.
    """

    place: TableName
    emptied: UUID
    kept: UUID
    moved: Mapping[TableName, int]
    stayed_behind: int


@dataclass(frozen=True, slots=True)
class OnStruck:
    """Rows that came back to a place that is struck through, and stay there."""

    place: TableName
    key: UUID
    rows: Mapping[TableName, int]


def on_struck(writing: Writing, joined: Joined) -> tuple[tuple[MovedOn, ...], tuple[OnStruck, ...]]:
    """Move on what can move, and tell what hangs on struck places.

    Parameters
    ----------
    writing
        The action that brought the rows in; moving them is logged as done by its person.
    joined
        What came in.

    Returns
    -------
    tuple
        What moved, and what stays where it is.
    """
    moved, stays = [], []
    for place in PLACES:  # a client first: what moves with it may bring sites of one name together
        for key, rows in _hanging(writing.connection, place, joined).items():
            kept = merged_into(writing.connection, place, key)
            if kept is None:
                stays.append(OnStruck(place, key, rows))
            else:
                moved.append(_move(writing, place, key, kept, rows))
    return tuple(moved), tuple(stays)


def _hanging(
    connection: Connection, place: TableName, joined: Joined
) -> dict[UUID, Counter[TableName]]:
    """What came in and points at a struck place, counted by table."""
    found: dict[UUID, Counter[TableName]] = {}
    wholes = table(place).c
    struck = select(wholes.id).where(wholes.struck_at.is_not(None))
    for name, keys in joined.added.items():
        one = table(name)
        for column in one.columns:
            if any(key.column.table.name == place for key in column.foreign_keys):
                query = select(column).where(column.in_(struck), one.c.struck_at.is_(None))
                for (at,) in rows_of(connection, query, one.c.id, keys):
                    found.setdefault(at, Counter())[name] += 1
    if place == "pond":
        for pond, _parameter in joined.series:
            query = select(wholes.id).where(wholes.id == pond, wholes.struck_at.is_not(None))
            if connection.execute(query).first() is not None:
                found.setdefault(pond, Counter())["logger_reading"] += 1
    return found


def merged_into(connection: Connection, place: TableName, emptied: UUID) -> UUID | None:
    """The place that one was merged into, and on to where that was merged; None for neither.

    Parameters
    ----------
    connection
        On the book.
    place
        `client`, `site` or `pond`.
    emptied
        Key of one that is struck through.

    Returns
    -------
    UUID or None
        A merging writes lines on both in one action: it strikes the one through, and says on the
        other which it was the same as.
    """
    passed = {emptied}
    at = emptied
    while (kept := _once(connection, place, at)) is not None:
        if kept in passed:
            return None
        passed.add(kept)
        at = kept
        wholes = table(place).c
        struck = connection.execute(select(wholes.struck_at).where(wholes.id == at)).scalar()
        if struck is None:
            return at
    return None


def _once(connection: Connection, place: TableName, emptied: UUID) -> UUID | None:
    change = table("change").c
    strikes = select(change.at, change.by, change.why).where(
        change.row_id == emptied, change.what == "strike"
    )
    newest = connection.execute(strikes.order_by(change.at.desc(), change.id.desc())).first()
    if newest is None or not newest.why.startswith(f"the same {place} as "):
        return None
    wholes = table(place).c
    name = connection.execute(select(wholes.name).where(wholes.id == emptied)).scalar() or ""
    beside = select(change.row_id, change.why).where(
        change.at == newest.at, change.by == newest.by, change.table_name == place,
        change.what == "change", change.row_id != emptied,
    )  # fmt: skip
    said = f"the same {place} as {name:.200}: "
    found = {row for row, why in connection.execute(beside) if why.startswith(said)}
    if len(found) != 1:  # the name was changed since, or several were merged in one action
        found = {
            row
            for row, why in connection.execute(beside)
            if why.startswith(f"the same {place} as ") and _reason(why) == _reason(newest.why)
        }
    return found.pop() if len(found) == 1 else None


def _reason(why: str) -> str:
    return why.rpartition(": ")[2]


def _move(
    writing: Writing, place: TableName, emptied: UUID, kept: UUID, rows: Mapping[TableName, int]
) -> MovedOn:
    wholes = table(place).c
    called = writing.connection.execute(select(wholes.name).where(wholes.id == emptied)).scalar()
    why = f"it came back to {called or '':.200}, which was merged into this {place} meanwhile"
    moved: Counter[TableName] = Counter()
    for name, column in _POINTING[place]:
        moved[name] += repoint(writing, name, column, emptied, kept, why)
    for name, column in _NAMING:
        for thing in _NAMED_AS[place]:
            rename(writing, name, column, f"{thing}:{emptied.hex}", f"{thing}:{kept.hex}", why)
    behind = rows.get("rule_change", 0)
    if place == "pond" and "logger_reading" in rows:
        moved["logger_reading"], left = _move_series(writing, emptied, kept)
        behind += left
    return MovedOn(place, emptied, kept, +moved, behind)


def _move_series(writing: Writing, emptied: UUID, kept: UUID) -> tuple[int, int]:
    """Values of a logger move where the other pond has none of that instant; the rest stays."""
    series = table("logger_reading")
    other = series.alias()
    taken = select(other.c.at).where(
        other.c.pond_id == kept, other.c.parameter == series.c.parameter,
        other.c.at == series.c.at,
    )  # fmt: skip
    theirs: Any = series.c.pond_id == emptied
    moved = writing.connection.execute(
        update(series).where(theirs, ~taken.exists()).values(pond_id=kept)
    ).rowcount
    writing.touch("logger_reading")
    left = writing.connection.execute(select(series.c.at).where(theirs)).all()
    return int(moved), len(left)
