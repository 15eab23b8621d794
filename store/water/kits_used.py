"""With which kit, and which batch of it, each test was made."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import NamedTuple
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.columns import milliseconds
from store.book.tables import table


class KitUsed(NamedTuple):
    """A kit as it was at a test: the same kit, and the same batch of it."""

    kit: UUID
    state: int
    """How often the batch of the kit had been changed by then."""


def kits_used(
    connection: Connection, pond: UUID | None = None, since: datetime | None = None
) -> dict[UUID, dict[int, KitUsed]]:
    """The kit of each standing test that states one.

    Parameters
    ----------
    connection
        A reading connection of the book.
    pond
        The one pond that is wanted; None for all.
    since
        Only tests taken at this instant or later.

    Returns
    -------
    dict
        Pond to instant of the test [ms since 1970] to its kit.

    Notes
    -----
    A kit whose batch was changed in the book counts as another one from the instant at which that
    was entered, since nothing else is known of it.
    """
    tests = table("water_test").c
    query = select(tests.pond_id, tests.taken_at, tests.kit_id).where(
        tests.kit_id.is_not(None), tests.struck_at.is_(None)
    )
    if pond is not None:
        query = query.where(tests.pond_id == pond)
    if since is not None:
        query = query.where(tests.taken_at >= since)
    rows = connection.execute(query).all()
    changed = _changed(connection, {row.kit_id for row in rows})
    found: dict[UUID, dict[int, KitUsed]] = {}
    for key, taken_at, kit in rows:
        state = sum(at <= taken_at for at in changed.get(kit, ()))
        found.setdefault(key, {})[milliseconds(taken_at)] = KitUsed(kit, state)
    return found


def _changed(connection: Connection, kits: set[UUID]) -> Mapping[UUID, list[datetime]]:
    """When the batch of each kit was changed after it had been entered."""
    if not kits:
        return {}
    changes = table("change").c
    query = select(changes.row_id, changes.at, changes.after).where(
        changes.row_id.in_(sorted(kits)), changes.table_name == "kit", changes.what == "change"
    )
    found: dict[UUID, list[datetime]] = {}
    for key, at, after in connection.execute(query):
        if after and "batch" in after:
            found.setdefault(key, []).append(at)
    return found
