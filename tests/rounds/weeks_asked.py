"""Weeks as they are asked for, made by hand; every day has the same people."""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace
from datetime import date, timedelta

from store.rounds.day.values import DayAsked, DayWish, Driver, Errand
from store.rounds.solving.problem import Window
from store.rounds.week.values import Limit, WeekAsked, WeekLine, WeekPlan, WeekWish
from store.travel.place import place_of
from store.travel.ways import PRACTICE, Stop, site_end, travel
from tests.rounds.day_plans import AT_PRACTICE, ON_DAY, driver

DAY = timedelta(days=1)


def on(errand: Errand, nth: int) -> Errand:
    """A booked visit on the n-th day of the week."""
    assert errand.visit is not None
    return replace(errand, visit=replace(errand.visit, on_day=ON_DAY + nth * DAY))


def within(first: int, last: int, until: int | None = None) -> Limit:
    """A window from the n-th to the m-th day, borne until another where one is given."""
    days = [ON_DAY + nth * DAY for nth in (first, last, last if until is None else until)]
    return Limit(*days, "its window closes")


def week_of(
    booked: Sequence[Errand] = (),
    due: Mapping[Errand, Limit] | None = None,
    *,
    days: int = 5,
    people: Sequence[tuple[Driver, Stop]] | None = None,
    off: Collection[int] = (),
    hours: Mapping[Errand, Mapping[int, tuple[Window, ...]]] | None = None,
    ordered: bool = True,
) -> WeekAsked:
    """Days from Monday 16 March 2026 on; on those of `off` nobody works.

    `hours` are those of a visit on single days, where they are not the same on all.
    """
    who = [driver()] if people is None else list(people)
    due = due or {}
    ends = [Stop(PRACTICE, "the practice", place_of(*AT_PRACTICE)), *(start for _one, start in who)]
    ends += [
        Stop(site_end(one.site_id), one.name, place_of(one.latitude, one.longitude))
        for one in (*booked, *due)
    ]
    ways, asked = travel(ends, {}), []
    for nth in range(days):
        day = ON_DAY + nth * DAY
        there = [one for one in booked if one.visit is not None and one.visit.on_day == day]
        for one, limit in due.items():
            windows = (hours or {}).get(one, {}).get(nth, one.windows)
            if day >= limit.first_on and windows:
                there.append(replace(one, windows=windows))
        drivers = () if nth in off else tuple(one for one, _start in who)
        asked.append(DayAsked(DayWish(day, ordered=ordered), drivers, tuple(there), ways))
    return WeekAsked(
        WeekWish(ON_DAY, days, ordered=ordered), ON_DAY, (*booked, *due), tuple(asked),
        {one.key: limit for one, limit in due.items()},
    )  # fmt: skip


def line_of(plan: WeekPlan, errand: Errand) -> WeekLine:
    """The one line of a visit."""
    (found,) = [one for one in plan.lines if one.errand.key == errand.key]
    return found


def day_of(plan: WeekPlan, errand: Errand) -> int:
    """On the how-manieth day a visit is."""
    return (line_of(plan, errand).day - plan.asked.wish.first).days


def spans(plan: WeekPlan) -> Mapping[date, Sequence[tuple[int, int, str]]]:
    """The visits of each day as plain minutes."""
    return {
        day.day: [
            (stop.begins, stop.ends, stop.errand.name)
            for one in day.rounds
            for stop in one.stops
        ]
        for day in plan.days
    }  # fmt: skip
