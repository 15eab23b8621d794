"""Working hours stretched to what was agreed: a visit outside of them, a drive before or after."""

from __future__ import annotations

from collections.abc import Collection, Iterable
from dataclasses import replace
from uuid import UUID

from store.diary.booking.values import Visiting
from store.diary.times.spell import minute_of
from store.rounds.day.problem_of import hour_kept
from store.rounds.day.values import DayAsked, Driver, Errand
from store.rounds.day.work import Work
from store.rounds.solving.said import clock_said, listed
from store.travel.ways import Travel, site_end


def hours_of_visits(visits: Iterable[Visiting]) -> Work | None:
    """A day on which somebody does not work, as long as what was booked on it all the same.

    Parameters
    ----------
    visits
        Of one person.

    Returns
    -------
    Work or None
        Without the drives there and home; None where no visit has an hour and a reason.
    """
    booked = [
        (minute_of(one.at_time), one.minutes)
        for one in visits
        if one.at_time is not None and one.in_spite.strip()
    ]
    if not booked:
        return None
    return Work(min(at for at, _ in booked), max(at + length for at, length in booked), 0, 0, 0)


def stretched(asked: DayAsked, but: Collection[UUID] = ()) -> DayAsked:
    """A day in which people are on the road for what was agreed, also beyond their working hours.

    A visit that lies outside of them counts where a reason was given when it was booked; of one
    that lies in them the drives there and home may lie outside.

    Parameters
    ----------
    asked
        The day.
    but
        Who is away for a part of it: their hours stay as they are.

    Returns
    -------
    DayAsked
        From the drive there to the drive home; each of those people has a remark on it.
    """
    drivers = tuple(one if one.staff_id in but else _stretched(asked, one) for one in asked.drivers)
    return replace(asked, drivers=drivers)


def _stretched(asked: DayAsked, one: Driver) -> Driver:
    begins, ends, outside, near = one.begins, one.ends, list[str](), list[str]()
    for errand in asked.errands:
        visit, at = errand.visit, hour_kept(asked, errand)
        if visit is None or at is None or visit.staff_id != one.staff_id:
            continue
        first, last = _whole(asked.travel, one, errand, at)
        inside = one.begins <= at and at + errand.minutes <= one.ends
        if (first >= one.begins and last <= one.ends) or not (inside or visit.in_spite.strip()):
            continue
        begins, ends = min(begins, first), max(ends, last)
        (near if inside else outside).append(f"{errand.name} at {clock_said(at)}")
    if not outside and not near:
        return one
    day = f"the day is reckoned from {clock_said(begins)} to {clock_said(ends)}"
    says = []
    if outside:
        says.append(f"{listed(outside)} lies outside of the working hours, with a reason: {day}.")
    if near:
        says.append(
            f"The drive to or from {listed(near)} lies outside of the working hours: {day}."
        )
    remarks = (*one.remarks, *(f"{one.who}: {said}" for said in says))
    return replace(one, begins=begins, ends=ends, remarks=remarks)


def _whole(travel: Travel, one: Driver, errand: Errand, at: int) -> tuple[int, int]:
    """From setting out until back for this visit alone [min]."""
    there = site_end(errand.site_id)
    out, home = travel.way(one.start, there), travel.way(there, one.home)
    leaves = at + errand.minutes + errand.disinfect_min
    return max(0, at - out.planned_min), leaves + home.planned_min
