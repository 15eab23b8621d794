"""Rounds that were found, with their errands, ways and times, and whom they move."""

from __future__ import annotations

from collections.abc import Iterator

from store.diary.times.spell import minute_of
from store.rounds.day.values import DayAsked, Driver, Errand, Round, RoundStop
from store.rounds.solving.delay import RING_FROM_MIN
from store.rounds.solving.found import Found
from store.rounds.solving.timetable import Timetable
from store.travel.ways import site_end


def rounds_of(asked: DayAsked, found: Found) -> tuple[Round, ...]:
    """Each driver's round, out of plain numbers.

    Parameters
    ----------
    asked
        The day.
    found
        Its rounds, with stops in the order of the errands and vets in that of the drivers.
    """
    return tuple(
        _round(asked, driver, one) for driver, one in zip(asked.drivers, found.rounds, strict=True)
    )


def _round(asked: DayAsked, driver: Driver, one: Timetable) -> Round:
    stops = tuple(_stops(asked, driver, one))
    home = None
    if stops:
        home = asked.travel.way(site_end(stops[-1].errand.site_id), driver.home)
    return Round(
        driver, stops, one.sets_out, home, one.back, one.drive_min, one.break_after, one.break_at
    )


def _stops(asked: DayAsked, driver: Driver, one: Timetable) -> Iterator[RoundStop]:
    here = driver.start
    for call in one.calls:
        errand = asked.errands[call.stop]
        there = site_end(errand.site_id)
        moved = moved_min(errand, call.begins)
        yield RoundStop(
            errand, asked.travel.way(here, there), call.arrives, call.begins,
            call.begins + errand.minutes, call.leaves, moved, must_ring(moved),
        )  # fmt: skip
        here = there


def moved_min(errand: Errand, begins: int) -> int | None:
    """How much later a visit begins than was agreed; None where no hour was agreed [min].

    Parameters
    ----------
    errand
        The visit.
    begins
        When it begins [min].
    """
    if errand.visit is None or errand.visit.at_time is None:
        return None
    return begins - minute_of(errand.visit.at_time)


def must_ring(moved_min: int | None) -> bool:
    """Whether the client has to be rung: the hour is another, or none was agreed.

    Parameters
    ----------
    moved_min
        How much later the visit begins than was agreed; None where nothing was [min].
    """
    return moved_min is None or abs(moved_min) >= RING_FROM_MIN
