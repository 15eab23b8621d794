"""A day on the road as plain numbers: stops, who drives, how long every way takes.

All times are whole minutes of one local day [min]; a day with a clock change is reckoned by the
clock that is in force in its working hours.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import chain, pairwise

from store.errors import BadInput

CLEAN, DOUBTFUL, INFECTED, SUSPECT = 0, 1, 2, 3
"""Standings of a stop, in the order in which a round may go through them."""
DAY_MIN = 1440
MUST_COST = 100_000
"""What it costs to leave out a visit that was promised: more than any drive [min]."""


@dataclass(frozen=True, slots=True)
class Window:
    """A visit begins from `opens` on and is over by `closes` [min]; disinfection may follow."""

    opens: int
    closes: int


@dataclass(frozen=True, slots=True)
class Stop:
    """A visit.

    `service_min` is its length, `after_min` what disinfection takes afterwards, before the drive
    [min]. `level` is its standing. `skip_cost` is what it costs to leave it out [min of drive].
    `vets` are the places of those who may go in `Problem.vets`; None for everybody.
    """

    service_min: int
    windows: tuple[Window, ...]
    level: int = CLEAN
    after_min: int = 0
    skip_cost: int = MUST_COST
    vets: frozenset[int] | None = None

    @property
    def begins(self) -> tuple[tuple[int, int], ...]:
        """First and last minute at which the visit can begin, window by window [min]."""
        return tuple(
            (window.opens, window.closes - self.service_min)
            for window in sorted(self.windows, key=lambda one: (one.opens, one.closes))
            if window.opens <= window.closes - self.service_min
        )

    @property
    def stay_min(self) -> int:
        """From the beginning of the visit until the drive can begin [min]."""
        return self.service_min + self.after_min

    def begin_from(self, minute: int) -> int | None:
        """The first minute from a minute on at which the visit can begin, None if none [min]."""
        return next((max(minute, first) for first, last in self.begins if minute <= last), None)


@dataclass(frozen=True, slots=True)
class Vet:
    """Who drives: on the road from `begins` to `ends` [min].

    A break of `break_min` begins between `break_from` and `break_until`, at a stop; 0 is no break
    [min]. No break has to fall into a round that is over by `break_until`, or that begins when a
    break from `break_from` on would be over.
    """

    begins: int
    ends: int
    break_min: int = 0
    break_from: int = 0
    break_until: int = DAY_MIN

    @property
    def rested_at(self) -> int:
        """Who sets out from this minute on has had the break before [min]."""
        return self.break_from + self.break_min


@dataclass(frozen=True, slots=True)
class Problem:
    """Stops and vets with every drive: between stops, from where a vet sets out, and home [min].

    `drive[i][j]` leads from stop i to stop j, `out[v][i]` from the start of vet v to stop i,
    `home[v][i]` from stop i to the end of vet v. `ordered` is whether a round goes from clean to
    infected; without it only the price of that rule is reckoned.

    Raises `BadInput` where tables do not fit, something takes less than no time, or a vet's day
    ends before it begins.
    """

    stops: tuple[Stop, ...]
    vets: tuple[Vet, ...]
    drive: Sequence[Sequence[int]]
    out: Sequence[Sequence[int]]
    home: Sequence[Sequence[int]]
    ordered: bool = True

    def __post_init__(self) -> None:
        for fault in self._faults():
            raise BadInput(fault)

    def _faults(self) -> Iterator[str]:
        n, m = len(self.stops), len(self.vets)
        square = len(self.drive) == n and all(len(row) == n for row in self.drive)
        if not square or any(
            len(table) != m or any(len(row) != n for row in table)
            for table in (self.out, self.home)
        ):
            yield "The table of drives does not fit the stops and vets of the round."
        if any(value < 0 for row in chain(self.drive, self.out, self.home) for value in row):
            yield "A drive cannot take less than no time."
        if any(min(one.service_min, one.after_min, one.skip_cost) < 0 for one in self.stops):
            yield "A visit cannot take less than no time, nor be left out for less than nothing."
        if any(not set(one.vets or ()) <= set(range(m)) for one in self.stops):
            yield "A visit is given to somebody who is not on the road that day."
        if any(one.ends < one.begins or one.break_min < 0 for one in self.vets):
            yield "A day on the road cannot end before it begins, nor a break before it begins."

    def may_follow(self, one: int, other: int) -> bool:
        """Whether the round of one vet may lead from one stop straight to another.

        From a suspect nobody drives on; else only to a stop that is no cleaner.
        """
        if one == other:
            return False
        if not self.ordered:
            return True
        level = self.stops[one].level
        return level != SUSPECT and level <= self.stops[other].level

    def may_go(self, vet: int, stop: int) -> bool:
        """Whether a vet may go to a stop at all."""
        allowed = self.stops[stop].vets
        return allowed is None or vet in allowed

    def drive_of(self, vet: int, order: Sequence[int]) -> int:
        """Minutes on the road of a round, there, between and home [min]."""
        if not order:
            return 0
        between = sum(self.drive[i][j] for i, j in pairwise(order))
        return self.out[vet][order[0]] + between + self.home[vet][order[-1]]

    def part(self, stops: Sequence[int], vets: Sequence[int]) -> Problem:
        """The same day with some of its stops and vets only, by their places."""
        place = {vet: at for at, vet in enumerate(vets)}
        return Problem(
            tuple(_for_vets(self.stops[i], place) for i in stops),
            tuple(self.vets[v] for v in vets),
            [[self.drive[i][j] for j in stops] for i in stops],
            [[self.out[v][i] for i in stops] for v in vets],
            [[self.home[v][i] for i in stops] for v in vets],
            self.ordered,
        )


def _for_vets(stop: Stop, place: dict[int, int]) -> Stop:
    if stop.vets is None:
        return stop
    vets = frozenset(place[vet] for vet in stop.vets if vet in place)
    return Stop(stop.service_min, stop.windows, stop.level, stop.after_min, stop.skip_cost, vets)
