"""The hours of rounds: as near as can be to those that were agreed, else such as one says."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace

from store.diary.times.spell import minute_of
from store.rounds.day.problem_of import hour_kept
from store.rounds.day.values import DayAsked
from store.rounds.solving.delay import RING_FROM_MIN
from store.rounds.solving.found import Found
from store.rounds.solving.problem import Problem, Vet, Window
from store.rounds.solving.timetable import Timetable, timetable

GRID_MIN = 5
"""Hours that are told to clients are multiples of this, where the round bears it [min]."""
PASSES = 4
"""So often a round is put to its hours, where the last time still moved it: mostly it does not."""
LONGER_MIN = 60
"""Common practice: for an hour that is kept to the minute no day becomes longer than this [min]."""


def with_hours(asked: DayAsked, problem: Problem, found: Found) -> Found:
    """The same rounds in the same order, with times that move clients least.

    First no client is moved further from an hour that is kept than has to be, though the day be
    up to an hour longer for it; then each round as a whole is put later where that moves fewer. At
    last visits begin at the very hour that was agreed, and those without one on five minutes, each
    as far as the rest of its round bears that. A search by itself gives the shortest day, and of
    those the earliest. Put to its hours once more, a round stays as it is.

    Parameters
    ----------
    asked
        The day.
    problem, found
        The same as plain numbers, and its rounds.

    Returns
    -------
    Found
        `shortest` no longer holds where a day became longer. No drive is another.
    """
    kept = {
        place: at
        for place, one in enumerate(asked.errands)
        if (at := hour_kept(asked, one)) is not None
    }
    told, made = _agreed(asked) | kept, found
    for _ in range(PASSES):
        exact = tuple(_exact(problem, kept, one) for one in made.rounds)
        near = shifted(asked, problem, replace(made, rounds=exact))
        rounds = tuple(
            said_hours(_within_all(problem, kept, one), one, told) for one in near.rounds
        )
        if rounds == made.rounds:
            break
        made = replace(made, rounds=rounds)
    return replace(made, shortest=found.shortest and made.day_min == found.day_min)


def said_hours(problem: Problem, one: Timetable, agreed: Mapping[int, int]) -> Timetable:
    """A round in its order, its visits at hours that one says, as far as it bears them.

    Parameters
    ----------
    problem
        The day as plain numbers.
    one
        The round.
    agreed
        By stop, the minute that the client knows; what begins near it begins at it [min].
    """
    begins = {place: call.begins for place, call in enumerate(one.calls)}
    known = {
        place: agreed[stop]
        for place, stop in enumerate(one.order)
        if stop in agreed and abs(begins[place] - agreed[stop]) < RING_FROM_MIN
    }
    # Whom nobody has to ring now is not to be rung for the five minutes of another.
    part, made = _within(problem.part(one.order, [one.vet]), known, RING_FROM_MIN - 1), one
    for place in (*known, *(place for place in begins if place not in known)):
        begun = made.calls[place].begins
        for at in (known[place],) if place in known else _said_near(begun):
            pinned = _pinned(part, place, at)
            trial = timetable(pinned, 0, range(len(one.order)))
            worth_min = LONGER_MIN if place in known else GRID_MIN - 1
            if trial is not None and trial.day_min <= made.day_min + worth_min:
                part, made = pinned, _placed(trial, one)
                break
    return made


def _said_near(minute: int) -> tuple[int, ...]:
    """The next hour that one says, else the one before [min]."""
    later = -(-minute // GRID_MIN) * GRID_MIN
    return (later,) if later == minute else (later, later - GRID_MIN)


def _pinned(part: Problem, place: int, at: int) -> Problem:
    """With one visit at a minute, if it may begin then."""
    stop = part.stops[place]
    own = tuple(
        Window(at, at + stop.service_min) for first, last in stop.begins if first <= at <= last
    )
    stops = (*part.stops[:place], replace(stop, windows=own[:1]), *part.stops[place + 1 :])
    return replace(part, stops=stops)


def _placed(trial: Timetable, one: Timetable) -> Timetable:
    """The round with its vet and stops in the places of the whole day."""
    calls = tuple(replace(call, stop=one.order[call.stop]) for call in trial.calls)
    return replace(trial, vet=one.vet, calls=calls)


def _exact(problem: Problem, kept: dict[int, int], one: Timetable) -> Timetable:
    """A round in its order, no client further from the hour that is kept than has to be."""
    low, high, best = 0, _furthest(kept, one), one
    while low < high:
        middle = (low + high) // 2
        made = timetable(_within(problem, kept, middle), one.vet, one.order)
        if made is None or made.day_min > one.day_min + LONGER_MIN:
            low = middle + 1
        else:
            high, best = middle, made
    return best


def _furthest(kept: Mapping[int, int], one: Timetable) -> int:
    """How far a client is from an hour that is kept, at the most [min]."""
    return max((abs(c.begins - kept[c.stop]) for c in one.calls if c.stop in kept), default=0)


def _within_all(problem: Problem, kept: dict[int, int], one: Timetable) -> Problem:
    """The day in which no client of a round is moved further than the one who is moved most."""
    return _within(problem, kept, _furthest(kept, one))


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
    agreed = _agreed(asked)
    return replace(found, rounds=tuple(_nearer(problem, agreed, one) for one in found.rounds))


def _agreed(asked: DayAsked) -> dict[int, int]:
    """The hours that clients know, by the places of the visits [min]."""
    return {
        place: minute_of(one.visit.at_time)
        for place, one in enumerate(asked.errands)
        if one.visit is not None and one.visit.at_time is not None
    }


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
