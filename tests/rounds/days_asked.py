"""Days as they are asked for, made by hand of errands and drivers."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Any

from store.rounds.day.values import DayAsked, DayWish, Driver, Errand
from store.travel.place import place_of
from store.travel.ways import PRACTICE, DriveTable, Stop, site_end, travel
from tests.rounds.day_plans import AT_PRACTICE, ON_DAY, driver

LIGHT = (380, 1095)
NORTH = AT_PRACTICE[0]


def at(north: float, east: float = 0.0) -> tuple[float, float]:
    """A place so many hundredths of a degree from the practice; 1.1 km each to the north."""
    return NORTH + north / 100, AT_PRACTICE[1] + east / 100


def asked_of(
    errands: Sequence[Errand],
    drivers: Iterable[tuple[Driver, Stop]] | None = None,
    *,
    table: DriveTable | None = None,
    light: tuple[int, int] | None = LIGHT,
    remarks: tuple[str, ...] = (),
    **wish: Any,
) -> DayAsked:
    """The day of some errands; without drivers that of one who drives from eight to six."""
    who = [driver()] if drivers is None else list(drivers)
    ends = [Stop(PRACTICE, "the practice", place_of(*AT_PRACTICE)), *(start for _one, start in who)]
    ends += [
        Stop(site_end(one.site_id), one.name, place_of(one.latitude, one.longitude))
        for one in errands
    ]
    return DayAsked(
        DayWish(ON_DAY, **wish), tuple(one for one, _start in who), tuple(errands),
        travel(ends, table or {}), light, remarks,
    )  # fmt: skip
