"""What the booking of a visit is made of, as plain values."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date, time
from typing import Literal
from uuid import UUID

from store.diary.times.spell import Spell

DrivesOn = Literal["table", "reckoned", "both", ""]
"""What some drives rest on together; empty where nothing is driven."""
VisitState = Literal["planned", "done", "cancelled"]
Bars = Literal["never", "reason"]
"""`never` cannot be booked at all; `reason` is booked when somebody says why it goes all the same.
"""


@dataclass(frozen=True, slots=True)
class Purpose:
    """One promise that a visit is to keep; the window includes both days."""

    about: str
    kind: str
    says: str
    pond_id: UUID | None
    due_on: date
    first_on: date
    last_on: date


@dataclass(frozen=True, slots=True)
class Visiting:
    """A planned, done or cancelled visit as the diary shows it.

    `at_time` is local, None while no hour was agreed; `minutes` its length beside the pond, from
    the booking or the usual length of its kind [min]. `latitude` and `longitude` are of the site
    [degrees]. `ends` is what the clock on the wall shows at its end, over a change of the clock
    too; None without an hour, or where it reaches over midnight.
    """

    id: UUID
    rev: int
    on_day: date
    at_time: time | None
    minutes: int
    fixed: bool
    staff_id: UUID | None
    who: str
    kind: str
    state: VisitState
    note: str
    in_spite: str
    agreed_with: str
    client_id: UUID
    site_id: UUID
    pond_id: UUID | None
    client: str
    site: str
    pond: str
    town: str
    address: str
    access_hours: str
    access_notes: str
    phone: str
    latitude: float | None
    longitude: float | None
    purposes: tuple[Purpose, ...] = ()
    ends: time | None = None


@dataclass(frozen=True, slots=True)
class Wish:
    """What is to be booked: a visit of `minutes` at a site, for one pond or all of it."""

    site_id: UUID
    pond_id: UUID | None
    kind: str
    minutes: int
    purposes: tuple[Purpose, ...] = ()
    agreed_with: str = ""
    note: str = ""
    fixed: bool = False


@dataclass(frozen=True, slots=True)
class Objection:
    """Something that speaks against a day and hour.

    `field` is where it is told: `on_day`, `at_time`, `staff_id` or `minutes`.
    """

    code: str
    bars: Bars
    says: str
    field: str


@dataclass(frozen=True, slots=True)
class Stood:
    """How a site stands: clean, doubtful, infected, or suspect of a notifiable disease.

    `level` counts them from 0 to 3 in this order, in which a vet's day goes through them; `word`
    is the same in a word, `said` with its reason and without a full stop. `disinfect_min` is what
    disinfecting takes after a visit there, beside the visit itself [min].
    """

    level: int
    word: str
    said: str
    disinfect_min: int


@dataclass(frozen=True, slots=True)
class Slot:
    """A proposed day and hour with a vet, and why it is proposed.

    `added_min` is what the visit adds to the drives of that day, None where nothing is known of
    them [min]; `added_km` the same by road, None where that is not known [km]; `rests_on` what
    these drives rest on. `ends` is as for `Visiting`; `reasons` say in a few words each why it is
    good, `marks` what to know (a public holiday, an hour near the end of the window).
    """

    on_day: date
    at_time: time
    minutes: int
    staff_id: UUID
    who: str
    added_min: int | None
    score: float
    reasons: tuple[str, ...]
    marks: tuple[str, ...]
    ends: time | None = None
    added_km: float | None = None
    rests_on: DrivesOn = ""


@dataclass(frozen=True, slots=True)
class DiaryDay:
    """One vet's day: visits by hour, what is free, how full it is.

    `work` are the working hours of that day without leave; empty when the vet is away or does not
    work. `away` says why in words. `holiday` names a public holiday. `booked_min` counts visits
    [min], `work_min` the working hours [min]; `free` are gaps between visits that have an hour.
    """

    day: date
    staff_id: UUID | None
    who: str
    visits: tuple[Visiting, ...]
    work: tuple[Spell, ...]
    away: str
    holiday: str
    booked_min: int
    work_min: int
    free: tuple[Spell, ...]
