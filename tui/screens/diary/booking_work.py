"""What a booking asks of the store, beside the screen: its form, what was typed, the writing."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from datetime import date, datetime
from typing import TYPE_CHECKING
from uuid import UUID

from tui.screens.diary.booking_said import (
    Place,
    Typed,
    booking_fields,
    half_typed,
    wish_typed,
)
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.diary.booking.slots import Proposal
    from store.diary.booking.values import DiaryDay, Objection, Stood, Visiting, Wish
    from tui.widgets.fields import Field


@dataclass(frozen=True, slots=True)
class Opened:
    """What a booking begins with: where it goes, its fields, everybody, usual lengths [min]."""

    place: Place
    fields: tuple[Field, ...]
    names: Mapping[UUID, str]
    lengths: Mapping[str, int]


@dataclass(frozen=True, slots=True)
class Looked:
    """What follows from what was typed so far; `marks` hinder nothing and are to be known."""

    typed: Typed
    day: DiaryDay | None
    objections: tuple[Objection, ...]
    marks: tuple[str, ...]


def opened(book: Book, wish: Wish, visit: Visiting | None) -> Opened:
    """What the form of a booking needs."""
    from store.book.people import staff
    from store.diary.kept.roster.visit_lengths import visit_lengths

    everybody = staff(book)
    people = [(str(one.id), one.name) for one in sorted(everybody, key=lambda p: not p.is_vet)]
    lengths = {kind: minutes for kind, (minutes, _) in visit_lengths(book).items()}
    return Opened(
        place_of(book, wish),
        booking_fields(wish, people, tuple(lengths), visit),
        {one.id: one.name for one in everybody},
        lengths,
    )


def place_of(book: Book, wish: Wish) -> Place:
    """Where a visit goes, and whom one rings there."""
    from store.book.clients import client, site
    from store.book.ponds import pond

    where = site(book, wish.site_id)
    owner = client(book, where.client_id)
    name = pond(book, wish.pond_id).name if wish.pond_id is not None else where.name
    known = f"{owner.name}, {name}" if name and name != owner.name else owner.name
    return Place(
        one_line(known), one_line(owner.phone), one_line(where.access_hours), one_line(where.town)
    )


class SitesStood:
    """How sites stand, read while a booking is open: each once, until it is asked to forget."""

    def __init__(self) -> None:
        self._known: dict[UUID, Stood] = {}

    def forget(self) -> None:
        """Ask anew from now on."""
        self._known = {}

    def between(
        self, book: Book, now: datetime, first: date, last: date, site_id: UUID
    ) -> Mapping[UUID, Stood]:
        """A site and all that are visited between two days."""
        from store.rounds.kept.standing.stood import sites_on, stood

        wanted = sites_on(book, first, last) | {site_id}
        known = self._known
        missing = wanted - set(known)
        if missing:
            known.update(stood(book, now, missing))
        return {key: known[key] for key in wanted if key in known}


def proposal_for(
    book: Book,
    now: datetime,
    wish: Wish,
    visit: Visiting | None,
    stood: SitesStood,
    only: UUID | None,
    first: date | None,
) -> Proposal:
    """The best slots, those of one person alone or from a day on where that is asked for."""
    from store.diary.booking.search import searched
    from store.diary.kept.visits.bookings import propose

    search = searched(wish.purposes, book.today(now), first)
    stood.forget()
    return propose(
        book, wish, now, staff_id=only, first=first,
        visit_id=visit.id if visit is not None else None,
        standings=stood.between(book, now, search.first, search.furthest, wish.site_id),
    )  # fmt: skip


def look(
    book: Book,
    now: datetime,
    wish: Wish,
    visit: Visiting | None,
    values: Mapping[str, str],
    stood: SitesStood,
) -> Looked:
    """What was typed so far, what speaks against it, and how full that person's day is."""
    from store.diary.kept.visits.bookings import marks, objections
    from store.diary.kept.visits.diary import diary

    read = half_typed(values, book.today(now))
    if read.on_day is None:
        return Looked(read, None, (), ())
    asked, moved = wish_typed(wish, values, read.minutes), None if visit is None else visit.id
    standings = stood.between(book, now, read.on_day, read.on_day, wish.site_id)
    found = objections(
        book, asked, read.on_day, read.at_time, read.staff_id, now,
        minutes=read.minutes, visit_id=moved, standings=standings,
    )  # fmt: skip
    known = marks(
        book, asked, read.on_day, read.at_time, read.staff_id, now, visit_id=moved,
        standings=standings,
    )  # fmt: skip
    day = None
    if read.staff_id is not None:
        days = diary(book, read.on_day, read.on_day, staff_id=read.staff_id)
        day = next((one for one in days if one.staff_id == read.staff_id), None)
    return Looked(read, day, found, known)


def write(
    book: Book,
    act: Act,
    wish: Wish,
    visit: Visiting | None,
    day: date,
    read: Typed,
    values: Mapping[str, str],
    seen: Collection[Objection] | None,
) -> UUID:
    """Book the visit, or move it.

    Parameters
    ----------
    book, act, wish, visit, values
        The practice's book, who books and when, what is wished, the visit that is moved, the form.
    day, read
        What was typed, understood.
    seen
        What spoke against it when the person gave the reason; what came up since is told.

    Raises
    ------
    BadInput
        At the field that is wrong.
    """
    from store.diary.kept.visits.bookings import book_visit, move_visit
    from store.rounds.kept.standing.stood import stood_on

    spite = values["in_spite"].strip()
    standings = stood_on(book, act.at, day, day, wish.site_id)
    with book.writing(act) as writing:
        if visit is None:
            return book_visit(
                writing, wish_typed(wish, values, read.minutes), day, read.at_time, read.staff_id,
                minutes=read.minutes, in_spite=spite, answered=seen, standings=standings,
            )  # fmt: skip
        move_visit(
            writing, visit.id, visit.rev, day, read.at_time, read.staff_id, minutes=read.minutes,
            in_spite=spite, answered=seen, why=values["why"].strip(), standings=standings,
        )  # fmt: skip
        return visit.id
