"""What is done beside a medicated feed: no other feed, look that it is eaten, what is left over."""

from __future__ import annotations

from datetime import timedelta

from store.courses.planning.course import PlanStep, Task
from store.courses.planning.fed import batch_days, feed_ends_on
from store.facts.binders import binders
from store.facts.sources import cite_with_standing
from store.text import day_said

COMMON = "common practice, without a published source"


def feed_tasks(step: PlanStep) -> list[Task]:
    """The tasks of a step that is given with the feed.

    Those of several agents in one feed are the same, and stand once in a plan.

    Parameters
    ----------
    step
        The step with its batches; one without any that is given or due has none.
    """
    kept = [one for one in step.doses if one.state not in {"missed", "dropped"}]
    if not kept:
        return []
    ends = feed_ends_on(step)
    share = kept[0].share
    first = min(one.due_on for one in kept)
    found = [
        Task("feed_only", first,
             f"Give no other feed until {day_said(ends)}: what is eaten besides thins the dose.",
             share, COMMON),
        Task("feed_again", ends + timedelta(1),
             "Feed as usual again; bring what is left of the medicated feed back to the practice.",
             share, COMMON),
    ]  # fmt: skip
    for dose in kept:
        last = dose.due_on + timedelta(batch_days(step, dose) - 1)
        found.append(
            Task("watch_eaten", dose.due_on,
                 f"At every feeding until {day_said(last)} look that all of it is eaten, and "
                 "write down what is left. Fish that stop eating get nothing from it: ring the "
                 "vet the same day.",
                 share, COMMON)
        )  # fmt: skip
    binder = binders().get(step.ration.binder) if step.ration is not None else None
    if binder is not None:
        source = cite_with_standing(binder.source, binder.standing)
        found += [Task("watch_binder", first, says, share, source) for says in binder.cautions]
    return found
