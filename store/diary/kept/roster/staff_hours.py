"""When people work: as typed, from a day on; common hours where nobody entered any."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date, time
from typing import Any
from uuid import UUID

from sqlalchemy import select

from store.book.tables import table
from store.book.writing import Writing
from store.diary.kept.roster.source import Source, reading
from store.diary.times.spell import Spell
from store.errors import BadInput, NotFound
from store.text import plain

USUAL = "Mon–Fri 09:00–17:00"
"""Common practice: stands in where nobody entered working hours, and is said wherever it does."""
_USUAL_DAY = (Spell(time(9), time(17)),)
_USUAL_WEEK: tuple[tuple[Spell, ...], ...] = (*(_USUAL_DAY,) * 5, (), ())


@dataclass(frozen=True, slots=True)
class StaffDay:
    """One person's working hours on a day, without regard to leave.

    `spells` are the stretches of that day. `typed` is the text as entered, in force since
    `from_day`; where none is, `usual` says which hours stand in. `unknown` is what of the text was
    not understood. `break_min` is the break that has to fit in [min]; `start_latitude` and
    `start_longitude` are of the place the person sets out from [degrees].
    """

    staff_id: UUID
    who: str
    is_vet: bool
    day: date
    spells: tuple[Spell, ...]
    typed: str
    usual: str
    unknown: str
    from_day: date | None
    break_min: int
    start_place: str
    start_latitude: float | None
    start_longitude: float | None


@dataclass(frozen=True, slots=True)
class _Hours:
    from_day: date
    typed: str
    week: tuple[tuple[Spell, ...], ...]
    unknown: str
    break_min: int
    start_place: str
    start_latitude: float | None
    start_longitude: float | None


@dataclass(frozen=True, slots=True)
class Roster:
    """Everybody who works here and everything that was entered of their hours, newest first."""

    people: tuple[tuple[UUID, str, bool], ...]
    hours: Mapping[UUID, tuple[_Hours, ...]]

    def on(self, day: date) -> dict[UUID, StaffDay]:
        """Everybody's hours on a day, in the order of being entered.

        Parameters
        ----------
        day
            The local day.
        """
        found = {}
        for staff_id, who, is_vet in self.people:
            one = next((h for h in self.hours.get(staff_id, ()) if h.from_day <= day), None)
            if one is None:
                found[staff_id] = StaffDay(
                    staff_id, who, is_vet, day, _USUAL_WEEK[day.weekday()], "", USUAL, "", None, 0,
                    "", None, None,
                )  # fmt: skip
            else:
                found[staff_id] = StaffDay(
                    staff_id, who, is_vet, day, one.week[day.weekday()], one.typed, "",
                    one.unknown, one.from_day, one.break_min, one.start_place, one.start_latitude,
                    one.start_longitude,
                )  # fmt: skip
        return found


def roster(book: Source) -> Roster:
    """Everybody who works here, with all that was entered of their hours.

    Parameters
    ----------
    book
        The practice's book, or a connection to it.
    """
    people, hours = table("staff").c, table("working_hours").c
    who = (
        select(people.id, people.name, people.role)
        .where(people.struck_at.is_(None))
        .order_by(people.created_at, people.id)
    )
    typed = (
        select(
            hours.staff_id, hours.from_day, hours.hours, hours.break_min, hours.start_place,
            hours.start_latitude, hours.start_longitude,
        )
        .where(hours.struck_at.is_(None))
        .order_by(hours.from_day.desc(), hours.created_at.desc(), hours.id.desc())
    )  # fmt: skip
    with reading(book) as connection:
        everybody = connection.execute(who).all()
        rows = connection.execute(typed).all()
    found: dict[UUID, tuple[_Hours, ...]] = {}
    for row in rows:
        found[row.staff_id] = (*found.get(row.staff_id, ()), _hours(row))
    return Roster(tuple((one.id, one.name, one.role != "receptionist") for one in everybody), found)


def _hours(row: Any) -> _Hours:
    from store.diary.times.hours import read_hours

    read = read_hours(row.hours)
    return _Hours(
        row.from_day,
        row.hours,
        tuple(() if at in read.days_only else day for at, day in enumerate(read.spells)),
        read.unknown,
        row.break_min,
        row.start_place,
        row.start_latitude,
        row.start_longitude,
    )


def hours_on(book: Source, day: date) -> dict[UUID, StaffDay]:
    """Everybody's working hours on a day, in the order of being entered.

    Parameters
    ----------
    book
        The practice's book, or a connection to it.
    day
        The local day.

    Returns
    -------
    dict
        Key of the person to the hours; `usual` is filled where nobody entered any.
    """
    return roster(book).on(day)


def set_hours(
    writing: Writing,
    staff_id: UUID,
    hours: str,
    from_day: date,
    *,
    break_min: int = 0,
    start_place: str = "",
    start_latitude: float | None = None,
    start_longitude: float | None = None,
) -> UUID:
    """State when a person works from a day on; what was entered before stays for the days before.

    Parameters
    ----------
    writing
        The action it belongs to.
    staff_id
        Who.
    hours
        As `store.diary.times.hours.read_hours` reads it.
    from_day
        The first day on which it holds.
    break_min
        A break that has to fit into the day [min].
    start_place
        From where the person sets out and to where the person returns, in words.
    start_latitude, start_longitude
        Where that is, both or neither [degrees].

    Returns
    -------
    UUID
        Key of the entry.

    Raises
    ------
    BadInput
        No hours, hours of which something is not understood, or half of a place.
    NotFound
        There is no such person.
    """
    from store.diary.times.hours import read_hours

    text = plain(hours).strip()
    if not text:
        raise BadInput(
            "Please type the hours, such as Mon-Fri 9-17. Nothing was saved.", field="hours"
        )
    read = read_hours(text)
    if read.unknown:
        raise BadInput(
            f"“{read.unknown:.60}” was not understood as working hours. Please type them as "
            "Mon-Fri 9-17; Sat 9-13. Nothing was saved.",
            field="hours",
        )
    if read.days_only:
        raise BadInput(
            "Please say from when to when on each day, such as Mon-Fri 9-17. Nothing was saved.",
            field="hours",
        )
    if (start_latitude is None) != (start_longitude is None):
        raise BadInput(
            "A place needs its latitude and its longitude, or neither. Nothing was saved.",
            field="start_latitude",
        )
    people = table("staff").c
    query = select(people.id).where(people.id == staff_id, people.struck_at.is_(None))
    if writing.connection.execute(query).scalar() is None:
        raise NotFound("There is no such person here; nothing was saved.")
    return writing.add(
        "working_hours",
        staff_id=staff_id,
        from_day=from_day,
        hours=text,
        break_min=break_min,
        start_place=start_place,
        start_latitude=start_latitude,
        start_longitude=start_longitude,
    )
