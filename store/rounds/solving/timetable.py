"""The times of a round whose order is known: the shortest day that it allows, then the earliest."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from store.rounds.solving.problem import Problem, Vet


@dataclass(frozen=True, slots=True)
class Call:
    """One stop of a round: arriving, beginning after a wait, leaving after disinfection [min]."""

    stop: int
    arrives: int
    begins: int
    leaves: int


@dataclass(frozen=True, slots=True)
class Timetable:
    """A round with its times [min]; `break_after` is how many calls come before the break.

    `break_at` is None where no break falls into the round.
    """

    vet: int
    sets_out: int
    calls: tuple[Call, ...]
    back: int
    drive_min: int
    break_after: int | None
    break_at: int | None

    @property
    def order(self) -> tuple[int, ...]:
        """The stops in the order in which they are called at."""
        return tuple(call.stop for call in self.calls)

    @property
    def wait_min(self) -> int:
        """Minutes of waiting before doors that are not open yet [min]."""
        return sum(call.begins - call.arrives for call in self.calls)

    @property
    def day_min(self) -> int:
        """From setting out until back [min]."""
        return self.back - self.sets_out


def timetable(problem: Problem, vet: int, order: Sequence[int]) -> Timetable | None:
    """The times of a round in a given order.

    Later setting out never brings anybody back earlier, so that it is enough to look at the last
    minute before each step by which the return moves.

    Parameters
    ----------
    problem
        The day.
    vet
        Place of the vet who drives.
    order
        Places of the stops.

    Returns
    -------
    Timetable or None
        The one with the shortest day from setting out until back, and of equal days the earliest;
        None where the order cannot be driven within windows, working hours and break, or goes from
        infected to clean.

    Examples
    --------
    A visit of 30 min, 20 min from home, not before 09:00, in a day from 08:00 to 17:00:

    >>> from store.rounds.solving.problem import Stop, Vet, Window
    >>> day = Problem((Stop(30, (Window(540, 720),)),), (Vet(480, 1020),), [[0]], [[20]], [[20]])
    >>> made = timetable(day, 0, [0])
    >>> made.sets_out, made.calls[0].begins, made.back
    (520, 540, 590)
    """
    who = problem.vets[vet]
    if any(not problem.may_go(vet, stop) for stop in order):
        return None
    if any(not problem.may_follow(i, j) for i, j in pairwise(order)):
        return None
    if not order:
        return Timetable(vet, who.begins, (), who.begins, 0, None, None)
    found = (one for trial in _trials(problem, vet, order) for one in trial.each())
    return min(found, key=lambda one: (one.day_min, one.back), default=None)


def _trials(problem: Problem, vet: int, order: Sequence[int]) -> Iterator[_Trial]:
    """The round with no break, where none is needed, and with the break at every place."""
    who = problem.vets[vet]
    if not who.break_min:
        yield _Trial(problem, vet, order, None, who.begins, who.ends)
        return
    yield _Trial(problem, vet, order, None, who.begins, min(who.ends, who.break_until))
    yield _Trial(problem, vet, order, None, max(who.begins, who.rested_at), who.ends)
    for place in range(1, len(order) + 1):
        yield _Trial(problem, vet, order, place, who.begins, who.ends)


@dataclass(frozen=True, slots=True)
class _Trial:
    """A round with its break after a number of calls, or with none, between two minutes."""

    problem: Problem
    vet: int
    order: Sequence[int]
    place: int | None
    begins: int
    ends: int

    def each(self) -> Iterator[Timetable]:
        """The latest timetable before each step of the return, from the earliest return on."""
        at = self.begins
        while (made := self._from(at)) is not None:
            made = self._later(made)
            yield made
            at = made.sets_out + self._slack(made) + 1

    def _from(self, sets_out: int) -> Timetable | None:
        """Everything as early as it can be when setting out at a minute."""
        problem, who = self.problem, self.problem.vets[self.vet]
        at, calls, break_at = sets_out, list[Call](), None
        for nth, stop in enumerate(self.order):
            if self.place == nth:
                break_at = max(at, who.break_from)
                at = break_at + who.break_min
            here = self.order[nth - 1]
            at += problem.drive[here][stop] if nth else problem.out[self.vet][stop]
            one = problem.stops[stop]
            begins = one.begin_from(at)
            if begins is None:
                return None
            calls.append(Call(stop, at, begins, begins + one.stay_min))
            at = begins + one.stay_min
        if self.place == len(self.order):
            break_at = max(at, who.break_from)
            at = break_at + who.break_min
        back = at + problem.home[self.vet][self.order[-1]]
        if back > self.ends or (break_at is not None and break_at > who.break_until):
            return None
        drive_min = problem.drive_of(self.vet, self.order)
        return Timetable(self.vet, sets_out, tuple(calls), back, drive_min, self.place, break_at)

    def _later(self, early: Timetable) -> Timetable:
        """Setting out as late as possible while being back no later."""
        idle = early.wait_min + self._break_wait(early, self.problem.vets[self.vet])
        low, high, best = early.sets_out, early.sets_out + idle, early
        while low < high:
            middle = (low + high + 1) // 2
            made = self._from(middle)
            if made is not None and made.back <= early.back:
                low, best = middle, made
            else:
                high = middle - 1
        return best

    def _slack(self, made: Timetable) -> int:
        """How much later everything can be as it is, the day no shorter for it [min].

        Only with several windows at a stop can a later day be a shorter one, so that without them
        nothing more is looked at.
        """
        stops = self.problem.stops
        if all(len(stops[call.stop].begins) == 1 for call in made.calls):
            return self.ends
        if made.wait_min or self._break_wait(made, self.problem.vets[self.vet]):
            return 0
        return min(
            last - call.begins
            for call in made.calls
            for first, last in stops[call.stop].begins
            if first <= call.begins <= last
        )

    @staticmethod
    def _break_wait(made: Timetable, who: Vet) -> int:
        """Minutes of waiting until the break may begin [min]."""
        if made.break_at is None or made.break_after is None:
            return 0
        return made.break_at - made.calls[made.break_after - 1].leaves
