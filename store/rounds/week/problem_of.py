"""A week as plain numbers: each person's day is a vet of its own, midnights 1440 minutes apart."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date
from uuid import UUID

from store.rounds.day.problem_of import may_go, windows_of
from store.rounds.day.values import Driver, Errand
from store.rounds.solving.problem import DAY_MIN, MUST_COST, Problem, Stop, Vet, Window
from store.rounds.week.values import WeekAsked
from store.travel.ways import End, Travel, site_end


def problem_of_week(asked: WeekAsked, widened: Mapping[UUID, date] | None = None) -> Problem:
    """The week as plain numbers, minutes counted from its first midnight [min].

    Parameters
    ----------
    asked
        The week.
    widened
        By the key of an errand that may come later than is borne: its last day.

    Returns
    -------
    Problem
        Its stops in the order of the errands, its vets in that of `asked.vet_days`. A clock change
        within the week leaves each day the minutes of its own clock.
    """
    people = asked.vet_days
    ends = [site_end(one.site_id) for one in asked.errands]
    ways = [_Ways(day.travel) for day in asked.days]
    return Problem(
        tuple(_stop(asked, one, people, (widened or {}).get(one.key)) for one in asked.errands),
        tuple(_vet(nth, who) for nth, who in people),
        [[ways[0].minutes(one, other) for other in ends] for one in ends],
        [[ways[nth].minutes(who.start, end) for end in ends] for nth, who in people],
        [[ways[nth].minutes(end, who.home) for end in ends] for nth, who in people],
        asked.wish.ordered,
    )


class _Ways:
    """Each way is asked for once."""

    def __init__(self, travel: Travel) -> None:
        self.travel = travel
        self.known: dict[tuple[End, End], int] = {}

    def minutes(self, start: End, goal: End) -> int:
        """As they are planned with [min]."""
        key = start, goal
        if key not in self.known:
            self.known[key] = self.travel.way(start, goal).planned_min
        return self.known[key]


def _vet(nth: int, who: Driver) -> Vet:
    at = nth * DAY_MIN
    return Vet(
        at + who.begins, at + who.ends, who.break_min, at + who.break_from, at + who.break_until
    )


def _stop(
    asked: WeekAsked, one: Errand, people: tuple[tuple[int, Driver], ...], widened: date | None
) -> Stop:
    limit = asked.limits.get(one.key)
    last = asked.wish.last if limit is None else widened or limit.until
    windows: list[Window] = []
    vets: set[int] = set()
    for nth, day in enumerate(asked.days):
        there = next((each for each in day.errands if each.key == one.key), None)
        if there is None or day.wish.day > last:
            continue
        may = {
            place for place, (of, who) in enumerate(people) if of == nth and may_go(day, who, there)
        }
        if not may:
            continue
        vets |= may
        at = nth * DAY_MIN
        windows += [Window(at + each.opens, at + each.closes) for each in windows_of(day, there)]
    cost = MUST_COST if one.booked else min(one.skip_cost, MUST_COST)
    return Stop(one.minutes, tuple(windows), one.level, one.disinfect_min, cost, frozenset(vets))
