"""The rounds of a day of any size: proven whole where it is small, else step by step.

A larger day gets a first answer without proof; then the order of each vet's own stops is proven;
then the whole is searched from there, or pairs of vets where it is too large for that. The bound is
that of the whole day, or of the day without its hours, where nothing can be less: it always holds.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import combinations

from store.rounds.solving.fleet import fleet_rounds, has_fleet
from store.rounds.solving.found import Found, at_home, cost_of, found_in
from store.rounds.solving.halt import Halt
from store.rounds.solving.insertion import inserted
from store.rounds.solving.model import Model
from store.rounds.solving.problem import Problem
from store.rounds.solving.proof import EFFORT, SEED, Better, best_rounds, searched
from store.rounds.solving.reach import least_cost
from store.rounds.solving.timetable import Timetable

SMALL_TEAM_STOPS, SMALL_STOPS = 14, 22
"""Up to so many stops the whole day is proven at once, with several vets and with one."""
WHOLE_STOPS = 40
"""Up to so many stops the whole day is searched, from a first answer on."""
PAIR_STOPS = 30
"""Up to so many stops two vets share theirs anew; beyond, a first answer finds more than that."""
TURNS, FLEET_TURNS = 80_000, 50_000
"""So many turns of a first answer for one stop are about one unit of effort; of PyVRP [-]."""
QUICK_TURNS = 300
"""Turns of a first answer that only gives the proof something to begin with."""
FIRST, FIRST_OF_MANY, EACH, BOUND = 0.3, 0.6, 0.2, 0.1
"""Shares of the effort: a first answer, that of a large day, each vet's order, the bound [-]."""


def day_rounds(
    problem: Problem,
    *,
    effort: float = EFFORT,
    hint: Sequence[Timetable] | None = None,
    halt: Halt | None = None,
    better: Better | None = None,
    fleet: bool | None = None,
    shorten: bool = True,
) -> Found:
    """The best rounds of a day, by the engine that fits its size.

    Parameters
    ----------
    problem
        The day.
    effort
        How much work the search may do; about seconds on common machines [-].
    hint
        Rounds to begin with, one for each vet in turn.
    halt
        Ends the search early and keeps the best so far.
    better
        Is told of every better answer.
    fleet
        Whether PyVRP may help with a first answer; None where it is installed.
    shorten
        Whether the shortest day is looked for where the least drive of a small day is proven.

    Returns
    -------
    Found
        The same for the same day and effort. It is proven whole, or `each_proven`, or neither; the
        bound holds in every case.

    Examples
    --------
    >>> from store.rounds.solving.problem import Stop, Vet, Window
    >>> stops = (Stop(30, (Window(480, 1020),)),) * 2
    >>> vets = (Vet(480, 1020),) * 2
    >>> apart = [[10, 60], [60, 10]]
    >>> day = Problem(stops, vets, [[0, 60], [60, 0]], apart, apart)
    >>> [one.order for one in day_rounds(day).rounds]
    [(0,), (1,)]
    """
    if not problem.vets or not problem.stops:
        return best_rounds(problem, halt=halt)
    small = SMALL_STOPS if len(problem.vets) == 1 else SMALL_TEAM_STOPS
    if len(problem.stops) <= small:
        known = inserted(problem, QUICK_TURNS, seed=SEED, start=hint, halt=halt)
        return best_rounds(
            problem, effort=effort, hint=known, halt=halt, better=better, shorten=shorten
        )
    team = _Team(problem, halt or Halt(), better, has_fleet() if fleet is None else fleet)
    return team.searched(effort, hint)


@dataclass(slots=True)
class _Team:
    """A day that is too large to be proven at once."""

    problem: Problem
    halt: Halt
    better: Better | None
    fleet: bool
    bound: int = 0

    def searched(self, effort: float, hint: Sequence[Timetable] | None) -> Found:
        """All steps in turn, each with its share of the effort."""
        many = len(self.problem.stops) > WHOLE_STOPS
        first = FIRST_OF_MANY if many else FIRST
        rounds = self._first(effort * first, hint)
        self._bound_without_hours(effort * BOUND)
        self._tell(rounds)
        rounds, proven, used = self._each(rounds, effort * EACH)
        self._tell(rounds, each_proven=proven)
        left = effort * (1.0 - first - BOUND) - used
        if many:
            better = self._in_pairs(rounds, left)
        else:
            found = best_rounds(
                self.problem, effort=left, hint=rounds, halt=self.halt, better=self._told
            )
            if found.proven:
                return found
            better, self.bound = found.rounds, max(self.bound, found.bound)
        if better != rounds:
            rounds, proven, _ = self._each(better, effort * EACH)
        return found_in(self.problem, rounds, bound=self.bound, each_proven=proven)

    def _tell(self, rounds: tuple[Timetable, ...], *, each_proven: bool = False) -> None:
        if self.better is not None:
            found = found_in(self.problem, rounds, bound=self.bound, each_proven=each_proven)
            self.better(found)

    def _told(self, found: Found) -> None:
        """Of a search of the whole, which begins with no bound of its own."""
        self.bound = max(self.bound, found.bound)
        self._tell(found.rounds)

    def _first(self, effort: float, hint: Sequence[Timetable] | None) -> tuple[Timetable, ...]:
        """A first answer, not worse than the hint.

        What PyVRP found is gone on from even where the break cost it a visit: that one mostly finds
        its place in what is near it.
        """
        n, start = len(self.problem.stops), at_home(self.problem)
        if self.fleet:
            effort /= 2
            turns = round(effort * FLEET_TURNS / n)
            start = fleet_rounds(self.problem, turns, seed=SEED, halt=self.halt)
        turns = round(effort * TURNS / n / 2)
        made = inserted(self.problem, turns, seed=SEED, start=start, halt=self.halt)
        if hint is not None:
            made = min(tuple(hint), made, key=lambda one: cost_of(self.problem, one))
        return inserted(self.problem, turns, seed=SEED + 1, start=made, halt=self.halt)

    def _each(
        self, rounds: tuple[Timetable, ...], effort: float
    ) -> tuple[tuple[Timetable, ...], bool, float]:
        """Every vet's stops in their best order; whether all are proven, and the work it took."""
        made, proven, used = list[Timetable](), True, 0.0
        for one in rounds:
            share = (effort - used) / (len(rounds) - len(made))
            best, found = self._of(one.order, (one,), share)
            made += best
            proven = proven and found.proven
            used += found.effort
        return tuple(made), proven, used

    def _of(
        self, stops: Sequence[int], rounds: Sequence[Timetable], effort: float
    ) -> tuple[tuple[Timetable, ...], Found]:
        """The best rounds of some vets with some stops, in the places of the whole day."""
        vets = [one.vet for one in rounds]
        part = self.problem.part(stops, vets)
        place = {stop: at for at, stop in enumerate(stops)}
        known = [_placed(one, nth, place) for nth, one in enumerate(rounds)]
        found = best_rounds(part, effort=effort, hint=known, halt=self.halt)
        back = dict(enumerate(stops))
        made = (_placed(one, vet, back) for vet, one in zip(vets, found.rounds, strict=True))
        return tuple(made), found

    def _in_pairs(self, rounds: tuple[Timetable, ...], effort: float) -> tuple[Timetable, ...]:
        """Two vets at a time share their stops, and what was left out, anew."""
        pairs = list(combinations(range(len(rounds)), 2))
        best = list(rounds)
        for nth, (one, other) in enumerate(pairs):
            if effort <= 0:
                break
            visited = {stop for each in best for stop in each.order}
            free = [i for i in range(len(self.problem.stops)) if i not in visited]
            stops = [*best[one].order, *best[other].order, *free]
            if len(stops) > PAIR_STOPS:
                continue
            made, found = self._of(stops, (best[one], best[other]), effort / (len(pairs) - nth))
            best[one], best[other] = made
            effort -= found.effort
            self._tell(tuple(best))
        return tuple(best)

    def _bound_without_hours(self, effort: float) -> None:
        """What no round can be below, hours or not."""
        model = Model(self.problem, clock=False)
        model.model.minimize(model.cost())
        found = searched(model, effort, halt=self.halt, for_bound=True)
        self.bound = max(least_cost(self.problem), found.bound)


def _placed(one: Timetable, vet: int, places: dict[int, int]) -> Timetable:
    """A round with its vet and stops in other places."""
    calls = tuple(replace(call, stop=places[call.stop]) for call in one.calls)
    return replace(one, vet=vet, calls=calls)
