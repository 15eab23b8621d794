"""How soon the rounds of a day are found, and how near they are proven to be.

Run `python -m tests.bench.bench_rounds` for days up to 25 visits, with `--long` for 100 and 200
visits and for the best that much longer searches find. Printed are seconds on the clock and of the
processor, the cost (minutes of
driving and the price of what is left out), the bound that no order can be below, what is proven,
and with `--long` how far the answer is above the best of the long search. `--without` leaves PyVRP
out. `--book` plans a day out of an invented book of 3,000 ponds instead: what asking for it costs
beside the desk and the morning list, and planning it beside asking.
"""

from __future__ import annotations

import argparse
import time

from store.rounds.solving.found import Found
from store.rounds.solving.problem import Problem
from store.rounds.solving.teams import day_rounds
from tests.bench.round_book import measure_book
from tests.rounds.solving_days import practice_day

DAYS = [(9, 1, 3, 6.0), (12, 2, 5, 6.0), (15, 1, 5, 8.0), (25, 3, 3, 5.0)]
"""Visits, vets, how many days, and the effort that a person waits for."""
LONG_DAYS = [(100, 4, 2, 12.0), (200, 8, 1, 12.0)]
LONG_EFFORT = 150.0


def said(found: Found) -> str:
    if found.proven:
        return "proven, shortest day" if found.shortest else "proven"
    return "each vet's order proven" if found.each_proven else "not proven"


def timed(problem: Problem, effort: float, fleet: bool | None) -> tuple[Found, float, float]:
    clock_s, processor_s = time.perf_counter(), time.process_time()
    found = day_rounds(problem, effort=effort, fleet=fleet)
    return found, time.perf_counter() - clock_s, time.process_time() - processor_s


def main() -> None:
    reading = argparse.ArgumentParser(description=__doc__)
    reading.add_argument("--long", action="store_true")
    reading.add_argument("--without", action="store_true")
    reading.add_argument("--book", action="store_true")
    reading.add_argument("--ponds", type=int, default=3000)
    reading.add_argument("--visits", type=int, default=24)
    asked = reading.parse_args()
    if asked.book:
        measure_book(asked.ponds, asked.visits, rounds=5)
        return
    fleet = False if asked.without else None
    day_rounds(practice_day(0, 3, 1))  # the libraries are loaded once
    print("visits vets     s   cpu    cost   bound  out  ")
    for visits, vets, days, effort in DAYS + (LONG_DAYS if asked.long else []):
        for seed in range(days):
            problem = practice_day(seed, visits, vets)
            found, took_s, busy_s = timed(problem, effort, fleet)
            line = (
                f"{visits:6} {vets:4} {took_s:5.1f} {busy_s:5.1f} {found.cost:7} {found.bound:7} "
                f"{len(found.left_out):4}  {said(found)}"
            )
            if asked.long and not found.proven:
                best, _, long_s = timed(problem, LONG_EFFORT, fleet)
                above = 100 * (found.cost - best.cost) / max(best.cost, 1)
                line += f", {above:.1f} % above the best of {long_s:.0f} s (bound {best.bound})"
            print(line, flush=True)


if __name__ == "__main__":
    main()
