"""What is asked of the book before a visit can be proposed or booked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import date, datetime, time, timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, select

from store.book.tables import table
from store.diary.booking.values import Stood, Visiting, Wish
from store.diary.booking.vet_day import Asked, BookedPromise, SiteAsked, VetDay
from store.diary.booking.ways import Ways
from store.diary.kept.visits.agenda import Agenda, agenda
from store.diary.kept.visits.visit_rows import read_visits
from store.errors import NotFound
from store.travel.place import place_of
from store.travel.ways import DriveTable


@dataclass(frozen=True, slots=True)
class Question:
    """A wish with all that stands around it; the visit that is moved is taken out."""

    site: SiteAsked
    agenda: Agenda
    now: datetime
    first: date
    last: date
    booked: tuple[BookedPromise, ...]
    own: Visiting | None = None
    """The visit that is moved, as it stands, where that is within the days."""
    ways: Ways = field(default_factory=Ways)
    standings: Mapping[UUID, Stood] = field(default_factory=dict)

    def stays(self, on_day: date, at_time: time | None) -> bool:
        """Whether the visit that is moved stands there already.

        Parameters
        ----------
        on_day, at_time
            Local day and hour.
        """
        return self.own is not None and (self.own.on_day, self.own.at_time) == (on_day, at_time)

    def vets(self) -> list[UUID]:
        """Everybody who is entered as a vet and works here, in the order of being entered."""
        return [key for key, _who, is_vet in self.agenda.staff.people if is_vet]

    def days_of(self, staff_id: UUID) -> list[VetDay]:
        """One person's days, empty for somebody who does not work here.

        Parameters
        ----------
        staff_id
            Who.
        """
        days = (self.first + timedelta(days=n) for n in range((self.last - self.first).days + 1))
        found = (self.agenda.day_of(staff_id, day) for day in days)
        return [one for one in found if one is not None]

    def asked_on(self, day: date) -> Asked:
        """The present and what is known of the wish on a day.

        Parameters
        ----------
        day
            The local day.
        """
        there = tuple(one for one in self.agenda.visits_on(day) if one.site_id == self.site.id)
        return Asked(self.now, self.agenda.zone, self.booked, there, self.ways, self.standings)


def question(
    connection: Connection,
    zone: ZoneInfo,
    wish: Wish,
    now: datetime,
    first: date,
    last: date,
    *,
    visit_id: UUID | None = None,
    drives: DriveTable | None = None,
    standings: Mapping[UUID, Stood] | None = None,
) -> Question:
    """Read everything that a wish meets between two days.

    Parameters
    ----------
    connection
        Reading, or within a writing.
    zone
        The practice's time zone.
    wish
        What is to be booked.
    now
        The present instant, with a time zone.
    first, last
        Both days included.
    visit_id
        The visit that is moved; None for a new one.
    drives
        The practice's own table of drives; None reckons every way.
    standings
        How the sites stand that may meet, by site; None asks nothing of the order.

    Raises
    ------
    NotFound
        There is no such site, or it was struck through.
    """
    found = agenda(connection, zone, first, last)
    return Question(
        site_asked(connection, wish.site_id),
        replace(found, visits=_but(found.visits, visit_id)),
        now,
        first,
        last,
        _booked(connection, wish, visit_id),
        next((one for of in found.visits.values() for one in of if one.id == visit_id), None),
        Ways(drives),
        standings or {},
    )


def _but(
    visits: Mapping[date, tuple[Visiting, ...]], visit_id: UUID | None
) -> Mapping[date, tuple[Visiting, ...]]:
    return {day: tuple(one for one in of if one.id != visit_id) for day, of in visits.items()}


def site_asked(connection: Connection, site_id: UUID) -> SiteAsked:
    """A site with its hours of access as they were understood.

    Parameters
    ----------
    connection
        Reading, or within a writing.
    site_id
        Key of the site.

    Raises
    ------
    NotFound
        There is no such site, or it was struck through.
    """
    from store.diary.times.hours import read_hours

    sites, clients = table("site").c, table("client").c
    query = (
        select(
            sites.name, clients.name.label("client"), sites.latitude, sites.longitude,
            sites.access_hours,
        )
        .join(table("client"), clients.id == sites.client_id)
        .where(sites.id == site_id, sites.struck_at.is_(None), clients.struck_at.is_(None))
    )  # fmt: skip
    row = connection.execute(query).one_or_none()
    if row is None:
        raise NotFound("There is no such site in the book, or it was struck through.")
    typed = " ".join(row.access_hours.split())
    read = read_hours(row.access_hours)
    name = row.client if row.name in {"", row.client} else f"{row.client}, {row.name}"
    place = place_of(row.latitude, row.longitude)
    return SiteAsked(site_id, name, place, read.spells, typed, read.unknown, read.limits)


def _booked(connection: Connection, wish: Wish, visit_id: UUID | None) -> tuple[BookedPromise, ...]:
    abouts = {one.about: one.says for one in wish.purposes}
    if not abouts:
        return ()
    kept, visits = table("visit_purpose").c, table("visit").c
    query = (
        select(kept.about, kept.visit_id)
        .join(table("visit"), visits.id == kept.visit_id)
        .where(
            kept.about.in_(abouts),
            kept.struck_at.is_(None),
            visits.state == "planned",
            visits.struck_at.is_(None),
            visits.id != visit_id if visit_id is not None else visits.id.is_not(None),
        )
        .order_by(visits.on_day, kept.id)
    )
    rows = connection.execute(query).all()
    there = read_visits(connection, visits.id.in_({row.visit_id for row in rows})) if rows else ()
    by_key = {one.id: one for one in there}
    return tuple(
        BookedPromise(row.about, abouts[row.about], by_key[row.visit_id])
        for row in rows
        if row.visit_id in by_key
    )
