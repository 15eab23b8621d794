"""A round that runs late: the new times, who is called at too late, and the best order from there.

`delayed` keeps the order and says what it breaks, rather than refuse it: the vet is on the road and
wants to know whom to ring. `rest_of_round` is the day that is left, for a new order.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from store.rounds.solving.found import Found
from store.rounds.solving.problem import Problem, Stop
from store.rounds.solving.said import clock_said, listed
from store.rounds.solving.timetable import Timetable

RING_FROM_MIN = 15
"""Common practice: who is called at so much later or earlier than was said is rung [min]."""


@dataclass(frozen=True, slots=True)
class LateCall:
    """A call that is still to come, with its new times [min].

    `moved_min` is how much later it begins than was planned, `late_min` how long after the end of
    the stop's hours it is over [min].
    """

    stop: int
    arrives: int
    begins: int
    leaves: int
    moved_min: int
    late_min: int


@dataclass(frozen=True, slots=True)
class Delayed:
    """What is left of a round in its order, from a minute on [min].

    `done` calls are behind; `break_after` counts from the first call of the round, and is None with
    `break_at` where no break is left. `over_min` is how long after the working hours the vet is
    back, `break_late_min` how long after its last minute the break begins [min].
    """

    vet: int
    done: int
    drives_on: int
    calls: tuple[LateCall, ...]
    back: int
    over_min: int
    break_after: int | None
    break_at: int | None
    break_late_min: int

    @property
    def too_late_min(self) -> int:
        """All that is beyond hours of access, work and break [min]."""
        return sum(one.late_min for one in self.calls) + self.over_min + self.break_late_min

    @property
    def to_ring(self) -> tuple[LateCall, ...]:
        """Calls that move so far, or come so late, that somebody must be told."""
        return tuple(
            one for one in self.calls if one.late_min or abs(one.moved_min) >= RING_FROM_MIN
        )


def drives_on(planned: Timetable, done: int) -> int:
    """When the drive after a number of calls was to begin, a break after them not counted [min].

    Parameters
    ----------
    planned
        The round.
    done
        How many calls are behind.
    """
    return planned.calls[done - 1].leaves if done else planned.sets_out


def delayed(
    problem: Problem, planned: Timetable, done: int, minute: int, *, rested: bool | None = None
) -> Delayed:
    """The times of a round from a minute on, its order kept.

    Parameters
    ----------
    problem
        The day.
    planned
        The round as it was planned.
    done
        How many of its calls are behind.
    minute
        When the drive to the next call can begin, disinfection done [min].
    rested
        Whether the break is behind; None believes the plan.

    Returns
    -------
    Delayed
        The break is put where the least comes too late, then where one is back earliest, then where
        fewest have to be rung and all are moved least.

    Examples
    --------
    A gate that closes at 09:50, 40 min late:

    >>> from store.rounds.solving.problem import Vet, Window
    >>> stops = (Stop(30, (Window(480, 1020),)), Stop(30, (Window(480, 590),)))
    >>> day = Problem(stops, (Vet(480, 1020),), [[0, 10], [10, 0]], [[10, 20]], [[10, 20]])
    >>> from store.rounds.solving.timetable import timetable
    >>> planned = timetable(day, 0, [0, 1])
    >>> late = delayed(day, planned, 1, drives_on(planned, 1) + 40)
    >>> late.calls[0].begins, late.calls[0].late_min, late.back
    (570, 10, 620)
    """
    who, order = problem.vets[planned.vet], planned.order
    if rested is None:
        rested = planned.break_after is not None and planned.break_after < done
    began_rested = (planned.sets_out if done else minute) >= who.rested_at
    free = not who.break_min or rested or began_rested
    none = _lenient(problem, planned, done, minute, None)
    if free or (none.back <= who.break_until and not none.too_late_min):
        return none
    places = range(done, len(order) + 1) if done else range(1, len(order) + 1)
    trials = [_lenient(problem, planned, done, minute, place) for place in places]
    if none.back <= who.break_until:
        trials.append(none)
    return min(trials, key=_trouble, default=none)


def _trouble(one: Delayed) -> tuple[int, int, int, int]:
    """Minutes too late, the way home, calls to be rung, and what all are moved by [min]."""
    moved = sum(abs(call.moved_min) for call in one.calls)
    return one.too_late_min, one.back, len(one.to_ring), moved


def _lenient(
    problem: Problem, planned: Timetable, done: int, minute: int, place: int | None
) -> Delayed:
    """Everything as early as it can be, with the break after `place` calls of the round."""
    vet, order = planned.vet, planned.order
    who, at, here = problem.vets[vet], minute, order[done - 1] if done else None
    calls, break_at = list[LateCall](), None
    for nth in range(done, len(order) + 1):
        if place == nth:
            break_at = max(at, who.break_from)
            at = break_at + who.break_min
        if nth < len(order):
            stop = order[nth]
            at += problem.out[vet][stop] if here is None else problem.drive[here][stop]
            begins, late_min = _begins(problem.stops[stop], at)
            leaves = begins + problem.stops[stop].stay_min
            moved_min = begins - planned.calls[nth].begins
            calls.append(LateCall(stop, at, begins, leaves, moved_min, late_min))
            at, here = leaves, stop
    back = at if here is None else at + problem.home[vet][here]
    break_late_min = 0 if break_at is None else max(0, break_at - who.break_until)
    return Delayed(
        vet, done, minute, tuple(calls), back, max(0, back - who.ends), place, break_at,
        break_late_min,
    )  # fmt: skip


def _begins(stop: Stop, at: int) -> tuple[int, int]:
    """When a visit begins, within its hours or not, and how long after them it is over [min]."""
    begins = stop.begin_from(at)
    if begins is not None or not stop.windows:
        return (at if begins is None else begins), 0
    if stop.begins:
        return at, at - max(last for _, last in stop.begins)
    last = max(stop.windows, key=lambda one: one.closes)  # all are too short for the visit
    begins = max(at, last.opens)
    return begins, begins + stop.service_min - last.closes


def delay_said(late: Delayed, names: Sequence[str]) -> tuple[str, ...]:
    """What a delay does, in sentences: who must be told, then the break and the way home.

    Parameters
    ----------
    late
        The round as it is now.
    names
        Of the stops of the day, by their places.

    Examples
    --------
    >>> call = LateCall(0, 600, 600, 630, moved_min=40, late_min=10)
    >>> delay_said(Delayed(0, 1, 570, (call,), 660, 0, None, None, 0), ["Brook House"])
    ('Brook House at 10:00, 40 min later: over 10 min after its hours end.',)
    """
    said = []
    for call in late.to_ring:
        moved = "later" if call.moved_min > 0 else "earlier"
        what = f"{names[call.stop]} at {clock_said(call.begins)}"
        if call.moved_min:
            what += f", {abs(call.moved_min)} min {moved}"
        said.append(what + (f": over {_after_hours(call)}." if call.late_min else "."))
    if late.break_late_min and late.break_at is not None:
        at = clock_said(late.break_at)
        said.append(f"The break only begins at {at}, {late.break_late_min} min late.")
    if late.over_min:
        said.append(
            f"Back at {clock_said(late.back)}, {late.over_min} min after the working hours end."
        )
    return tuple(said)


def _after_hours(call: LateCall) -> str:
    return f"{call.late_min} min after its hours end"


@dataclass(frozen=True, slots=True)
class Rest:
    """The day that is left to one vet, and which stops of the whole day its stops are.

    `barred` are stops that are cleaner than where the vet has been.
    """

    problem: Problem
    stops: tuple[int, ...]
    vet: int
    barred: tuple[int, ...]

    def order(self, found: Found) -> tuple[int, ...]:
        """The new order, in places of the whole day."""
        return tuple(self.stops[i] for one in found.rounds for i in one.order)

    def left_out(self, found: Found) -> tuple[int, ...]:
        """What is left out in it, in places of the whole day."""
        return tuple(self.stops[i] for i in found.left_out)


def rest_of_round(
    problem: Problem, planned: Timetable, done: int, minute: int, *, rested: bool | None = None
) -> Rest:
    """What is left of a round as a day of its own, to find its best order anew.

    The way home from where the vet stands is not counted where no stop is left.

    Parameters
    ----------
    problem
        The day.
    planned
        The round as it was planned.
    done
        How many of its calls are behind.
    minute
        When the drive to the next call can begin, disinfection done [min].
    rested
        Whether the break is behind; None believes the plan.
    """
    vet, stops = planned.vet, planned.order[done:]
    here = planned.order[done - 1] if done else None
    part = problem.part(stops, [vet])
    who = part.vets[0]
    if rested is None:
        rested = planned.break_after is not None and planned.break_after < done
    if done:
        rested = rested or planned.sets_out >= who.rested_at
    # On the road a break begins from now on; late for it, at once.
    rest_from = max(who.break_from, minute) if done else who.break_from
    now = replace(
        who, begins=minute, ends=max(minute, who.ends), break_min=0 if rested else who.break_min,
        break_from=rest_from, break_until=max(who.break_until, rest_from),
    )  # fmt: skip
    barred = tuple(i for i in stops if here is not None and not problem.may_follow(here, i))
    left = replace(
        part,
        stops=tuple(
            replace(one, vets=frozenset()) if stops[i] in barred else one
            for i, one in enumerate(part.stops)
        ),
        vets=(now,),
        out=part.out if here is None else [[problem.drive[here][i] for i in stops]],
    )
    return Rest(left, stops, vet, barred)


def barred_said(rest: Rest, names: Sequence[str]) -> str:
    """Why stops cannot follow where the vet has been; the empty text where all can.

    Parameters
    ----------
    rest
        What is left of a round.
    names
        Of the stops of the whole day, by their places.
    """
    if not rest.barred:
        return ""
    who = listed([names[i] for i in rest.barred])
    return f"{who} cannot follow: cleaner than where the vet has just been."
