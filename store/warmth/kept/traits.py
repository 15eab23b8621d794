"""What the book knows of a pond beside its readings, as far as estimates lean on it."""

from __future__ import annotations

from collections.abc import Collection
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.some_rows import rows_of
from store.book.tables import table
from store.warmth.values import Trait

SHADE = {"open sky": 0.0, "part of the day": 0.4, "most of the day": 0.8}
"""Share of the day in shade, for what a person can say of it: common practice of this project.
Ponds are only held against each other by it, so that its order matters more than its size."""
INDOOR, HEATED = "indoor", "heated"
"""Why water does not follow the weather."""


def traits(connection: Connection, ponds: Collection[UUID] | None = None) -> dict[UUID, Trait]:
    """Ponds and stations of the air that stand in the book.

    Parameters
    ----------
    connection
        A reading connection of the book.
    ponds
        Ponds and stations that are wanted; None for all.

    Returns
    -------
    dict
        By key. A pond that is struck through, or whose site or client is, is missing, and so is a
        struck station. What nobody typed is None.
    """
    pond, sites, clients = table("pond"), table("site"), table("client")
    query = (
        select(
            pond.c.id,
            pond.c.depth_m,
            pond.c.volume_l,
            pond.c.indoor,
            pond.c.heated,
            pond.c.shade,
            sites.c.latitude,
            sites.c.longitude,
            sites.c.elevation_m,
        )
        .join(sites, sites.c.id == pond.c.site_id)
        .join(clients, clients.c.id == sites.c.client_id)
        .where(
            pond.c.struck_at.is_(None), sites.c.struck_at.is_(None), clients.c.struck_at.is_(None)
        )
    )
    found = {
        row.id: Trait(
            latitude=row.latitude,
            longitude=row.longitude,
            elevation_m=row.elevation_m,
            depth_m=row.depth_m,
            volume_l=row.volume_l,
            shade=SHADE.get(row.shade),
            apart=INDOOR if row.indoor else HEATED if row.heated else "",
        )
        for row in rows_of(connection, query, pond.c.id, ponds)
    }
    stations = table("air_station").c
    air = select(stations.id, stations.latitude, stations.longitude, stations.elevation_m).where(
        stations.struck_at.is_(None)
    )
    for row in rows_of(connection, air, stations.id, ponds):
        found[row.id] = Trait(row.latitude, row.longitude, row.elevation_m, air=True)
    return found
