"""A round that runs late: its order kept, and the best order from there where that comes too late.

Nothing is refused: the vet is on the road and wants to know whom to ring.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from uuid import UUID

from store.diary.times.spell import minute_of
from store.errors import BadInput, NotFound
from store.rounds.day.problem_of import KEPT_WITHIN_MIN, hour_kept, windows_of
from store.rounds.day.values import DayPlan, Driver, Errand, Round
from store.rounds.solving.delay import (
    RING_FROM_MIN,
    LateCall,
    Rest,
    barred_said,
    delay_said,
    delayed,
    drives_on,
    rest_of_round,
)
from store.rounds.solving.halt import Halt
from store.rounds.solving.left_out import LeftOut, why_left_out
from store.rounds.solving.problem import Problem, Stop, Window
from store.rounds.solving.proof import EFFORT
from store.rounds.solving.said import clock_said, listed
from store.rounds.solving.teams import day_rounds
from store.rounds.solving.timetable import Timetable


@dataclass(frozen=True, slots=True)
class LateStop:
    """A stop that is still to come, with its new times [min of the day].

    `told` is the minute that the client reckons with: the one that was agreed, or that of the plan
    where none was or the plan had moved it. `moved_min` is how much later than that it begins,
    `late_min` how long after its hours it is over [min]. `ring` tells that somebody must be told.
    """

    errand: Errand
    told: int
    arrives: int
    begins: int
    ends: int
    leaves: int
    moved_min: int
    late_min: int

    @property
    def ring(self) -> bool:
        """Whether the client must be rung."""
        return self.late_min > 0 or abs(self.moved_min) >= RING_FROM_MIN

    @property
    def says(self) -> str:
        """What is to be told, with the telephone number."""
        phone = self.errand.phone or "no telephone number is entered"
        what = f"{self.errand.name} ({phone}): {clock_said(self.begins)}"
        if self.moved_min:
            moved = "later" if self.moved_min > 0 else "earlier"
            told = clock_said(self.told)
            what += f" in place of {told}, {abs(self.moved_min)} min {moved}"
        if self.late_min:
            what += f", over {self.late_min} min after its hours end"
        return f"{what}."


@dataclass(frozen=True, slots=True)
class LateRound:
    """What is left of a round from a minute on [min of the day].

    `out` are visits that are not in it any more, each with the reason and with what would help.
    `over_min` is how long after the working hours one is back, `break_late_min` how long after its
    last minute the break begins [min]; `break_after` counts the stops of this list that come before
    the break. `says` are sentences on all of it but the ringing.
    """

    drives_on: int
    stops: tuple[LateStop, ...]
    out: tuple[tuple[Errand, str, tuple[str, ...]], ...]
    back: int
    over_min: int
    break_after: int | None
    break_at: int | None
    break_late_min: int
    says: tuple[str, ...]

    @property
    def too_late_min(self) -> int:
        """All that is beyond hours of access, work and break [min]."""
        return sum(one.late_min for one in self.stops) + self.over_min + self.break_late_min

    @property
    def to_ring(self) -> tuple[LateStop, ...]:
        """Who must be rung, in the order of the round; those left out must be rung as well."""
        return tuple(one for one in self.stops if one.ring)


@dataclass(frozen=True, slots=True)
class RunningLate:
    """A round that runs late, by so many minutes behind so many stops.

    `kept` has the order of the plan, `other` the best order from there; that is looked for where
    something in the order of the plan comes too late. `says` compares the two.
    """

    driver: Driver
    done: int
    late_min: int
    kept: LateRound
    other: LateRound | None
    says: tuple[str, ...]


def run_late(
    plan: DayPlan,
    staff_id: UUID,
    done: int,
    late_min: int,
    *,
    rested: bool | None = None,
    effort: float = EFFORT,
    halt: Halt | None = None,
) -> RunningLate:
    """What a delay does to a round, and what would be better.

    Parameters
    ----------
    plan
        The day as it was planned.
    staff_id
        Whose round it is.
    done
        How many of its stops are behind.
    late_min
        How much later than planned the drive to the next stop begins; below zero for earlier [min].
    rested
        Whether the break is behind; None believes the plan.
    effort
        How much work the search for another order may do [-].
    halt
        Ends that search early.

    Returns
    -------
    RunningLate
        Hours that were agreed may be late in it, never early.

    Raises
    ------
    NotFound
        That person drives no round on this day.
    BadInput
        More stops are behind than there are, or the round would begin before the day does.
    """
    planned, one = plan.timetable_of(staff_id), plan.round_of(staff_id)
    if planned is None or one is None or not one.stops:
        raise NotFound("That person drives no round on this day.")
    if not 0 <= done <= len(one.stops):
        raise BadInput(
            f"The round has {len(one.stops)} stops, so that {done} cannot be behind.", field="done"
        )
    minute = drives_on(planned, done) + late_min
    if minute < 0:
        raise BadInput("The drive cannot begin before the day does.", field="late_min")
    running = _Running(plan, one, planned, done, minute, rested)
    kept = running.kept()
    if not kept.too_late_min:
        says = ("Nothing comes too late in the order of the plan.",)
        return RunningLate(one.driver, done, late_min, kept, None, says)
    other = running.other(kept, effort, halt or Halt())
    return RunningLate(one.driver, done, late_min, kept, other, tuple(_compared(kept, other)))


@dataclass(frozen=True, slots=True)
class _Running:
    """A round on the road, from a minute on [min]."""

    plan: DayPlan
    round: Round
    planned: Timetable
    done: int
    minute: int
    rested: bool | None

    @property
    def problem(self) -> Problem:
        """The day in which agreed hours may be late: clients wait longer than they come earlier."""
        stops = tuple(
            replace(stop, windows=self._windows(stop, self.plan.asked.errands[place]))
            for place, stop in enumerate(self.plan.problem.stops)
        )
        return replace(self.plan.problem, stops=stops)

    def _windows(self, stop: Stop, one: Errand) -> tuple[Window, ...]:
        at = hour_kept(self.plan.asked, one)
        if at is None:
            return one.windows
        if one.visit is not None and one.visit.fixed:
            return stop.windows
        first = at - KEPT_WITHIN_MIN
        later = sorted(
            (window for window in one.windows if window.closes >= at + one.minutes),
            key=lambda window: (window.opens, window.closes),
        )
        if not later:
            return windows_of(self.plan.asked, one)
        near, *others = later
        if near.opens <= at:
            own = Window(max(first, near.opens), near.closes)
        else:  # agreed before its hours begin, it is not put off until then
            (planned,) = windows_of(self.plan.asked, one)
            own = Window(first, max(near.closes, planned.closes))
        return (own, *(Window(max(first, window.opens), window.closes) for window in others))

    def kept(self) -> LateRound:
        """The order of the plan."""
        late = delayed(self.problem, self.planned, self.done, self.minute, rested=self.rested)
        stops = tuple(self._stop(call) for call in late.calls)
        says = delay_said(replace(late, calls=()), self._names)
        after = None if late.break_after is None else late.break_after - self.done
        return LateRound(
            self.minute, stops, (), late.back, late.over_min, after, late.break_at,
            late.break_late_min, says,
        )  # fmt: skip

    def other(self, kept: LateRound, effort: float, halt: Halt) -> LateRound:
        """The best order from here.

        Where it loses a visit within the working hours and the order of the plan is too late for
        more than the way home, the day may be as long as in that order: nobody is left out for
        overtime unasked.
        """
        rest = rest_of_round(self.problem, self.planned, self.done, self.minute, rested=self.rested)
        found = day_rounds(rest.problem, effort=effort, halt=halt)
        if found.left_out and kept.over_min:
            (who,) = rest.problem.vets
            longer = replace(rest.problem, vets=(replace(who, ends=kept.back),))
            again = day_rounds(longer, effort=effort, halt=halt)
            better = kept.break_late_min or any(one.late_min for one in kept.stops)
            better = better or again.rounds[0].back < kept.back
            if better and len(again.left_out) < len(found.left_out):
                rest, found = replace(rest, problem=longer), again
        (made,) = found.rounds
        stops = tuple(
            self._stop(
                LateCall(rest.stops[call.stop], call.arrives, call.begins, call.leaves, 0, 0)
            )
            for call in made.calls
        )
        names = [self._names[place] for place in rest.stops]
        told = why_left_out(rest.problem, found, names, [self.round.driver.who], halt=halt)
        out = tuple(self._out(rest, one) for one in told)
        back = made.back if made.calls else self._home()
        over = max(0, back - self.round.driver.ends)
        says = tuple(filter(None, (barred_said(rest, self._names), *_over_said(back, over))))
        break_after, break_at = made.break_after, made.break_at
        who = rest.problem.vets[0]
        if made.calls and break_at is None and who.break_min and made.sets_out >= who.rested_at:
            break_after, break_at = 0, who.break_from  # where one stands, before driving on
        return LateRound(
            made.sets_out if made.calls else self.minute, stops, out, back, over, break_after,
            break_at, 0, says,
        )  # fmt: skip

    def _home(self) -> int:
        """When one is back without another stop [min]."""
        if not self.done:
            return self.minute
        last = self.planned.order[self.done - 1]
        return self.minute + self.plan.problem.home[self.planned.vet][last]

    def _out(self, rest: Rest, one: LeftOut) -> tuple[Errand, str, tuple[str, ...]]:
        place = rest.stops[one.stop]
        if place in rest.barred:
            name = self._names[place]
            says = f"{name} cannot follow: it is cleaner than where one has just been."
            return self.plan.asked.errands[place], says, ("Another vet or another day.",)
        return self.plan.asked.errands[place], one.says, one.helps

    @property
    def _names(self) -> list[str]:
        return [one.name for one in self.plan.asked.errands]

    def _stop(self, call: LateCall) -> LateStop:
        one = self.plan.asked.errands[call.stop]
        told = self._told(one)
        return LateStop(
            one, told, call.arrives, call.begins, call.begins + one.minutes, call.leaves,
            call.begins - told, call.late_min,
        )  # fmt: skip

    def _told(self, one: Errand) -> int:
        """The minute that the client reckons with [min]."""
        stop = next(stop for stop in self.round.stops if stop.errand.key == one.key)
        visit = one.visit
        if visit is not None and visit.at_time is not None and not stop.ring:
            return minute_of(visit.at_time)
        return stop.begins


def _over_said(back: int, over_min: int) -> Iterator[str]:
    if over_min:
        yield f"Back at {clock_said(back)}, {over_min} min after the working hours end."


def _compared(kept: LateRound, other: LateRound) -> Iterator[str]:
    too_late = [one for one in kept.stops if one.late_min]
    what = []
    if too_late:
        many = "1 visit comes" if len(too_late) == 1 else f"{len(too_late)} visits come"
        what.append(f"{many} too late, by {max(one.late_min for one in too_late)} min at most")
    if kept.break_late_min:
        what.append(f"the break is {kept.break_late_min} min late")
    if kept.over_min:
        what.append(f"the day is {kept.over_min} min too long")
    yield f"In the order of the plan {listed(what)}."
    if not kept.stops:
        yield "Nothing is left but the way home."
    elif not other.out and not other.over_min:
        yield f"In another order nothing does; back at {clock_said(other.back)}."
    elif not other.out:
        yield (
            "In another order every visit is in its hours and the day is "
            f"{other.over_min} min too long; back at {clock_said(other.back)}."
        )
    elif not other.stops:
        yield "No order from here holds any of what is left."
    else:
        many = "1 visit stays" if len(other.out) == 1 else f"{len(other.out)} visits stay"
        weigh = ""
        if kept.over_min and not too_late and not other.over_min:
            weigh = " Whether somebody stays out for the overtime is yours to decide."
        yield (
            f"In another order {many} out and the rest is in its hours; back at "
            f"{clock_said(other.back)}.{weigh}"
        )
