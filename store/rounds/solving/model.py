"""A day as constraints: one circle through all stops and vets, its times, breaks and cost.

From the start of a vet the circle leads through the stops of that round to the start of the next
vet; a stop that is left out is a circle of its own. An arc that would lead from a dirtier to a
cleaner stop does not exist, so that the rule is never weighed against minutes, and no more does one
that comes too late by any clock.
"""

from __future__ import annotations

from collections.abc import Callable
from itertools import pairwise
from typing import Any

from store.rounds.solving.problem import Problem
from store.rounds.solving.reach import Reach, by_the_clock
from store.rounds.solving.timetable import Timetable, timetable


class Model:
    """The constraints of a day; `days` adds when each vet sets out and is back.

    `clock` False leaves out all hours: what is found then bounds the day from below, and is no
    round that can be driven.
    """

    def __init__(self, problem: Problem, *, clock: bool = True) -> None:
        from ortools.sat.python import cp_model

        self.problem = problem
        self.cp = cp_model
        self.model = cp_model.CpModel()
        self.reach = Reach(problem)
        stops, vets = range(len(problem.stops)), range(len(problem.vets))
        new = self.model.new_bool_var
        self.skip = [new("") for _ in stops]
        self.goes = {key: new("") for key in self.reach.begins}
        self.first = {(v, i): new("") for i, v in self.goes}
        self.last = {(v, i): new("") for i, v in self.goes}
        self.arc = {key: new("") for key in self.reach.arcs}
        self.empty = [new("") for _ in vets]
        self.at: list[Any] = []
        self.sets_out: list[Any] = []
        self.back: list[Any] = []
        self.breaks: dict[int, tuple[Any, dict[int, Any]]] = {}
        self._circle()
        if clock:
            self._who_goes()
            self._lengths()
        if clock and by_the_clock(problem):
            self.at = [self._begin(i) for i in stops]
            self._times()
            for vet in vets:
                if problem.vets[vet].break_min:
                    self._break(vet)

    def _circle(self) -> None:
        n, m = len(self.problem.stops), len(self.problem.vets)
        arcs: list[tuple[int, int, Any]] = [(i, i, self.skip[i]) for i in range(n)]
        arcs += [(i, j, literal) for (i, j), literal in self.arc.items()]
        arcs += [(n + v, i, literal) for (v, i), literal in self.first.items()]
        arcs += [(i, n + (v + 1) % m, literal) for (v, i), literal in self.last.items()]
        arcs += [(n + v, n + (v + 1) % m, literal) for v, literal in enumerate(self.empty)]
        self.model.add_circuit(arcs)
        if m == 1:  # a vet alone who stays at home leaves no circle without a start
            for skipped in self.skip:
                self.model.add_implication(self.empty[0], skipped)

    def _who_goes(self) -> None:
        vets = range(len(self.problem.vets))
        for i in range(len(self.problem.stops)):
            here = [self.goes[i, v] for v in vets if (i, v) in self.goes]
            self.model.add_exactly_one([self.skip[i], *here])
        for ends in (self.first, self.last):
            for (v, i), literal in ends.items():
                self.model.add_implication(literal, self.goes[i, v])
        if len(vets) == 1:
            return
        for (i, j), literal in self.arc.items():
            for v in vets:
                one, other = self.goes.get((i, v)), self.goes.get((j, v))
                if one is not None and other is not None:
                    self.model.add(one == other).only_enforce_if(literal)
                elif one is not None:
                    self.model.add_implication(literal, one.negated())
                elif other is not None:
                    self.model.add_implication(literal, other.negated())

    def _lengths(self) -> None:
        """What a vet does in a day, drives and visits, fits into it; alone it bounds the search."""
        problem = self.problem
        for v, who in enumerate(problem.vets):
            terms = self._busy(v)
            if len(problem.vets) == 1:
                terms += [problem.drive[i][j] * literal for (i, j), literal in self.arc.items()]
            self.model.add(sum(terms) <= who.ends - who.begins)

    def _begin(self, stop: int) -> Any:
        reach = [
            self.reach.begins[stop, v]
            for v in range(len(self.problem.vets))
            if (stop, v) in self.goes
        ]
        if not reach:
            return self.model.new_int_var(0, 0, "")
        low, high = min(first for first, _ in reach), max(last for _, last in reach)
        spells = [
            [max(first, low), min(last, high)]
            for first, last in self.problem.stops[stop].begins
            if max(first, low) <= min(last, high)
        ]
        return self.model.new_int_var_from_domain(self.cp.Domain.from_intervals(spells), "")

    def leaves(self, stop: int) -> Any:
        """When the drive from a stop can begin, as an expression [min]."""
        return self.at[stop] + self.problem.stops[stop].stay_min

    def _times(self) -> None:
        problem, model = self.problem, self.model
        for (i, j), literal in self.arc.items():
            model.add(self.at[j] >= self.leaves(i) + problem.drive[i][j]).only_enforce_if(literal)
        for (v, i), literal in self.first.items():
            begins = problem.vets[v].begins + problem.out[v][i]
            model.add(self.at[i] >= begins).only_enforce_if(literal)
        for (v, i), literal in self.last.items():
            ends = problem.vets[v].ends - problem.home[v][i]
            model.add(self.leaves(i) <= ends).only_enforce_if(literal)

    def _break(self, vet: int) -> None:
        """After a stop; none where the round begins rested, or is over before it would be due."""
        problem, model, who = self.problem, self.model, self.problem.vets[vet]
        mine = [i for i in range(len(problem.stops)) if (i, vet) in self.goes]
        rested, over = model.new_bool_var(""), model.new_bool_var("")
        after = {i: model.new_bool_var("") for i in mine}
        model.add_exactly_one([rested, over, self.empty[vet], *after.values()])
        if not mine or who.break_from > who.break_until:
            for literal in after.values():
                model.add(literal == 0)
            after = {}
        start = model.new_int_var(who.break_from, max(who.break_from, who.break_until), "")
        rests = start + who.break_min
        for i, literal in after.items():
            model.add_implication(literal, self.goes[i, vet])
            model.add(start >= self.leaves(i)).only_enforce_if(literal)
            for j in mine:
                if (i, j) in self.arc:
                    both = [literal, self.arc[i, j]]
                    model.add(self.at[j] >= rests + problem.drive[i][j]).only_enforce_if(both)
            both = [literal, self.last[vet, i]]
            model.add(rests + problem.home[vet][i] <= who.ends).only_enforce_if(both)
        for i in mine:
            both = [rested, self.first[vet, i]]
            model.add(self.at[i] >= who.rested_at + problem.out[vet][i]).only_enforce_if(both)
            home = self.leaves(i) + problem.home[vet][i]
            model.add(home <= who.break_until).only_enforce_if([over, self.last[vet, i]])
        self.breaks[vet] = rests, after

    def days(self) -> Any:
        """Adds when each vet sets out and is back; the length of all days [min]."""
        problem, model = self.problem, self.model
        if not self.at:  # no hour mattered until now
            self.at = [self._begin(i) for i in range(len(problem.stops))]
            self._times()
        for v, who in enumerate(problem.vets):
            sets_out = model.new_int_var(who.begins, who.ends, "")
            back = model.new_int_var(who.begins, who.ends, "")
            model.add(back >= sets_out)
            for (vet, i), literal in self.first.items():
                if vet == v:
                    begins = sets_out + problem.out[v][i]
                    model.add(self.at[i] >= begins).only_enforce_if(literal)
            rests, after = self.breaks.get(v, (None, {}))
            for (vet, i), literal in self.last.items():
                if vet == v:
                    home = problem.home[v][i]
                    model.add(back >= self.leaves(i) + home).only_enforce_if(literal)
                    if i in after:
                        both = [literal, after[i]]
                        model.add(back >= rests + home).only_enforce_if(both)
            self.sets_out.append(sets_out)
            self.back.append(back)
            model.add(back - sets_out >= sum(self._busy(v)))
        length = sum(self.back) - sum(self.sets_out)
        stays = [one.stay_min * (1 - self.skip[i]) for i, one in enumerate(problem.stops)]
        model.add(
            length >= sum(self.drives()) + sum(stays) + sum(self._rests(*range(len(problem.vets))))
        )
        return length

    def _busy(self, vet: int) -> list[Any]:
        """What a vet's day holds of visits, way out and home, and break; waiting comes on top."""
        problem = self.problem
        terms = [problem.stops[i].stay_min * one for (i, v), one in self.goes.items() if v == vet]
        terms += [problem.out[v][i] * one for (v, i), one in self.first.items() if v == vet]
        terms += [problem.home[v][i] * one for (v, i), one in self.last.items() if v == vet]
        return terms + self._rests(vet)

    def _rests(self, *vets: int) -> list[Any]:
        return [
            self.problem.vets[v].break_min * literal
            for v in vets
            for literal in self.breaks.get(v, (None, {}))[1].values()
        ]

    def drives(self) -> list[Any]:
        """Every drive that may be taken, as an expression [min]."""
        problem = self.problem
        drives = [problem.drive[i][j] * literal for (i, j), literal in self.arc.items()]
        drives += [problem.out[v][i] * literal for (v, i), literal in self.first.items()]
        drives += [problem.home[v][i] * literal for (v, i), literal in self.last.items()]
        return drives

    def cost(self) -> Any:
        """The drive and the price of what is left out, as an expression [min]."""
        prices = [stop.skip_cost * self.skip[i] for i, stop in enumerate(self.problem.stops)]
        return sum(self.drives()) + sum(prices)

    def hint(self, rounds: tuple[Timetable, ...]) -> None:
        """Begin the search with rounds that are known."""
        visited = {stop for one in rounds for stop in one.order}
        hinted: list[tuple[dict[tuple[int, int], Any], set[tuple[int, int]]]] = [
            (self.first, {(one.vet, one.order[0]) for one in rounds if one.calls}),
            (self.last, {(one.vet, one.order[-1]) for one in rounds if one.calls}),
            (self.arc, {step for one in rounds for step in pairwise(one.order)}),
            (self.goes, {(stop, one.vet) for one in rounds for stop in one.order}),
        ]
        for known, chosen in hinted:
            for key, literal in known.items():
                self.model.add_hint(literal, key in chosen)
        for i, literal in enumerate(self.skip):
            self.model.add_hint(literal, i not in visited)
        for one in rounds:
            self.model.add_hint(self.empty[one.vet], not one.calls)
            for call in one.calls if self.at else ():
                self.model.add_hint(self.at[call.stop], call.begins)
            self._hint_day(one)

    def _hint_day(self, one: Timetable) -> None:
        if self.sets_out:
            self.model.add_hint(self.sets_out[one.vet], one.sets_out)
            self.model.add_hint(self.back[one.vet], one.back)
        for i, literal in self.breaks.get(one.vet, (None, {}))[1].items():
            before = one.order[one.break_after - 1] if one.break_after else None
            self.model.add_hint(literal, i == before)

    def rounds(self, value: Callable[[Any], bool]) -> tuple[Timetable, ...]:
        """The rounds of a solution, each with its times; `value` tells what is true in it."""
        follows = {i: j for (i, j), literal in self.arc.items() if value(literal)}
        begins = {v: i for (v, i), literal in self.first.items() if value(literal)}
        found = []
        for vet in range(len(self.problem.vets)):
            order = []
            here = begins.get(vet)
            while here is not None:
                order.append(here)
                here = follows.get(here)
            made = timetable(self.problem, vet, order)
            if made is None:  # the constraints and the clock are two tellings of one thing
                raise AssertionError(f"the order {order} of vet {vet} cannot be driven")
            found.append(made)
        return tuple(found)
