"""Days, sites and visits as the tests of bookings are asked about them."""

from __future__ import annotations

from datetime import UTC, date, datetime, time
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from store.diary.booking.free import Span, instant_of
from store.diary.booking.values import Purpose, Visiting, Wish
from store.diary.booking.vet_day import Asked, Away, SiteAsked, VetDay
from store.diary.times.spell import MIDNIGHT, Spell

LONDON = ZoneInfo("Europe/London")
DAY = date(2026, 3, 18)
"""A Wednesday."""
NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)
VET, OTHER_VET = UUID(int=11), UUID(int=12)
SITE, OTHER_SITE = UUID(int=21), UUID(int=22)
NINE_TO_FIVE = (Spell(time(9), time(17)),)


def wish(*purposes: Purpose, **values: Any) -> Wish:
    given = {"site_id": SITE, "pond_id": None, "kind": "examination", "minutes": 60}
    return Wish(**{**given, "purposes": purposes, **values})


def purpose(first_on: date, last_on: date, due_on: date | None = None, **values: Any) -> Purpose:
    given = {"about": "dose:1", "kind": "dose", "says": "dose 2 of 3", "pond_id": None}
    return Purpose(
        **{**given, **values}, due_on=due_on or first_on, first_on=first_on, last_on=last_on
    )


def site(access: tuple[tuple[Spell, ...], ...] | None = None, **values: Any) -> SiteAsked:
    given: dict[str, Any] = {
        "id": SITE, "name": "Brook House", "place": None, "access": access or ((),) * 7,
        "access_said": "", "access_unknown": "", "is_bound": access is not None,
    }  # fmt: skip
    return SiteAsked(**{**given, **values})


def visit(on_day: date = DAY, at_time: time | None = time(10), **values: Any) -> Visiting:
    given: dict[str, Any] = {
        "id": UUID(int=1), "rev": 1, "on_day": on_day, "at_time": at_time, "minutes": 60,
        "fixed": False, "staff_id": VET, "who": "Ada Vet", "kind": "examination",
        "state": "planned", "note": "", "in_spite": "", "agreed_with": "",
        "client_id": UUID(int=31), "site_id": OTHER_SITE, "pond_id": None, "client": "Hill Farm",
        "site": "Hill Farm", "pond": "", "town": "", "address": "", "access_hours": "",
        "access_notes": "", "phone": "", "latitude": None, "longitude": None,
    }  # fmt: skip
    return Visiting(**{**given, **values})


def vet_day(*visits: Visiting, **values: Any) -> VetDay:
    given: dict[str, Any] = {
        "day": DAY, "staff_id": VET, "who": "Ada Vet", "is_vet": True, "work": NINE_TO_FIVE,
        "usual": "", "hours_unknown": "", "break_min": 0, "start": None, "start_place": "",
        "away": (), "holiday": "",
    }  # fmt: skip
    return VetDay(**{**given, "visits": visits, **values})


def away(
    day: date = DAY,
    begins: time = time(0),
    ends: time = MIDNIGHT,
    *,
    says: str = "",
    practice: bool = False,
    zone: ZoneInfo = LONDON,
) -> Away:
    return Away(Span(instant_of(day, begins, zone), instant_of(day, ends, zone)), says, practice)


def asked(now: datetime = NOW, zone: ZoneInfo = LONDON, **values: Any) -> Asked:
    return Asked(now, zone, **values)
