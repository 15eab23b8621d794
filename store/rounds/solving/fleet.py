"""A first answer for a larger team by PyVRP, where the extra `rounds` is installed.

It knows neither breaks nor proofs: the day of each vet is shortened by the break, and what it finds
is put to the clock afterwards.
"""

from __future__ import annotations

import importlib.util
from collections.abc import Iterator
from typing import TYPE_CHECKING, Any

from store.rounds.solving.halt import Halt
from store.rounds.solving.problem import Problem, Vet
from store.rounds.solving.timetable import Timetable, timetable

if TYPE_CHECKING:
    import pyvrp


def has_fleet() -> bool:
    """Whether PyVRP is installed."""
    return importlib.util.find_spec("pyvrp") is not None


def fleet_rounds(
    problem: Problem, turns: int, *, seed: int = 0, halt: Halt | None = None
) -> tuple[Timetable, ...]:
    """Rounds by PyVRP, each with its times and break; what no longer fits then is left out.

    Parameters
    ----------
    problem
        The day.
    turns
        How often it looks for something better.
    seed
        The same gives the same answer.
    halt
        Ends the search early.
    """
    model, stop_of, vet_of = _model(problem)
    result = model.solve(
        _Turns(turns, halt), seed=seed, collect_stats=False, display=False, missing_value=_NO_WAY
    )
    orders: list[list[int]] = [[] for _ in problem.vets]
    for route in result.best.routes():
        calls = (one.idx for one in route.schedule() if one.is_client())
        orders[vet_of[route.vehicle_type()]] = [stop_of[place] for place in calls]
    return tuple(_on_the_clock(problem, vet, order) for vet, order in enumerate(orders))


_NO_WAY = 10_000_000
"""A drive that does not exist [min]."""


class _Turns:
    """Ends after so many turns, or when the search is to end."""

    def __init__(self, turns: int, halt: Halt | None) -> None:
        self.left, self.halt = turns, halt

    def __call__(self, best_cost: int) -> bool:
        self.left -= 1
        return self.left < 0 or (self.halt is not None and self.halt.stopped)


def _model(problem: Problem) -> tuple[pyvrp.Model, list[int], list[int]]:
    """The day in the terms of PyVRP; a stop with several windows is one client for each."""
    from pyvrp import Model

    model = Model()
    stop_of: list[int] = []
    places: list[tuple[int, Any]] = []
    for i, stop in enumerate(problem.stops):
        if not stop.begins:
            continue
        here = model.add_location(0, 0, name=str(i))
        places.append((i, here))
        group = model.add_client_group(required=False) if len(stop.begins) > 1 else None
        for first, last in stop.begins:
            model.add_client(
                here, service_duration=stop.stay_min, tw_early=first, tw_late=last,
                prize=stop.skip_cost, required=False, group=group,
            )  # fmt: skip
            stop_of.append(i)
    for v, who in enumerate(problem.vets):
        start, end = model.add_location(0, 0), model.add_location(0, 0)
        profile = model.add_profile()
        for one, other, drive in _ways(problem, v, places, start, end):
            model.add_edge(one, other, drive, drive, profile)
        rest = who.break_min if _needs_break(who) else 0
        model.add_vehicle_type(
            1, start_depot=model.add_depot(start), end_depot=model.add_depot(end),
            tw_early=who.begins, tw_late=who.ends, shift_duration=who.ends - who.begins - rest,
            profile=profile,
        )  # fmt: skip
    return model, stop_of, list(range(len(problem.vets)))


def _needs_break(who: Vet) -> bool:
    return who.ends > who.break_until and who.begins < who.rested_at


def _ways(
    problem: Problem, vet: int, places: list[tuple[int, Any]], start: Any, end: Any
) -> Iterator[tuple[Any, Any, int]]:
    """The drives that a vet may take."""
    mine = [(i, here) for i, here in places if problem.may_go(vet, i)]
    yield start, end, 0
    for i, here in mine:
        yield start, here, problem.out[vet][i]
        yield here, end, problem.home[vet][i]
        for j, there in mine:
            if problem.may_follow(i, j):
                yield here, there, problem.drive[i][j]


def _on_the_clock(problem: Problem, vet: int, order: list[int]) -> Timetable:
    """The order with its times, without what has to be left out of it for the break."""
    left = list(order)
    while (made := timetable(problem, vet, left)) is None:
        # Gone is the stop without which the others fit, the cheapest to leave out of these.
        stops = sorted(left, key=lambda i: (problem.stops[i].skip_cost, -left.index(i)))
        left.remove(
            next(
                (i for i in stops if timetable(problem, vet, [j for j in left if j != i])),
                left[-1],
            )
        )
    return made
