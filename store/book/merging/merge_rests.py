"""Concerns at rest, where two ponds become one: none is hushed by what was said of the other.

A person put a concern to rest at the sight of one pond's records. Once those of another stand among
them, the rest says more than was meant, so that the concern speaks again and is looked at anew.
"""

from __future__ import annotations

from typing import Any
from uuid import UUID

from sqlalchemy import select

from store.book.tables import TableName, table
from store.book.writing import Writing

_SPEAKING: tuple[TableName, ...] = (
    "water_test", "examination", "lab_sample", "death_count", "head_count", "pond_event", "course",
)  # fmt: skip
"""Records of a pond from which a concern may come; beside them the days of loggers."""


def wake_rests(writing: Writing, kept: UUID, emptied: UUID, why: str) -> list[str]:
    """Let concerns speak again that only one of two ponds has at rest, before anything moves.

    A rest stays in force where the other pond has the same rule at rest as well, or has no record
    from which the concern could come.

    Parameters
    ----------
    writing
        The action.
    kept, emptied
        Keys of the two ponds.
    why
        For the log.

    Returns
    -------
    list of str
        A sentence where something speaks again.
    """
    resting = {pond: _in_force(writing, pond) for pond in (kept, emptied)}
    woken = [
        rest
        for pond, other in ((kept, emptied), (emptied, kept))
        if _may_speak(writing, other)
        for rest in resting[pond]
        if rest.rule not in {one.rule for one in resting[other]}
    ]
    for rest in woken:
        said = f"another pond's records stand beside those it was given for: {why}"
        writing.strike("rest", rest.id, said[:2000], rest.rev)
    if not woken:
        return []
    rules = sorted({rest.rule.replace("_", " ") for rest in woken})
    return [
        f"What was at rest at one of the two speaks again ({', '.join(rules)}): it was put to rest "
        "by the records of one."
    ]


def _in_force(writing: Writing, pond: UUID) -> list[Any]:
    rests = table("rest").c
    query = select(rests.id, rests.rule, rests.rev).where(
        rests.pond_id == pond,
        rests.struck_at.is_(None),
        rests.until_day > writing.book.today(writing.act.at),
    )
    return list(writing.connection.execute(query.order_by(rests.id)).all())


def _may_speak(writing: Writing, pond: UUID) -> bool:
    for name in _SPEAKING:
        of = table(name).c
        query = select(of.id).where(of.pond_id == pond, of.struck_at.is_(None)).limit(1)
        if writing.connection.execute(query).first() is not None:
            return True
    days = table("logger_day").c
    query = select(days.pond_id).where(days.pond_id == pond).limit(1)
    return writing.connection.execute(query).first() is not None
