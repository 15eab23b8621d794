"""The best rounds of a day, with proof where there is time for it.

First the least drive; then, with that drive held, the shortest day. Each search has its limit in
work done and one thread with a fixed seed, so that the same day gets the same answer each time.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

from store.rounds.solving.found import Found, at_home, cost_of, found_in
from store.rounds.solving.halt import Halt
from store.rounds.solving.model import Model
from store.rounds.solving.problem import Problem
from store.rounds.solving.timetable import Timetable

SEED = 20260301
EFFORT = 8.0
"""The work that a search may do; on common machines about as many seconds [-]."""
Better = Callable[[Found], None]
"""Is told of every better answer, in the thread that searches."""


@dataclass(frozen=True, slots=True)
class Searched:
    """What a search came to: rounds, the bound of what it made small, and the work it took [-].

    `rounds` is None where there are none, or none was found; `ended` tells that the search went to
    its end, so that there are none.
    """

    rounds: tuple[Timetable, ...] | None
    bound: int
    ended: bool
    effort: float


def best_rounds(
    problem: Problem,
    *,
    effort: float = EFFORT,
    hint: Sequence[Timetable] | None = None,
    halt: Halt | None = None,
    better: Better | None = None,
    shorten: bool = True,
) -> Found:
    """The rounds with the least drive and, among those, the shortest day; every stop if it can be.

    Parameters
    ----------
    problem
        The day.
    effort
        How much work the search may do, in a measure of its own that is the same on every machine;
        about seconds [-].
    hint
        Rounds to begin with, one for each vet in turn.
    halt
        Ends the search early.
    better
        Is told of every better answer.
    shorten
        Whether the shortest day is looked for where the least drive is proven.

    Returns
    -------
    Found
        Never worse than the hint. Without proof its bound tells how far it may be from the best.

    Examples
    --------
    Two ponds, the nearer one infected: the clean one comes first.

    >>> from store.rounds.solving.problem import INFECTED, Stop, Vet, Window
    >>> day = (Window(480, 1020),)
    >>> ponds = (Stop(30, day, INFECTED), Stop(30, day))
    >>> round = Problem(ponds, (Vet(480, 1020),), [[0, 15], [15, 0]], [[10, 30]], [[10, 20]])
    >>> found = best_rounds(round)
    >>> found.rounds[0].order, found.drive_min, found.proven
    ((1, 0), 55, True)
    """
    known = tuple(hint) if hint is not None else at_home(problem)
    if not problem.vets or not problem.stops:
        return found_in(problem, known, bound=cost_of(problem, known), shortest=True)
    model = Model(problem)
    model.model.minimize(model.cost())
    model.hint(known)

    def told(rounds: tuple[Timetable, ...], bound: int) -> None:
        if better is not None:
            better(found_in(problem, rounds, bound=bound))

    first = searched(model, effort, halt=halt, better=told)
    known = _cheaper(problem, known, first.rounds)
    found = found_in(problem, known, bound=first.bound, effort=first.effort)
    left = effort - first.effort
    if not (shorten and found.proven) or left <= 0 or (halt is not None and halt.stopped):
        return found
    return _shortest(problem, found, left, halt)


def _shortest(problem: Problem, found: Found, effort: float, halt: Halt | None) -> Found:
    """Rounds of the same cost with the shortest day."""
    model = Model(problem)
    if not model.at:  # one vet, no hour that matters: the day is as long as its drive
        return replace(found, shortest=True)
    model.model.add(model.cost() == found.cost)
    days = model.days()
    model.model.add(days <= found.day_min)
    model.model.minimize(days)
    model.hint(found.rounds)
    second = searched(model, effort, halt=halt)
    rounds = second.rounds or found.rounds
    day_min = sum(one.day_min for one in rounds)
    return found_in(
        problem, rounds, bound=found.cost, shortest=second.bound >= day_min,
        effort=found.effort + second.effort,
    )  # fmt: skip


def _cheaper(
    problem: Problem, known: tuple[Timetable, ...], other: tuple[Timetable, ...] | None
) -> tuple[Timetable, ...]:
    if other is None or cost_of(problem, known) < cost_of(problem, other):
        return known
    return other


def searched(
    model: Model,
    effort: float,
    *,
    halt: Halt | None = None,
    better: Callable[[tuple[Timetable, ...], int], None] | None = None,
    for_bound: bool = False,
) -> Searched:
    """Searches for what makes the objective of a model small.

    Parameters
    ----------
    model
        With an objective.
    effort
        How much work the search may do [-].
    halt
        Ends the search early.
    better
        Is told of rounds and bound [min].
    for_bound
        Only the bound is wanted, of a model without hours: more work goes into it, none into
        rounds.

    Returns
    -------
    Searched
        With the best so far.
    """
    from ortools.sat.python import cp_model

    solver = cp_model.CpSolver()
    solver.parameters.num_workers = 1
    solver.parameters.random_seed = SEED
    solver.parameters.max_deterministic_time = max(effort, 0.0)
    # Else it takes ctrl-C for itself, and leaves it killing the process once a search has ended.
    solver.parameters.catch_sigint_signal = False
    if for_bound:
        solver.parameters.linearization_level = 2
        solver.parameters.cp_model_probing_level = 0
    halt = halt or Halt()
    if halt.stopped:
        return Searched(None, 0, ended=False, effort=0.0)

    def look_up(_bound: float) -> None:
        if halt.stopped:
            solver.stop_search()

    solver.best_bound_callback = look_up
    with halt.ends(solver.stop_search):
        status = solver.solve(model.model, _telling(model, halt, better))
    bound = _whole(solver.best_objective_bound) if status != cp_model.INFEASIBLE else 0
    work = solver.response_proto.deterministic_time
    if status in (cp_model.OPTIMAL, cp_model.FEASIBLE) and not for_bound:
        rounds = model.rounds(solver.boolean_value)
        return Searched(rounds, bound, ended=status == cp_model.OPTIMAL, effort=work)
    return Searched(None, bound, ended=status == cp_model.INFEASIBLE, effort=work)


def _whole(bound_min: float) -> int:
    """All costs are whole minutes, so that a bound between two of them is the higher one [min]."""
    return max(0, math.ceil(bound_min - 1e-6)) if math.isfinite(bound_min) else 0


def _telling(
    model: Model, halt: Halt, better: Callable[[tuple[Timetable, ...], int], None] | None
) -> Any:
    from ortools.sat.python import cp_model

    class Telling(cp_model.CpSolverSolutionCallback):
        """Told of every solution; a search that was to end before it had begun ends here."""

        def on_solution_callback(self) -> None:
            if halt.stopped:
                self.stop_search()
            elif better is not None:
                better(model.rounds(self.boolean_value), _whole(self.best_objective_bound))

    return Telling()
