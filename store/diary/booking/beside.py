"""Other visits of the same person, where the day begins and ends, and the drives from there."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from uuid import UUID

from store.diary.booking.added import Call
from store.diary.booking.free import Span, span_of
from store.diary.booking.values import Visiting
from store.diary.booking.vet_day import Asked, SiteAsked, VetDay
from store.diary.booking.ways import Ways
from store.diary.times.spell import minute_of
from store.travel.ways import Stop, Way, at_practice, home_end, vet_end

_CLOCK_CHANGE_MIN = 180
"""More than any change of the clock within a day [min]."""


@dataclass(frozen=True, slots=True)
class Beside:
    """Another visit with an hour, and the drives between it and the site asked about.

    `there` leads from the site to it, `on` from it to the site. `after_min` is what disinfecting
    takes after that visit, `own_min` after the one asked about [min]; between two visits to the
    same site none is needed.
    """

    visit: Visiting
    span: Span
    there: Way
    on: Way
    after_min: int
    own_min: int

    @property
    def kept_free(self) -> Span:
        """The visit with disinfecting and drive before and behind it: nothing else fits in."""
        return Span(
            self.span.begins - timedelta(minutes=self.own_min + self.there.planned_min),
            self.span.ends + timedelta(minutes=self.after_min + self.on.planned_min),
        )


@dataclass(frozen=True, slots=True)
class Edge:
    """The drive out or home within the working hours, during which no visit can be.

    `disinfect_min` is what disinfecting takes before the drive home [min].
    """

    span: Span
    way: Way
    out: bool
    disinfect_min: int


def site_stop(site: SiteAsked, ways: Ways) -> Stop:
    """The site asked about as an end of ways.

    Parameters
    ----------
    site
        The site.
    ways
        The ways of the question.
    """
    return ways.site(site.id, site.name, site.place)


def ends_of(vet: VetDay, ways: Ways) -> tuple[Stop | None, Stop | None]:
    """Where a person's day begins and where it ends, each None where nothing is known of it.

    Parameters
    ----------
    vet
        The person's day.
    ways
        The ways of the question.
    """
    if vet.staff_id is None:
        return None, None
    also = at_practice(vet.start_place, vet.start)
    start = ways.stop(vet_end(vet.staff_id), vet.start_place, vet.start, also)
    home = start
    if vet.home_apart:
        also = at_practice(vet.home_place, vet.home)
        home = ways.stop(home_end(vet.staff_id), vet.home_place, vet.home, also)
    return (start if ways.knows(start) else None), (home if ways.knows(home) else None)


def beside(vet: VetDay, site: SiteAsked, asked: Asked, visit_id: UUID | None) -> list[Beside]:
    """The other visits of a person with an hour, by it; of the days beside those that reach near.

    Parameters
    ----------
    vet
        The person's day.
    site
        Where the visit is to go.
    asked
        The practice's zone, the ways, and how sites stand.
    visit_id
        The visit that is moved, which does not stand in its own way; None for a new one.
    """
    ways = asked.ways
    here, own_min = site_stop(site, ways), asked.disinfect_min(site.id)
    found = []
    for visit in (*vet.visits, *vet.near_visits):
        if visit.id == visit_id or visit.at_time is None:
            continue
        there, on = ways.there_and_back(here, visit)
        after_min, before_min = asked.disinfect_min(visit.site_id), own_min
        if visit.site_id == site.id:
            after_min = before_min = 0
        if visit.on_day != vet.day:
            # Most visits of the days beside lie hours away from this one.
            ends_min = minute_of(visit.at_time) + visit.minutes
            away_min = 1440 - ends_min if visit.on_day < vet.day else minute_of(visit.at_time)
            needs_min = max(before_min + there.planned_min, after_min + on.planned_min)
            if away_min > needs_min + _CLOCK_CHANGE_MIN:
                continue
        span = span_of(visit, asked.zone)
        assert span is not None
        found.append(Beside(visit, span, there, on, after_min, before_min))
    return sorted(found, key=lambda one: (one.span.begins, one.visit.id))


def edges(
    vet: VetDay, site: SiteAsked, asked: Asked, others: Sequence[Beside], work: Sequence[Span]
) -> Iterator[Edge]:
    """The drive out at the beginning of the working hours, and the drive home at their end.

    Working hours begin where a person sets out and end where the person is back, as a round is
    planned. A drive that is not known is left out of it, and so is one where another visit of that
    day already lies nearer to the edge.

    Parameters
    ----------
    vet
        The person's day.
    site
        Where the visit is to go.
    asked
        The practice's zone, the ways, and how sites stand.
    others
        The other visits, see `beside`.
    work
        The working hours of that day, leave taken off.
    """
    if not work:
        return
    ways, here = asked.ways, site_stop(site, asked.ways)
    start, home = ends_of(vet, ways)
    of_day = [one.span for one in others if one.visit.on_day == vet.day]
    if start is not None and (way := ways.way(start, here)).known and way.planned_min:
        first = work[0].begins
        span = Span(first, first + timedelta(minutes=way.planned_min))
        if not any(one.begins < span.ends for one in of_day):
            yield Edge(span, way, out=True, disinfect_min=0)
    if home is not None and (way := ways.way(here, home)).known and way.planned_min:
        last, own_min = work[-1].ends, asked.disinfect_min(site.id)
        span = Span(last - timedelta(minutes=own_min + way.planned_min), last)
        if not any(one.ends > span.begins for one in of_day):
            yield Edge(span, way, out=False, disinfect_min=own_min)


def calls_of(visits: Sequence[Visiting], ways: Ways) -> list[Call]:
    """Visits as points on the way of a day.

    Parameters
    ----------
    visits
        Of one person and day.
    ways
        The ways of the question.
    """
    return [
        Call(ways.visit(one), None if one.at_time is None else minute_of(one.at_time))
        for one in visits
    ]


def lost_of(site: SiteAsked, visits: Sequence[Visiting], ways: Ways) -> int:
    """How many visits lie where no way from a site is known.

    Parameters
    ----------
    site
        Where the visit is to go.
    visits
        The others of that day.
    ways
        The ways of the question.
    """
    here = site_stop(site, ways)
    return sum(not ways.way(here, ways.visit(one)).known for one in visits)
