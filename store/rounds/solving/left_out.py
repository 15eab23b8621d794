"""Why a visit was left out, and what would let it in: each answer found by looking, none guessed.

First what can be seen without a search: hours that are too short, nobody who may go, a way that is
too long even for this visit alone. Then small searches with the visit held in and every visit of
the day kept: as it is, at another hour, with a longer day, with another visit moved, without the
rule of clean before infected, in place of another. Where none of that lets a visit in that must be
made, the same is looked for without those that need not be.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Literal

from store.rounds.solving.found import Found
from store.rounds.solving.halt import Halt
from store.rounds.solving.probes import Asked, Probe, Purse, as_it_is, helps_of, probes_of
from store.rounds.solving.problem import MUST_COST, Problem
from store.rounds.solving.proof import Searched
from store.rounds.solving.said import clock_said, hours_said, listed
from store.rounds.solving.timetable import Timetable, timetable

WITHOUT_ADDED = "Without what was only added "
"""Begins a sentence of what would help were the visits not in the day that need not be made."""
LOOK_EFFORT = 6.0
"""The work of all searches for what would let visits in; about seconds [-]."""
Why = Literal["hours", "nobody", "alone", "worth", "full", "unknown"]
"""`hours`: too short or none; `nobody` may go; `alone`: does not fit even alone; `worth`: optional,
and not worth its way; `full`: no room beside the others; `unknown`: not found, and not excluded.
"""


@dataclass(frozen=True, slots=True)
class LeftOut:
    """Why a visit was left out, in a sentence, and what would let it in, a sentence each."""

    stop: int
    why: Why
    says: str
    helps: tuple[str, ...] = ()


def why_left_out(
    problem: Problem,
    found: Found,
    names: Sequence[str],
    vets: Sequence[str],
    *,
    at_most: int = 6,
    effort: float = LOOK_EFFORT,
    halt: Halt | None = None,
) -> tuple[LeftOut, ...]:
    """Why each visit that is not in the rounds was left out.

    Parameters
    ----------
    problem
        The day.
    found
        Its rounds.
    names
        Of the stops, by their places.
    vets
        Names of the vets, by their places.
    at_most
        For so many visits searches are made, those that cost most to leave out first; of the others
        only what is seen without is told.
    effort
        How much work all these searches may do together; about seconds [-].
    halt
        Ends the searches early.

    Returns
    -------
    tuple of LeftOut
        In the order of the stops. What a search could not settle is not claimed.

    Examples
    --------
    >>> from store.rounds.solving.problem import Stop, Vet, Window
    >>> from store.rounds.solving.proof import best_rounds
    >>> day = Problem((Stop(60, (Window(540, 570),)),), (Vet(480, 1020),), [[0]], [[5]], [[5]])
    >>> why_left_out(day, best_rounds(day), ["Brook House"], ["Ada"])[0].says
    'Brook House takes 60 min, but one gets in for 30 min at most: 09:00 to 09:30.'
    """
    order = sorted(found.left_out, key=lambda i: (-problem.stops[i].skip_cost, i))
    told, purse = [], Purse(effort)
    for nth, stop in enumerate(order):
        asked = Asked(problem, found, stop, names, vets, halt, purse)
        looked_for = nth < at_most and purse.left > 0.0
        told.append(_seen(asked) or (_looked_for(asked) if looked_for else _only_full(asked)))
    return tuple(sorted(told, key=lambda one: one.stop))


def _seen(asked: Asked) -> LeftOut | None:
    """What needs no search."""
    problem, stop, name = asked.problem, asked.problem.stops[asked.stop], asked.name
    if not stop.windows:
        return LeftOut(asked.stop, "hours", f"For {name} there are no hours in which one gets in.")
    if not stop.begins:
        longest = max(max(one.closes - one.opens, 0) for one in stop.windows)
        says = (
            f"{name} takes {stop.service_min} min, but one gets in for {longest} min at most: "
            f"{hours_said(stop.windows)}."
        )
        return LeftOut(asked.stop, "hours", says)
    if not problem.vets:
        return LeftOut(asked.stop, "nobody", f"Nobody is on the road to go to {name}.")
    who = [v for v in range(len(problem.vets)) if problem.may_go(v, asked.stop)]
    if not who:
        return LeftOut(asked.stop, "nobody", f"Nobody on the road may go to {name}.")
    reasons = [_alone(asked, v) for v in who]
    if all(reasons):
        says = f"Even alone {name} does not fit: " + "; ".join(filter(None, reasons)) + "."
        return LeftOut(asked.stop, "alone", says)
    return None


def _alone(asked: Asked, vet: int) -> str:
    """Why a vet with nothing else to do cannot make the visit; the empty text who can."""
    problem, stop, who = asked.problem, asked.problem.stops[asked.stop], asked.problem.vets[vet]
    out, home, name = (
        problem.out[vet][asked.stop], problem.home[vet][asked.stop], asked.vets[vet],
    )  # fmt: skip
    if timetable(problem, vet, [asked.stop]) is not None:
        return ""
    there = who.begins + out
    begins = stop.begin_from(there)
    if begins is None:
        return (
            f"{name} is there at {clock_said(there)} after {out} min of driving, too late for "
            f"{stop.service_min} min in {hours_said(stop.windows)}"
        )
    back = begins + stop.stay_min + home
    if back > who.ends:
        return (
            f"with {out} min there and {home} min home {name} is back at {clock_said(back)}, and "
            f"the working hours end at {clock_said(who.ends)}"
        )
    return f"it leaves {name} no room for the break of {who.break_min} min"


def _only_full(asked: Asked) -> LeftOut:
    free = [
        f"{asked.vets[one.vet]} {_busy(asked.problem, one)}"
        for one in asked.found.rounds
        if asked.problem.may_go(one.vet, asked.stop)
    ]
    says = f"No room was found for {asked.name}: {listed(free)}."
    return LeftOut(asked.stop, "unknown", says)


def _busy(problem: Problem, one: Timetable) -> str:
    if not one.calls:
        return "has no visit"
    calls = f"{len(one.calls)} visits" if len(one.calls) > 1 else "1 visit"
    return f"has {calls} from {clock_said(one.sets_out)} to {clock_said(one.back)}"


def _looked_for(asked: Asked) -> LeftOut:
    """What small searches show."""
    probes = tuple(probes_of(asked))
    whole = len(probes) == 1 and len(probes[0].vets) == len(asked.problem.vets)
    looked = [as_it_is(one) for one in probes]
    fitting = [one for one in looked if one.rounds is not None]
    stop = asked.problem.stops[asked.stop]
    if fitting:
        more = min(_added(asked, one, probe) for one, probe in zip(looked, probes, strict=True))
        if stop.skip_cost <= more < MUST_COST:
            about = "" if whole and fitting[0].ended else "about "
            says = (
                f"{asked.name} would add {about}{more} min of driving; it is worth "
                f"{stop.skip_cost} min."
            )
            return LeftOut(asked.stop, "worth", says)
        says = f"{asked.name} fits after all, with {more} min more of driving: plan once more."
        return LeftOut(asked.stop, "unknown", says)
    helps = tuple(dict.fromkeys(said for probe in probes for said in helps_of(asked, probe)))
    if not helps and asked.has_added:
        helps = tuple(dict.fromkeys(_without_added(asked)))
    if not all(one.ended for one in looked):
        says = f"No room for {asked.name} was found in the time for looking."
        return LeftOut(asked.stop, "unknown", says, helps)
    beside = "beside the other visits" if whole else "in any round as they are shared out"
    return LeftOut(asked.stop, "full", f"{asked.name} does not fit {beside}.", helps)


def _without_added(asked: Asked) -> Iterator[str]:
    """What would let a visit in that must be made, were none in the day that need not."""
    for probe in probes_of(asked, without_added=True):
        for said in helps_of(asked, probe):
            yield f"{WITHOUT_ADDED}{said[:1].lower()}{said[1:]}"


def _added(asked: Asked, one: Searched, probe: Probe) -> int:
    """The drive that a visit adds to the rounds of a probe [min]."""
    if one.rounds is None:
        return MUST_COST
    before = sum(asked.found.rounds[v].drive_min for v in probe.vets)
    return sum(made.drive_min for made in one.rounds) - before
