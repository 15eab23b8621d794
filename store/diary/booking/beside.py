"""Other visits of the same person, and the drive between them and a site."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import timedelta
from uuid import UUID
from zoneinfo import ZoneInfo

from store.diary.booking.added import Call, drive_min
from store.diary.booking.free import Span, span_of
from store.diary.booking.values import Visiting
from store.diary.booking.vet_day import SiteAsked, VetDay
from store.diary.times.spell import minute_of
from store.travel.place import distance_km, place_of


@dataclass(frozen=True, slots=True)
class Beside:
    """Another visit with an hour, and the drive between it and the site asked about [min]."""

    visit: Visiting
    span: Span
    drive_min: int

    @property
    def kept_free(self) -> Span:
        """The visit with the drive before and behind it: nothing else fits in there."""
        drive = timedelta(minutes=self.drive_min)
        return Span(self.span.begins - drive, self.span.ends + drive)


def straight_km(site: SiteAsked, visit: Visiting) -> float | None:
    """Straight distance between a site and a visit [km], None where a place is not known.

    Parameters
    ----------
    site, visit
        The two; a visit to the same site is at no distance, known or not.
    """
    if visit.site_id == site.id:
        return 0.0
    place = place_of(visit.latitude, visit.longitude)
    return None if place is None or site.place is None else distance_km(site.place, place)


def beside(vet: VetDay, site: SiteAsked, zone: ZoneInfo, visit_id: UUID | None) -> list[Beside]:
    """The other visits of a person that have an hour, by it, those of the days beside among them.

    Parameters
    ----------
    vet
        The person's day.
    site
        Where the visit is to go.
    zone
        The practice's time zone.
    visit_id
        The visit that is moved, which does not stand in its own way; None for a new one.
    """
    found = [
        Beside(visit, span, drive_min(straight_km(site, visit)))
        for visit in (*vet.visits, *vet.near_visits)
        if visit.id != visit_id and (span := span_of(visit, zone)) is not None
    ]
    return sorted(found, key=lambda one: (one.span.begins, one.visit.id))


def calls_of(visits: Sequence[Visiting]) -> tuple[list[Call], int]:
    """Visits as points on the way of a day, and how many have no known place.

    Parameters
    ----------
    visits
        Of one person and day.
    """
    calls = [
        Call(place, None if one.at_time is None else minute_of(one.at_time))
        for one in visits
        if (place := place_of(one.latitude, one.longitude)) is not None
    ]
    return calls, len(visits) - len(calls)
