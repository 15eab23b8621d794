"""Why a slot is proposed, and what is to be known of it, in words."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import time

from store.diary.booking.added import Added
from store.diary.booking.beside import ends_of, lost_of, site_stop
from store.diary.booking.order import is_suspect, said_own, visits_elsewhere
from store.diary.booking.said import said_way
from store.diary.booking.search import Search
from store.diary.booking.values import Visiting
from store.diary.booking.vet_day import Asked, SiteAsked, VetDay
from store.diary.booking.ways import Ways, together
from store.diary.times.clock import hour_twice
from store.travel.ways import Way

NEAR_MIN = 40
"""Common practice: nearer than this drive another visit is named as a reason [min]."""


def reasons_for(
    site: SiteAsked, vet: VetDay, search: Search, added: Added | None, asked: Asked
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
    added
        What the visit adds to the drives of that day; None where nothing is known of them.
    asked
        The present, and the ways.

    Yields
    ------
    str
        What is near first, then the day. The person, the window and the place where the day begins
        are the same in every slot, and are told beside.
    """
    said_near = ""
    near = _nearest(site, vet.visits, asked.ways)
    if near is not None:
        visit, way = near
        at = "that day" if visit.at_time is None else f"at {visit.at_time:%H:%M}"
        if visit.site_id == site.id:
            said_near = said_way(0, 0.0, "")
            yield f"there {at} anyway"
        elif way.planned_min <= NEAR_MIN:
            said_near = said_way(way.planned_min, way.km, together([way.basis]))
            yield f"{said_near} from {visit.client} {at}"
    yield from _added_said(vet, added, asked, said_near)
    if search.due_on == vet.day:
        yield "the promised day"
    if search.window is not None:
        first, last = search.window
        if first < last and first <= vet.day < last:  # the last day is a mark
            place, of = (vet.day - first).days + 1, (last - first).days + 1
            yield f"day {place} of {of} of its window"


def _added_said(vet: VetDay, added: Added | None, asked: Asked, said_near: str) -> Iterator[str]:
    if added is not None:
        said = said_way(added.minutes, added.km, added.rests_on)
        if not vet.visits:
            how = "there and back" if None not in ends_of(vet, asked.ways) else "of driving"
            yield f"{said} {how}, nothing else that day yet"
        elif added.minutes == 0:
            if not said_near:
                yield "adds nothing to that day's way"
        elif said != said_near:
            yield f"adds {said} to that day's way"
    elif not vet.visits:
        yield "nothing else that day yet"
    elif not said_near:
        others = "1 other visit" if len(vet.visits) == 1 else f"{len(vet.visits)} other visits"
        yield f"beside {others} that day"


def _nearest(
    site: SiteAsked, visits: Sequence[Visiting], ways: Ways
) -> tuple[Visiting, Way] | None:
    here = site_stop(site, ways)
    drives = ((ways.way(ways.visit(one), here), one) for one in visits)
    known = [(way, one) for way, one in drives if way.known]
    if not known:
        return None
    way, visit = min(
        known,
        key=lambda pair: (
            pair[0].planned_min, pair[1].at_time or time(0), pair[0].km or 0.0, pair[1].id
        ),
    )  # fmt: skip
    return visit, way


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
        yield from told_once(site, [vet], asked)
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
    lost = lost_of(site, vet.visits, asked.ways)
    if lost and asked.ways.knows(site_stop(site, asked.ways)):
        visits = "1 other visit" if lost == 1 else f"{lost} other visits"
        yield f"The drive to {visits} is not known, so what is added is reckoned without."
    if is_suspect(site, asked) and (elsewhere := visits_elsewhere(site, vet)):
        others = "is another visit" if elsewhere == 1 else "are other visits"
        yield f"there {others} that day; a suspect is better alone on its day."
    if search is not None and search.window is not None:
        first, last = search.window
        if first < last and vet.day == last:
            yield "last day of its window."


def told_once(site: SiteAsked, vets: Sequence[VetDay], asked: Asked) -> Iterator[str]:
    """What is to be known of a site and of people on whatever day.

    Parameters
    ----------
    site
        Where the visit goes.
    vets
        Any days of each person.
    asked
        The ways, and how sites stand.

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
        known = asked.ways.knows(site_stop(site, asked.ways))
        only = (
            "only drives of the practice's table are known" if known else "no way can be reckoned"
        )
        yield f"Where the site lies is not entered, so {only}."
    yield from said_own(site, asked)
