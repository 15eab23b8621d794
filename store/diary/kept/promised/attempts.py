"""Calls to clients: who was rung, what came of it, who is to be rung back. Only added to.

An attempt is never changed; a slip is struck through. A ring-back is open until somebody reached
the client afterwards, or until a newer ring-back to the same client takes its place.
"""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, time
from typing import Any
from uuid import UUID

from sqlalchemy import ColumnElement, Select, and_, func, not_, or_, select

from store.book.book import Book
from store.book.tables import table
from store.book.writing import Writing
from store.diary.desk.about import about_of
from store.diary.desk.due import OUTCOMES, Attempt, Outcome
from store.diary.times.clock import at_instant
from store.errors import BadInput, NotFound
from store.text import day_said


def log_attempt(
    writing: Writing,
    client_id: UUID,
    outcome: Outcome,
    *,
    pond_id: UUID | None = None,
    about: str = "",
    ring_on: date | None = None,
    ring_at: time | None = None,
    note: str = "",
) -> UUID:
    """Enter that a client was rung, and when to ring again.

    Parameters
    ----------
    writing
        The action of the person; its instant is that of the call.
    client_id, pond_id
        Who was rung, and for which pond.
    outcome
        What came of it; `ring back` needs a day.
    about
        The promise it was about, by its name; empty where it was none.
    ring_on, ring_at
        Local day and time of the next call, not behind; after `reached` none is kept.
    note
        In words.

    Returns
    -------
    UUID
        Key of the attempt.

    Raises
    ------
    BadInput
        An unknown outcome; a ring-back without a day, an hour without a day, a day or hour that
        lies behind, an hour that the change of the clocks leaves out; a pond of another client.
    NotFound
        No such client or pond, or it was struck through.
    """
    if outcome not in OUTCOMES:
        raise BadInput(f"A call ends with one of: {', '.join(OUTCOMES)}. Nothing was saved.",
                       field="outcome")  # fmt: skip
    _check_place(writing, client_id, pond_id)
    if about:
        about_of(about)
    _check_ring(writing, outcome, ring_on, ring_at)
    return writing.add(
        "contact_attempt",
        client_id=client_id,
        pond_id=pond_id,
        about=about,
        at=writing.act.at,
        outcome=outcome,
        ring_on=ring_on,
        ring_at=ring_at,
        note=note,
    )


def strike_attempt(writing: Writing, key: UUID, why: str) -> int:
    """Take back an attempt that was entered by mistake; it stays readable.

    Parameters
    ----------
    writing
        The action of the person.
    key
        Of the attempt.
    why
        The reason; never empty.

    Returns
    -------
    int
        The revision afterwards.
    """
    return writing.strike("contact_attempt", key, why)


def attempts_of(book: Book, client_id: UUID, limit: int = 20) -> tuple[Attempt, ...]:
    """The newest calls to a client, the last one first; those struck through are left out.

    Parameters
    ----------
    book
        The book.
    client_id
        Key of the client.
    limit
        How many at the most.

    Returns
    -------
    tuple of Attempt
        By the instant of the call.
    """
    columns = table("contact_attempt").c
    query = (
        _attempts()
        .where(columns.client_id == client_id)
        .order_by(columns.at.desc(), columns.id.desc())
        .limit(limit)
    )
    with book.reading() as connection:
        return tuple(_made(row) for row in connection.execute(query))


def last_attempts(book: Book) -> Mapping[UUID, tuple[int, Attempt]]:
    """By client the last call, and how many calls there were since the client was last reached.

    Parameters
    ----------
    book
        The book.

    Returns
    -------
    Mapping
        Every client who was ever rung; 0 where the last call reached the client.
    """
    calls = table("contact_attempt")
    newest = select(
        calls.c.id.label("id"),
        func.row_number()
        .over(partition_by=calls.c.client_id, order_by=(calls.c.at.desc(), calls.c.id.desc()))
        .label("place"),
    ).where(calls.c.struck_at.is_(None)).subquery()  # fmt: skip
    later = table("contact_attempt").alias("later")
    unanswered = (
        select(calls.c.client_id, func.count().label("calls"))
        .where(
            calls.c.struck_at.is_(None),
            calls.c.outcome != "reached",
            not_(_followed_by(calls.c, later, later.c.outcome == "reached")),
        )
        .group_by(calls.c.client_id)
    )
    query = _attempts().join(newest, and_(newest.c.id == calls.c.id, newest.c.place == 1))
    with book.reading() as connection:
        counts = {row.client_id: row.calls for row in connection.execute(unanswered)}
        last = [_made(row) for row in connection.execute(query)]
    return {one.client_id: (counts.get(one.client_id, 0), one) for one in last}


def ring_backs(book: Book, until: date) -> tuple[Attempt, ...]:
    """Whom to ring back up to a day, the earliest first; one at the most for each client.

    Parameters
    ----------
    book
        The book.
    until
        The last local day looked at; those that lie behind stay until they are answered.

    Returns
    -------
    tuple of Attempt
        The attempt that promised the call; one without an hour stands before those that have one.
        None of clients that were struck through.
    """
    calls, clients = table("contact_attempt"), table("client")
    later = calls.alias("later")
    answers = or_(later.c.outcome == "reached", later.c.ring_on.is_not(None))
    query = (
        _attempts()
        .join(clients, clients.c.id == calls.c.client_id)
        .where(
            calls.c.ring_on <= until,
            clients.c.struck_at.is_(None),
            not_(_followed_by(calls.c, later, answers)),
        )
    )
    with book.reading() as connection:
        found = [_made(row) for row in connection.execute(query)]
    found.sort(key=lambda one: (one.ring_on or until, one.ring_at or time.min, one.at, one.id))
    return tuple(found)


def _followed_by(columns: Any, later: Any, answers: ColumnElement[bool]) -> ColumnElement[bool]:
    """Whether a later call to the same client answers a call."""
    after = or_(
        later.c.at > columns.at,
        and_(later.c.at == columns.at, later.c.id > columns.id),
    )
    same = later.c.client_id == columns.client_id
    query = select(later.c.id).where(same, after, later.c.struck_at.is_(None), answers)
    return query.correlate(table("contact_attempt")).exists()


def _attempts() -> Select[Any]:
    calls, staff = table("contact_attempt"), table("staff")
    return (
        select(
            calls.c.id, calls.c.client_id, calls.c.pond_id, calls.c.about, calls.c.at,
            staff.c.initials, staff.c.name, calls.c.outcome, calls.c.ring_on, calls.c.ring_at,
            calls.c.note,
        )
        .join_from(calls, staff, staff.c.id == calls.c.created_by)
        .where(calls.c.struck_at.is_(None))
    )  # fmt: skip


def _made(row: Any) -> Attempt:
    return Attempt(
        row.id, row.client_id, row.pond_id, row.about, row.at, row.initials or row.name,
        row.outcome, row.ring_on, row.ring_at, row.note,
    )  # fmt: skip


def _check_place(writing: Writing, client_id: UUID, pond_id: UUID | None) -> None:
    clients, ponds, sites = table("client").c, table("pond").c, table("site").c
    query = select(clients.id).where(clients.id == client_id, clients.struck_at.is_(None))
    if writing.connection.execute(query).first() is None:
        raise NotFound("There is no such client in the book, or it was struck through; nothing was "
                       "saved.")  # fmt: skip
    if pond_id is None:
        return
    query = (
        select(sites.client_id)
        .join_from(table("pond"), table("site"), sites.id == ponds.site_id)
        .where(ponds.id == pond_id, ponds.struck_at.is_(None))
    )
    owner = writing.connection.execute(query).scalar()
    if owner is None:
        raise NotFound("There is no such pond in the book, or it was struck through; nothing was "
                       "saved.")  # fmt: skip
    if owner != client_id:
        raise BadInput("That pond is not of this client. Nothing was saved.", field="pond_id")


def _check_ring(
    writing: Writing, outcome: Outcome, ring_on: date | None, ring_at: time | None
) -> None:
    if ring_on is None:
        if outcome == "ring back":
            raise BadInput("Please say on which day to ring back. Nothing was saved.",
                           field="ring_on")  # fmt: skip
        if ring_at is not None:
            raise BadInput("An hour needs its day. Nothing was saved.", field="ring_on")
        return
    if outcome == "reached":
        raise BadInput(
            "After the client was reached no call is kept; where the client asked for one, enter "
            "it as ring back. Nothing was saved.",
            field="outcome",
        )
    now: datetime = writing.act.at
    if ring_on < writing.book.today(now):
        raise BadInput(
            f"{day_said(ring_on)} lies behind; please choose a day from today on. Nothing was "
            "saved.",
            field="ring_on",
        )
    if ring_at is None:
        return
    try:
        begins = at_instant(ring_on, ring_at, writing.book.zone)
    except BadInput as error:
        raise BadInput(error.message, field="ring_at") from error
    if begins < now:
        raise BadInput(f"{ring_at:%H:%M} today lies behind. Nothing was saved.", field="ring_at")
