"""Who can be where by which minute: what no order can change, so that it need not be searched."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from store.rounds.solving.problem import Problem

DAYS = 10_000_000
"""Later than any minute that is asked about [min]."""


@dataclass(frozen=True)
class Reach:
    """The first and the last minute at which each vet can begin at each stop [min].

    A practice's own table may have ways that are shorter with a call between: all ways are looked
    at, those with the least time first (Dijkstra 1959, Numer. Math. 1:269-271).
    """

    problem: Problem

    @cached_property
    def begins(self) -> dict[tuple[int, int], tuple[int, int]]:
        """By stop and vet, without those who cannot be there in time [min]."""
        found = {}
        for v in range(len(self.problem.vets)):
            mine = [i for i in range(len(self.problem.stops)) if self.problem.may_go(v, i)]
            earliest, latest = self._earliest(v, mine), self._latest(v, mine)
            for i in mine:
                if i in earliest and i in latest and earliest[i] <= latest[i]:
                    found[i, v] = earliest[i], latest[i]
        return found

    def _earliest(self, vet: int, mine: list[int]) -> dict[int, int]:
        """When a vet can begin at each stop, by whatever other calls [min]."""
        problem, who = self.problem, self.problem.vets[vet]
        at: dict[int, int] = {}
        found: dict[int, int] = {}

        def come(stop: int, minute: int) -> None:
            begins = problem.stops[stop].begin_from(minute)
            if begins is not None:
                at[stop] = min(begins, at.get(stop, begins))

        for i in mine:
            come(i, who.begins + problem.out[vet][i])
        while at:
            here = min(at, key=lambda i: (at[i], i))
            found[here] = at.pop(here)
            leaves = found[here] + problem.stops[here].stay_min
            for i in mine:
                arrives = leaves + problem.drive[here][i]
                if i not in found and problem.may_follow(here, i) and arrives < at.get(i, DAYS):
                    come(i, arrives)
        return found

    def _latest(self, vet: int, mine: list[int]) -> dict[int, int]:
        """When a vet can begin at each stop and still be home, by whatever other calls [min]."""
        problem, who = self.problem, self.problem.vets[vet]
        at: dict[int, int] = {}
        found: dict[int, int] = {}

        def go_on(stop: int, minute: int) -> None:
            begins = _last_begin(problem, stop, minute)
            if begins is not None:
                at[stop] = max(begins, at.get(stop, begins))

        for i in mine:
            go_on(i, who.ends - problem.home[vet][i])
        while at:
            here = max(at, key=lambda i: (at[i], i))
            found[here] = at.pop(here)
            for i in mine:
                leaves = found[here] - problem.drive[i][here]
                if i not in found and problem.may_follow(i, here) and leaves > at.get(i, -DAYS):
                    go_on(i, leaves)
        return found

    @cached_property
    def arcs(self) -> tuple[tuple[int, int], ...]:
        """Steps from one stop to another that some vet can make in time."""
        n, m = len(self.problem.stops), len(self.problem.vets)
        return tuple(
            (i, j)
            for i in range(n)
            for j in range(n)
            if self.problem.may_follow(i, j) and any(self._in_time(i, j, v) for v in range(m))
        )

    def _in_time(self, one: int, other: int, vet: int) -> bool:
        here, there = self.begins.get((one, vet)), self.begins.get((other, vet))
        if here is None or there is None:
            return False
        leaves = here[0] + self.problem.stops[one].stay_min
        return leaves + self.problem.drive[one][other] <= there[1]


def _last_begin(problem: Problem, stop: int, over: int) -> int | None:
    """The last minute at which a visit can begin that is left by a minute [min]."""
    bound = over - problem.stops[stop].stay_min
    begins = problem.stops[stop].begins
    return max((min(last, bound) for first, last in begins if first <= bound), default=None)


def by_the_clock(problem: Problem) -> bool:
    """Whether any hour of the day matters but its length: a window, a break, several vets.

    Parameters
    ----------
    problem
        The day.
    """
    if len(problem.vets) != 1 or problem.vets[0].break_min:
        return True
    who = problem.vets[0]
    return any(
        not any(one.opens <= who.begins and one.closes >= who.ends for one in stop.windows)
        for stop in problem.stops
    )


def least_cost(problem: Problem) -> int:
    """What no rounds can cost less than, seen without a search [min].

    Every stop is left out, or reached by its shortest way and left by its shortest; each way ends
    at two stops at most, so that half of both is counted.

    Parameters
    ----------
    problem
        The day.

    Examples
    --------
    >>> from store.rounds.solving.problem import Stop, Vet, Window
    >>> stops = (Stop(30, (Window(480, 1020),)),) * 2
    >>> least_cost(Problem(stops, (Vet(480, 1020),), [[0, 9], [9, 0]], [[20, 30]], [[20, 30]]))
    18
    """
    n, m = len(problem.stops), len(problem.vets)
    halves = 0
    for i, stop in enumerate(problem.stops):
        others = [j for j in range(n) if j != i]
        come = [problem.drive[j][i] for j in others] + [problem.out[v][i] for v in range(m)]
        go_on = [problem.drive[i][j] for j in others] + [problem.home[v][i] for v in range(m)]
        way = min(come, default=0) + min(go_on, default=0)
        halves += min(2 * stop.skip_cost, way) if m else 2 * stop.skip_cost
    return -(-halves // 2)
