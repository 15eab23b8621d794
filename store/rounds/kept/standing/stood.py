"""How sites stand, as bookings ask for it: clean before sick within a person's day."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from datetime import date, datetime
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.tables import table
from store.diary.booking.values import Stood
from store.rounds.kept.standing.standing import site_standings
from store.rounds.kept.standing.standing_values import RANK


def stood(book: Book, now: datetime, sites: Collection[UUID]) -> Mapping[UUID, Stood]:
    """How some sites stand.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant, with a time zone.
    sites
        Keys of the sites.

    Returns
    -------
    Mapping
        By site; one that is not in the book is not in it.
    """
    if not sites:
        return {}
    found = site_standings(book, now, sites=frozenset(sites))
    return {
        key: Stood(RANK[one.standing], one.standing, one.said, one.disinfect_min)
        for key, one in found.items()
    }


def stood_on(
    book: Book, now: datetime, first: date, last: date, site_id: UUID
) -> Mapping[UUID, Stood]:
    """How a site stands, and every site that is visited between two days.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant, with a time zone.
    first, last
        Both days included.
    site_id
        The site to which one more visit is to go.
    """
    return stood(book, now, sites_on(book, first, last) | {site_id})


def sites_on(book: Book, first: date, last: date) -> frozenset[UUID]:
    """Every site with a visit between two days that is planned or was made.

    Parameters
    ----------
    book
        The practice's book.
    first, last
        Both days included.
    """
    visits = table("visit").c
    query = select(visits.site_id).where(
        visits.on_day >= first,
        visits.on_day <= last,
        visits.state.in_(("planned", "done")),
        visits.struck_at.is_(None),
    )
    with book.reading() as connection:
        return frozenset(connection.scalars(query))
