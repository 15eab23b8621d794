"""The diary: visits between two days, and each person's days with what is free."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, time, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from store.book.book import Book
from store.book.tables import table
from store.diary.booking.free import Span, instant_of, minutes_in, spells_of
from store.diary.booking.said import said_span
from store.diary.booking.values import DiaryDay, Visiting, VisitState
from store.diary.booking.vet_day import VetDay
from store.diary.kept.roster.source import Source, reading
from store.diary.kept.visits.agenda import Agenda, agenda
from store.diary.kept.visits.visit_rows import read_visits
from store.diary.times.spell import MIDNIGHT
from store.errors import NotFound

LEFT = "has left"
"""What stands beside the visits of somebody who left."""


def visiting(book: Source, visit_id: UUID) -> Visiting:
    """One visit, planned, done or cancelled.

    Parameters
    ----------
    book
        The practice's book, or a connection to it.
    visit_id
        Key of the visit.

    Raises
    ------
    NotFound
        There is no such visit, or it was struck through.
    """
    with reading(book) as connection:
        found = read_visits(connection, table("visit").c.id == visit_id)
    if not found:
        raise NotFound("There is no such visit in the book, or it was struck through.")
    return found[0]


def visits_between(
    book: Source,
    first: date,
    last: date,
    *,
    staff_id: UUID | None = None,
    site_id: UUID | None = None,
    states: Sequence[VisitState] = ("planned",),
) -> tuple[Visiting, ...]:
    """Visits between two days, by day and hour.

    Parameters
    ----------
    book
        The practice's book, or a connection to it.
    first, last
        Both days included.
    staff_id
        Of one person; None for everybody's and nobody's.
    site_id
        To one site; None for all.
    states
        Which of `planned`, `done` and `cancelled`.
    """
    visits = table("visit").c
    conditions = [visits.on_day >= first, visits.on_day <= last, visits.state.in_(states)]
    if staff_id is not None:
        conditions.append(visits.staff_id == staff_id)
    if site_id is not None:
        conditions.append(visits.site_id == site_id)
    with reading(book) as connection:
        return read_visits(connection, *conditions)


def diary(
    book: Book, first: date, last: date, *, staff_id: UUID | None = None
) -> tuple[DiaryDay, ...]:
    """Each day of each person who works in the field, with visits, load and free time.

    Parameters
    ----------
    book
        The practice's book.
    first, last
        Both days included.
    staff_id
        One person alone; None for every vet, for everybody else who has visits in these days, and
        for the visits for which nobody is chosen.

    Returns
    -------
    tuple of DiaryDay
        By day, then in the order in which people were entered; nobody's visits stand last. Visits
        that were cancelled are left out. Somebody who has left is shown with the visits there are,
        and `away` says so.

    Raises
    ------
    NotFound
        There is no such person.
    """
    zone = book.zone
    with book.reading() as connection:
        found = agenda(connection, zone, first, last)
    people = _people(found, first, last, staff_id)
    days = [first + timedelta(days=step) for step in range((last - first).days + 1)]
    here = {one for one, _who, _vet in found.staff.people} | {None}
    return tuple(
        _diary_day(vet, zone, left=who not in here)
        for day in days
        for who in people
        if (vet := _day_of(found, who, day)) is not None and (who is not None or vet.visits)
    )


def _people(found: Agenda, first: date, last: date, staff_id: UUID | None) -> list[UUID | None]:
    visits = [one for day, of in found.visits.items() if first <= day <= last for one in of]
    if staff_id is not None:
        known = {one for one, _who, _vet in found.staff.people} | {one.staff_id for one in visits}
        if staff_id not in known:
            raise NotFound("There is no such person here.")
        return [staff_id]
    busy = dict.fromkeys(one.staff_id for one in visits)
    ours = [one for one, _who, is_vet in found.staff.people if is_vet or one in busy]
    left = [one for one in busy if one is not None and one not in ours]
    return [*ours, *left, None]


def _day_of(found: Agenda, staff_id: UUID | None, day: date) -> VetDay | None:
    there = found.day_of(staff_id, day)
    if there is not None or staff_id is None:
        return there
    visits = tuple(one for one in found.visits_on(day) if one.staff_id == staff_id)
    if not visits:
        return None
    return VetDay(
        day, staff_id, visits[0].who, True, (), "", "", 0, None, "", (),
        found.holidays.get(day, ""), visits,
    )  # fmt: skip


def _diary_day(vet: VetDay, zone: ZoneInfo, *, left: bool) -> DiaryDay:
    work = vet.work_spans(zone) if vet.staff_id is not None else ()
    return DiaryDay(
        day=vet.day,
        staff_id=vet.staff_id,
        who=vet.who,
        visits=vet.visits,
        work=spells_of(work, zone),
        away=LEFT if left else _said_away(vet, zone),
        holiday=vet.holiday,
        booked_min=sum(one.minutes for one in vet.visits),
        work_min=minutes_in(work),
        free=spells_of(vet.free_spans(zone), zone) if vet.staff_id is not None else (),
    )


def _said_away(vet: VetDay, zone: ZoneInfo) -> str:
    whole = Span(instant_of(vet.day, time(0), zone), instant_of(vet.day, MIDNIGHT, zone))
    said = []
    for one in vet.away:
        what = "practice closed" if one.whole_practice else "away"
        if not one.span.holds(whole):
            what = f"{what} {said_span(one.span, whole, zone)}"
        said.append(f"{what}: {one.says}" if one.says else what)
    return "; ".join(said)
