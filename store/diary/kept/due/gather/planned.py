"""Which planned visit keeps a promise: one booked for it, or one that goes there anyway."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, time, timedelta
from typing import Any
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.tables import table
from store.diary.desk.about import About
from store.diary.desk.due import Booked, Promised
from store.diary.desk.weigh import last_fitting
from store.facts.follow_ups import FollowUpKind, follow_up_kinds


@dataclass(frozen=True, slots=True)
class _Visit:
    id: UUID
    site_id: UUID
    pond_id: UUID | None
    on_day: date
    at_time: time | None
    who: str

    def booked(self, in_window: bool) -> Booked:
        return Booked(self.id, self.on_day, self.at_time, self.who, in_window)


@dataclass(frozen=True, slots=True)
class PlannedVisits:
    """The visits planned from today on, by what they are to keep, by pond and by site."""

    today: date
    purposes: Mapping[str, Sequence[_Visit]]
    ponds: Mapping[UUID, Sequence[_Visit]]
    sites: Mapping[UUID, Sequence[_Visit]]

    def for_promise(self, promised: Promised) -> tuple[Booked | None, str]:
        """The visit that is to keep a promise, and how it comes to that in words.

        A visit that was booked for it counts on whatever day it is planned; one to the same pond,
        or to the whole site, only where its day fits, and only for what is kept in passing: neither
        what a vet is to decide nor a new call, for which somebody must have chosen the visit.

        Parameters
        ----------
        promised
            The promise.

        Returns
        -------
        tuple of Booked or None and str
            The words are empty where the visit was booked for it.
        """
        kinds = follow_up_kinds()
        kind = kinds.get(promised.kind, kinds["visit"])
        until = self.today + timedelta(days=last_fitting(promised, kind, self.today))
        own = self.purposes.get(promised.about, ())
        fitting = [one for one in own if promised.first_on <= one.on_day <= until]
        if own:
            return (fitting or own)[0].booked(bool(fitting)), ""
        if not _kept_in_passing(promised, kind):
            return None, ""
        there = [
            *(self.ponds.get(promised.pond_id, ()) if promised.pond_id else ()),
            *(self.sites.get(promised.site_id, ()) if promised.site_id else ()),
        ]
        near = [one for one in there if promised.first_on <= one.on_day <= until]
        if not near:
            return None, ""
        first = min(near, key=lambda one: (one.on_day, one.at_time or time.max))
        what = "pond" if first.pond_id is not None else "site"
        return first.booked(True), f"a visit to this {what} is planned within its days anyway"


def _kept_in_passing(promised: Promised, kind: FollowUpKind) -> bool:
    """Whether somebody who goes there for something else keeps it."""
    if not kind.visit or kind.needs == "vet" or promised.needs != kind.needs:
        return False
    return not promised.about.startswith("call:")


def planned(book: Book, today: date) -> PlannedVisits:
    """Every visit planned from today on, with what it was booked for.

    Parameters
    ----------
    book
        The practice's book.
    today
        The practice's calendar day.
    """
    visits, purposes = table("visit").c, table("visit_purpose").c
    staff = table("staff").c
    ahead = (visits.struck_at.is_(None), visits.state == "planned", visits.on_day >= today)
    query = (
        select(
            visits.id, visits.site_id, visits.pond_id, visits.on_day, visits.at_time,
            staff.initials, staff.name,
        )
        .outerjoin_from(table("visit"), table("staff"), staff.id == visits.staff_id)
        .where(*ahead)
        .order_by(visits.on_day, visits.at_time, visits.id)
    )  # fmt: skip
    wanted = (
        select(purposes.about, purposes.visit_id)
        .join_from(table("visit_purpose"), table("visit"), visits.id == purposes.visit_id)
        .where(purposes.struck_at.is_(None), *ahead)
        .order_by(visits.on_day, visits.at_time, visits.id)
    )
    calls = table("call_note").c
    called = select(calls.id, calls.visit_id).where(
        calls.struck_at.is_(None), calls.state == "open", calls.visit_id.is_not(None)
    )
    with book.reading() as connection:
        rows = connection.execute(query).all()
        named: Sequence[Any] = connection.execute(wanted).all() if rows else ()
        noted: Sequence[Any] = connection.execute(called).all() if rows else ()
    all_visits = {
        row.id: _Visit(
            row.id,
            row.site_id,
            row.pond_id,
            row.on_day,
            row.at_time,
            row.initials or row.name or "",
        )
        for row in rows
    }
    by_about: dict[str, list[_Visit]] = {}
    ponds: dict[UUID, list[_Visit]] = {}
    sites: dict[UUID, list[_Visit]] = {}
    for about, key in named:
        by_about.setdefault(about, []).append(all_visits[key])
    for call, key in noted:
        about = str(About("call", call))
        if key in all_visits and about not in by_about:
            by_about[about] = [all_visits[key]]
    for one in all_visits.values():
        if one.pond_id is not None:
            ponds.setdefault(one.pond_id, []).append(one)
        else:
            sites.setdefault(one.site_id, []).append(one)
    return PlannedVisits(today, by_about, ponds, sites)
