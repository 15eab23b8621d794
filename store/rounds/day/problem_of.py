"""A day as it is asked for, as plain numbers for the search of the best order."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from uuid import UUID

from store.diary.booking.vet_day import WITHOUT_VET
from store.diary.times.spell import minute_of
from store.rounds.day.values import DayAsked, Driver, Errand
from store.rounds.solving.delay import RING_FROM_MIN
from store.rounds.solving.problem import MUST_COST, Problem, Stop, Vet, Window
from store.travel.ways import End, Travel, site_end

DAWN_AFTER_SUNRISE_MIN = 120
"""Common practice: a reading of the dawn begins so long after sunrise at the latest [min]."""
DAWN_AFTER_WORK_MIN = 60
"""Common practice: or so long after the first minute at which anybody could be there [min]."""
KEPT_WITHIN_MIN = RING_FROM_MIN - 1
"""An hour that is kept may begin so much earlier or later: nobody has to be rung for it [min]."""
AFTERNOON_FROM_MIN = 14 * 60
"""Common practice: the afternoon, for readings of pH, begins at so many minutes of the day [min].
"""


def problem_of(asked: DayAsked, *, at_any_hour: Collection[UUID] = ()) -> Problem:
    """The day as plain numbers: stops in the order of the errands, vets in that of the drivers.

    Parameters
    ----------
    asked
        The day.
    at_any_hour
        Keys of errands whose wish for dawn or afternoon is set aside.

    Returns
    -------
    Problem
        A visit with an hour that is kept has a window around it, one that is fixed begins at it.
        What is wished for dawn or afternoon has only that part of its windows, where that leaves
        room for the visit.
    """
    ends = [site_end(one.site_id) for one in asked.errands]
    return Problem(
        tuple(_stop(asked, one, at_any_hour) for one in asked.errands),
        tuple(
            Vet(one.begins, one.ends, one.break_min, one.break_from, one.break_until)
            for one in asked.drivers
        ),
        _table(asked.travel, ends, ends),
        _table(asked.travel, [one.start for one in asked.drivers], ends),
        _table(asked.travel, ends, [one.home for one in asked.drivers], turned=True),
        asked.wish.ordered,
    )


def _table(
    travel: Travel, starts: Sequence[End], goals: Sequence[End], *, turned: bool = False
) -> list[list[int]]:
    """Minutes from each start to each goal, by start, or turned by goal [min]."""
    known: dict[tuple[End, End], int] = {}

    def minutes(start: End, goal: End) -> int:
        if (start, goal) not in known:
            known[start, goal] = travel.way(start, goal).planned_min
        return known[start, goal]

    if turned:
        return [[minutes(start, goal) for start in starts] for goal in goals]
    return [[minutes(start, goal) for goal in goals] for start in starts]


def _stop(asked: DayAsked, one: Errand, at_any_hour: Collection[UUID]) -> Stop:
    windows = windows_of(asked, one)
    if one.key not in at_any_hour and (narrow := wished_windows(asked, one)) is not None:
        windows = narrow
    cost = MUST_COST if one.booked or one.key in asked.wish.held else one.skip_cost
    return Stop(
        one.minutes, windows, one.level, one.disinfect_min, min(cost, MUST_COST), _who(asked, one)
    )


def _who(asked: DayAsked, one: Errand) -> frozenset[int] | None:
    """Places of those who may go; None where all may."""
    may = frozenset(
        place for place, driver in enumerate(asked.drivers) if may_go(asked, driver, one)
    )
    return None if len(may) == len(asked.drivers) else may


def may_go(asked: DayAsked, driver: Driver, one: Errand) -> bool:
    """Whether a person may make a visit: not agreed with another, and no vet needed or a vet.

    Parameters
    ----------
    asked
        The day.
    driver
        Who.
    one
        The errand.
    """
    if not driver.is_vet and one.kind.casefold() not in WITHOUT_VET:
        return False
    if one.vets is not None and driver.staff_id not in one.vets:
        return False
    agreed_with = _agreed_with(asked, one)
    return agreed_with is None or agreed_with == driver.staff_id


def _agreed_with(asked: DayAsked, one: Errand) -> UUID | None:
    if one.visit is None or not (one.visit.fixed or asked.wish.agreed == "kept"):
        return None
    return one.visit.staff_id


def hour_kept(asked: DayAsked, one: Errand) -> int | None:
    """The minute that was agreed with the client and is kept; None where the hour is free [min].

    Parameters
    ----------
    asked
        The day.
    one
        The errand.
    """
    visit = one.visit
    if visit is None or visit.at_time is None:
        return None
    return minute_of(visit.at_time) if visit.fixed or asked.wish.agreed == "kept" else None


def windows_of(asked: DayAsked, one: Errand) -> tuple[Window, ...]:
    """When a visit may be, without regard to dawn or afternoon.

    Parameters
    ----------
    asked
        The day.
    one
        The errand.

    Returns
    -------
    tuple of Window
        Around an hour that is kept, within the hours in which one gets in where these hold it: what
        was agreed outside of them stays as it was agreed.
    """
    at = hour_kept(asked, one)
    if at is None or one.visit is None:
        return one.windows
    if one.visit.fixed:
        return (Window(at, at + one.minutes),)
    first, last = at - KEPT_WITHIN_MIN, at + one.minutes + KEPT_WITHIN_MIN
    for window in one.windows:
        if window.opens <= at and at + one.minutes <= window.closes:
            return (Window(max(first, window.opens), min(last, window.closes)),)
    return (Window(first, last),)


def wished_windows(asked: DayAsked, one: Errand) -> tuple[Window, ...] | None:
    """The part of a visit's windows that its wish for dawn or afternoon leaves.

    Parameters
    ----------
    asked
        The day.
    one
        The errand.

    Returns
    -------
    tuple of Window or None
        None where nothing is wished, an hour was agreed and is kept, or no room would be left.
    """
    if one.slot not in ("dawn", "afternoon") or hour_kept(asked, one) is not None:
        return None
    narrow = tuple(_narrowed(asked, one))
    fits = any(window.opens + one.minutes <= window.closes for window in narrow)
    return narrow if fits and narrow != one.windows else None


def dawn_until(asked: DayAsked, one: Errand) -> int | None:
    """The last minute at which a visit of the dawn begins; None where nobody is on the road [min].

    Parameters
    ----------
    asked
        The day.
    one
        The errand.
    """
    opens = min((window.opens for window in one.windows), default=0)
    there = [
        driver.begins + asked.travel.way(driver.start, site_end(one.site_id)).planned_min
        for driver in asked.drivers
        if may_go(asked, driver, one)
    ]
    if not there:
        return None
    soon = max(min(there), opens) + DAWN_AFTER_WORK_MIN
    return soon if asked.light is None else max(asked.light[0] + DAWN_AFTER_SUNRISE_MIN, soon)


def _narrowed(asked: DayAsked, one: Errand) -> Iterator[Window]:
    if one.slot == "afternoon":
        first, last = AFTERNOON_FROM_MIN, None
    else:
        first, last = 0, dawn_until(asked, one)
        if last is None:
            return
    for window in one.windows:
        opens = max(window.opens, first)
        closes = window.closes if last is None else min(window.closes, last + one.minutes)
        if opens < closes:
            yield Window(opens, closes)


def in_wished_hour(asked: DayAsked, one: Errand, begins: int) -> bool:
    """Whether a visit that begins at a minute is at the part of the day that is wished for it.

    Parameters
    ----------
    asked
        The day.
    one
        The errand.
    begins
        The minute [min].
    """
    if one.slot == "dawn":
        last = dawn_until(asked, one)
        return last is None or begins <= last
    return one.slot != "afternoon" or begins >= AFTERNOON_FROM_MIN
