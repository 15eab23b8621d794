"""Small searches in which a visit that was left out is held in, and what each of them shows."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import pairwise
from typing import Any

from store.rounds.solving.found import Found
from store.rounds.solving.halt import Halt
from store.rounds.solving.model import Model
from store.rounds.solving.problem import DAY_MIN, MUST_COST, Problem, Window
from store.rounds.solving.proof import Searched, searched
from store.rounds.solving.said import clock_said, listed
from store.rounds.solving.timetable import Timetable, timetable

PROBE_EFFORT = 1.0
"""The work of one small search; on common machines about as many seconds [-]."""
LEAST_EFFORT = 0.1
"""What any search counts at least, for what it takes to begin it [-]."""
PROBED_STOPS = 20
"""With more stops in the day the small searches look at one vet's round at a time."""
STANDINGS = ("clean", "doubtful", "infected", "suspect")
"""By the level of a stop."""
LONGER_MIN = 180
"""A day is not thought of as longer by more than this [min]."""


@dataclass(slots=True)
class Purse:
    """How much work may still be done for all visits that were left out [-]."""

    left: float


@dataclass(frozen=True, slots=True)
class Asked:
    """A visit that was left out, with all that is needed to look for the reason."""

    problem: Problem
    found: Found
    stop: int
    names: Sequence[str]
    vets: Sequence[str]
    halt: Halt | None
    purse: Purse

    @property
    def name(self) -> str:
        """What the visit is called."""
        return self.names[self.stop]

    @property
    def kept(self) -> tuple[int, ...]:
        """The visits of the day."""
        return tuple(sorted(i for one in self.found.rounds for i in one.order))

    @property
    def has_added(self) -> bool:
        """Whether the visit must be made, and the day has others that need not."""
        return self.must(self.stop) and not all(map(self.must, self.kept))

    def must(self, stop: int) -> bool:
        """Whether a visit is left out only where it does not fit."""
        return self.problem.stops[stop].skip_cost >= MUST_COST


@dataclass(frozen=True, slots=True)
class Probe:
    """A part of the day in which a visit is held in, all in the places of that part."""

    problem: Problem
    stops: tuple[int, ...]
    vets: tuple[int, ...]
    stop: int
    halt: Halt | None
    purse: Purse

    def search(self, change: Callable[[Model], Any], problem: Problem | None = None) -> Searched:
        """With all visits held in; `change` alters the constraints and gives what to make small."""
        if self.purse.left <= 0.0:
            return Searched(None, 0, ended=False, effort=0.0)
        held = Model(problem or self.problem)
        goal = change(held)
        held.model.minimize(goal)
        found = searched(held, min(PROBE_EFFORT, self.purse.left), halt=self.halt)
        self.purse.left -= max(LEAST_EFFORT, found.effort)
        return found


def probes_of(asked: Asked, *, without_added: bool = False) -> Iterator[Probe]:
    """The whole of a small day, else each round that the visit might join.

    Parameters
    ----------
    asked
        The visit that was left out.
    without_added
        Whether only those visits are kept that must be made.
    """
    problem, stop = asked.problem, asked.stop
    kept = tuple(i for i in asked.kept if not without_added or asked.must(i))
    if len(kept) < PROBED_STOPS:
        stops = (*kept, stop)
        vets = tuple(range(len(problem.vets)))
        yield Probe(problem.part(stops, vets), stops, vets, len(kept), asked.halt, asked.purse)
        return
    for one in asked.found.rounds:
        if problem.may_go(one.vet, stop):
            stops = (*(i for i in one.order if i in kept), stop)
            part = problem.part(stops, [one.vet])
            yield Probe(part, stops, (one.vet,), len(stops) - 1, asked.halt, asked.purse)


def hold(model: Model) -> Any:
    """Every visit is made; gives the drive, to make it small.

    Parameters
    ----------
    model
        Is altered.
    """
    for skipped in model.skip:
        model.model.add(skipped == 0)
    return model.cost()


def as_it_is(probe: Probe) -> Searched:
    """With all hours and rules as they are.

    Parameters
    ----------
    probe
        Where the visit is held in.
    """
    return probe.search(hold)


def helps_of(asked: Asked, probe: Probe) -> Iterator[str]:
    """What would let a visit in beside all others.

    Parameters
    ----------
    asked
        The visit that was left out.
    probe
        Where it is held in.

    Yields
    ------
    str
        A sentence for each thing that was found to help.
    """
    yield from _at_another_hour(asked, probe)
    yield from _in_a_longer_day(asked, probe)
    yield from _without_the_rule(asked, probe)
    yield from _instead(asked, probe)


def _at_another_hour(asked: Asked, probe: Probe) -> Iterator[str]:
    """The visit itself, or one other, at an hour outside of its own."""
    work = Window(
        min(one.begins for one in probe.problem.vets), max(one.ends for one in probe.problem.vets)
    )
    bound = [
        i for i, one in enumerate(probe.problem.stops)
        if not any(w.opens <= work.opens and w.closes >= work.closes for w in one.windows)
    ]  # fmt: skip
    if probe.stop in bound and (begins := _begins_when_open(probe, probe.stop, work)) is not None:
        yield f"It fits at {clock_said(begins)}{_beyond(probe, begins)}, if one gets in then."
    others = [i for i in bound if i != probe.stop]
    if probe.search(_one_moves(probe.problem, others), _open(probe.problem, others, work)).rounds:
        for i in others:
            begins = _begins_when_open(probe, i, work)
            if begins is not None:
                name = asked.names[probe.stops[i]]
                yield f"It fits if {name} can be moved to {clock_said(begins)}."
                return


def _beyond(probe: Probe, begins: int) -> str:
    """How far an hour lies outside of the visit's own, in words; empty where it lies between."""
    own = probe.problem.stops[probe.stop].begins
    if not own:
        return ""
    if begins > (last := max(last for _first, last in own)):
        return f", {begins - last} min too late for its hours"
    if begins < (first := min(first for first, _last in own)):
        return f", {first - begins} min before its hours"
    return ""


def _begins_when_open(probe: Probe, stop: int, work: Window) -> int | None:
    """When a stop is called at if one gets in all day there, as near as can be to its own hours.

    None where not all visits fit even so [min].
    """
    opened, own = _open(probe.problem, [stop], work), probe.problem.stops[stop].begins

    def change(model: Model) -> Any:
        cost = hold(model)
        if not own or not model.at:
            return cost
        away = model.model.new_int_var(0, DAY_MIN, "")
        model.model.add(away >= model.at[stop] - max(last for _first, last in own))
        model.model.add(away >= min(first for first, _last in own) - model.at[stop])
        return away

    one = probe.search(change, opened)
    if one.rounds is None:
        return None
    if own and one.ended:  # the order that was found, no further away than it has to be
        one = replace(one, rounds=tuple(_near(opened, stop, one.bound, own, one.rounds)))
    calls = (call for made in one.rounds or () for call in made.calls)
    return next((call.begins for call in calls if call.stop == stop), None)


def _near(
    problem: Problem, stop: int, away_min: int, own: Sequence[tuple[int, int]],
    rounds: Sequence[Timetable],
) -> Iterator[Timetable]:  # fmt: skip
    """Rounds in which a stop begins within its own hours or so far beside them [min]."""
    (work,), length = problem.stops[stop].windows, problem.stops[stop].service_min
    opens = max(work.opens, min(first for first, _last in own) - away_min)
    closes = min(work.closes, max(last for _first, last in own) + away_min + length)
    near = _open(problem, [stop], Window(opens, closes))
    for one in rounds:
        yield (stop in one.order and timetable(near, one.vet, one.order)) or one


def _open(problem: Problem, group: Sequence[int], work: Window) -> Problem:
    stops = (
        replace(one, windows=(work,)) if i in group else one for i, one in enumerate(problem.stops)
    )
    return replace(problem, stops=tuple(stops))


def _one_moves(problem: Problem, group: Sequence[int]) -> Callable[[Model], Any]:
    """At most one of a group is outside of its own hours."""

    def change(model: Model) -> Any:
        cost = hold(model)
        moved = {i: model.model.new_bool_var("") for i in group if model.at}
        model.model.add(sum(moved.values()) <= 1)
        for i, literal in moved.items():
            own = model.cp.Domain.from_intervals([list(one) for one in problem.stops[i].begins])
            inside = model.model.add_linear_expression_in_domain(model.at[i], own)
            inside.only_enforce_if(literal.negated())
        return cost

    return change


def _in_a_longer_day(asked: Asked, probe: Probe) -> Iterator[str]:
    longer = replace(
        probe.problem,
        vets=tuple(replace(one, ends=one.ends + LONGER_MIN) for one in probe.problem.vets),
    )

    def change(model: Model) -> Any:
        hold(model)
        model.days()
        over = []
        for v, who in enumerate(probe.problem.vets):
            more = model.model.new_int_var(0, LONGER_MIN, "")
            model.model.add(more >= model.back[v] - who.ends)
            over.append(more)
        return sum(over)

    one = probe.search(change, longer)
    if one.rounds is None:
        return
    later = [
        (asked.vets[probe.vets[v]], made.back - who.ends)
        for v, (made, who) in enumerate(zip(one.rounds, probe.problem.vets, strict=True))
        if made.back > who.ends
    ]
    if later:
        at_least = "" if one.ended else "at most "
        said = listed([f"{name} works {at_least}{more} min longer" for name, more in later])
        yield f"It fits if {said}."


def _without_the_rule(asked: Asked, probe: Probe) -> Iterator[str]:
    """With as few steps against the order by standing as there can be."""
    if not probe.problem.ordered:
        return
    may_follow = probe.problem.may_follow

    def change(model: Model) -> Any:
        hold(model)
        return sum(one for step, one in model.arc.items() if not may_follow(*step))

    one = probe.search(change, replace(probe.problem, ordered=False))
    against = [
        f"{_standing(asked, probe, j)} came after {_standing(asked, probe, i)}"
        for made in one.rounds or ()
        for i, j in pairwise(made.order)
        if not may_follow(i, j)
    ]
    if against:
        steps = "one step" if len(against) == 1 else f"{len(against)} steps"
        yield (
            f"It would only fit if {listed(against)}: {steps} against clean before infected. "
            "That rule is kept: take another vet or another day."
        )


def _standing(asked: Asked, probe: Probe, stop: int) -> str:
    """A stop with its standing."""
    return f"{asked.names[probe.stops[stop]]} ({STANDINGS[probe.problem.stops[stop].level]})"


def _instead(asked: Asked, probe: Probe) -> Iterator[str]:
    """The one visit that would have to stay out, the cheapest to leave out and to drive."""

    def change(model: Model) -> Any:
        model.model.add(model.skip[probe.stop] == 0)
        model.model.add(sum(model.skip) == 1)
        return model.cost()

    one = probe.search(change)
    if one.rounds is None:
        return
    visited = {i for made in one.rounds for i in made.order}
    for i, place in enumerate(probe.stops):
        if i not in visited:
            yield f"It fits in place of {asked.names[place]}."
