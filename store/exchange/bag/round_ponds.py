"""Which sites and ponds the round of a person on a day needs."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.some_rows import rows_of
from store.book.tables import table


@dataclass(frozen=True, slots=True)
class RoundPonds:
    """What a bag is packed for: keys of sites and ponds, and how many visits lead there."""

    sites: frozenset[UUID]
    ponds: frozenset[UUID]
    visits: int


def round_ponds(
    connection: Connection,
    day: date,
    vet: UUID,
    *,
    also_ponds: Collection[UUID] = (),
    also_clients: Collection[UUID] = (),
) -> RoundPonds:
    """The sites of a person's booked visits on a day with all their ponds, and what is named.

    Parameters
    ----------
    connection
        On the book.
    day
        The calendar day.
    vet
        Key of the person.
    also_ponds
        Ponds that come by themselves.
    also_clients
        Clients that come with all their sites.

    Returns
    -------
    RoundPonds
        Visits that were cancelled or struck through lead nowhere.
    """
    visits, sites, ponds = table("visit").c, table("site").c, table("pond").c
    booked = select(visits.site_id).where(
        visits.on_day == day, visits.staff_id == vet, visits.state != "cancelled",
        visits.struck_at.is_(None),
    )  # fmt: skip
    there = list(connection.execute(booked).scalars())
    owned = rows_of(connection, select(sites.id), sites.client_id, also_clients)
    whole = frozenset([*there, *(key for (key,) in owned)])
    at_sites = rows_of(connection, select(ponds.id), ponds.site_id, whole)
    found = frozenset([*also_ponds, *(key for (key,) in at_sites)])
    theirs = rows_of(connection, select(ponds.site_id), ponds.id, found)
    return RoundPonds(whole | {key for (key,) in theirs}, found, len(there))
