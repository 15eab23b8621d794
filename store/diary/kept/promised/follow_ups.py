"""Follow-ups that were promised by hand: made, read, ended with a reason. Nothing of one is lost.

A follow-up is never rewritten into another: what was promised wrongly is ended with its reason, or
struck through where it never was, and promised anew. What becomes of its days is written by
`keep_day`, `drop_day` and `move_day`, which stand here too.
"""

from __future__ import annotations

from datetime import date
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.desk_tables import MOST_WINDOW_DAYS
from store.book.rows import read_all
from store.book.tables import TableName, table
from store.book.writing import Writing
from store.diary.desk.due import Origin
from store.diary.kept.promised.follow_up_days import (
    drop_day,
    ended_by_itself,
    keep_day,
    missed_before,
    move_day,
    refuse_far,
    take_back_day,
)
from store.diary.kept.promised.follow_up_values import (
    FollowUp,
    FollowUpDay,
    days_of_follow_up,
    follow_up,
)
from store.diary.times.repeats import repeat_of
from store.errors import BadInput, NotAllowed, NotFound
from store.facts.follow_ups import BY_HAND, FollowUpKind, follow_up_kinds
from store.text import day_said

__all__ = [
    "FollowUp", "FollowUpDay", "days_of_follow_up", "drop_day", "end_follow_up", "follow_up",
    "follow_ups_of", "keep_day", "missed_before", "move_day", "promise", "resume_follow_up",
    "strike_follow_up", "take_back_day",
]  # fmt: skip


def promise(
    writing: Writing,
    *,
    client_id: UUID,
    kind: str,
    says: str,
    first_on: date,
    site_id: UUID | None = None,
    pond_id: UUID | None = None,
    early_days: int | None = None,
    late_days: int | None = None,
    repeats: str = "",
    promised_by: UUID | None = None,
    origin: Origin = "by hand",
    rule: str = "",
    course_id: UUID | None = None,
    examination_id: UUID | None = None,
    call_note_id: UUID | None = None,
    note: str = "",
) -> UUID:
    """Promise something to a client, for a site or a pond, once or again and again.

    Parameters
    ----------
    writing
        The action of the person.
    client_id, site_id, pond_id
        To whom, and for which place; the site of a pond is found by itself.
    kind
        A code of `store.facts.follow_ups`; by hand one of `BY_HAND`.
    says
        What was promised, in a few words.
    first_on
        The first day, today or later.
    early_days, late_days
        How far from its day it may be kept [d], 0 to 366; None takes those of the kind.
    repeats
        An RFC 5545 rule without its prefix; empty is once. The first day counts in any case.
    promised_by
        Who promised it; None is the person who writes.
    origin, rule, course_id, examination_id, call_note_id
        Where it comes from: the name of an alert rule and the keys of the rows.
    note
        In words.

    Returns
    -------
    UUID
        Key of the follow-up.

    Raises
    ------
    BadInput
        Nothing promised, an unknown kind, a day that lies behind or ten years ahead, a window out
        of bounds, a rule that is none, a site or pond of another client; at its field.
    NotFound
        Client, site, pond or person is not in the book, or was struck through.
    """
    today = writing.book.today(writing.act.at)
    known = _kind(kind, origin)
    site_id = _place(writing, client_id, site_id, pond_id)
    if not says.strip():
        raise BadInput("Please say what was promised. Nothing was saved.", field="says")
    if first_on < today:
        raise BadInput(
            f"{day_said(first_on)} lies behind; only a day from today on can be promised. Nothing "
            "was saved.",
            field="first_on",
        )
    refuse_far(first_on, today, "first_on")
    if promised_by is not None:
        _standing(writing, "staff", promised_by, "person")
    rows: tuple[tuple[TableName, UUID | None, str], ...] = (
        ("course", course_id, "course"),
        ("examination", examination_id, "examination"),
        ("call_note", call_note_id, "call"),
    )
    for name, key, said in rows:
        if key is not None:
            _standing(writing, name, key, said)
    return writing.add(
        "follow_up",
        client_id=client_id,
        site_id=site_id,
        pond_id=pond_id,
        kind=kind,
        says=says,
        origin=origin,
        rule=rule,
        course_id=course_id,
        examination_id=examination_id,
        call_note_id=call_note_id,
        promised_by=promised_by or writing.act.by,
        promised_on=today,
        first_on=first_on,
        early_days=_window(early_days, known.early_days, "early_days"),
        late_days=_window(late_days, known.late_days, "late_days"),
        repeats=repeat_of(repeats, first_on).rule if repeats.strip() else "",
        note=note,
    )


def follow_ups_of(book: Book, client_id: UUID, *, ended: bool = False) -> tuple[FollowUp, ...]:
    """What was promised to a client and is open, by its first day.

    Parameters
    ----------
    book
        The book.
    client_id
        Key of the client.
    ended
        Also what has ended; those struck through are left out in any case.

    Returns
    -------
    tuple of FollowUp
        Also for a site or pond that was struck through: nothing of it falls due, and it speaks
        again when the place is restored.
    """
    columns = table("follow_up").c
    conditions = [columns.client_id == client_id]
    if not ended:
        conditions.append(columns.state == "open")
    return read_all(
        book, FollowUp, "follow_up", *conditions, order_by=(columns.first_on, columns.created_at)
    )


def end_follow_up(writing: Writing, key: UUID, rev: int, why: str) -> int:
    """End a follow-up: none of its days falls due any more, and all that was written stays.

    Parameters
    ----------
    writing
        The action of the person.
    key, rev
        The follow-up, as the person saw it.
    why
        The reason; never empty.

    Returns
    -------
    int
        The revision afterwards.

    Raises
    ------
    BadInput
        No reason.
    NotAllowed
        It has ended already.
    NotFound, ChangedMeanwhile
        As for `Writing.change`.
    """
    if not why.strip():
        raise BadInput("Please say why it ends. Nothing was changed.", field="why")
    one = follow_up(writing.connection, key)
    if one.state == "ended":
        raise NotAllowed(f"This follow-up has ended already{_ended_on(one)}; it was left as it is.")
    today = writing.book.today(writing.act.at)
    values = {"state": "ended", "ended_on": today, "ended_why": why}
    return writing.change("follow_up", key, rev, why, **values)


def resume_follow_up(writing: Writing, key: UUID, rev: int, why: str) -> int:
    """Open a follow-up again that was ended by mistake.

    Parameters
    ----------
    writing
        The action of the person.
    key, rev
        The follow-up, as the person saw it.
    why
        The reason; never empty.

    Returns
    -------
    int
        The revision afterwards.

    Raises
    ------
    BadInput
        No reason.
    NotAllowed
        It has not ended, or it ended since every day of it was kept or dropped.
    NotFound, ChangedMeanwhile
        As for `Writing.change`.
    """
    if not why.strip():
        raise BadInput("Please say why it goes on. Nothing was changed.", field="why")
    one = follow_up(writing.connection, key)
    if one.state != "ended":
        raise NotAllowed("This follow-up has not ended; it was left as it is.")
    if ended_by_itself(one):
        raise NotAllowed(
            "Every day of this follow-up was kept or dropped. Take one of them back, or promise "
            "anew; nothing was changed."
        )
    values = {"state": "open", "ended_on": None, "ended_why": ""}
    return writing.change("follow_up", key, rev, why, **values)


def strike_follow_up(writing: Writing, key: UUID, rev: int, why: str) -> int:
    """Take back a follow-up that was entered by mistake; it stays readable.

    Parameters
    ----------
    writing
        The action of the person.
    key, rev
        The follow-up, as the person saw it.
    why
        The reason; never empty.

    Returns
    -------
    int
        The revision afterwards.
    """
    return writing.strike("follow_up", key, why, rev)


def _kind(kind: str, origin: Origin) -> FollowUpKind:
    known = follow_up_kinds().get(kind)
    if known is None or (origin == "by hand" and kind not in BY_HAND):
        labels = ", ".join(follow_up_kinds()[code].label for code in BY_HAND)
        raise BadInput(
            f"“{kind:.40}” cannot be promised. There are: {labels}. Nothing was saved.",
            field="kind",
        )
    return known


def _window(given: int | None, usual: int, field: str) -> int:
    if given is None:
        return usual
    if isinstance(given, bool) or not 0 <= given <= MOST_WINDOW_DAYS:
        raise BadInput(
            f"The window takes 0 to {MOST_WINDOW_DAYS} days on either side of the day. Nothing was "
            "saved.",
            field=field,
        )
    return given


def _ended_on(one: FollowUp) -> str:
    return "" if one.ended_on is None else f" on {day_said(one.ended_on)}"


def _standing(writing: Writing, name: TableName, key: UUID, said: str) -> None:
    columns = table(name).c
    query = select(columns.id).where(columns.id == key, columns.struck_at.is_(None))
    if writing.connection.execute(query).first() is None:
        raise NotFound(
            f"There is no such {said} in the book, or it was struck through; nothing was saved."
        )


def _place(
    writing: Writing, client_id: UUID, site_id: UUID | None, pond_id: UUID | None
) -> UUID | None:
    """The site it is for, after looking whether client, site and pond belong together."""
    _standing(writing, "client", client_id, "client")
    if pond_id is not None:
        _standing(writing, "pond", pond_id, "pond")
        ponds = table("pond").c
        query = select(ponds.site_id).where(ponds.id == pond_id)
        of_pond: UUID = writing.connection.execute(query).scalar_one()
        if site_id is not None and site_id != of_pond:
            raise BadInput("That pond is not of this site. Nothing was saved.", field="pond_id")
        site_id = of_pond
    if site_id is not None:
        _standing(writing, "site", site_id, "site")
        sites = table("site").c
        query = select(sites.client_id).where(sites.id == site_id)
        if writing.connection.execute(query).scalar_one() != client_id:
            what, field = ("site", "site_id") if pond_id is None else ("pond", "pond_id")
            raise BadInput(f"That {what} is not of this client. Nothing was saved.", field=field)
    return site_id
