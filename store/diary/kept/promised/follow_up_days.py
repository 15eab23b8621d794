"""What becomes of the days of a follow-up: kept, dropped, moved, taken back.

A day keeps its place in the rule whatever becomes of it. A follow-up whose every day was kept or
dropped ends by itself, and opens again when one of them is taken back.
"""

from __future__ import annotations

from datetime import date, timedelta
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.book import Book
from store.book.tables import table
from store.book.writing import Writing
from store.diary.desk.about import about_of
from store.diary.desk.open_of_rule import OpenOfRule
from store.diary.kept.promised.follow_up_values import (
    FollowUp,
    FollowUpDay,
    days_of_follow_up,
    follow_up,
    reading_from,
)
from store.diary.times.repeats import days_of, next_of
from store.errors import BadInput, NotAllowed, NotFound
from store.text import day_said

ENDED_BY_ITSELF = "Every day of it was kept or dropped."
"""Why a follow-up ended that nobody ended."""
MOST_AHEAD_DAYS = 3660
"""Ten years: what lies further ahead was mistyped [d]."""


def keep_day(
    writing: Writing,
    about: str,
    on: date,
    *,
    visit_id: UUID | None = None,
    why: str = "",
    and_before: bool = False,
) -> UUID:
    """Enter that a day of a follow-up was kept.

    Parameters
    ----------
    writing
        The action of the person.
    about
        The day by its name, as `str(About)` writes it.
    on
        The calendar day on which it was kept, today or earlier.
    visit_id
        The visit that kept it, where one did.
    why
        What is to be said of it.
    and_before
        Whether the missed days before it are dropped with it; `missed_before` names them, and a
        person is asked.

    Returns
    -------
    UUID
        Key of the day's row.

    Raises
    ------
    BadInput
        A day ahead, or before it was promised; a visit that was cancelled or is another client's.
    NotAllowed
        It was kept or dropped already, or the follow-up has ended or was struck through.
    NotFound
        There is no such follow-up, or its rule gives no such day.
    """
    one, day, row = _open_day(writing, about)
    today = writing.book.today(writing.act.at)
    if on > today:
        raise BadInput(
            f"{day_said(on)} lies ahead, so nothing can have been kept on it; nothing was changed.",
            field="on_day",
        )
    if on < one.promised_on:
        raise BadInput(
            f"It was promised on {day_said(one.promised_on)} and cannot have been kept on "
            f"{day_said(on)}; nothing was changed.",
            field="on_day",
        )
    if visit_id is not None:
        _check_visit(writing, one, visit_id)
    values: dict[str, Any] = {"state": "kept", "kept_on": on, "visit_id": visit_id}
    key = _write(writing, one, day, row, why, values)
    if and_before:
        _drop_before(writing, one, row, day, "kept")
    _end_when_done(writing, one)
    return key


def drop_day(writing: Writing, about: str, why: str, *, and_before: bool = False) -> UUID:
    """Enter that a day of a follow-up will not be kept, or was not, and why.

    Parameters
    ----------
    writing
        The action of the person.
    about
        The day by its name.
    why
        The reason; never empty.
    and_before
        Whether the missed days before it are dropped with it, for the same reason.

    Returns
    -------
    UUID
        Key of the day's row.

    Raises
    ------
    BadInput
        No reason.
    NotAllowed, NotFound
        As for `keep_day`.
    """
    if not why.strip():
        raise BadInput("Please say why it is dropped. Nothing was changed.", field="why")
    one, day, row = _open_day(writing, about)
    key = _write(writing, one, day, row, why, {"state": "dropped"})
    if and_before:
        _drop_before(writing, one, row, day, "dropped", why)
    _end_when_done(writing, one)
    return key


def move_day(writing: Writing, about: str, to: date, why: str) -> UUID:
    """Move one day of a follow-up; its place in the rule and the days after it stay.

    Parameters
    ----------
    writing
        The action of the person.
    about
        The day by its name.
    to
        The calendar day on which it is to be kept now, today or later.
    why
        The reason; never empty.

    Returns
    -------
    UUID
        Key of the day's row.

    Raises
    ------
    BadInput
        No reason; a day that lies behind or ten years ahead, or where it stands already.
    NotAllowed, NotFound
        As for `keep_day`.
    """
    if not why.strip():
        raise BadInput("Please say why it is moved. Nothing was changed.", field="why")
    one, day, row = _open_day(writing, about)
    today = writing.book.today(writing.act.at)
    if to < today:
        raise BadInput(
            f"{day_said(to)} lies behind; it can be moved to a day from today on. Nothing was "
            "changed.",
            field="to",
        )
    refuse_far(to, today, "to")
    if to == (day if row is None else row.stands_on):
        raise BadInput(f"It stands on {day_said(to)} already. Nothing was changed.", field="to")
    return _write(writing, one, day, row, why, {"moved_to": None if to == day else to})


def take_back_day(writing: Writing, about: str, why: str, stood_on: date | None = None) -> int:
    """Take back what was entered of a day by mistake; it is open again where it stood.

    Parameters
    ----------
    writing
        The action of the person.
    about
        The day by its name.
    why
        The reason; never empty.
    stood_on
        The calendar day to which it had been moved before; None where the rule puts it.

    Returns
    -------
    int
        The revision of the day's row afterwards; it stays readable, struck through where the day
        stands where the rule puts it.

    Raises
    ------
    BadInput
        No reason.
    NotAllowed
        The follow-up was ended with a reason or struck through.
    NotFound
        There is no such follow-up, or nothing was entered of that day.
    """
    one, day, row = _day_of(writing, about)
    if one.state == "ended" and not ended_by_itself(one):
        raise NotAllowed(
            f"This follow-up was ended: {_closed(one.ended_why)} Open it again first; nothing was "
            "changed."
        )
    if row is None:
        raise NotFound("Nothing was entered of that day, so nothing can be taken back.")
    if stood_on is None or stood_on == day:
        rev = writing.strike("follow_up_day", row.id, why, row.rev)
    else:
        stood = {"state": "open", "moved_to": stood_on, "kept_on": None, "visit_id": None}
        rev = writing.change_values("follow_up_day", row.id, row.rev, stood, why)
    if one.state == "ended":
        values = {"state": "open", "ended_on": None, "ended_why": ""}
        writing.change("follow_up", one.id, one.rev, why, **values)
    return rev


def missed_before(
    source: Book | Connection, about: str, today: date
) -> tuple[OpenOfRule, ...]:  # fmt: skip
    """The open days of a follow-up that came before one of its days and were not kept.

    Parameters
    ----------
    source
        The book, or the connection of an action.
    about
        The day by its name.
    today
        The practice's calendar day.

    Returns
    -------
    tuple of OpenOfRule
        By the day on which they stand; empty where none was missed. Days ahead are not missed.

    Raises
    ------
    NotFound
        There is no such follow-up.
    """
    with reading_from(source) as connection:
        key, day = _hand(about)
        one = follow_up(connection, key)
        rows = {row.due_on: row for row in days_of_follow_up(connection, key)}
    stands = rows[day].stands_on if day in rows else day
    return _missed(one, rows, day, min(stands, today))


def ended_by_itself(one: FollowUp) -> bool:
    """Whether a follow-up ended since no day of it was left.

    Parameters
    ----------
    one
        The follow-up.
    """
    return one.state == "ended" and one.ended_why == ENDED_BY_ITSELF


def refuse_far(day: date, today: date, field: str) -> None:
    """Refuse a day that lies so far ahead that it was mistyped.

    Parameters
    ----------
    day
        The day that was asked for.
    today
        The practice's calendar day.
    field
        The name of the field in the error.

    Raises
    ------
    BadInput
        It lies more than `MOST_AHEAD_DAYS` ahead.
    """
    if day > today + timedelta(days=MOST_AHEAD_DAYS):
        raise BadInput(
            f"{day_said(day)} lies more than ten years ahead. Nothing was saved; please look at "
            "the year.",
            field=field,
        )


def _closed(reason: str) -> str:
    """A reason as people type it, with the stop at its end that a sentence has."""
    return reason if reason.endswith((".", "!", "?")) else f"{reason}."


def _hand(about: str) -> tuple[UUID, date]:
    named = about_of(about)
    if named.thing != "hand" or named.day is None:
        raise BadInput(
            "Only what was promised by hand is kept, dropped or moved here; nothing was changed.",
            field="about",
        )
    return named.key, named.day


def _day_of(writing: Writing, about: str) -> tuple[FollowUp, date, FollowUpDay | None]:
    """The follow-up, locked until the action ends, the day and its row; struck ones refused."""
    key, day = _hand(about)
    rows = table("follow_up")
    writing.connection.execute(select(rows.c.id).where(rows.c.id == key).with_for_update())
    one = follow_up(writing.connection, key)
    if one.struck_at is not None:
        raise NotAllowed("This follow-up is struck through; it was left as it is.")
    if day not in days_of(one.repeats, one.first_on, day, day):
        raise NotFound(f"This follow-up has no day on {day_said(day)}; nothing was changed.")
    found = [row for row in days_of_follow_up(writing.connection, key) if row.due_on == day]
    return one, day, found[-1] if found else None


def _open_day(writing: Writing, about: str) -> tuple[FollowUp, date, FollowUpDay | None]:
    one, day, row = _day_of(writing, about)
    if row is not None and row.state == "kept":
        on = "" if row.kept_on is None else f" on {day_said(row.kept_on)}"
        raise NotAllowed(f"This day was kept already{on}; it was left as it is.")
    if row is not None and row.state == "dropped":
        raise NotAllowed(f"This day was dropped: {_closed(row.why)} Take that back first; it was "
                         "left as it is.")  # fmt: skip
    if one.state == "ended":
        raise NotAllowed(f"This follow-up has ended: {_closed(one.ended_why)} Nothing was changed.")
    return one, day, row


def _write(
    writing: Writing,
    one: FollowUp,
    day: date,
    row: FollowUpDay | None,
    why: str,
    values: dict[str, Any],
) -> UUID:
    said = {"why": why} if why.strip() else {}
    if row is None:
        given = values | said
        return writing.add("follow_up_day", log_why=why, follow_up_id=one.id, due_on=day, **given)
    writing.change_values("follow_up_day", row.id, row.rev, values | said, why)
    return row.id


def _missed(
    one: FollowUp, rows: dict[date, FollowUpDay], but: date, until: date
) -> tuple[OpenOfRule, ...]:
    """The open days that stand before or on a day, one left out."""
    moved = [row.due_on for row in rows.values() if row.state == "open"]
    days = {*days_of(one.repeats, one.first_on, one.first_on, until), *moved} - {but}
    closed = {row.due_on for row in rows.values() if row.state != "open"}
    standing = ((rows[day].stands_on if day in rows else day, day) for day in days - closed)
    return tuple(OpenOfRule(day, due) for due, day in sorted(standing) if due <= until)


def _drop_before(
    writing: Writing,
    one: FollowUp,
    row: FollowUpDay | None,
    day: date,
    became: str,
    reason: str = "",
) -> None:
    stands = day if row is None else row.stands_on
    rows = {each.due_on: each for each in days_of_follow_up(writing.connection, one.id)}
    until = min(stands, writing.book.today(writing.act.at))
    for missed in _missed(one, rows, day, until):
        why = f"Not kept; dropped when the day of {day_said(day)} was {became}. {reason}".strip()
        before = rows.get(missed.rule_day)
        _write(writing, one, missed.rule_day, before, why, {"state": "dropped"})


def _end_when_done(writing: Writing, one: FollowUp) -> None:
    """End a follow-up of which no day is left; one whose rule has no end goes on."""
    rows = days_of_follow_up(writing.connection, one.id)
    closed = {row.due_on for row in rows if row.state != "open"}
    last = max(closed)
    if next_of(one.repeats, one.first_on, last) is not None:
        return
    if set(days_of(one.repeats, one.first_on, one.first_on, last)) - closed:
        return
    values: dict[str, Any] = {
        "state": "ended",
        "ended_on": writing.book.today(writing.act.at),
        "ended_why": ENDED_BY_ITSELF,
    }
    writing.change("follow_up", one.id, one.rev, ENDED_BY_ITSELF, **values)


def _check_visit(writing: Writing, one: FollowUp, visit_id: UUID) -> None:
    visits, sites = table("visit"), table("site")
    query = (
        select(visits.c.state, sites.c.client_id)
        .join(sites, sites.c.id == visits.c.site_id)
        .where(visits.c.id == visit_id, visits.c.struck_at.is_(None))
    )
    found = writing.connection.execute(query).one_or_none()
    if found is None or found.client_id != one.client_id:
        raise BadInput("That visit is not of this client. Nothing was saved.", field="visit_id")
    if found.state == "cancelled":
        raise BadInput("That visit was cancelled. Nothing was saved.", field="visit_id")
