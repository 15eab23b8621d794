"""Days off: of a person, or of the whole practice."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, time
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import select

from store.book.rows import Kept, columns_of, made_of
from store.book.tables import table
from store.book.writing import Writing
from store.diary.booking.free import Span, instant_of
from store.diary.booking.vet_day import Away
from store.diary.kept.roster.source import Source, reading
from store.diary.times.spell import MIDNIGHT
from store.errors import BadInput
from store.text import day_said


@dataclass(frozen=True, slots=True)
class DayOff(Kept):
    """Somebody is away from the first day to the last, or the practice rests without a `staff_id`.

    `from_time` is the hour of the first day at which it begins, `until_time` that of the last day
    at which it ends; None stands for the whole of that day. `uid` and `sequence` are those of a
    calendar file it came from.
    """

    staff_id: UUID | None
    first_day: date
    last_day: date
    from_time: time | None
    until_time: time | None
    says: str
    import_file_id: UUID | None
    uid: str
    sequence: int

    def span(self, zone: ZoneInfo) -> Span:
        """All of it as one stretch.

        Parameters
        ----------
        zone
            The practice's time zone.
        """
        begins = instant_of(self.first_day, self.from_time or time(0), zone)
        return Span(begins, instant_of(self.last_day, self.until_time or MIDNIGHT, zone))


def add_day_off(
    writing: Writing,
    staff_id: UUID | None,
    first_day: date,
    last_day: date,
    *,
    from_time: time | None = None,
    until_time: time | None = None,
    says: str = "",
) -> UUID:
    """Enter that somebody is away, or that the practice rests. Visits that stand there stay.

    Parameters
    ----------
    writing
        The action it belongs to.
    staff_id
        Who; None for the whole practice.
    first_day, last_day
        Both included.
    from_time
        Local hour on the first day; None for the whole of it.
    until_time
        Local hour on the last day; None for the whole of it.
    says
        Why, in a few words; may stay empty.

    Returns
    -------
    UUID
        Key of the entry.

    Raises
    ------
    BadInput
        It ends before it begins, or there is no such person.
    """
    check_away(first_day, last_day, from_time, until_time)
    if staff_id is not None:
        people = table("staff").c
        query = select(people.id).where(people.id == staff_id, people.struck_at.is_(None))
        if writing.connection.execute(query).scalar() is None:
            raise BadInput("There is no such person here; nothing was saved.", field="staff_id")
    return writing.add(
        "day_off",
        staff_id=staff_id,
        first_day=first_day,
        last_day=last_day,
        from_time=from_time,
        until_time=until_time,
        says=says,
    )


def check_away(
    first_day: date, last_day: date, from_time: time | None, until_time: time | None
) -> None:
    """Refuse an absence that ends before it begins.

    Parameters
    ----------
    first_day, last_day
        Both included.
    from_time, until_time
        Local hours on the first and on the last day; None for the whole of it.

    Raises
    ------
    BadInput
        At the field that is wrong.
    """
    if last_day < first_day:
        raise BadInput(
            f"The last day, {day_said(last_day)}, lies before the first, {day_said(first_day)}. "
            "Nothing was saved.",
            field="last_day",
        )
    begins, ends = from_time or time(0), until_time or MIDNIGHT
    if first_day == last_day and ends <= begins:
        raise BadInput(
            f"It ends at {ends:%H:%M}, before it begins at {begins:%H:%M}. Nothing was saved.",
            field="until_time",
        )


def drop_day_off(writing: Writing, key: UUID, rev: int, why: str) -> None:
    """Strike an absence through: the person is there after all.

    Parameters
    ----------
    writing
        The action it belongs to.
    key, rev
        The entry, as the person saw it.
    why
        The reason; never empty.

    Raises
    ------
    BadInput, NotFound, NotAllowed, ChangedMeanwhile
        As for `Writing.strike`.
    """
    writing.strike("day_off", key, why, rev)


def days_off(book: Source, first: date, last: date) -> tuple[DayOff, ...]:
    """Every absence that touches some days, by its first day.

    Parameters
    ----------
    book
        The practice's book, or a connection to it.
    first, last
        Both days included.
    """
    columns = table("day_off").c
    query = (
        select(*columns_of(DayOff, "day_off"))
        .where(columns.struck_at.is_(None), columns.first_day <= last, columns.last_day >= first)
        .order_by(columns.first_day, columns.last_day, columns.id)
    )
    with reading(book) as connection:
        rows = connection.execute(query).all()
    return tuple(made_of(DayOff, row) for row in rows)


def away_of(
    absences: Sequence[DayOff], staff_id: UUID | None, day: date, zone: ZoneInfo
) -> tuple[Away, ...]:
    """What keeps a person away on a day: the person's own absences and the practice's.

    Parameters
    ----------
    absences
        From `days_off`.
    staff_id
        Who; None asks for the practice alone.
    day
        The local day.
    zone
        The practice's time zone.
    """
    whole = Span(instant_of(day, time(0), zone), instant_of(day, MIDNIGHT, zone))
    return tuple(
        Away(span, one.says, one.staff_id is None)
        for one in absences
        if (one.staff_id is None or one.staff_id == staff_id)
        and (span := one.span(zone)).meets(whole)
    )
