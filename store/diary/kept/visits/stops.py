"""Sites, starts of people and the practice as stops with name and place, and the ways between."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from datetime import date
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.practice import practice
from store.book.tables import table
from store.diary.kept.roster.staff_hours import hours_on
from store.errors import NotFound
from store.travel.drive_times import drive_table
from store.travel.place import place_of
from store.travel.ways import End, Stop, Travel, at_practice, travel

_AT_ONCE = 500
"""Keys that are asked for at once: both databases bound the variables of a statement."""


def stops(book: Book, ends: Iterable[End], day: date) -> tuple[Stop, ...]:
    """Each end with its name and its place.

    Parameters
    ----------
    book
        The practice's book.
    ends
        Which; one that stands there twice comes once.
    day
        The local day, on which people set out from where their hours of that day say.

    Returns
    -------
    tuple of Stop
        In the order given. The book keeps no coordinates of the practice: its drives come from the
        practice's own table alone.

    Raises
    ------
    NotFound
        No such site, or nobody of that key works here.
    """
    wanted = tuple(dict.fromkeys(ends))
    found = _sites(book, [one.key for one in wanted if one.kind == "site" and one.key])
    if any(one.kind == "vet" for one in wanted):
        found |= _starts(book, day)
    if any(one.kind == "practice" for one in wanted):
        holder = practice(book)
        named = holder.name if holder is not None else ""
        found[End("practice")] = Stop(End("practice"), named or "the practice", None)
    for one in wanted:
        if one not in found:
            raise NotFound("A site or a person of the day is not in the book.")
    return tuple(found[one] for one in wanted)


def travel_between(book: Book, ends: Iterable[End], day: date) -> Travel:
    """The ways between some ends, by the practice's own table, else reckoned.

    Parameters
    ----------
    book
        The practice's book.
    ends
        Which; one that stands there twice counts once.
    day
        The local day.

    Raises
    ------
    NotFound
        No such site, or nobody of that key works here.
    """
    return travel(stops(book, ends, day), drive_table(book))


def _sites(book: Book, keys: Sequence[UUID]) -> dict[End, Stop]:
    sites, clients = table("site").c, table("client").c
    query = select(
        sites.id, sites.name, clients.name.label("client"), sites.latitude, sites.longitude
    ).join_from(table("site"), table("client"), clients.id == sites.client_id)
    found = {}
    with book.reading() as connection:
        for first in range(0, len(keys), _AT_ONCE):
            some = query.where(sites.id.in_(keys[first : first + _AT_ONCE]))
            for row in connection.execute(some):
                end = End("site", row.id)
                name = row.client if row.name == row.client else f"{row.client}, {row.name}"
                found[end] = Stop(end, name, place_of(row.latitude, row.longitude))
    return found


def _starts(book: Book, day: date) -> dict[End, Stop]:
    return {
        End("vet", key): Stop(
            End("vet", key),
            f"{one.who}'s start" + (f" ({one.start_place})" if one.start_place else ""),
            place := place_of(one.start_latitude, one.start_longitude),
            at_practice(one.start_place, place),
        )
        for key, one in hours_on(book, day).items()
    }
