"""A day on the road, planned: the rounds with their proof, and a sentence for all that is not in.

The same day gets the same plan each time: nothing here looks at a clock, every search has its limit
in work done.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass
from uuid import UUID

from store.rounds.day.hours import shifted, with_hours
from store.rounds.day.problem_of import problem_of, wished_windows
from store.rounds.day.reasons import reasons_said
from store.rounds.day.rounds import rounds_of
from store.rounds.day.said import broken_said, plan_remarks
from store.rounds.day.values import DayAsked, DayPlan
from store.rounds.solving.found import Found, proof_said
from store.rounds.solving.halt import Halt
from store.rounds.solving.left_out import LeftOut
from store.rounds.solving.price import Price, price_of_order
from store.rounds.solving.problem import SUSPECT, Problem
from store.rounds.solving.proof import EFFORT
from store.rounds.solving.teams import day_rounds

PRICE_EFFORT = 4.0
"""The price of the order is searched for with no more work than this [-]."""


def plan_day(
    asked: DayAsked,
    *,
    effort: float = EFFORT,
    halt: Halt | None = None,
    better: Callable[[DayPlan], None] | None = None,
) -> DayPlan:
    """The rounds of a day.

    Parameters
    ----------
    asked
        The day.
    effort
        How much work the search may do; about seconds on common machines [-].
    halt
        Ends it early; the best so far is kept, and the plan says so.
    better
        Is told of every better plan, in the thread that searches; reasons are not in those.

    Returns
    -------
    DayPlan
        With every errand in a round, or left out with its reason.
    """
    search = _Search(asked, effort, halt or Halt(), better)
    problem, found = search.with_wishes()
    found = with_hours(asked, problem, found)
    price = search.price(problem, found)
    left_out = reasons_said(asked, problem, found, search.halt)
    rounds = rounds_of(asked, found)
    kept = None if price is None or asked.wish.ordered else price.kept
    return DayPlan(
        asked, problem, found, rounds, left_out, price, proof_said(found),
        broken_said(asked, rounds, found, kept),
        (*plan_remarks(asked, rounds, found, halted=search.halt.stopped), *asked.remarks),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Search:
    """The searches of a day, one after the other."""

    asked: DayAsked
    effort: float
    halt: Halt
    better: Callable[[DayPlan], None] | None

    def with_wishes(self) -> tuple[Problem, Found]:
        """The rounds with dawn and afternoon as they are wished for, as far as no visit is lost.

        First only those that stay out for their own wish are widened, then all.
        """
        asked, wide = self.asked, frozenset[UUID]()
        narrow = {one.key for one in asked.errands if wished_windows(asked, one) is not None}
        problem = problem_of(asked)
        found = self._found(problem, None)
        for group in (lambda out: narrow & out, lambda _out: narrow):
            out = {asked.errands[stop].key for stop in found.left_out}
            wider = frozenset(group(out))
            if not out or not wider - wide:
                continue
            problem_wide = problem_of(asked, at_any_hour=wider)
            trial = self._found(problem_wide, found)
            if _lost(problem_wide, trial) < _lost(problem, found):
                problem, found, wide = problem_wide, trial, wider
        return problem, found

    def _found(self, problem: Problem, hint: Found | None) -> Found:
        rounds = None if hint is None else hint.rounds
        told = None if self.better is None else lambda found: self._tell(problem, found)
        return day_rounds(problem, effort=self.effort, hint=rounds, halt=self.halt, better=told)

    def _tell(self, problem: Problem, found: Found) -> None:
        assert self.better is not None
        found = shifted(self.asked, problem, found)
        left_out = tuple(
            LeftOut(stop, "unknown", f"{self.asked.errands[stop].name} is not in yet.")
            for stop in found.left_out
        )
        self.better(
            DayPlan(
                self.asked, problem, found, rounds_of(self.asked, found), left_out, None,
                proof_said(found), (), self.asked.remarks,
            )
        )  # fmt: skip

    def price(self, problem: Problem, found: Found) -> Price | None:
        """What clean before infected costs; None where nothing is at stake, or it was halted.

        Where the rule is not asked for, the day that keeps it is looked for, to say what it takes.
        """
        visited = len(problem.stops) - len(found.left_out)
        if not visited or not _at_stake({one.level for one in problem.stops}, len(problem.stops)):
            return None
        effort = min(self.effort, PRICE_EFFORT)
        if problem.ordered:
            price = price_of_order(problem, found, effort=effort, halt=self.halt, solve=day_rounds)
        else:
            kept = Problem(problem.stops, problem.vets, problem.drive, problem.out, problem.home)
            price = Price(day_rounds(kept, effort=effort, halt=self.halt, shorten=False), found)
        return None if self.halt.stopped else price


def _at_stake(levels: Collection[int], stops: int) -> bool:
    return stops > 1 and (len(set(levels)) > 1 or SUSPECT in levels)


def _lost(problem: Problem, found: Found) -> int:
    """The price of what is left out [min]."""
    return sum(problem.stops[stop].skip_cost for stop in found.left_out)
