"""Rounds that were found, and how far they can be from the best that there is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from store.rounds.solving.problem import Problem
from store.rounds.solving.timetable import Timetable, timetable


@dataclass(frozen=True, slots=True)
class Found:
    """The rounds of a day, one for each vet in turn.

    `cost` is the drive and the price of what was left out, `bound` what no order can be below
    [min]. `proven` tells that they are the same, `shortest` that among rounds of that cost no day
    from setting out until back is shorter, and `each_proven` that no vet's own stops can be driven
    with less. `effort` is the work of the last search [-].
    """

    rounds: tuple[Timetable, ...]
    left_out: tuple[int, ...]
    cost: int
    bound: int
    proven: bool
    shortest: bool = False
    each_proven: bool = False
    effort: float = 0.0

    @property
    def drive_min(self) -> int:
        """All minutes on the road [min]."""
        return sum(one.drive_min for one in self.rounds)

    @property
    def day_min(self) -> int:
        """From setting out until back, all rounds together [min]."""
        return sum(one.day_min for one in self.rounds)

    @property
    def gap_min(self) -> int:
        """What an order that nobody found could cost less at most [min]."""
        return self.cost - self.bound


def found_in(
    problem: Problem,
    rounds: Sequence[Timetable],
    *,
    bound: int = 0,
    shortest: bool = False,
    each_proven: bool = False,
    effort: float = 0.0,
) -> Found:
    """Rounds with their cost, and with what is known of the best.

    Parameters
    ----------
    problem
        The day.
    rounds
        One for each vet in turn.
    bound
        What no order can cost less than [min].
    shortest
        Whether no rounds of that cost make a shorter day.
    each_proven
        Whether the order of each vet's stops is proven.
    effort
        The work of the last search [-].
    """
    visited = {stop for one in rounds for stop in one.order}
    left_out = tuple(i for i in range(len(problem.stops)) if i not in visited)
    cost = cost_of(problem, rounds)
    proven = bound >= cost
    return Found(
        tuple(rounds), left_out, cost, min(bound, cost), proven,
        proven and shortest, proven or each_proven, effort,
    )  # fmt: skip


def cost_of(problem: Problem, rounds: Sequence[Timetable]) -> int:
    """The drive of rounds and the price of what they leave out [min].

    Parameters
    ----------
    problem
        The day.
    rounds
        Of some or all vets.
    """
    visited = {stop for one in rounds for stop in one.order}
    left_out = (one.skip_cost for i, one in enumerate(problem.stops) if i not in visited)
    return sum(one.drive_min for one in rounds) + sum(left_out)


def at_home(problem: Problem) -> tuple[Timetable, ...]:
    """A round without a stop for everybody.

    Parameters
    ----------
    problem
        The day.
    """
    made = (timetable(problem, vet, ()) for vet in range(len(problem.vets)))
    return tuple(one for one in made if one is not None)


def proof_said(found: Found) -> str:
    """How good the rounds are known to be, in a sentence.

    Parameters
    ----------
    found
        What was found.

    Examples
    --------
    >>> one = (Timetable(0, 480, (), 800, 120, None, None),)
    >>> proof_said(Found(one, (), 120, 120, proven=True, shortest=True, each_proven=True))
    'Proven: no order has less driving, and none with as little makes a shorter day.'
    >>> proof_said(Found(one, (), 120, 90, proven=False, each_proven=True))
    "Each vet's order is proven; shared out otherwise, the drive of 120 min could be 30 min less
    at most."
    """
    if found.proven and found.shortest:
        return "Proven: no order has less driving, and none with as little makes a shorter day."
    if found.proven:
        return "Proven: no order has less driving."
    drive, gap = f"{found.drive_min} min", f"{found.gap_min} min"
    if found.gap_min > found.drive_min:
        return f"Not proven: perhaps not every visit left out has to be. The drive is {drive}."
    if found.each_proven:
        return (
            f"Each vet's order is proven; shared out otherwise, the drive of {drive} could be "
            f"{gap} less at most."
        )
    return f"Not proven: the drive of {drive} could be {gap} less at most."
