"""Rounds put as near as they can be to the hours that were agreed."""

from __future__ import annotations

from dataclasses import replace

from store.diary.times.spell import minute_of
from store.rounds.day.problem_of import hour_kept
from store.rounds.day.values import DayAsked
from store.rounds.solving.delay import RING_FROM_MIN
from store.rounds.solving.found import Found
from store.rounds.solving.problem import Problem, Vet, Window
from store.rounds.solving.timetable import Timetable, timetable


def nearer(asked: DayAsked, problem: Problem, found: Found) -> Found:
    """The same rounds, their orders kept, with times that move clients least.

    First no client is moved further from an hour that is kept than has to be, though the day be
    longer for it; then each round as a whole is put later. A search by itself gives the shortest
    day, and of those the earliest.

    Parameters
    ----------
    asked
        The day.
    problem, found
        The same as plain numbers, and its rounds.

    Returns
    -------
    Found
        `shortest` no longer holds where a day became longer.
    """
    kept = {
        place: at
        for place, one in enumerate(asked.errands)
        if (at := hour_kept(asked, one)) is not None
    }
    exact = tuple(_exact(problem, kept, one) for one in found.rounds)
    made = shifted(asked, problem, replace(found, rounds=exact))
    return replace(made, shortest=found.shortest and made.day_min == found.day_min)


def _exact(problem: Problem, kept: dict[int, int], one: Timetable) -> Timetable:
    """A round in its order, no client further from the hour that is kept than has to be."""
    off = [abs(call.begins - kept[call.stop]) for call in one.calls if call.stop in kept]
    low, high, best = 0, max(off, default=0), one
    while low < high:
        middle = (low + high) // 2
        made = timetable(_within(problem, kept, middle), one.vet, one.order)
        if made is None:
            low = middle + 1
        else:
            high, best = middle, made
    return best


def _within(problem: Problem, kept: dict[int, int], minutes: int) -> Problem:
    """The day with visits no further from the hours that are kept [min]."""
    stops = list(problem.stops)
    for place, at in kept.items():
        one = stops[place]
        first, last = at - minutes, at + minutes + one.service_min
        windows = (Window(max(w.opens, first), min(w.closes, last)) for w in one.windows)
        stops[place] = replace(one, windows=tuple(w for w in windows if w.opens < w.closes))
    return replace(problem, stops=tuple(stops))


def shifted(asked: DayAsked, problem: Problem, found: Found) -> Found:
    """The same rounds, each as a whole so much later that it moves clients least.

    What of a round lies before an agreed hour for no reason is put later. Drive, order and length
    of each day stay.

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
