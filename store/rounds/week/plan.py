"""A week ahead, planned: what is due and what is booked, spread over people and days.

The same week gets the same plan each time: nothing here looks at a clock, every search has its
limit in work done.
"""

from __future__ import annotations

from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from uuid import UUID

from store.errors import BadInput
from store.rounds.day.hours import said_hours
from store.rounds.day.problem_of import hour_kept
from store.rounds.day.rounds import rounds_of
from store.rounds.day.values import DayAsked, Round
from store.rounds.solving.found import Found
from store.rounds.solving.halt import Halt
from store.rounds.solving.problem import DAY_MIN, Problem
from store.rounds.solving.teams import day_rounds
from store.rounds.solving.timetable import Timetable, timetable
from store.rounds.week.problem_of import problem_of_week
from store.rounds.week.said import week_left_out, week_proof_said, week_remarks
from store.rounds.week.values import (
    FEWEST_DAYS,
    MOST_DAYS,
    WeekAsked,
    WeekDay,
    WeekLeft,
    WeekLine,
    WeekPlan,
    WeekWish,
)
from store.travel.ways import site_end

WEEK_EFFORT = 6.0
"""The work that a search of a week may do, unless it is proven before; some seconds each [-]."""
NEXT_DAYS = 2
"""What finds no room within what it bears is looked for on so many days more, then on any [d]."""
AGAIN = 0.5
"""The share of the effort for each such search, which begins with what is known [-]."""


def check_wish(wish: WeekWish) -> None:
    """Whether a week can be asked for so.

    Parameters
    ----------
    wish
        What is asked for.

    Raises
    ------
    BadInput
        Fewer than five days or more than seven, or fewer visits than none.
    """
    if not FEWEST_DAYS <= wish.days <= MOST_DAYS:
        raise BadInput(
            f"A week ahead has {FEWEST_DAYS} to {MOST_DAYS} days, not {wish.days}.", field="days"
        )
    if wish.most_due < 0:
        raise BadInput("Fewer visits than none cannot be spread.", field="most_due")


def plan_week(
    asked: WeekAsked,
    *,
    effort: float = WEEK_EFFORT,
    halt: Halt | None = None,
    better: Callable[[WeekPlan], None] | None = None,
) -> WeekPlan:
    """The visits of a week on their days.

    What is late or has little time is planned within the days that it bears; where it finds no room
    there it may come later, and that is said. Each person's day is a round of its own, from clean
    to infected. Visits begin at the hour that was agreed, or on five minutes, where their round
    bears that.

    Parameters
    ----------
    asked
        The week.
    effort
        How much work the search may do; about seconds on common machines [-].
    halt
        Ends it early; the best so far is kept, and the plan says so.
    better
        Is told of every better plan, in the thread that searches; reasons are not in those.

    Returns
    -------
    WeekPlan
        With every errand on a day, or left out with its reason.
    """
    check_wish(asked.wish)
    search = _Search(asked, effort, halt or Halt(), better)
    problem, found, wide = search.found()
    found = _with_hours(asked, problem, found)
    left_out = week_left_out(asked, problem, found, halt=search.halt)
    return _plan(asked, problem, found, left_out, wide, halted=search.halt.stopped)


def _with_hours(asked: WeekAsked, problem: Problem, found: Found) -> Found:
    """The same rounds with visits at hours that were agreed, or such as one says."""
    rounds = tuple(
        said_hours(problem, one, _agreed(asked, nth))
        for (nth, _who), one in zip(asked.vet_days, found.rounds, strict=True)
    )
    return found if rounds == found.rounds else replace(found, rounds=rounds, shortest=False)


def _agreed(asked: WeekAsked, nth: int) -> dict[int, int]:
    """The hours that are kept on a day of the week, by the places of the visits [min]."""
    return {
        place: nth * DAY_MIN + at
        for place, one in enumerate(asked.errands)
        if (at := hour_kept(asked.days[nth], one)) is not None
    }


@dataclass(frozen=True)
class _Search:
    """The searches of a week, one after the other."""

    asked: WeekAsked
    effort: float
    halt: Halt
    better: Callable[[WeekPlan], None] | None

    def found(self) -> tuple[Problem, Found, dict[UUID, date]]:
        """The rounds, and until when errands may come that found no room within what they bear.

        First these may come on the next days on which they fit alone, then on any.
        """
        wide = self._first_open()
        problem = problem_of_week(self.asked, wide)
        found = self._rounds(problem, None, wide, self.effort)
        for days in (NEXT_DAYS, MOST_DAYS):
            out = {self.asked.errands[stop].key for stop in found.left_out}
            if self.halt.stopped or not out & self.asked.limits.keys():
                break
            wider = wide | self._later(wide, out, days)
            trial = problem_of_week(self.asked, wider)
            if trial.stops == problem.stops:
                continue
            again = self._rounds(trial, found, wider, self.effort * AGAIN)
            if _lost(trial, again) < _lost(problem, found):
                problem, found, wide = trial, again, wider
        return problem, found, wide

    @cached_property
    def _open_days(self) -> dict[UUID, list[date]]:
        """The days on which each errand that is not booked fits alone."""
        asked = self.asked
        problem = problem_of_week(asked, dict.fromkeys(asked.limits, asked.wish.last))
        found: dict[UUID, list[date]] = {}
        for stop, one in enumerate(asked.errands):
            if one.key in asked.limits:
                days = {
                    asked.days[nth].wish.day
                    for vet, (nth, _who) in enumerate(asked.vet_days)
                    if timetable(problem, vet, [stop]) is not None
                }
                found[one.key] = sorted(days)
        return found

    def _first_open(self) -> dict[UUID, date]:
        """Errands for which no day that they bear is open, with the first that is."""
        limits = self.asked.limits
        return {
            key: days[0]
            for key, days in self._open_days.items()
            if days and days[0] > limits[key].until
        }

    def _later(self, wide: dict[UUID, date], out: Collection[UUID], days: int) -> dict[UUID, date]:
        """Some days more for each errand that found no room."""
        found = {}
        for key in out:
            if key in self.asked.limits:
                last = wide.get(key, self.asked.limits[key].until)
                later = [day for day in self._open_days[key] if day > last]
                if later:
                    found[key] = later[:days][-1]
        return found

    def _rounds(
        self, problem: Problem, known: Found | None, wide: dict[UUID, date], effort: float
    ) -> Found:
        hint = None if known is None else known.rounds
        told = None if self.better is None else lambda found: self._tell(problem, found, wide)
        return day_rounds(problem, effort=effort, hint=hint, halt=self.halt, better=told)

    def _tell(self, problem: Problem, found: Found, wide: dict[UUID, date]) -> None:
        assert self.better is not None
        waiting = tuple(
            WeekLeft(one, f"{one.name} is on no day yet.")
            for one in (self.asked.errands[stop] for stop in found.left_out)
        )
        self.better(_plan(self.asked, problem, found, waiting, wide, halted=False))


def _lost(problem: Problem, found: Found) -> int:
    """The price of what is left out [min]."""
    return sum(problem.stops[stop].skip_cost for stop in found.left_out)


def _plan(
    asked: WeekAsked,
    problem: Problem,
    found: Found,
    left_out: tuple[WeekLeft, ...],
    wide: Mapping[UUID, date],
    *,
    halted: bool,
) -> WeekPlan:
    days = tuple(
        WeekDay(day, _rounds_of_day(asked, found, nth, day), asked.holidays.get(day.wish.day, ""))
        for nth, day in enumerate(asked.days)
    )
    lines = tuple(line for day in days for line in _lines(asked, day, wide))
    remarks = (*week_remarks(asked, days, lines, halted=halted), *asked.remarks)
    return WeekPlan(asked, problem, found, days, lines, left_out, week_proof_said(found), remarks)


def _rounds_of_day(asked: WeekAsked, found: Found, nth: int, day: DayAsked) -> tuple[Round, ...]:
    """Everybody's round of one day, by the clock of that day."""
    own = [one for (of, _who), one in zip(asked.vet_days, found.rounds, strict=True) if of == nth]
    place = {one.key: at for at, one in enumerate(day.errands)}
    stops = {at: place[one.key] for at, one in enumerate(asked.errands) if one.key in place}
    moved = tuple(_earlier(one, nth * DAY_MIN, vet, stops) for vet, one in enumerate(own))
    drive_min = sum(one.drive_min for one in moved)
    return rounds_of(day, Found(moved, (), drive_min, 0, proven=False))


def _earlier(one: Timetable, by_min: int, vet: int, stops: dict[int, int]) -> Timetable:
    calls = tuple(
        replace(
            call, stop=stops[call.stop], arrives=call.arrives - by_min,
            begins=call.begins - by_min, leaves=call.leaves - by_min,
        )
        for call in one.calls
    )  # fmt: skip
    break_at = None if one.break_at is None else one.break_at - by_min
    return replace(
        one, vet=vet, sets_out=one.sets_out - by_min, calls=calls, back=one.back - by_min,
        break_at=break_at,
    )  # fmt: skip


def _lines(asked: WeekAsked, day: WeekDay, wide: Mapping[UUID, date]) -> Sequence[WeekLine]:
    found = []
    for one in day.rounds:
        for nth, stop in enumerate(one.stops):
            key = stop.errand.key
            limit = asked.limits.get(key)
            late = None if limit is None else limit.late_days(day.day)
            if limit is None and stop.errand.purposes:
                closes = min(each.last_on for each in stop.errand.purposes)
                late = (day.day - closes).days
            found.append(
                WeekLine(
                    day.day, one.driver, stop, late, _added_min(day.asked, one, nth),
                    limit is not None and key in wide and day.day > limit.until,
                )
            )  # fmt: skip
    return found


def _added_min(day: DayAsked, one: Round, nth: int) -> int:
    """What a round would be shorter by without one of its stops [min]."""
    ends = [
        one.driver.start, *(site_end(stop.errand.site_id) for stop in one.stops), one.driver.home
    ]  # fmt: skip
    before, here, after = ends[nth : nth + 3]
    way = day.travel.way
    there = way(before, here).planned_min + way(here, after).planned_min
    return there if len(one.stops) == 1 else there - way(before, after).planned_min
