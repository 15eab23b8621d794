"""What is done beside the doses of a plan: lamps and carbon off and on, air, feed, tests, control.

What is switched off stays off from the first dose until the last bath has ended. Where no time is
published for a bath, its end is taken a week after the last dose, and the task says so.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from store.courses.planning.course import PlanStep, Share, Task
from store.courses.planning.fed import is_fed
from store.courses.planning.feed_tasks import feed_tasks
from store.courses.planning.route import FRESH
from store.courses.planning.timing import bath_ends_on
from store.facts.agent import OFF, Agent
from store.facts.agents import agent_by_code, agents
from store.facts.bathing import BathRule, bath_rules
from store.facts.sources import cite_with_standing
from store.text import day_said

OPEN_END_DAYS = 7
"""A bath without a published end is taken to work so long; common practice [d]."""
AMMONIA_DAYS = 8
"""Ammonia and nitrite are tested so long after formalin or an oxidiser (Fredricks 2018) [d]."""
TESTED_AFTER = ("aldehyde", "oxidiser")
"""Families after which ammonia and nitrite are tested."""
COMMON = "common practice, without a published source"
OFF_SAYS = {
    "uv": ("Switch off the UV lamp", "Switch the UV lamp on again"),
    "ozone": ("Switch off ozone", "Switch ozone on again"),
    "carbon": ("Take out activated carbon", "Put activated carbon back"),
    "zeolite": ("Take out zeolite", "Zeolite may go back once the salt is out again"),
    "skimmer": ("Switch off the protein skimmer", "Switch the protein skimmer on again"),
}
"""What is said on switching off and on."""
_ORDER = ("volume", "off", "air_on", "feed", "watch", "discharge", "filter", "ammonia",
          "on", "air_off", "control")  # fmt: skip


def tasks_of(
    steps: Sequence[PlanStep],
    control_on: date | None,
    formulary: Mapping[str, Agent] | None = None,
) -> tuple[Task, ...]:
    """The tasks of a plan in the order in which they are done.

    Parameters
    ----------
    steps
        The steps with their doses.
    control_on
        Day of the control examination; None for none.
    formulary
        Agents by code; None for the published ones.

    Returns
    -------
    tuple of Task
        Tasks by day. A day that belongs to a dose is the day of that dose.
    """
    rules = {rule.code: rule for rule in bath_rules()}
    kept = [step for step in steps if any(one.state != "dropped" for one in step.doses)]
    baths = [step for step in kept if not is_fed(step)]
    known = agents() if formulary is None else formulary
    found = [*_switched(baths, rules, known), *_air(baths, rules), *_filter(baths, known)]
    for step in kept:
        found += feed_tasks(step) if is_fed(step) else _around(step, rules, known)
    if control_on is not None:
        found.append(
            Task(
                "control", control_on,
                "Control examination: count again as before the course, in the same places and "
                "in the same unit.",
                "practice", COMMON,
            )
        )  # fmt: skip
    unlike = dict.fromkeys(found)
    return tuple(sorted(unlike, key=lambda one: (one.on_day, _rank(one.code))))


def works_until(step: PlanStep) -> tuple[date, bool]:
    """The day until which the last bath of a step works, and whether that is taken on trust.

    Parameters
    ----------
    step
        A step with its doses.

    Returns
    -------
    tuple of date and bool
        The day, and True where no time is published for the bath.
    """
    if step.exposure_h is not None:
        return bath_ends_on(step), False
    return bath_ends_on(step) + timedelta(OPEN_END_DAYS), True


def _rank(code: str) -> int:
    return next(place for place, one in enumerate(_ORDER) if code.startswith(one))


def _begins(step: PlanStep) -> date:
    return min(one.due_on for one in step.doses if one.state != "dropped")


def _place(step: PlanStep) -> str:
    return " of the tank" if step.route in FRESH else ""


def _switched(
    steps: Sequence[PlanStep], rules: dict[str, BathRule], known: Mapping[str, Agent]
) -> list[Task]:
    """Off before the first dose that needs it, on after the last bath that does."""
    found = []
    for code, says in OFF_SAYS.items():
        for place in ("", " of the tank"):
            needing = [
                step
                for step in steps
                if code in agent_by_code(step.agent, known).off and _place(step) == place
            ]
            if not needing:
                continue
            until, on_trust = max(works_until(step) for step in needing)
            first = min(needing, key=_begins)
            off, back = (one + place for one in says)
            why = f"; {OPEN_END_DAYS} days after the last dose, for its end is not published"
            source = _cited(rules["switch_off"])
            found += [
                Task(f"off_{code}", _begins(first), f"{off} before the dose.", first.doses[0].share,
                     source),
                Task(f"on_{code}", until, f"{back}{why if on_trust else ' after the bath'}.",
                     first.doses[0].share, COMMON if on_trust else source),
            ]  # fmt: skip
    return found


def _filter(steps: Sequence[PlanStep], known: Mapping[str, Agent]) -> list[Task]:
    """The filter is bypassed for hours and not for days: without water it dies."""
    return [
        Task(
            "filter",
            dose.due_on,
            f"Lead the water past the {OFF['filter'].split(' (')[0]}{_place(step)} for the bath, "
            "and open it again the same day, when the bath has ended or its colour is gone: a "
            "filter without flow dies.",
            dose.share,
            COMMON,
        )
        for step in steps
        if "filter" in agent_by_code(step.agent, known).off
        for dose in step.doses
        if dose.state != "dropped"
    ]


def _air(steps: Sequence[PlanStep], rules: dict[str, BathRule]) -> list[Task]:
    """Air on before each step, and as usual again once no further step has begun by then."""
    found = []
    for place in ("", " of the tank"):
        here = sorted((step for step in steps if _place(step) == place), key=_begins)
        for number, step in enumerate(here):
            until, on_trust = max(works_until(one) for one in here[: number + 1])
            share = step.doses[0].share
            if not number or _begins(step) > max(works_until(one) for one in here[:number])[0]:
                found.append(_task("air_on", _begins(step), rules["air"], share))
            if number + 1 < len(here) and _begins(here[number + 1]) <= until:
                continue
            why = (
                f", {OPEN_END_DAYS} days after the last dose, for its end is not published"
                if on_trust
                else ""
            )
            found.append(Task("air_off", until, f"The air{place} may go back to usual{why}.",
                              share, COMMON))  # fmt: skip
    return found


def _around(step: PlanStep, rules: dict[str, BathRule], known: Mapping[str, Agent]) -> list[Task]:
    doses = [one for one in step.doses if one.state != "dropped"]
    fresh = step.route in FRESH
    found = []
    for dose in doses:
        if not fresh:
            found.append(_task("volume", dose.due_on, rules["volume"], dose.share))
        found += [
            _task("feed", dose.due_on, rules["no_feed"], dose.share),
            _task("watch", dose.due_on, rules["watch"], dose.share),
        ]
        if dose.water_change_percent or fresh:
            found.append(_task("discharge", dose.due_on, rules["discharge"], dose.share))
    if agent_by_code(step.agent, known).family in TESTED_AFTER and not fresh:
        until = doses[-1].due_on + timedelta(AMMONIA_DAYS)
        found.append(
            Task("ammonia", doses[0].due_on + timedelta(1),
                 f"Test ammonia and nitrite until {day_said(until)}, {AMMONIA_DAYS} days after "
                 "the last dose: the filter may be set back.",
                 doses[0].share, _cited(rules["ammonia"]))
        )  # fmt: skip
    return found


def _task(code: str, on_day: date, rule: BathRule, share: Share) -> Task:
    return Task(code, on_day, rule.says, share, _cited(rule))


def _cited(rule: BathRule) -> str:
    return cite_with_standing(rule.source, rule.standing)
