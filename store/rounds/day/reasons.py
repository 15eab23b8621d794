"""Why a visit is not in the day, in the words of the practice."""

from __future__ import annotations

from dataclasses import replace

from store.diary.booking.vet_day import WITHOUT_VET
from store.rounds.day.values import DayAsked, Errand
from store.rounds.solving.found import Found
from store.rounds.solving.halt import Halt
from store.rounds.solving.left_out import LeftOut, why_left_out
from store.rounds.solving.problem import Problem

LOOKED_FOR = ((25, 6), (60, 3), (10_000, 1))
"""Up to so many stops it is looked for so many visits what would let them in."""


def reasons_said(
    asked: DayAsked, problem: Problem, found: Found, halt: Halt | None = None
) -> tuple[LeftOut, ...]:
    """Why each errand that is not in the rounds is left out, and what would let it in.

    Parameters
    ----------
    asked
        The day.
    problem, found
        The same as plain numbers, and its rounds.
    halt
        Ends the looking early.

    Returns
    -------
    tuple of LeftOut
        In the order of the errands.
    """
    names = [one.name for one in asked.errands]
    who = [one.who for one in asked.drivers]
    told = why_left_out(problem, found, names, who, at_most=_looked_for(problem), halt=halt)
    return tuple(_in_our_words(asked, one) for one in told)


def _looked_for(problem: Problem) -> int:
    """For so many visits it is looked for what would help: a look takes longer in a large day."""
    return next(many for stops, many in LOOKED_FOR if len(problem.stops) <= stops)


def _in_our_words(asked: DayAsked, one: LeftOut) -> LeftOut:
    if one.why != "nobody":
        return one
    errand = asked.errands[one.stop]
    return replace(one, says=_nobody(asked, errand), helps=_nobody_helps(asked, errand))


def _nobody(asked: DayAsked, one: Errand) -> str:
    visit = one.visit
    if not asked.drivers:
        return f"Nobody is on the road to go to {one.name}."
    if visit is not None and _is_of_another(asked, one):
        who = visit.who or "somebody"
        return f"{one.name} is {who}'s visit, and {who} is not on the road that day."
    return f"{one.name} needs a vet, and no vet who may go is on the road."


def _is_of_another(asked: DayAsked, one: Errand) -> bool:
    if one.visit is None or one.visit.staff_id is None:
        return False
    return one.visit.staff_id not in {driver.staff_id for driver in asked.drivers}


def _nobody_helps(asked: DayAsked, one: Errand) -> tuple[str, ...]:
    if not asked.drivers or not _is_of_another(asked, one) or one.visit is None:
        return ()
    others = [
        driver.who for driver in asked.drivers
        if driver.is_vet or one.kind.casefold() in WITHOUT_VET
    ]  # fmt: skip
    if not others:
        return ()
    if one.visit.fixed:
        return ("It is fixed: move it in the diary, or give it to somebody who is there.",)
    return (f"Plan with hours and people free, and {' or '.join(others)} may go.",)
