"""A first answer for a larger team: take some neighbours out, put them back where they cost least.

After Schrimpf, Schneider, Stamm-Wilbrandt and Dueck 2000, Record breaking optimization results
using the ruin and recreate principle, J. Comput. Phys. 159:139-171, with the neighbours of one stop
taken out at a time and worse answers borne less and less. It proves nothing.
"""

from __future__ import annotations

import math
import random
from collections.abc import Sequence

from store.rounds.solving.found import at_home, cost_of
from store.rounds.solving.halt import Halt
from store.rounds.solving.problem import Problem
from store.rounds.solving.timetable import Timetable, timetable

OUT_AT_ONCE = 12
"""So many stops are taken out at most."""
WARM_MIN, COLD_MIN = 6.0, 0.3
"""By about so much a worse answer may be worse, at the beginning and at the end [min]."""
OVERLOOKED = 0.02
"""The share of places that are overlooked, so that not every answer is the nearest one [-]."""
STRETCHES = 0.5
"""The share of turns that take out a stretch of one round in place of neighbours [-]."""
NEVER = -1_000_000
"""No minute, and no stop."""


class _Day:
    """What is asked again and again of a day, reckoned once."""

    def __init__(self, problem: Problem) -> None:
        places = range(len(problem.stops))
        self.problem = problem
        self.begins = [one.begins for one in problem.stops]
        self.stay = [one.stay_min for one in problem.stops]
        self.follow = [[problem.may_follow(i, j) for j in places] for i in places]
        drive = problem.drive
        self.near = [sorted(places, key=lambda j: (drive[i][j] + drive[j][i], j)) for i in places]

    def begin_from(self, stop: int, minute: int) -> int:
        """The first minute from a minute on at which the visit can begin, or `NEVER` [min]."""
        for first, last in self.begins[stop]:
            if minute <= last:
                return max(minute, first)
        return NEVER

    def latest(self, stop: int, bound: int) -> int:
        """The last minute up to a bound at which the visit can begin, or `NEVER` [min]."""
        found = NEVER
        for first, last in self.begins[stop]:
            if first <= bound:
                found = max(found, min(last, bound))
        return found


class _Round:
    """The order of a vet, with the earliest leaving and the latest beginning at each stop [min].

    The break comes before the call at `rest`; None where the vet needs none.
    """

    def __init__(self, day: _Day, vet: int) -> None:
        self.day, self.vet = day, vet
        self.who = day.problem.vets[vet]
        self.out, self.home = day.problem.out[vet], day.problem.home[vet]
        self.order: list[int] = []
        self.leaves: list[int] = []
        self.latest: list[int] = []
        who = self.who
        needs = who.break_min and who.ends > who.break_until and who.begins < who.rested_at
        self.rest: int | None = 0 if needs else None

    def take(self, order: list[int]) -> bool:
        """Another order; whether it can be driven, with the break where it first fits."""
        self.order = order
        if self.rest is None:
            return self._timed(None)
        later = range(len(order) + 1)
        return any(self._timed(place) for place in (*later[1:], 0))

    def put(self, stop: int, place: int, rest: int | None) -> None:
        """A stop at a place where `added` says that it fits."""
        self.order.insert(place, stop)
        self._timed(rest)

    def _rested(self, at: int, place: int) -> int:
        """When one can go on after a break, or `NEVER` [min]."""
        if place == 0:
            return max(at, self.who.rested_at)
        at = max(at, self.who.break_from)
        return at + self.who.break_min if at <= self.who.break_until else NEVER

    def _timed(self, rest: int | None) -> bool:
        day, order, problem = self.day, self.order, self.day.problem
        self.rest, self.leaves, self.latest = rest, [], [NEVER] * len(order)
        at = self.who.begins
        for nth, stop in enumerate(order):
            if nth == rest and (at := self._rested(at, nth)) == NEVER:
                return False
            at += problem.drive[order[nth - 1]][stop] if nth else self.out[stop]
            at = day.begin_from(stop, at)
            if at == NEVER:
                return False
            at += day.stay[stop]
            self.leaves.append(at)
        bound = self.who.ends
        for nth in range(len(order) - 1, -1, -1):
            stop = order[nth]
            last = nth == len(order) - 1
            bound -= self.home[stop] if last else problem.drive[stop][order[nth + 1]]
            if nth + 1 == rest:
                bound = min(bound - self.who.break_min, self.who.break_until)
                if bound < self.who.break_from:
                    return False
            bound = day.latest(stop, bound - day.stay[stop])
            if bound + day.stay[stop] < self.leaves[nth]:
                return False
            self.latest[nth] = bound
        return True

    def added(self, stop: int, place: int, below: int) -> tuple[int, int | None] | None:
        """The drive that a stop adds at a place, and the place of the break then [min].

        None where it does not fit, or where the drive is not below a number [min].
        """
        order, day = self.order, self.day
        before = order[place - 1] if place else NEVER
        after = order[place] if place < len(order) else NEVER
        if before != NEVER and not day.follow[before][stop]:
            return None
        if after != NEVER and not day.follow[stop][after]:
            return None
        drive = day.problem.drive
        come = self.out[stop] if before == NEVER else drive[before][stop]
        go_on = self.home[stop] if after == NEVER else drive[stop][after]
        if before == NEVER:
            passed = 0 if after == NEVER else self.out[after]
        else:
            passed = self.home[before] if after == NEVER else drive[before][after]
        more = come + go_on - passed
        if more >= below:
            return None
        until = (self.who.ends if after == NEVER else self.latest[place]) - go_on
        leaves = self.who.begins if before == NEVER else self.leaves[place - 1]
        rest = self.rest
        if place == rest and self._fits(stop, leaves + come, until, place + 1):
            rest = place + 1
        else:
            if place == rest:
                leaves = self._rested(leaves, place)
            if leaves == NEVER or not self._fits(stop, leaves + come, until, None):
                return None
            if rest is not None and place < rest:
                rest += 1
        return more, rest

    def _fits(self, stop: int, arrives: int, until: int, rest: int | None) -> bool:
        """Whether one who arrives at a minute leaves by another, a break taken if one is due."""
        begins = self.day.begin_from(stop, arrives)
        if begins == NEVER:
            return False
        leaves = begins + self.day.stay[stop]
        if rest is not None and (leaves := self._rested(leaves, rest)) == NEVER:
            return False
        return leaves <= until


def inserted(
    problem: Problem,
    turns: int,
    *,
    seed: int = 0,
    start: Sequence[Timetable] | None = None,
    halt: Halt | None = None,
) -> tuple[Timetable, ...]:
    """Rounds by taking out and putting back.

    Parameters
    ----------
    problem
        The day.
    turns
        How often stops are taken out.
    seed
        The same gives the same answer.
    start
        Rounds to begin with.
    halt
        Ends the search early.

    Returns
    -------
    tuple of Timetable
        One for each vet, each with its break; as little left out, and driven, as was found.
    """
    if not problem.stops or not problem.vets:
        return tuple(start or at_home(problem))
    search = _Search(problem, seed)
    search.take(start or at_home(problem))
    best, best_cost = search.orders(), search.cost
    for turn in range(turns + 1):
        if halt is not None and halt.stopped:
            break
        warmth = WARM_MIN * (COLD_MIN / WARM_MIN) ** (turn / max(turns, 1))
        cost = search.turn(warmth, whole=turn == 0)
        if cost < best_cost:
            best, best_cost = search.orders(), cost
    made = (timetable(problem, vet, order) for vet, order in enumerate(best))
    found = tuple(one for one in made if one is not None)
    if len(found) < len(best):
        raise AssertionError("an order that was put together cannot be driven")
    if start is not None and cost_of(problem, start) <= cost_of(problem, found):
        return tuple(start)
    return found


class _Search:
    """Rounds that are taken apart and put together again."""

    def __init__(self, problem: Problem, seed: int) -> None:
        self.problem = problem
        self.rng = random.Random(seed)
        self.day = _Day(problem)
        self.rounds = [_Round(self.day, vet) for vet in range(len(problem.vets))]
        self.left_out: set[int] = set()
        self.cost = 0

    def take(self, rounds: Sequence[Timetable]) -> None:
        """Begin with these."""
        visited = {stop for one in rounds for stop in one.order}
        self.left_out = set(range(len(self.problem.stops))) - visited
        for mine, given in zip(self.rounds, rounds, strict=True):
            if not mine.take(list(given.order)):  # home before the break; here it is always taken
                self.left_out |= set(given.order)
                mine.take([])
        self.cost = self._reckoned()

    def _reckoned(self) -> int:
        drive = sum(self.problem.drive_of(one.vet, one.order) for one in self.rounds)
        return drive + sum(self.problem.stops[i].skip_cost for i in self.left_out)

    def orders(self) -> list[list[int]]:
        """The orders as they are."""
        return [list(one.order) for one in self.rounds]

    def turn(self, warmth: float, *, whole: bool) -> int:
        """Takes out and puts back once, and goes back where that was too bad; the cost [min]."""
        orders = self.orders()
        left_out = set(self.left_out)
        if not whole:
            self._take_out()
        self._put_back()
        cost = self._reckoned()
        if cost < self.cost - warmth * math.log(1.0 - self.rng.random()):
            self.cost = cost
            return cost
        self.left_out = left_out
        for one, order in zip(self.rounds, orders, strict=True):
            if one.order != order:
                one.take(order)
        return self.cost

    def _take_out(self) -> None:
        n = len(self.problem.stops)
        count = self.rng.randint(1, max(1, min(OUT_AT_ONCE, n // 2)))
        gone = set(self.day.near[self.rng.randrange(n)][:count])
        if self.rng.random() < STRETCHES:
            order = self.rng.choice(self.rounds).order
            at = self.rng.randrange(len(order) + 1)
            gone = set(order[at : at + count])
        for one in self.rounds:
            if not gone & set(one.order):
                continue
            order = [stop for stop in one.order if stop not in gone]
            if not one.take(order):  # a stop less can leave no good place for the break
                gone |= set(order)
                one.take([])
        self.left_out |= gone

    def _put_back(self) -> None:
        """Those that cost most to leave out first; among them as the dice have it."""
        stops, begins = self.problem.stops, self.day.begins
        order = sorted(self.left_out)
        self.rng.shuffle(order)
        way = self.rng.randrange(4)
        if way == 0:  # those with short hours first
            order.sort(key=lambda i: sum(last - first for first, last in begins[i]))
        elif way == 1:  # by standing
            order.sort(key=lambda i: stops[i].level)
        elif way == 2:  # the far ones first
            order.sort(key=lambda i: -min((row[i] for row in self.problem.out), default=0))
        order.sort(key=lambda i: -stops[i].skip_cost)
        for stop in order:
            self._put(stop)

    def _put(self, stop: int) -> None:
        best_min, best = self.problem.stops[stop].skip_cost, None
        for one in self.rounds:
            if not self.problem.may_go(one.vet, stop):
                continue
            for place in range(len(one.order) + 1):
                if self.rng.random() < OVERLOOKED:
                    continue
                added = one.added(stop, place, best_min)
                if added is not None:
                    best_min, best = added[0], (one, place, added[1])
        if best is not None:
            best[0].put(stop, best[1], best[2])
            self.left_out.discard(stop)
