"""A planned week in sentences: how good it is, why a visit stays out, what is to be known of it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from datetime import date

from store.diary.times.hours import DAYS
from store.rounds.day.values import Errand
from store.rounds.solving.found import Found
from store.rounds.solving.halt import Halt
from store.rounds.solving.problem import SUSPECT, Problem
from store.rounds.solving.timetable import timetable
from store.rounds.week.values import WeekAsked, WeekDay, WeekLeft, WeekLine
from store.text import day_said

HALTED = "The search was stopped; this is the best week until then. Plan again to look further."


def week_proof_said(found: Found) -> str:
    """How good the week is known to be, in a sentence.

    Parameters
    ----------
    found
        What was found.
    """
    drive, gap = f"{found.drive_min} min", f"{found.gap_min} min"
    if found.proven:
        return "Proven: these visits cannot be spread over these days with less driving."
    if found.gap_min > found.drive_min:
        return f"Not proven: perhaps not every visit left out has to be. The drive is {drive}."
    if found.each_proven:
        return (
            f"The order of each day is proven; spread otherwise over the days, the drive of "
            f"{drive} could be {gap} less at most."
        )
    return f"Not proven: the drive of {drive} could be {gap} less at most."


def days_said(first: date, last: date) -> str:
    """From one day to another in words.

    Parameters
    ----------
    first, last
        Both included.
    """
    if first >= last:
        return f"on {weekday_said(first)}"
    return f"from {weekday_said(first)} to {weekday_said(last)}"


def weekday_said(day: date) -> str:
    """A day with its weekday.

    Parameters
    ----------
    day
        The day.

    Examples
    --------
    >>> weekday_said(date(2026, 3, 16))
    'Mon 16 Mar 2026'
    """
    return f"{DAYS[day.weekday()]} {day_said(day)}"


def week_left_out(
    asked: WeekAsked, problem: Problem, found: Found, *, halt: Halt | None = None
) -> tuple[WeekLeft, ...]:
    """Why each visit that is in no day was left out.

    Parameters
    ----------
    asked
        The week.
    problem, found
        The same as plain numbers, and its rounds.
    halt
        Ends the looking early.

    Returns
    -------
    tuple of WeekLeft
        In the order of the errands. Only what was looked at is claimed: that a visit finds no room
        is said of the rounds as they stand.
    """
    return tuple(
        WeekLeft(asked.errands[stop], _why(asked, problem, found, stop, halt))
        for stop in found.left_out
    )


def _why(asked: WeekAsked, problem: Problem, found: Found, stop: int, halt: Halt | None) -> str:
    one, plain = asked.errands[stop], problem.stops[stop]
    name = one.name
    if one.key in asked.closed:
        return asked.closed[one.key]
    if not plain.vets:
        return _nobody(asked, one)
    if not plain.windows and one.visit is not None:
        hours = one.hours_said.rstrip(".")
        return f"{name}: one does not get in on {weekday_said(one.visit.on_day)}: {hours}."
    if not plain.begins:
        much = f"{name} takes {one.minutes} min"
        return f"{much}, and one gets in for less on every day on which it may be."
    people = sorted(plain.vets)
    days = sorted({asked.days[asked.vet_days[v][0]].wish.day for v in people})
    when = days_said(days[0], days[-1])
    if all(timetable(problem, v, [stop]) is None for v in people):
        return (
            f"{name} does not fit even alone {when}: {one.minutes} min there, the drive and the "
            "break are more than the hours in which one gets in and somebody works."
        )
    if halt is not None and halt.stopped:
        return f"{name} found no day before the search was stopped."
    fits = list(_insertions(problem, found, stop, people))
    if not fits:
        return f"{name} found no room {when} beside the other visits as they are planned."
    more, vet = min(fits)
    nth, who = asked.vet_days[vet]
    there = f"on {weekday_said(asked.days[nth].wish.day)} with {who.who}"
    if more >= plain.skip_cost:
        worth = one.worth_said.rstrip(".") or f"it is worth {plain.skip_cost} min"
        return f"{name} would add {more} min of driving {there} at least; {worth}."
    return f"{name} fits {there} with {more} min more of driving: plan once more."


def _nobody(asked: WeekAsked, one: Errand) -> str:
    if one.visit is not None and one.visit.staff_id is not None:
        who = one.visit.who or "Somebody"
        day = one.visit.on_day
        return (
            f"{one.name} is booked with {who} on {weekday_said(day)}, and {who} is not on the "
            "road then: move it in the diary, or give it to somebody else."
        )
    return f"{one.name}: nobody who may go there works on a day on which one gets in."


def _insertions(
    problem: Problem, found: Found, stop: int, people: Sequence[int]
) -> Iterator[tuple[int, int]]:
    """What a stop would add at each place of each round that it can join, and whose it is [min]."""
    for vet in people:
        order = list(found.rounds[vet].order)
        before = problem.drive_of(vet, order)
        for place in range(len(order) + 1):
            trial = [*order[:place], stop, *order[place:]]
            more = problem.drive_of(vet, trial) - before
            if timetable(problem, vet, trial) is not None:
                yield more, vet


def week_remarks(
    asked: WeekAsked, days: Sequence[WeekDay], lines: Sequence[WeekLine], *, halted: bool
) -> tuple[str, ...]:
    """What is to be known of a planned week.

    Parameters
    ----------
    asked
        The week.
    days, lines
        As planned.
    halted
        Whether the search was ended early.
    """
    return tuple(_remarks(asked, days, lines, halted))


def _remarks(
    asked: WeekAsked, days: Sequence[WeekDay], lines: Sequence[WeekLine], halted: bool
) -> Iterator[str]:
    if halted:
        yield HALTED
    if not asked.errands:
        yield "Nothing is due or booked in these days."
    if not asked.vet_days:
        yield "Nobody works in these days, so that nothing is planned."
    for line in lines:
        if line.widened:
            limit = asked.limits[line.errand.key]
            yield (
                f"{line.errand.name} comes on {weekday_said(line.day)}, later than is "
                f"borne ({limit.said}): no day before was open or had room."
            )
    for day in days:
        for one in day.rounds:
            for stop in one.stops:
                if stop.errand.level == SUSPECT and len(one.stops) > 1:
                    yield (
                        f"{stop.errand.name} is suspect of a notifiable disease and comes last "
                        f"among {len(one.stops)} visits of {one.driver.who} on "
                        f"{weekday_said(day.day)}: alone, on a day of its own, is better."
                    )
