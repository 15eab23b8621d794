"""All that a booking asks of one person's day and of a site, as plain values."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import date, datetime
from uuid import UUID
from zoneinfo import ZoneInfo

from store.diary.booking.free import Span, minutes_in, span_of, spans_of, without
from store.diary.booking.values import Stood, Visiting
from store.diary.booking.ways import Ways
from store.diary.times.spell import Spell
from store.travel.place import Place

WITHOUT_VET = frozenset({"water test"})
"""Kinds of visit that need no vet: whoever can hold a bottle goes."""


@dataclass(frozen=True, slots=True)
class Away:
    """A stretch in which somebody is away, or the whole practice rests."""

    span: Span
    says: str
    whole_practice: bool


@dataclass(frozen=True, slots=True)
class BookedPromise:
    """A promise for which another visit is planned already."""

    about: str
    says: str
    visit: Visiting


@dataclass(frozen=True, slots=True)
class SiteAsked:
    """Where a visit is to go.

    `access` are the hours of each weekday from Monday on in which one gets in, as far as
    `access_said` was understood; `access_unknown` is what was not. `is_bound` tells whether they
    set any limit.
    """

    id: UUID
    name: str
    place: Place | None
    access: tuple[tuple[Spell, ...], ...]
    access_said: str
    access_unknown: str
    is_bound: bool


@dataclass(frozen=True, slots=True)
class VetDay:
    """One person's day: working hours, leave, visits; `staff_id` None is nobody's day.

    `work` are the working hours without regard to leave; `usual` tells that nobody entered any and
    common hours stand in. `hours_unknown` is what was not understood of those that were typed.
    `near_visits` are visits of the day before and the day after that have an hour, since one may
    reach over midnight. `break_min` is a break that has to fit in [min]. The day ends where it
    began, unless `home_apart` tells that it ends at `home`, in words `home_place`.
    """

    day: date
    staff_id: UUID | None
    who: str
    is_vet: bool
    work: tuple[Spell, ...]
    usual: str
    hours_unknown: str
    break_min: int
    start: Place | None
    start_place: str
    away: tuple[Away, ...]
    holiday: str
    visits: tuple[Visiting, ...]
    near_visits: tuple[Visiting, ...] = ()
    home_apart: bool = False
    home: Place | None = None
    home_place: str = ""

    def work_spans(self, zone: ZoneInfo) -> tuple[Span, ...]:
        """Working hours less leave and the practice's closing.

        Parameters
        ----------
        zone
            The practice's time zone.
        """
        return without(spans_of(self.day, self.work, zone), (one.span for one in self.away))

    def free_spans(self, zone: ZoneInfo) -> tuple[Span, ...]:
        """What is left of the working hours beside visits that have an hour, drives not counted.

        Parameters
        ----------
        zone
            The practice's time zone.
        """
        spans = (span_of(one, zone) for one in (*self.visits, *self.near_visits))
        return without(self.work_spans(zone), (span for span in spans if span is not None))

    def work_min(self, zone: ZoneInfo) -> int:
        """Minutes of work, leave taken off, the break among them [min].

        Parameters
        ----------
        zone
            The practice's time zone.
        """
        return minutes_in(self.work_spans(zone))


@dataclass(frozen=True, slots=True)
class Asked:
    """The place in time that is asked about, and the present.

    `booked` are promises of the wish that another planned visit is to keep, `at_site` the other
    visits to the site on that day, whoever goes. `ways` are the drives, `standings` how sites
    stand, as far as that was asked.
    """

    now: datetime
    zone: ZoneInfo
    booked: tuple[BookedPromise, ...] = ()
    at_site: tuple[Visiting, ...] = ()
    ways: Ways = field(default_factory=Ways)
    standings: Mapping[UUID, Stood] = field(default_factory=dict)

    def disinfect_min(self, site_id: UUID) -> int:
        """What disinfecting takes after a visit to a site, beside the visit itself [min].

        Parameters
        ----------
        site_id
            The site; one whose standing was not asked for takes none.
        """
        stood = self.standings.get(site_id)
        return 0 if stood is None else stood.disinfect_min
