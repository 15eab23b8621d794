"""Where a person's day on the road ends, if that is not where it began."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import date
from uuid import UUID

from sqlalchemy import select

from store.book.tables import table
from store.book.writing import Writing
from store.diary.kept.roster.source import Source, reading
from store.errors import BadInput, NotFound
from store.text import plain
from store.travel.place import Place, place_of


@dataclass(frozen=True, slots=True)
class WayHome:
    """Where somebody's day ends from a day on, in words; `at` is None where it is not known."""

    staff_id: UUID
    from_day: date
    place: str
    at: Place | None


def set_way_home(
    writing: Writing,
    staff_id: UUID,
    place: str,
    from_day: date,
    *,
    latitude: float | None = None,
    longitude: float | None = None,
) -> UUID:
    """State where a person's day on the road ends from a day on; what stood before stays readable.

    Parameters
    ----------
    writing
        The action it belongs to.
    staff_id
        Who.
    place
        In words; empty where the day ends where it began.
    from_day
        The first day on which it holds.
    latitude, longitude
        Where that is, both or neither [degrees].

    Returns
    -------
    UUID
        Key of the entry.

    Raises
    ------
    BadInput
        Half of a place, or a place without words.
    NotFound
        There is no such person.
    """
    words = " ".join(plain(place).split())
    if (latitude is None) != (longitude is None):
        raise BadInput(
            "A place needs its latitude and its longitude, or neither. Nothing was saved.",
            field="latitude",
        )
    if latitude is not None and not words:
        raise BadInput("Please say in words where the day ends. Nothing was saved.", field="place")
    people = table("staff").c
    query = select(people.id).where(people.id == staff_id, people.struck_at.is_(None))
    if writing.connection.execute(query).scalar() is None:
        raise NotFound("There is no such person here; nothing was saved.")
    return writing.add(
        "way_home",
        staff_id=staff_id,
        from_day=from_day,
        place=words,
        latitude=latitude,
        longitude=longitude,
    )


def ways_home(book: Source, day: date) -> Mapping[UUID, WayHome]:
    """Where the day of each person ends.

    Parameters
    ----------
    book
        The practice's book, or a connection to it.
    day
        The local day.

    Returns
    -------
    Mapping
        By person; whose day ends where it began is left out.
    """
    homes = table("way_home").c
    query = (
        select(homes.staff_id, homes.from_day, homes.place, homes.latitude, homes.longitude)
        .where(homes.struck_at.is_(None), homes.from_day <= day)
        .order_by(homes.from_day, homes.created_at, homes.id)
    )
    with reading(book) as connection:
        rows = connection.execute(query).all()
    newest = {row.staff_id: row for row in rows}
    return {
        key: WayHome(key, row.from_day, row.place, place_of(row.latitude, row.longitude))
        for key, row in newest.items()
        if row.place
    }
