"""The sheet of one person's day: the head, and stop by stop all that is needed beside the pond.

Plain values in words, read by `store.rounds.kept.sheets.sheet`. Minutes are of the local day [min].
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from typing import Literal
from uuid import UUID
from zoneinfo import ZoneInfo

from store.rounds.day.values import RoundStop
from store.rounds.solving.said import listed
from store.travel.ways import Way
from store.watch.levels import Level

JobKind = Literal["dose", "control", "examination", "water", "sample", "call", "other"]
SUSPECT, INFECTED = "suspect", "infected"
_ONE_DAY = 1440
_NAMED = 2
"""So many ponds are named beside the site; of more the site says enough."""


@dataclass(frozen=True, slots=True)
class WhyLine:
    """One promise that a visit keeps, and what the owner does before it.

    `due` is its day and window in words, `pond` is empty where it is for the whole site.
    """

    pond: str
    says: str
    due: str
    before: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class CourseLine:
    """A course at a pond: how far it is, the next dose, what else of it waits.

    `waits` are sentences of what stands before the next dose: a plan to be made anew, a stop that
    no vet has answered, tasks that are not ticked.
    """

    course_id: UUID
    says: str
    last: str
    next: str
    control: str
    waits: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ConcernLine:
    """One concern of the morning list, with its level, number and unit, and what is advised."""

    level: Level
    says: str
    title: str
    parameter: str
    advice: str


@dataclass(frozen=True, slots=True)
class PondSheet:
    """One pond: volume, fish, last readings, what is flagged, what runs, what is open.

    `volume` and `apart` are in litres and words [L]; `use` says whether the fish are food, and
    `eating` until when they must not be eaten. `tested` is when and by whom, `readings` each value
    with its unit, `doubts` why they should be read with care.
    """

    pond_id: UUID
    name: str
    volume: str
    apart: str
    use: str
    eating: str
    fish: str
    system: str
    tested: str
    readings: tuple[str, ...] = ()
    doubts: tuple[str, ...] = ()
    flagged: tuple[ConcernLine, ...] = ()
    courses: tuple[CourseLine, ...] = ()
    findings: tuple[str, ...] = ()
    samples: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Job:
    """Something to be done at a stop, with its amounts; `details` say how.

    `pond` is empty where it is for the whole site. `codes` are the parameters of a water test.
    """

    kind: JobKind
    pond_id: UUID | None
    pond: str
    says: str
    details: tuple[str, ...] = ()
    codes: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class StopSheet:
    """One stop with all that is needed there; `number` counts from 1.

    `agreed` says what was agreed about the hour, `ring` whom to ring first and why, empty where
    nobody has to be. `way` is the way before it in words. `consent` and `prices` are what was
    agreed for the visit.
    """

    number: int
    stop: RoundStop
    client: str
    site: str
    address: tuple[str, ...]
    way_in: str
    hours: str
    phones: tuple[str, ...]
    agreed: str
    ring: str
    way: str
    standing: str
    standing_said: str
    whys: tuple[WhyLine, ...]
    note: str
    ponds: tuple[PondSheet, ...]
    jobs: tuple[Job, ...]
    prices: str
    consent: str
    terms_said: str
    slot_said: str
    warnings: tuple[str, ...] = ()
    """What comes before everything else at a site that is suspect of a notifiable disease."""

    @property
    def name(self) -> str:
        """Client and site, the site left out where it says nothing new."""
        if not self.site or self.site == self.client:
            return self.client
        return f"{self.client}, {self.site}"

    @property
    def where(self) -> str:
        """The same with the pond that is visited, or both: two stops can be at one site."""
        ponds = [one.name for one in self.ponds if one.name and not self.name.endswith(one.name)]
        return f"{self.name}: {listed(ponds)}" if 0 < len(ponds) <= _NAMED else self.name

    @property
    def key(self) -> UUID:
        """Of the errand."""
        return self.stop.errand.key

    @property
    def to_ring(self) -> bool:
        """Whether somebody has to be rung before it can be so."""
        return bool(self.ring)


@dataclass(frozen=True, slots=True)
class DaySheet:
    """The sheet of one person's day.

    `sets_out` and `back` are minutes of the local day, `drive_min` all minutes on the road [min],
    `km` by road [km], None where that of any way is not known. `broken` says which rule of the
    order the plan breaks. `left_out` are the visits that are in nobody's round, with the reason.
    """

    staff_id: UUID
    who: str
    practice: str
    day: date
    zone: ZoneInfo
    written_at: datetime
    sets_out: int
    start: str
    back: int
    home: str
    way_home: str
    drive_min: int
    km: float | None
    rest: str
    break_after: int | None
    proof: str
    price: str
    stops: tuple[StopSheet, ...]
    broken: tuple[str, ...] = ()
    left_out: tuple[str, ...] = ()
    remarks: tuple[str, ...] = ()

    @property
    def written_on(self) -> date:
        """The practice's day on which the sheet was made."""
        return self.written_at.astimezone(self.zone).date()

    @property
    def without_place(self) -> tuple[StopSheet, ...]:
        """The stops without coordinates, which no map can show."""
        return tuple(one for one in self.stops if not has_place(one))

    def at(self, minute: int) -> datetime:
        """A minute of the day as the clock on the wall shows it, with the zone.

        Parameters
        ----------
        minute
            Since the beginning of the day; beyond midnight the next day [min].
        """
        days, rest = divmod(minute, _ONE_DAY)
        day = self.day + timedelta(days=days)
        return datetime.combine(day, time(rest // 60, rest % 60), self.zone)


def has_place(stop: StopSheet) -> bool:
    """Whether the coordinates of a stop are known.

    Parameters
    ----------
    stop
        The stop.
    """
    errand = stop.stop.errand
    return errand.latitude is not None and errand.longitude is not None


def way_said(way: Way) -> str:
    """A way in words: minutes, kilometres by road, and what they rest on.

    Parameters
    ----------
    way
        The way.

    Examples
    --------
    >>> way_said(Way(24, 24, 17.0, "reckoned", "reckoned: 13.1 km straight × 1.3 at 44 km/h"))
    '24 min, 17.0 km; reckoned: 13.1 km straight × 1.3 at 44 km/h'
    >>> way_said(Way(None, 20, None, "unknown", "not known: A without coordinates"))
    '20 min stand in; not known: A without coordinates'
    """
    if way.basis == "same place":
        return "the same place, no drive"
    if way.minutes is None:
        return f"{way.planned_min} min stand in; {way.said}"
    km = "" if way.km is None else f", {way.km:.1f} km"
    return f"{way.minutes} min{km}; {way.said}"
