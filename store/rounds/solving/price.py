"""What the rule of clean before infected costs on a day, in minutes of driving."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from store.rounds.solving.found import Found
from store.rounds.solving.halt import Halt
from store.rounds.solving.problem import Problem
from store.rounds.solving.proof import EFFORT, best_rounds


@dataclass(frozen=True, slots=True)
class Price:
    """The same day with the rule and without it; the second is never driven.

    `more_min` is the driving that the rule costs [min], `more_left_out` how many more visits stay
    out for it; both can be below zero where one answer is not proven, or where the rule leaves out
    what would have been driven to. `proven` tells that both days are.
    """

    kept: Found
    without: Found

    @property
    def more_min(self) -> int:
        """Driving that the rule costs [min]."""
        return self.kept.drive_min - self.without.drive_min

    @property
    def more_left_out(self) -> int:
        """Visits that stay out for the rule."""
        return len(self.kept.left_out) - len(self.without.left_out)

    @property
    def proven(self) -> bool:
        """Whether both days are proven."""
        return self.kept.proven and self.without.proven

    @property
    def says(self) -> str:
        """The price in a sentence."""
        if self.kept.cost <= self.without.cost:
            nearly = "" if self.proven else ", as far as was found"
            return f"Clean before infected costs nothing on this day{nearly}."
        about = "" if self.proven else "about "
        drive = f"{about}{abs(self.more_min)} min {'more' if self.more_min >= 0 else 'less'}"
        lost = len(set(self.kept.left_out) - set(self.without.left_out))
        if not lost:
            return f"Clean before infected costs {drive} of driving."
        if self.more_left_out > 0:
            left_out = f"leaves out {_visits(self.more_left_out)} more"
        else:
            left_out = f"leaves out {_visits(lost)} in place of others"
        with_drive = f", with {drive} of driving" if self.more_min else ""
        return f"Clean before infected {left_out}{with_drive}."


def _visits(count: int) -> str:
    return "1 visit" if count == 1 else f"{count} visits"


def price_of_order(
    problem: Problem,
    kept: Found,
    *,
    effort: float = EFFORT,
    halt: Halt | None = None,
    solve: Callable[..., Found] = best_rounds,
) -> Price:
    """The price of going from clean to infected.

    Parameters
    ----------
    problem
        The day.
    kept
        Its rounds, in which the rule is kept; the search without it begins with them.
    effort
        How much work the search may do [-].
    halt
        Ends the search early.
    solve
        What finds the rounds.

    Examples
    --------
    On the way to a clean pond one drives past an infected one, and has to come back to it:

    >>> from store.rounds.solving.problem import INFECTED, Stop, Vet, Window
    >>> open_all_day = (Window(480, 1020),)
    >>> stops = (Stop(30, open_all_day, INFECTED), Stop(30, open_all_day))
    >>> day = Problem(stops, (Vet(480, 1020),), [[0, 20], [20, 0]], [[20, 40]], [[40, 20]])
    >>> price_of_order(day, best_rounds(day)).says
    'Clean before infected costs 40 min more of driving.'
    """
    levels = {one.level for one in problem.stops}
    if not problem.ordered or len(levels | {0}) == 1:
        return Price(kept, kept)
    free = replace(problem, ordered=False)
    return Price(kept, solve(free, effort=effort, hint=kept.rounds, halt=halt, shorten=False))
