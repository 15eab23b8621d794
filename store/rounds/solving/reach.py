"""Who can be where by which minute: what no order can change, so that it need not be searched."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from store.rounds.solving.problem import Problem


@dataclass(frozen=True)
class Reach:
    """The first and the last minute at which each vet can begin at each stop [min]."""

    problem: Problem

    @cached_property
    def begins(self) -> dict[tuple[int, int], tuple[int, int]]:
        """By stop and vet, without those who cannot be there in time [min]."""
        found = {}
        for i, stop in enumerate(self.problem.stops):
            for v, who in enumerate(self.problem.vets):
                first = stop.begin_from(who.begins + self.problem.out[v][i])
                over = who.ends - self.problem.home[v][i] - stop.stay_min
                last = max((min(end, over) for at, end in stop.begins if at <= over), default=None)
                if first is None or last is None or first > last:
                    continue
                if self.problem.may_go(v, i):
                    found[i, v] = first, last
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
