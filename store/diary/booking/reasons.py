"""Why a slot is proposed, and what is to be known of it, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import time

from store.diary.booking.beside import calls_of, straight_km
from store.diary.booking.said import said_km
from store.diary.booking.search import Search
from store.diary.booking.values import Visiting
from store.diary.booking.vet_day import Asked, SiteAsked, VetDay
from store.diary.times.clock import hour_twice

NEAR_KM = 25.0
"""Nearer than this another visit is named as a reason [km]."""


def reasons_for(
    site: SiteAsked, vet: VetDay, search: Search, added_km: float | None
) -> Iterator[str]:
    """Why a person's day is a good one for a visit, in a few words each.

    Parameters
    ----------
    site
        Where the visit goes.
    vet
        Who goes, and the day.
    search
        The days that are searched.
    added_km
        What the visit adds to the way of that day, as straight distance; None where that is not
        known [km].

    Yields
    ------
    str
        What is near first, then the day. The person, the window and the place where the day begins
        are the same in every slot, and are told beside.
    """
    said_near = ""
    near = _nearest(site, vet.visits)
    if near is not None:
        visit, km = near
        at = "that day" if visit.at_time is None else f"at {visit.at_time:%H:%M}"
        if visit.site_id == site.id:
            said_near = said_km(0.0)
            yield f"there {at} anyway"
        elif km <= NEAR_KM:
            said_near = said_km(km)
            yield f"{said_near} from {visit.client} {at}"
    if added_km is not None:
        if not vet.visits and vet.start_place:
            yield f"{said_km(added_km)} there and back, nothing else that day yet"
        elif said_km(added_km) != said_near:
            yield f"adds {said_km(added_km)} to that day's way"
    elif not vet.visits:
        yield "nothing else that day yet"
    elif not said_near:
        others = "1 other visit" if len(vet.visits) == 1 else f"{len(vet.visits)} other visits"
        yield f"beside {others} that day"
    if search.due_on == vet.day:
        yield "the promised day"
    if search.window is not None:
        first, last = search.window
        if first < last and first <= vet.day < last:  # the last day is a mark
            place, of = (vet.day - first).days + 1, (last - first).days + 1
            yield f"day {place} of {of} of its window"


def _nearest(site: SiteAsked, visits: Sequence[Visiting]) -> tuple[Visiting, float] | None:
    known = [(km, one) for one in visits if (km := straight_km(site, one)) is not None]
    if not known:
        return None
    km, visit = min(known, key=lambda pair: (pair[0], pair[1].at_time or time(0), pair[1].id))
    return visit, km


def marks_of(
    site: SiteAsked,
    vet: VetDay,
    asked: Asked,
    at_time: time | None = None,
    search: Search | None = None,
) -> Iterator[str]:
    """What is to be known of a day beside what speaks against it.

    Parameters
    ----------
    site
        Where the visit goes.
    vet
        Who goes, and the day.
    asked
        The present, and the other visits to the site on that day.
    at_time
        The local hour; None while none is agreed.
    search
        The days that are searched; None where a day was chosen freely, and what holds of every day
        is then told with it.

    Yields
    ------
    str
        A sentence each.
    """
    if search is None:
        yield from told_once(site, [vet])
    if site.access_unknown:
        yield f"Of the hours of access “{site.access_unknown}” was not understood; please look."
    for one in asked.at_site:
        at = "" if one.at_time is None else f" at {one.at_time:%H:%M}"
        who = f" by {one.who}" if one.who else ""
        if search is None:
            yield f"{site.name} is visited on that day already{at}{who}."
        elif one.staff_id is None or one.staff_id != vet.staff_id:  # else it is the reason
            yield f"visited on that day already{at}{who}."
    if at_time is not None and (twice := hour_twice(vet.day, at_time, asked.zone)):
        yield twice
    lost = calls_of(vet.visits)[1]
    if lost and site.place is not None:
        visits = "visit has" if lost == 1 else "visits have"
        yield f"{lost} other {visits} no place on the map, so the way is reckoned without."
    if search is not None and search.window is not None:
        first, last = search.window
        if first < last and vet.day == last:
            yield "last day of its window."


def told_once(site: SiteAsked, vets: Sequence[VetDay]) -> Iterator[str]:
    """What is to be known of a site and of people on whatever day.

    Parameters
    ----------
    site
        Where the visit goes.
    vets
        Any days of each person.

    Yields
    ------
    str
        A sentence each.
    """
    if any(vet.staff_id is None for vet in vets):
        yield "No vet is chosen yet; nobody's hours, leave and visits were looked at."
    usual = {vet.who: vet.usual for vet in vets if vet.usual}
    if usual:
        hours = next(iter(usual.values()))
        yield f"No working hours are entered for {' and '.join(usual)}; {hours} is taken."
    for who, unknown in {vet.who: vet.hours_unknown for vet in vets if vet.hours_unknown}.items():
        yield f"Of the working hours of {who} “{unknown}” was not understood."
    if site.place is None:
        yield "Where the site lies is not entered, so no way can be reckoned."
