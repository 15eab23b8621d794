"""Rounds put as near as they can be to the hours that were agreed, no day longer for it."""

from __future__ import annotations

from dataclasses import replace

from store.diary.times.spell import minute_of
from store.rounds.day.values import DayAsked
from store.rounds.solving.delay import RING_FROM_MIN
from store.rounds.solving.found import Found
from store.rounds.solving.problem import Problem, Vet
from store.rounds.solving.timetable import Timetable


def nearer(asked: DayAsked, problem: Problem, found: Found) -> Found:
    """The same rounds, each as a whole so much later that it moves clients least.

    A search gives the earliest of equally short days; what of it lies minutes before an agreed hour
    for no reason is put later. Drive, order and length of each day stay.

    Parameters
    ----------
    asked
        The day.
    problem, found
        The same as plain numbers, and its rounds.
    """
    agreed = {
        place: minute_of(one.visit.at_time)
        for place, one in enumerate(asked.errands)
        if one.visit is not None and one.visit.at_time is not None
    }
    return replace(found, rounds=tuple(_nearer(problem, agreed, one) for one in found.rounds))


def _nearer(problem: Problem, agreed: dict[int, int], one: Timetable) -> Timetable:
    kept = [(call.begins, agreed[call.stop]) for call in one.calls if call.stop in agreed]
    if not kept:
        return one

    def moves(later_min: int) -> tuple[int, int, int, int]:
        """Clients to be rung, all that they are moved by, the most of one, then the earliest."""
        off = [abs(begins + later_min - at) for begins, at in kept]
        return sum(one >= RING_FROM_MIN for one in off), sum(off), max(off), later_min

    best = min(range(_room(problem, one) + 1), key=moves)
    return _later(one, best)


def _room(problem: Problem, one: Timetable) -> int:
    """How much later all of a round can be within windows, break and working hours [min]."""
    who = problem.vets[one.vet]
    room = [who.ends - one.back]
    for call in one.calls:
        spells = problem.stops[call.stop].begins
        room += [last - call.begins for first, last in spells if first <= call.begins <= last]
    if one.break_at is not None:
        room.append(who.break_until - one.break_at)
    elif who.break_min and not _rested(who, one):
        room.append(who.break_until - one.back)
    return max(0, min(room))


def _rested(who: Vet, one: Timetable) -> bool:
    """Whether the break lies before a round."""
    return one.sets_out >= who.rested_at


def _later(one: Timetable, minutes: int) -> Timetable:
    return replace(
        one,
        sets_out=one.sets_out + minutes,
        calls=tuple(
            replace(
                call,
                arrives=call.arrives + minutes,
                begins=call.begins + minutes,
                leaves=call.leaves + minutes,
            )
            for call in one.calls
        ),
        back=one.back + minutes,
        break_at=None if one.break_at is None else one.break_at + minutes,
    )
