"""The solver against published optima, each reached and proven; the source is named in each row.

`data/rounds_places.csv` are places in degrees and minutes (DD.MM), `data/rounds_drives.csv` ways
from each node to the nodes from 0 on (of gr17 to those up to itself, as both ways are alike) and,
where there are windows, from when to when one may arrive. Node 0 is where the round begins and ends.
The optima are those of TSPLIB's table of best known tours and, with windows, of the least way, in
which waiting is not counted, as the literature after that article gives them.
"""

from __future__ import annotations

import math

import pytest
from published import published

from store.rounds.solving.problem import Problem, Stop, Vet, Window
from store.rounds.solving.proof import best_rounds

BEST = published("rounds_best")
PI, RADIUS_KM = 3.141592, 6378.388
"""As the documentation of TSPLIB prescribes them, whatever is known better."""
OPEN = Window(0, 1_000_000)


def radians(degrees_and_minutes: str) -> float:
    value = float(degrees_and_minutes)
    degrees = int(value)
    return PI * (degrees + 5 * (value - degrees) / 3) / 180


def way(one: dict[str, str], other: dict[str, str]) -> int:
    """Kilometres between two places, rounded as TSPLIB prescribes it."""
    apart = math.cos(radians(one["longitude"]) - radians(other["longitude"]))
    one_lat, other_lat = radians(one["latitude"]), radians(other["latitude"])
    minus, plus = math.cos(one_lat - other_lat), math.cos(one_lat + other_lat)
    return int(RADIUS_KM * math.acos(0.5 * ((1 + apart) * minus - (1 - apart) * plus)) + 1)


def instance(name: str) -> Problem:
    places = [row for row in published("rounds_places") if row["instance"] == name]
    drives = [row for row in published("rounds_drives") if row["instance"] == name]
    if places:
        table = [[0 if a is b else way(a, b) for b in places] for a in places]
    else:
        table = [[int(value) for value in row["drives"].split()] for row in drives]
    n = len(table)
    if len(table[0]) == 1:
        table = [[table[max(i, j)][min(i, j)] for j in range(n)] for i in range(n)]
    windows = [
        Window(int(row["opens"]), int(row["closes"])) if row["opens"] else OPEN for row in drives
    ] or [OPEN] * n
    return Problem(
        tuple(Stop(0, (window,)) for window in windows[1:]),
        (Vet(windows[0].opens, windows[0].closes),),
        [row[1:] for row in table[1:]],
        [table[0][1:]],
        [[row[0] for row in table[1:]]],
    )


def test_what_is_there() -> None:
    assert [row["instance"] for row in BEST] == [
        "burma14", "ulysses16", "gr17", "n20w20.001", "n20w20.002", "n20w40.001",
    ]  # fmt: skip
    assert all("19" in row["source"] for row in BEST)


@pytest.mark.parametrize("row", BEST, ids=lambda row: str(row["instance"]))
def test_the_published_optimum_is_reached_and_proven(row: dict[str, str]) -> None:
    found = best_rounds(instance(row["instance"]))
    assert found.left_out == ()
    assert found.cost == int(row["best"])
    assert found.proven
