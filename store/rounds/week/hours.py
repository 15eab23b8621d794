"""The hours of a planned week: as they were agreed, and such as one says on the telephone."""

from __future__ import annotations

from dataclasses import replace

from store.rounds.day.problem_of import hour_kept
from store.rounds.day.values import DayAsked
from store.rounds.solving.found import Found
from store.rounds.solving.problem import DAY_MIN, Problem, Window
from store.rounds.solving.timetable import Timetable, timetable
from store.rounds.week.values import WeekAsked

GRID_MIN = 5
"""Hours that are offered to clients are multiples of this, where the round bears it [min]."""


def with_hours(asked: WeekAsked, problem: Problem, found: Found) -> Found:
    """The same rounds in the same order, with visits at better hours.

    Parameters
    ----------
    asked
        The week.
    problem, found
        The same as plain numbers, and its rounds.

    Returns
    -------
    Found
        Visits whose hour was agreed begin at it, not only near it, and those without an hour on
        five minutes, each as far as the rest of its round bears that. No drive is another.
    """
    rounds = tuple(
        _timed(asked.days[nth], nth * DAY_MIN, asked, problem, one)
        for (nth, _who), one in zip(asked.vet_days, found.rounds, strict=True)
    )
    return found if rounds == found.rounds else replace(found, rounds=rounds, shortest=False)


def _timed(
    day: DayAsked, midnight_min: int, asked: WeekAsked, problem: Problem, one: Timetable
) -> Timetable:
    order = one.order
    part, made = problem.part(order, [one.vet]), one
    agreed = {
        place: at
        for place, stop in enumerate(order)
        if (at := hour_kept(day, asked.errands[stop])) is not None
    }
    for place in (*agreed, *(place for place in range(len(order)) if place not in agreed)):
        begins = made.calls[place].begins
        at = midnight_min + agreed[place] if place in agreed else -(-begins // GRID_MIN) * GRID_MIN
        pinned = _pinned(part, place, at)
        trial = timetable(pinned, 0, range(len(order)))
        if trial is not None:
            part, made = pinned, _placed(trial, one)
    return made


def _pinned(part: Problem, place: int, at: int) -> Problem:
    """With one visit at a minute, if it may begin then."""
    stop = part.stops[place]
    own = tuple(
        Window(at, at + stop.service_min) for first, last in stop.begins if first <= at <= last
    )
    stops = (*part.stops[:place], replace(stop, windows=own[:1]), *part.stops[place + 1 :])
    return replace(part, stops=stops)


def _placed(trial: Timetable, one: Timetable) -> Timetable:
    """The round with its vet and stops in the places of the week."""
    calls = tuple(replace(call, stop=one.order[call.stop]) for call in trial.calls)
    return replace(trial, vet=one.vet, calls=calls)
