"""What was promised by hand and what became of its days, as they stand in the book."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.book import Book
from store.book.rows import Kept, columns_of, made_of
from store.book.tables import table
from store.diary.desk.due import Origin
from store.errors import NotFound

DayState = Literal["open", "kept", "dropped"]


@dataclass(frozen=True, slots=True)
class FollowUp(Kept):
    """Something promised by hand, once or by a rule.

    `first_on` is its first day, `repeats` an RFC 5545 rule, empty where it is promised once. The
    window of a day runs from `early_days` before to `late_days` after it [d].
    """

    client_id: UUID
    site_id: UUID | None
    pond_id: UUID | None
    kind: str
    says: str
    origin: Origin
    rule: str
    course_id: UUID | None
    examination_id: UUID | None
    call_note_id: UUID | None
    promised_by: UUID
    promised_on: date
    first_on: date
    early_days: int
    late_days: int
    repeats: str
    state: Literal["open", "ended"]
    ended_on: date | None
    ended_why: str
    note: str

    def window(self, day: date) -> tuple[date, date]:
        """First and last day on which a day of it is kept in time.

        Parameters
        ----------
        day
            The day that was promised, as the rule gives it or as it was moved.
        """
        return day - timedelta(days=self.early_days), day + timedelta(days=self.late_days)


@dataclass(frozen=True, slots=True)
class FollowUpDay(Kept):
    """What became of one day of a promise; `due_on` is its place in the rule for good."""

    follow_up_id: UUID
    due_on: date
    moved_to: date | None
    state: DayState
    kept_on: date | None
    visit_id: UUID | None
    why: str

    @property
    def stands_on(self) -> date:
        """The day on which it is to be kept: where it was moved to, else that of the rule."""
        return self.due_on if self.moved_to is None else self.moved_to


@contextmanager
def reading_from(source: Book | Connection) -> Iterator[Connection]:
    """A connection to read from, that of an action where one is under way.

    Parameters
    ----------
    source
        The book, or the connection of a `Writing`, which sees what it has written itself.

    Yields
    ------
    Connection
        For SQLAlchemy Core statements.
    """
    if isinstance(source, Book):
        with source.reading() as connection:
            yield connection
    else:
        yield source


def follow_up(source: Book | Connection, key: UUID) -> FollowUp:
    """One follow-up, struck through or ended or not.

    Parameters
    ----------
    source
        The book, or the connection of an action.
    key
        Of the follow-up.

    Raises
    ------
    NotFound
        There is no such follow-up.
    """
    query = select(*columns_of(FollowUp, "follow_up")).where(table("follow_up").c.id == key)
    with reading_from(source) as connection:
        row = connection.execute(query).one_or_none()
    if row is None:
        raise NotFound("There is no such follow-up in the book.")
    return made_of(FollowUp, row)


def days_of_follow_up(
    source: Book | Connection, key: UUID, *, struck: bool = False
) -> tuple[FollowUpDay, ...]:
    """What became of the days of a follow-up, by their place in the rule.

    Parameters
    ----------
    source
        The book, or the connection of an action.
    key
        Of the follow-up.
    struck
        Also what was taken back.

    Returns
    -------
    tuple of FollowUpDay
        A day without a row is open and stands where the rule puts it.
    """
    columns = table("follow_up_day").c
    query = select(*columns_of(FollowUpDay, "follow_up_day")).where(columns.follow_up_id == key)
    if not struck:
        query = query.where(columns.struck_at.is_(None))
    with reading_from(source) as connection:
        rows = connection.execute(query.order_by(columns.due_on, columns.id)).all()
    return tuple(made_of(FollowUpDay, row) for row in rows)
