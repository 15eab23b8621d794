"""Whether a day still holds one more visit: its load, and the break.

The drives are those that a round would be planned with: between visits, from where the person sets
out and home where these are known, by the practice's table or reckoned, and a stand-in where a
place is not known. Disinfecting after a visit counts as well.
"""

from __future__ import annotations

from collections.abc import Iterator
from datetime import datetime, time, timedelta
from itertools import pairwise
from uuid import UUID
from zoneinfo import ZoneInfo

from store.diary.booking.added import Call, way_min
from store.diary.booking.beside import calls_of, ends_of, site_stop
from store.diary.booking.free import Span, span_of, spans_of, taken
from store.diary.booking.values import Objection
from store.diary.booking.vet_day import Asked, SiteAsked, VetDay
from store.diary.times.spell import minute_of
from store.text import day_said
from store.travel.ways import Stop


def overfull(
    site: SiteAsked, vet: VetDay, at_time: time | None, minutes: int, asked: Asked,
    visit_id: UUID | None,
) -> Iterator[Objection]:  # fmt: skip
    """A day whose visits, drives, disinfecting and break are longer than its working hours.

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
    asked
        The practice's zone, the ways, and how sites stand.
    visit_id
        The visit that is moved; None for a new one.

    Yields
    ------
    Objection
        One at the most.
    """
    there = vet.work_min(asked.zone)
    if vet.staff_id is None or there == 0:
        return  # leave, or a day without work, is told by itself
    others = [one for one in vet.visits if one.id != visit_id]
    load = sum(one.minutes for one in others) + minutes
    ways = asked.ways
    calls = calls_of(others, ways)
    calls.append(Call(site_stop(site, ways), None if at_time is None else minute_of(at_time)))
    start, home = ends_of(vet, ways)
    drives = way_min(calls, ways, start, home)
    cleaning = sum(asked.disinfect_min(one) for one in {site.id, *(one.site_id for one in others)})
    pause = break_left(vet, asked.zone)
    if load + drives + cleaning + pause > there:
        parts = [f"{load} min of visits", f"about {drives} min of driving{_said_ends(start, home)}"]
        parts += [f"{cleaning} min of disinfecting"] if cleaning else []
        parts += [f"{pause} min of break"] if pause else []
        says = (
            f"{day_said(vet.day)} would be overfull for {vet.who}: {', '.join(parts)}, in {there} "
            "min of work."
        )
        yield Objection("overfull", "reason", says, "on_day")


def _said_ends(start: Stop | None, home: Stop | None) -> str:
    if start is None and home is None:
        return " between them"
    if home is None:
        return " with the way out"
    return " with the way home" if start is None else " with the ways out and home"


def no_break(
    site: SiteAsked, vet: VetDay, at_time: time | None, minutes: int, asked: Asked,
    visit_id: UUID | None,
) -> Iterator[Objection]:  # fmt: skip
    """A day on which no break of its length is left in one piece.

    Parameters
    ----------
    site, vet, at_time, minutes, asked, visit_id
        As for `overfull` [min].

    Yields
    ------
    Objection
        One at the most; none where no break or no hour was stated, or the person does not work.
    """
    zone, ways = asked.zone, asked.ways
    pause = break_left(vet, zone)
    work = vet.work_spans(zone)
    if pause == 0 or at_time is None or not work:
        return
    stops: list[tuple[Span, Stop, UUID]] = [
        (span, ways.visit(one), one.site_id)
        for one in vet.visits
        if one.id != visit_id and (span := span_of(one, zone)) is not None
    ]
    stops.append((taken(vet.day, at_time, minutes, zone), site_stop(site, ways), site.id))
    stops.sort(key=lambda stop: stop[0].begins)
    start, home = ends_of(vet, ways)
    (first, of_first, _), (last, of_last, last_id) = stops[0], stops[-1]
    gaps = [
        _gap(work[0].begins, first.begins, start, of_first, asked),
        _gap(last.ends, work[-1].ends, of_last, home, asked, asked.disinfect_min(last_id)),
    ]
    for (span, of, of_id), (later, to, to_id) in pairwise(stops):
        cleaning = 0 if of_id == to_id else asked.disinfect_min(of_id)
        gaps.append(_gap(span.ends, later.begins, of, to, asked, cleaning))
    if max(gaps) < timedelta(minutes=pause):
        says = f"{vet.who} is left no {pause} min in one piece for a break on {day_said(vet.day)}."
        yield Objection("break", "reason", says, "at_time")


def _gap(
    begins: datetime, ends: datetime, of: Stop | None, to: Stop | None, asked: Asked,
    cleaning: int = 0,
) -> timedelta:  # fmt: skip
    """What is left between two instants beside disinfecting and the drive."""
    drive = 0 if of is None or to is None else asked.ways.way(of, to).planned_min
    return ends - begins - timedelta(minutes=drive + cleaning)


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
