"""Visits to a pond or a whole site: planned, done, cancelled.

A visit is never rewritten into another: the day may be moved while it is planned, and closing it
says whether it took place.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time
from typing import Literal
from uuid import UUID

from sqlalchemy import and_, or_, select

from store.book.book import Book
from store.book.rows import Kept, read_all
from store.book.tables import table
from store.book.writing import Writing
from store.errors import BadInput, NotAllowed, NotFound

VisitState = Literal["planned", "done", "cancelled"]


@dataclass(frozen=True, slots=True)
class Visit(Kept):
    """A call at a pond, or at every pond of a site where `pond_id` is None."""

    site_id: UUID
    pond_id: UUID | None
    on_day: date
    at_time: time | None
    staff_id: UUID | None
    kind: str
    state: VisitState
    note: str


def plan_visit(
    writing: Writing,
    pond_id: UUID,
    on_day: date,
    *,
    at_time: time | None = None,
    staff_id: UUID | None = None,
    kind: str = "",
    note: str = "",
) -> UUID:
    """Plan a visit to a pond.

    Parameters
    ----------
    writing
        The action it belongs to.
    pond_id
        Key of the pond.
    on_day
        The calendar day, today or later.
    at_time
        The local time of day, where one was agreed.
    staff_id
        Who goes; None while nobody is chosen.
    kind
        What for, in a word or two.
    note
        In words.

    Returns
    -------
    UUID
        Key of the visit.

    Raises
    ------
    BadInput
        A day that lies behind.
    NotFound
        No such pond, or it was struck through.
    """
    if on_day < writing.book.today(writing.act.at):
        raise BadInput(
            f"{on_day} lies behind, so no visit can be planned for it; nothing was saved.",
            field="on_day",
        )
    ponds = table("pond")
    query = select(ponds.c.site_id).where(ponds.c.id == pond_id, ponds.c.struck_at.is_(None))
    site_id = writing.connection.execute(query).scalar()
    if site_id is None:
        raise NotFound("There is no such pond in the book, or it was struck through.")
    return writing.add(
        "visit",
        site_id=site_id,
        pond_id=pond_id,
        on_day=on_day,
        at_time=at_time,
        staff_id=staff_id,
        kind=kind,
        note=note,
    )


def close_visit(
    writing: Writing,
    key: UUID,
    rev: int,
    state: Literal["done", "cancelled"],
    *,
    on_day: date | None = None,
    note: str = "",
    why: str = "",
) -> int:
    """Enter that a planned visit took place, or that it was cancelled.

    Parameters
    ----------
    writing
        The action it belongs to.
    key, rev
        The visit, as the person saw it.
    state
        `done` or `cancelled`.
    on_day
        The day on which it took place, when it was another than planned; never a day ahead.
    note
        What was found; added to the note there is.
    why
        The reason; a cancelled visit needs one.

    Returns
    -------
    int
        The visit's revision afterwards.

    Raises
    ------
    NotAllowed
        It is closed already.
    BadInput
        Cancelled without a reason, or done on a day that lies ahead.
    ChangedMeanwhile, NotFound
        As for `Writing.change`.
    """
    visits = table("visit")
    query = select(visits.c.state, visits.c.on_day, visits.c.note).where(visits.c.id == key)
    found = writing.connection.execute(query).one_or_none()
    if found is None:
        raise NotFound("There is no such visit in the book; nothing was changed.")
    if found.state != "planned":
        raise NotAllowed(f"This visit is {found.state} already; it was left as it is.")
    values: dict[str, object] = {"state": state}
    if state == "cancelled":
        if not why.strip():
            raise BadInput("Please say why it is cancelled. Nothing was changed.", field="why")
    else:
        day = on_day or found.on_day
        if day > writing.book.today(writing.act.at):
            raise BadInput(
                f"{day} lies ahead, so the visit cannot be done yet; nothing was changed.",
                field="on_day",
            )
        values["on_day"] = day
    if note.strip():
        values["note"] = f"{found.note}\n{note}".strip()
    return writing.change("visit", key, rev, why, **values)


def visits_of(book: Book, pond_id: UUID) -> tuple[Visit, ...]:
    """The visits to a pond and to its whole site, newest first; those struck through are left out.

    Parameters
    ----------
    book
        The book.
    pond_id
        Key of the pond.

    Returns
    -------
    tuple of Visit
        By day, then by being entered.
    """
    columns, ponds = table("visit").c, table("pond")
    site = select(ponds.c.site_id).where(ponds.c.id == pond_id).scalar_subquery()
    here = or_(columns.pond_id == pond_id, and_(columns.pond_id.is_(None), columns.site_id == site))
    order = (columns.on_day.desc(), columns.created_at.desc())
    return read_all(book, Visit, "visit", here, order_by=order)
