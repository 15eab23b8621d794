"""A step that is given with the feed: its batches, and the days on which each of them is fed."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from datetime import date, timedelta
from itertools import pairwise

from store.courses.planning.course import Given, PlannedDose, PlanStep

FEED = "feed"
"""Code of the route."""
NOT_EATING = "not_eating"
"""Stands among what is known of a pond whose fish have stopped eating."""


def is_fed(step: PlanStep) -> bool:
    """True for a step that is given with the feed and not to the water.

    Parameters
    ----------
    step
        The step.
    """
    return step.route == FEED


def batch_days(step: PlanStep, dose: PlannedDose) -> int:
    """On how many days a batch is fed [d].

    Parameters
    ----------
    step
        A step with its batches.
    dose
        One of them.
    """
    each = step.interval_days or 1
    if step.ration is None:
        return each
    own = [one for one in step.doses if not one.added]
    if dose.added or not own:
        first = own[0].amount if own else dose.amount
        return max(1, round(dose.amount / first * each)) if first else each
    last = max(one.number for one in own)
    if dose.number < last:
        return each
    # The last batch is for what is left of the days, which may be fewer.
    return max(1, step.ration.feed_days - each * (last - 1))


def fed_on(step: PlanStep, began: Mapping[int, date] | None = None) -> tuple[date, ...]:
    """Every day on which a step is fed, from the batches that are given or still due.

    Parameters
    ----------
    step
        A step with its batches.
    began
        Number of a batch to the day on which it really began; None for the days of the plan.
    """
    days: set[date] = set()
    for dose in step.doses:
        if dose.state in {"missed", "dropped"}:
            continue
        first = (began or {}).get(dose.number, dose.due_on)
        days |= {first + timedelta(place) for place in range(batch_days(step, dose))}
    return tuple(sorted(days))


def feed_ends_on(step: PlanStep) -> date:
    """The last day on which a step is fed; the day of its last batch where none is left.

    Parameters
    ----------
    step
        A step with its batches.
    """
    days = fed_on(step)
    return days[-1] if days else max(one.due_on for one in step.doses)


def dose_word(step: PlanStep) -> str:
    """What one dose of a step is called: a batch of feed, or a dose.

    Parameters
    ----------
    step
        The step.
    """
    return "batch" if is_fed(step) else "dose"


def in_order(steps: Sequence[PlanStep], name: Callable[[str], str]) -> str:
    """The agents of a course in a phrase: one after another, or together in one feed.

    Parameters
    ----------
    steps
        The steps in their order.
    name
        What the agent of a code is called.

    Returns
    -------
    str
        `formalin, then trichlorfon`, or `oxytetracycline with vitamin C`.
    """
    said = ""
    for before, step in pairwise((None, *steps)):
        assert step is not None
        if before is not None:
            said += " with " if is_fed(before) and is_fed(step) else ", then "
        said += name(step.agent)
    return said


def last_day(step: PlanStep, given: Given) -> date:
    """The day until which a dose that was given goes on: of a batch of feed the last it is fed.

    Parameters
    ----------
    step
        The step that it belongs to.
    given
        The dose.
    """
    batch = next((one for one in step.doses if one.number == given.number), None)
    if not is_fed(step) or batch is None:
        return given.on_day
    return given.on_day + timedelta(batch_days(step, batch) - 1)
