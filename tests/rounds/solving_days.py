"""Days on the road as the tests of the solver make them, and their best order by trying all."""

from __future__ import annotations

import random
from collections.abc import Sequence
from itertools import permutations

from hypothesis import strategies as st

from store.rounds.solving.problem import MUST_COST, Problem, Stop, Vet, Window
from store.rounds.solving.timetable import timetable

DAY = (Window(480, 1020),)
"""From eight to five."""
WORK = Vet(480, 1020)
WORK_WITH_BREAK = Vet(480, 1020, 30, 690, 810)


def line(
    places: Sequence[int], *stops: Stop, vets: Sequence[Vet] = (WORK,), **more: bool
) -> Problem:
    """Stops along one road at so many minutes from where every vet lives."""
    drive = [[abs(one - other) for other in places] for one in places]
    ways = [[abs(one) for one in places] for _ in vets]
    return Problem(stops, tuple(vets), drive, ways, ways, **more)


def in_the_plane(
    points: Sequence[tuple[float, float]],
    homes: Sequence[tuple[float, float]],
    stops: Sequence[Stop],
    vets: Sequence[Vet],
) -> Problem:
    """Stops at points in minutes of driving, with five minutes for every parking."""

    def min_between(one: tuple[float, float], other: tuple[float, float]) -> int:
        return round(((one[0] - other[0]) ** 2 + (one[1] - other[1]) ** 2) ** 0.5 + 5)

    drive = [[0 if a is b else min_between(a, b) for b in points] for a in points]
    ways = [[min_between(home, one) for one in points] for home in homes]
    return Problem(tuple(stops), tuple(vets), drive, ways, ways)


def practice_day(seed: int, visits: int, vets: int) -> Problem:
    """A full day: windows, breaks, four standings, some visits that could be added.

    The more visits a vet has, the shorter they are and the nearer they lie.
    """
    rng = random.Random(seed)
    many = visits > 12 * vets
    across = 30.0 if many else 70.0
    points = [(rng.uniform(0, across), rng.uniform(0, across)) for _ in range(visits)]
    homes = [(rng.uniform(0, across), rng.uniform(0, across)) for _ in range(vets)]
    stops = []
    for _ in range(visits):
        chosen = rng.random()
        windows = DAY
        if chosen < 0.3:
            opens = rng.choice([480, 540, 600, 720, 780])
            windows = (Window(opens, opens + rng.choice([180, 240])),)
        elif chosen < 0.4:
            windows = (Window(480, 660), Window(840, 1020))
        level = rng.choices([0, 1, 2, 3], [6, 2, 2, 0.0 if many else 0.3])[0]
        lengths = [15, 20, 30, 40] if visits <= 6 * vets else [5, 10] if many else [10, 15, 20]
        disinfection = 0 if level < 2 else 3 if many else 10
        skip = MUST_COST if rng.random() < 0.8 else rng.randint(15, 60)
        stops.append(Stop(rng.choice(lengths), windows, level, disinfection, skip))
    return in_the_plane(points, homes, stops, [WORK_WITH_BREAK] * vets)


def by_trying(problem: Problem) -> tuple[int, int]:
    """The least cost of a day and the shortest days at that cost, by trying every order [min]."""
    n = len(problem.stops)
    best: dict[frozenset[int], tuple[int, int]] = {frozenset(): (0, 0)}
    for vet in range(len(problem.vets)):
        alone: dict[frozenset[int], tuple[int, int]] = {frozenset(): (0, 0)}
        for count in range(1, n + 1):
            for order in permutations(range(n), count):
                made = timetable(problem, vet, order)
                if made is not None:
                    key, value = frozenset(order), (made.drive_min, made.day_min)
                    alone[key] = min(alone.get(key, value), value)
        joined: dict[frozenset[int], tuple[int, int]] = {}
        for one, cost in best.items():
            for other, more in alone.items():
                if not one & other:
                    value = (cost[0] + more[0], cost[1] + more[1])
                    joined[one | other] = min(joined.get(one | other, value), value)
        best = joined
    return min(
        (cost + sum(one.skip_cost for i, one in enumerate(problem.stops) if i not in went), length)
        for went, (cost, length) in best.items()
    )


@st.composite
def small_days(draw: st.DrawFn, stops: int = 7, vets: int = 1) -> Problem:
    """Any day of a few stops: windows that may be too short, standings, breaks, optional stops."""
    count = draw(st.integers(0, stops))
    minutes = st.integers(0, 60)
    made = []
    for _ in range(count):
        opens = draw(st.lists(st.integers(460, 900), min_size=1, max_size=2))
        windows = tuple(Window(at, at + draw(st.sampled_from([30, 120, 300]))) for at in opens)
        level = draw(st.integers(0, 3))
        skip = draw(st.sampled_from([MUST_COST, MUST_COST, 40]))
        allowed = draw(st.sampled_from([None, None, frozenset(range(vets)), frozenset[int]()]))
        made.append(Stop(draw(st.integers(0, 60)), windows, level, 5 * level, skip, allowed))
    who = [
        draw(
            st.sampled_from(
                [WORK, WORK_WITH_BREAK, Vet(540, 840, 45, 660, 700), Vet(750, 1100, 30, 690, 780)]
            )
        )
        for _ in range(vets)
    ]
    row = st.lists(minutes, min_size=count, max_size=count)
    table = st.lists(row, min_size=count, max_size=count)
    ways = st.lists(row, min_size=vets, max_size=vets)
    return Problem(
        tuple(made), tuple(who), draw(table), draw(ways), draw(ways), draw(st.booleans())
    )
