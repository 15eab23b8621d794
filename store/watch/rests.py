"""Concerns put to rest until a day, with the reason."""

from __future__ import annotations

from datetime import date
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.act import Act
from store.book.book import Book
from store.book.columns import milliseconds
from store.book.tables import table
from store.errors import BadInput, NotFound
from store.watch.concern import Concern
from store.watch.judge import Rest


def read_rests(
    connection: Connection, today: date, pond: UUID | None = None
) -> dict[UUID, dict[str, Rest]]:
    """What is at rest today, by pond and rule; the newest say on a rule holds.

    Parameters
    ----------
    connection
        A reading connection of the book.
    today
        The practice's calendar day.
    pond
        The one pond that is wanted; None for all.

    Returns
    -------
    dict
        Pond to rule to rest.
    """
    rests, staff = table("rest"), table("staff")
    query = (
        select(rests, staff.c.name.label("staff_name"))
        .join(staff, staff.c.id == rests.c.created_by)
        .where(rests.c.struck_at.is_(None), rests.c.until_day > today)
        .order_by(rests.c.created_at, rests.c.id)
    )
    if pond is not None:
        query = query.where(rests.c.pond_id == pond)
    found: dict[UUID, dict[str, Rest]] = {}
    for row in connection.execute(query):
        found.setdefault(row.pond_id, {})[row.rule] = Rest(
            row.rule,
            row.until_day,
            row.reason,
            row.staff_name,
            row.level,
            row.value,
            milliseconds(row.created_at),
        )
    return found


def put_to_rest(
    book: Book, act: Act, pond: UUID, concern: Concern, until: date, reason: str
) -> None:
    """Put a concern to rest until a day; it returns then, or earlier when it gets worse.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who, and when.
    pond
        Key of the pond.
    concern
        The concern as the person saw it.
    until
        The first day on which it speaks again.
    reason
        Why it may rest; never empty.

    Raises
    ------
    BadInput
        A day that is not ahead, or no reason. Nothing was saved.
    NotAllowed
        The person is no vet, and the rule none of `store.book.allowed.OFFICE_RULES`.
    """
    today = book.today(act.at)
    if until <= today:
        raise BadInput("The day must lie ahead: the concern speaks again on it.", field="until")
    if not reason.strip():
        raise BadInput("Please say why it may rest. Nothing was saved.", field="reason")
    with book.writing(act) as writing:
        writing.add(
            "rest",
            pond_id=pond,
            rule=concern.rule,
            until_day=until,
            reason=reason,
            level=concern.level,
            value=concern.severity,
        )


def wake(book: Book, act: Act, pond: UUID, rule: str, why: str) -> None:
    """Let a concern at rest speak again at once.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who, and when.
    pond
        Key of the pond.
    rule
        Code of the rule.
    why
        The reason; never empty.

    Raises
    ------
    NotFound
        Nothing of that rule is at rest there.
    """
    rests = table("rest")
    with book.writing(act) as writing:
        query = select(rests.c.id).where(
            rests.c.pond_id == pond, rests.c.rule == rule, rests.c.struck_at.is_(None)
        )
        keys = writing.connection.execute(query).scalars().all()
        if not keys:
            raise NotFound("That concern is not at rest at this pond; nothing was changed.")
        for key in keys:
            writing.strike("rest", key, why)
