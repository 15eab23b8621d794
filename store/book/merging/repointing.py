"""Rows that point at one record made to point at another, each with its line in the log."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, TypeVar
from uuid import UUID

from sqlalchemy import select

from store.book.rows import Kept, columns_of, made_of
from store.book.tables import TableName, table
from store.book.writing import Writing
from store.errors import BadInput, NotAllowed

MOST_NOTES = 20_000
_Record = TypeVar("_Record", bound=Kept)


@dataclass(frozen=True, slots=True)
class Merged:
    """What a merging did.

    `moved` counts rows by table, those that are struck through among them; `filled` holds the
    fields of the kept record that were empty and are not now.
    """

    kept: UUID
    emptied: UUID
    moved: Mapping[TableName, int]
    filled: tuple[str, ...]
    told: tuple[str, ...]


def both_standing(
    writing: Writing, kind: type[_Record], name: TableName, revs: Mapping[UUID, int | None]
) -> dict[UUID, _Record]:
    """Two records, locked, in the order of their keys: two who merge at once never wait in a ring.

    Parameters
    ----------
    writing
        The action.
    kind
        Of record.
    name
        Its table; the record has a field `name`.
    revs
        By key the revision that the person saw; None takes the present one.

    Returns
    -------
    dict
        By key.

    Raises
    ------
    NotFound, ChangedMeanwhile
        As for `Writing.change`.
    NotAllowed
        One of them is struck through.
    """
    return {key: _standing(writing, kind, name, key, revs[key]) for key in sorted(revs)}


def _standing(
    writing: Writing, kind: type[_Record], name: TableName, key: UUID, rev: int | None
) -> _Record:
    target = table(name)
    writing.locked(name, key, rev)
    query = select(*columns_of(kind, name)).where(target.c.id == key)
    found = made_of(kind, writing.connection.execute(query).one())
    if found.struck_at is not None:
        called = getattr(found, "name", "It")
        raise NotAllowed(
            f"{called} is struck through; nothing was changed. Restore it first.",
            title="Struck through",
        )
    return found


def asked_for(kept: UUID, emptied: UUID, why: str, what: str) -> str:
    """The reason for a merging, without blanks around it.

    Parameters
    ----------
    kept, emptied
        Keys of the two.
    why
        By what the person knows.
    what
        What is merged, such as `client`.

    Raises
    ------
    BadInput
        No reason, or one given twice.
    """
    reason = why.strip()
    if not reason:
        raise BadInput("Say by what the two are known to be one; nothing was changed.", field="why")
    if kept == emptied:
        raise BadInput(f"A {what} cannot be merged with itself; nothing was changed.")
    return reason


def repoint(writing: Writing, name: TableName, column: str, old: UUID, new: UUID, why: str) -> int:
    """Move the rows of one table, struck ones too: restored later, they belong where they moved.

    Parameters
    ----------
    writing
        The action.
    name, column
        The table, and its column that points.
    old, new
        Where it points, and where it is to point.
    why
        For the log.

    Returns
    -------
    int
        How many rows moved.
    """
    target = table(name)
    query = select(target.c.id, target.c.rev).where(target.c[column] == old)
    rows = writing.connection.execute(query.order_by(target.c.id).with_for_update()).all()
    for key, rev in rows:
        _set(writing, name, key, rev, column, old, new, why)
    return len(rows)


def rename(writing: Writing, name: TableName, column: str, was: str, now: str, why: str) -> None:
    """Rewrite texts that name a record by its key, alone or with more behind a colon.

    Parameters
    ----------
    writing
        The action.
    name, column
        The table, and its column of text.
    was, now
        How such a text begins, and how it is to begin.
    why
        For the log.
    """
    target = table(name)
    begins = target.c[column].startswith(f"{was}:", autoescape=True)
    query = select(target.c.id, target.c.rev, target.c[column]).where(
        (target.c[column] == was) | begins
    )
    for key, rev, text in writing.connection.execute(query.with_for_update()).all():
        _set(writing, name, key, rev, column, text, now + text[len(was) :], why)


def _set(
    writing: Writing, name: TableName, key: UUID, rev: int, column: str, old: Any, new: Any,
    why: str,
) -> None:  # fmt: skip
    """Change one column, also of a row that is struck through, with its line in the log.

    `Writing.change` refuses struck rows since a person cannot mean them; here their owner is meant.
    """
    writing.rewrite(name, key, rev, {column: old}, {column: new}, why)


def keep_filled(
    writing: Writing, name: TableName, key: UUID, rev: int, filled: Mapping[str, Any], why: str
) -> None:
    """Fill in what the kept record lacked; its history names the merging also where it lacked none.

    Parameters
    ----------
    writing
        The action.
    name, key, rev
        The table, the kept record and its revision.
    filled
        Its fields that get a value.
    why
        For the log.
    """
    if filled and writing.change_values(name, key, rev, filled, why) != rev:
        return
    writing.rewrite(name, key, rev, {}, {}, why)


def notes_of_both(into: str, out: str, also: Sequence[str]) -> str:
    """The notes of the kept record with those lines of the other that it lacks.

    Parameters
    ----------
    into, out
        The notes of the kept and of the emptied record.
    also
        What else is to stand there, joined into one line; empty for nothing.

    Returns
    -------
    str
        Empty where nothing is added.

    Raises
    ------
    BadInput
        They are too long together.
    """
    there = [line.strip() for line in into.splitlines()]
    more = [line for line in out.splitlines() if line.strip() not in there]
    if also:
        more.insert(0, "; ".join(also))
    if not any(line.strip() for line in more):
        return ""
    notes = "\n".join([into, *more]).strip()
    if len(notes) > MOST_NOTES:
        raise BadInput(
            f"The notes of the two are longer than {MOST_NOTES:,} characters together; "
            "nothing was changed. Shorten those of one of them.",
            field="notes",
        )
    return notes
