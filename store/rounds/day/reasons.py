"""Why a visit is not in the day, in the words of the practice."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from store.diary.booking.vet_day import WITHOUT_VET
from store.rounds.day.problem_of import hour_kept
from store.rounds.day.values import DayAsked, Errand
from store.rounds.solving.found import Found
from store.rounds.solving.halt import Halt
from store.rounds.solving.left_out import WITHOUT_ADDED, LeftOut, why_left_out
from store.rounds.solving.problem import SUSPECT, Problem

LOOK_EFFORT = 3.0
"""The work of looking for it in all; about seconds [-]."""
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
    told = why_left_out(
        problem, found, names, who, at_most=_looked_for(problem), effort=LOOK_EFFORT, halt=halt
    )
    visited = {stop for one in found.rounds for stop in one.order}
    return tuple(_in_our_words(asked, one, visited) for one in told)


def _looked_for(problem: Problem) -> int:
    """For so many visits it is looked for what would help: a look takes longer in a large day."""
    return next(many for stops, many in LOOKED_FOR if len(problem.stops) <= stops)


def _in_our_words(asked: DayAsked, one: LeftOut, visited: Collection[int]) -> LeftOut:
    errand = asked.errands[one.stop]
    if one.why == "nobody":
        return replace(one, says=_nobody(asked, errand), helps=_nobody_helps(asked, errand))
    if errand.level == SUSPECT and (twin := _twin(asked, one.stop, visited)) is not None:
        says = (
            f"{errand.name} is at the same site as {twin.name}, which is suspect: from a suspect "
            "nobody drives on, not even to a second visit."
        )
        return replace(one, says=says, helps=("Make one visit of the two.",))
    helps = tuple(_help_said(asked, errand, said) for said in one.helps)
    return replace(one, helps=helps)


def _twin(asked: DayAsked, stop: int, visited: Collection[int]) -> Errand | None:
    """Another visit to the same site that is in a round."""
    site = asked.errands[stop].site_id
    return next((asked.errands[i] for i in visited if asked.errands[i].site_id == site), None)


_FITS_AT = "It fits at "


def _help_said(asked: DayAsked, one: Errand, said: str) -> str:
    """Another hour is said against the hour that was agreed, where one was."""
    at, before = hour_kept(asked, one), WITHOUT_ADDED if said.startswith(WITHOUT_ADDED) else ""
    fits_at = f"{before}{_FITS_AT[:1].lower()}{_FITS_AT[1:]}" if before else _FITS_AT
    if at is None or not said.startswith(fits_at):
        return said
    clock = said[len(fits_at) :][:5]
    begins = int(clock[:2]) * 60 + int(clock[3:])
    moved = "later" if begins > at else "earlier"
    ring = f"ring {one.phone}" if one.phone else "the client has to be asked"
    gets_in = any(w.opens <= begins and begins + one.minutes <= w.closes for w in one.windows)
    also = "" if gets_in else f"; one gets in {one.hours_said}"
    return f"{fits_at}{clock}, {abs(begins - at)} min {moved} than was agreed: {ring}{also}."


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
