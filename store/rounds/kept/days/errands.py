"""Visits of a day as errands: hours of access, standing of the site, the hour that is best."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from uuid import UUID

from sqlalchemy import Connection, select

from store.book.tables import table
from store.diary.booking.said import named
from store.diary.booking.values import Visiting, Wish
from store.diary.times.spell import minute_of
from store.rounds.day.access import Access, access_on
from store.rounds.day.values import Agreed, Errand
from store.rounds.day.worth import worth_min, worth_said
from store.rounds.kept.standing.standing_values import RANK, SiteStanding
from store.rounds.kept.standing.wishes import HourWish
from store.rounds.solving.problem import DOUBTFUL, MUST_COST
from store.rounds.solving.said import clock_said, listed

_AT_ONCE = 500
"""Keys that are asked for at once: both databases bound the variables of a statement."""
MOST_NAMED = 4
"""So many sites are named in a remark; of more their number is told."""


@dataclass(frozen=True, slots=True)
class SiteRow:
    """A site with what an errand takes from it; `ponds` are those that stand in the book."""

    client_id: UUID
    client: str
    site: str
    phone: str
    access_hours: str
    latitude: float | None
    longitude: float | None
    ponds: tuple[tuple[UUID, str], ...]


def site_rows(connection: Connection, sites: Collection[UUID]) -> Mapping[UUID, SiteRow]:
    """Some sites with their ponds.

    Parameters
    ----------
    connection
        Reading, or within a writing.
    sites
        Their keys.
    """
    of, clients, ponds = table("site").c, table("client").c, table("pond").c
    wanted = list(dict.fromkeys(sites))
    found: dict[UUID, SiteRow] = {}
    for first in range(0, len(wanted), _AT_ONCE):
        some = wanted[first : first + _AT_ONCE]
        pools: dict[UUID, list[tuple[UUID, str]]] = {}
        of_sites = (
            select(ponds.site_id, ponds.id, ponds.name)
            .where(ponds.site_id.in_(some), ponds.struck_at.is_(None))
            .order_by(ponds.name, ponds.id)
        )
        for site_id, pond_id, name in connection.execute(of_sites):
            pools.setdefault(site_id, []).append((pond_id, name))
        query = (
            select(
                of.id, of.client_id, clients.name.label("client"), of.name, clients.phone,
                clients.phone2, of.access_hours, of.latitude, of.longitude,
            )
            .join_from(table("site"), table("client"), clients.id == of.client_id)
            .where(of.id.in_(some))
        )  # fmt: skip
        for row in connection.execute(query):
            found[row.id] = SiteRow(
                row.client_id, row.client, row.name, row.phone or row.phone2, row.access_hours,
                row.latitude, row.longitude, tuple(pools.get(row.id, ())),
            )  # fmt: skip
    return found


def booked_errand(visit: Visiting, row: SiteRow | None, day: date) -> tuple[Errand, Access]:
    """A visit of the diary as an errand, its standing still to be put in.

    Parameters
    ----------
    visit
        The visit.
    row
        Its site; None where that is not in the book any more.
    day
        The local day.
    """
    access = access_on(visit.access_hours, day)
    every = () if row is None else tuple(key for key, _name in row.ponds)
    one = Errand(
        key=visit.id, visit=visit, client_id=visit.client_id, site_id=visit.site_id,
        pond_ids=every if visit.pond_id is None else (visit.pond_id,), name=named(visit),
        kind=visit.kind, minutes=visit.minutes, windows=access.windows, hours_said=access.said,
        level=DOUBTFUL, standing="doubtful", standing_said="", disinfect_min=0,
        skip_cost=MUST_COST, purposes=visit.purposes, phone=visit.phone,
        latitude=visit.latitude, longitude=visit.longitude,
    )  # fmt: skip
    return one, access


def due_errand(
    site_id: UUID, row: SiteRow, wish: Wish, weight: float, day: date
) -> tuple[Errand, Access]:
    """One visit that keeps what is due at a site.

    Parameters
    ----------
    site_id, row
        The site.
    wish
        The visit that keeps it.
    weight
        Of what is due there, on that day [-].
    day
        The local day.
    """
    access = access_on(row.access_hours, day)
    ponds = dict.fromkeys(one.pond_id for one in wish.purposes)
    every = tuple(key for key, _name in row.ponds)
    pond = dict(row.ponds).get(wish.pond_id) if wish.pond_id is not None else row.site
    name = row.client if not pond or pond == row.client else f"{row.client}, {pond}"
    one = Errand(
        key=site_id, visit=None, client_id=row.client_id, site_id=site_id,
        pond_ids=every if None in ponds else tuple(key for key in ponds if key is not None),
        name=name, kind=wish.kind, minutes=wish.minutes, windows=access.windows,
        hours_said=access.said, level=DOUBTFUL, standing="doubtful", standing_said="",
        disinfect_min=0, skip_cost=worth_min(weight), weight=weight,
        worth_said=worth_said(weight), purposes=wish.purposes, phone=row.phone,
        latitude=row.latitude, longitude=row.longitude,
    )  # fmt: skip
    return one, access


def with_standing(one: Errand, standing: SiteStanding | None, hour: HourWish | None) -> Errand:
    """An errand with the standing of its site and the hour that is best.

    Parameters
    ----------
    one
        The errand.
    standing
        None where the site is not in the book any more: it counts as doubtful.
    hour
        None where nothing is wished.
    """
    if hour is not None:
        one = replace(one, slot=hour.slot, slot_said=hour.said)
    if standing is None:
        return replace(one, standing_said="doubtful: the site is not in the book any more")
    return replace(
        one, level=RANK[standing.standing], standing=standing.standing,
        standing_said=standing.said, disinfect_min=standing.disinfect_min,
    )  # fmt: skip


def access_remarks(told: Iterable[tuple[Errand, Access]], agreed: Agreed = "kept") -> Iterator[str]:
    """What is not known of hours of access, in a sentence or two; and hours agreed outside of them.

    Parameters
    ----------
    told
        The errands with their hours.
    agreed
        Whether hours that were agreed stay: those need no others.
    """
    none = list[str]()
    for one, access in told:
        if (at := _kept(one, agreed)) is not None:
            inside = any(
                window.opens <= at and at + one.minutes <= window.closes for window in one.windows
            )
            if not inside and access.rests != "none stated":
                yield (
                    f"{one.name} is agreed at {clock_said(at)}, outside of its hours of access, "
                    f"{access.said}: it stays as it was agreed."
                )
        elif access.rests == "none stated":
            none.append(one.name)
        elif access.unknown:
            what = f"Of the hours of access of {one.name} “{access.unknown}” was not understood"
            yield f"{what}: no limit is taken." if access.rests == "not understood" else f"{what}."
    if none:
        yield (
            f"No hours of access are stated for {few_named(none)}; 08:00 to 19:00 is taken, "
            "common practice."
        )


def _kept(one: Errand, agreed: Agreed) -> int | None:
    """The minute that was agreed and stays [min]."""
    visit = one.visit
    if visit is None or visit.at_time is None or not (visit.fixed or agreed == "kept"):
        return None
    return minute_of(visit.at_time)


def few_named(names: Sequence[str]) -> str:
    """Names in a row; of many only the first and how many more there are.

    Parameters
    ----------
    names
        At least one.

    Examples
    --------
    >>> few_named(["Ada", "Ben"]), few_named(["A", "B", "C", "D", "E", "F"])
    ('Ada and Ben', 'A, B, C and 3 more')
    """
    own = list(dict.fromkeys(names))
    if len(own) <= MOST_NAMED:
        return listed(own)
    return f"{', '.join(own[: MOST_NAMED - 1])} and {len(own) - MOST_NAMED + 1} more"
