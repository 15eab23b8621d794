"""Whether a day still holds one more visit: its load, and the break."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import time, timedelta
from itertools import pairwise
from uuid import UUID
from zoneinfo import ZoneInfo

from store.diary.booking.added import UNKNOWN_DRIVE_MIN, Call, drive_min, way_km
from store.diary.booking.beside import calls_of
from store.diary.booking.free import Span, span_of, spans_of, taken
from store.diary.booking.values import Objection
from store.diary.booking.vet_day import SiteAsked, VetDay
from store.diary.times.spell import minute_of
from store.text import day_said
from store.travel.place import Place, distance_km, place_of


def overfull(
    site: SiteAsked, vet: VetDay, at_time: time | None, minutes: int, zone: ZoneInfo,
    visit_id: UUID | None,
) -> Iterator[Objection]:  # fmt: skip
    """A day whose visits, drives and break are longer than its working hours.

    Parameters
    ----------
    site
        Where the visit goes.
    vet
        Who goes, and the day.
    at_time
        The local hour; None while none is agreed.
    minutes
        Length of the visit beside the pond [min].
    zone
        The practice's time zone.
    visit_id
        The visit that is moved; None for a new one.

    Yields
    ------
    Objection
        One at the most.
    """
    there = vet.work_min(zone)
    if vet.staff_id is None or there == 0:
        return  # leave, or a day without work, is told by itself
    others = [one for one in vet.visits if one.id != visit_id]
    load = sum(one.minutes for one in others) + minutes
    calls, _lost = calls_of(others)
    if site.place is not None:
        calls.append(Call(site.place, None if at_time is None else minute_of(at_time)))
    lost = {one.site_id for one in others if place_of(one.latitude, one.longitude) is None}
    lost = lost | {site.id} if site.place is None else lost - {site.id}
    # Each site that is not known is one more drive; the first of all needs none.
    drives = drive_min(way_km(calls)) + UNKNOWN_DRIVE_MIN * max(0, len(lost) - (not calls))
    pause = break_left(vet, zone)
    if load + drives + pause > there:
        kept = f", {pause} min of break" if pause else ""
        says = (
            f"{day_said(vet.day)} would be overfull for {vet.who}: {load} min of visits, about "
            f"{drives} min of driving between them{kept}, in {there} min of work."
        )
        yield Objection("overfull", "reason", says, "on_day")


def no_break(
    site: SiteAsked, vet: VetDay, at_time: time | None, minutes: int, zone: ZoneInfo,
    visit_id: UUID | None,
) -> Iterator[Objection]:  # fmt: skip
    """A day on which no break of its length is left in one piece.

    Parameters
    ----------
    site, vet, at_time, minutes, zone, visit_id
        As for `overfull` [min].

    Yields
    ------
    Objection
        One at the most; none where no break or no hour was stated, or the person does not work.
    """
    pause = break_left(vet, zone)
    work = vet.work_spans(zone)
    if pause == 0 or at_time is None or not work:
        return
    stops: list[tuple[Span, Place | None, UUID]] = [
        (span, place_of(one.latitude, one.longitude), one.site_id)
        for one in vet.visits
        if one.id != visit_id and (span := span_of(one, zone)) is not None
    ]
    stops.append((taken(vet.day, at_time, minutes, zone), site.place, site.id))
    stops.sort(key=lambda stop: stop[0].begins)
    gaps = [stops[0][0].begins - work[0].begins, work[-1].ends - stops[-1][0].ends]
    for (span, place, of), (later, there, to) in pairwise(stops):
        km = None if place is None or there is None else distance_km(place, there)
        drive = timedelta(minutes=0 if of == to else drive_min(km))
        gaps.append(later.begins - span.ends - drive)
    if max(gaps) < timedelta(minutes=pause):
        says = f"{vet.who} is left no {pause} min in one piece for a break on {day_said(vet.day)}."
        yield Objection("break", "reason", says, "at_time")


def break_left(vet: VetDay, zone: ZoneInfo) -> int:
    """The break that has to fit into the working hours [min]; none where these have a gap for it.

    Parameters
    ----------
    vet
        The person's day.
    zone
        The practice's time zone.
    """
    spans = spans_of(vet.day, vet.work, zone)
    rests = (int((b.begins - a.ends) / timedelta(minutes=1)) for a, b in pairwise(spans))
    return 0 if max(rests, default=0) >= vet.break_min else vet.break_min
