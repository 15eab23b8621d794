"""Somebody else was faster: who changed a row after a person had opened it, and when."""

from __future__ import annotations

from typing import Any
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, Row, Table, select

from store.book.row_values import spoken
from store.book.tables import table
from store.errors import ChangedMeanwhile


def changed_meanwhile(
    connection: Connection, target: Table, row: Row[Any], seen: int
) -> ChangedMeanwhile:
    """The error of a row that has another revision than the person saw.

    Parameters
    ----------
    connection
        Of the action.
    target
        The table.
    row
        As it stands now.
    seen
        The revision that the person saw.
    """
    staff = table("staff")
    query = select(staff.c.name, table("practice").c.time_zone).join_from(
        staff, table("practice"), table("practice").c.struck_at.is_(None), isouter=True
    )
    found = connection.execute(query.where(staff.c.id == row.changed_by).limit(1)).one()
    at = row.changed_at.astimezone(ZoneInfo(found.time_zone or "UTC"))
    return ChangedMeanwhile(
        f"{found.name} changed this {spoken(target.name)} at {at:%H:%M} on {at:%Y-%m-%d}, "
        "after you opened it. Nothing was overwritten; look at it again and then save.",
        row=(target.name, row.id, seen),
    )
