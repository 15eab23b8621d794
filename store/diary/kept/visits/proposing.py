"""Slots, objections and marks as the book stands: nothing is written."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, datetime, time
from uuid import UUID

from store.book.book import Book
from store.diary.booking.objections import closed_windows, objections_to
from store.diary.booking.reasons import marks_of
from store.diary.booking.search import searched
from store.diary.booking.slots import Proposal, proposed
from store.diary.booking.values import Objection, Stood, Wish
from store.diary.kept.visits.asking import Question, question
from store.errors import NotFound
from store.travel.drive_times import drive_table


def propose(
    book: Book,
    wish: Wish,
    now: datetime,
    *,
    staff_id: UUID | None = None,
    first: date | None = None,
    count: int = 3,
    visit_id: UUID | None = None,
    standings: Mapping[UUID, Stood] | None = None,
) -> Proposal:
    """The best slots for a visit, each with its reasons, see `store.diary.booking.slots`.

    Parameters
    ----------
    book
        The practice's book.
    wish
        What is to be booked.
    now
        The present instant, with a time zone.
    staff_id
        Who goes; None asks every vet.
    first
        Search from this day on; None from today.
    count
        How many slots at most.
    visit_id
        The visit that is moved, which does not stand in its own way; None for a new one.
    standings
        How the sites stand that may meet, by site, as the rounds know them;
        None asks nothing of the order from clean to infected.

    Raises
    ------
    NotFound
        There is no such site or person.
    """
    search = searched(wish.purposes, book.today(now), first)
    drives = drive_table(book)
    with book.reading() as connection:
        found = question(
            connection, book.zone, wish, now, search.first, search.furthest, visit_id=visit_id,
            drives=drives, standings=standings,
        )  # fmt: skip
    people = [staff_id] if staff_id is not None else found.vets()
    days = [day for one in people for day in found.days_of(one)]
    if staff_id is not None and not days:
        raise NotFound("There is no such person here.")
    return proposed(wish, found.site, days, search, found.asked_on, count=count)


def objections(
    book: Book,
    wish: Wish,
    on_day: date,
    at_time: time | None,
    staff_id: UUID | None,
    now: datetime,
    *,
    minutes: int | None = None,
    visit_id: UUID | None = None,
    standings: Mapping[UUID, Stood] | None = None,
) -> tuple[Objection, ...]:
    """Everything that speaks against a day and hour, as the book stands now.

    Parameters
    ----------
    book
        The practice's book.
    wish
        What is to be booked.
    on_day, at_time
        Local day and hour; without an hour only what hangs on the day is asked.
    staff_id
        Who goes; None while nobody is chosen.
    now
        The present instant, with a time zone.
    minutes
        Length beside the pond; None for that of the wish [min].
    visit_id
        The visit that is moved; None for a new one.
    standings
        How the sites stand that may meet, by site, as the rounds know them;
        None asks nothing of the order from clean to infected.

    Returns
    -------
    tuple of Objection
        What can never be first; empty where nothing speaks against it.

    Raises
    ------
    NotFound
        There is no such site.
    """
    drives = drive_table(book)
    with book.reading() as connection:
        found = question(
            connection, book.zone, wish, now, on_day, on_day, visit_id=visit_id, drives=drives,
            standings=standings,
        )  # fmt: skip
    return spoken_against(found, wish, on_day, at_time, staff_id, minutes, visit_id)


def marks(
    book: Book,
    wish: Wish,
    on_day: date,
    at_time: time | None,
    staff_id: UUID | None,
    now: datetime,
    *,
    visit_id: UUID | None = None,
    standings: Mapping[UUID, Stood] | None = None,
) -> tuple[str, ...]:
    """What is to be known of a day that was chosen freely and hinders nothing, as sentences.

    Parameters
    ----------
    book
        The practice's book.
    wish
        What is to be booked.
    on_day, at_time
        Local day and hour; None while no hour is agreed.
    staff_id
        Who goes; None while nobody is chosen.
    now
        The present instant, with a time zone.
    visit_id
        The visit that is moved; None for a new one.
    standings
        How the sites stand that may meet, by site, as the rounds know them;
        None asks nothing of the order from clean to infected.

    Raises
    ------
    NotFound
        There is no such site.
    """
    drives = drive_table(book)
    with book.reading() as connection:
        found = question(
            connection, book.zone, wish, now, on_day, on_day, visit_id=visit_id, drives=drives,
            standings=standings,
        )  # fmt: skip
    vet = found.agenda.day_of(staff_id, on_day)
    if vet is None:
        return ()
    return (
        *closed_windows(wish.purposes, on_day, book.today(now)),
        *marks_of(found.site, vet, found.asked_on(on_day), at_time),
    )


def spoken_against(
    found: Question,
    wish: Wish,
    on_day: date,
    at_time: time | None,
    staff_id: UUID | None,
    minutes: int | None,
    visit_id: UUID | None,
) -> tuple[Objection, ...]:
    """Everything that speaks against a day and hour, within what was read already.

    Parameters
    ----------
    found
        The wish with all that stands around it, on the day that is asked about.
    wish, on_day, at_time, staff_id, visit_id
        As for `objections`.
    minutes
        Length beside the pond; None for that of the wish [min].
    """
    vet = found.agenda.day_of(staff_id, on_day)
    if vet is None:
        says = "That person does not work here any more."
        return (Objection("left", "never", says, "staff_id"),)
    length = minutes or wish.minutes
    spoken = objections_to(wish, found.site, vet, at_time, length, found.asked_on(on_day), visit_id)
    if found.stays(on_day, at_time):
        # Another person or length for an hour that was agreed is no booking in the past.
        return tuple(one for one in spoken if one.code != "past")
    return spoken
