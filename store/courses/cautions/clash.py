"""Cautions about agents that must not meet: of other steps, of running courses, given lately."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, timedelta

from store.courses.cautions.fitting import UNIT_SAID, Look
from store.courses.cautions.peak import EarlierDose
from store.courses.cautions.said import caution
from store.courses.planning.course import Caution, CautionLevel, Given, Plan, PlanStep
from store.courses.planning.fed import batch_days, is_fed
from store.courses.planning.predicted import Moment, moments
from store.courses.planning.route import BATHS, FRESH
from store.facts.agent import Agent, Interaction
from store.facts.agents import clashes
from store.text import day_said
from store.water.given import figures

CLASH_DAYS = 28
"""Within so many days two agents count as meeting, for what is left of the first is not known;
common practice, without a source [d]."""
_APART = {
    False: " They are given in different water.",
    True: " One goes with the feed, the other into the water.",
}
GONE = 0.01
"""Less than this share of a dose left by water changes alone counts as gone [-]."""


@dataclass(frozen=True, slots=True)
class _Other:
    """Another agent in the same pond: its doses (day, concentration, change before it)."""

    agent: str
    unit: str
    doses: tuple[tuple[date, float, float], ...]
    whose: str
    own_tank: bool
    fed: bool = False
    """With the feed: a dose for every day, and nothing of it is reckoned in the water."""


def clash_cautions(
    seen: Look,
    plan: Plan,
    *,
    given: Sequence[Given] = (),
    running: Sequence[Plan] = (),
    last: Sequence[EarlierDose] = (),
    on_day: date | None = None,
) -> list[Caution]:
    """What stands against the agent of a step beside the others that the pond gets or had.

    Parameters
    ----------
    seen
        The step.
    plan
        Its plan.
    given
        Doses of the plan that were given.
    running, last
        Other courses of the pond, and doses outside any.
    on_day
        Day of the dose that is about to be given; None for the whole course, where each pair of
        steps is told once, at the later of them.
    """
    others = _others(seen, plan, given, running, last, on_day)
    mine = (
        [
            (day, one.water_change_percent)
            for one in moments(seen.step, given)
            for day in _each_day(seen.step, one)
        ]
        if on_day is None
        else [(on_day, 0.0)]
    )
    found: list[Caution] = []
    for other in others:
        if not other.doses or not mine:
            continue
        if other.agent not in plan.formulary:
            found.append(
                caution(
                    "unknown_agent",
                    "mind",
                    f"{seen.name}: the pond had {other.agent} {other.whose}, which is not in the "
                    "formulary. Whether the two bear each other is not known.",
                    f"last on {day_said(other.doses[-1][0])}",
                )
            )
            continue
        found += _against(seen, other, mine, plan.formulary)
    return found


def _others(
    seen: Look,
    plan: Plan,
    given: Sequence[Given],
    running: Sequence[Plan],
    last: Sequence[EarlierDose],
    on_day: date | None,
) -> list[_Other]:
    found = []
    for step in plan.steps:
        if step.place == seen.step.place or (on_day is None and step.place > seen.step.place):
            continue
        found.append(_of_step(step, given, f"in step {step.place} of this plan", on_day))
    for other in running:
        found += [_of_step(step, (), "in another course", on_day) for step in other.steps]
    for had in last:
        doses = ((had.on_day, had.dose * (1.0 - had.water_changed_percent / 100.0), 0.0),)
        found.append(_Other(had.agent, had.unit, doses, "lately", own_tank=False))
    return found


def _of_step(step: PlanStep, given: Sequence[Given], whose: str, on_day: date | None) -> _Other:
    doses = tuple(
        (day, one.dose, one.water_change_percent)
        for one in moments(step, given)
        if on_day is None or one.was_given or whose == "in another course"
        for day in _each_day(step, one)
    )
    return _Other(
        step.agent, step.unit, doses, whose, own_tank=step.route in FRESH, fed=is_fed(step)
    )


def _each_day(step: PlanStep, one: Moment) -> tuple[date, ...]:
    """The day of a dose, or every day on which a batch of feed is given."""
    batch = next((each for each in step.doses if each.number == one.number), None)
    if not is_fed(step) or batch is None:
        return (one.on_day,)
    return tuple(one.on_day + timedelta(place) for place in range(batch_days(step, batch)))


def _against(
    seen: Look, other: _Other, mine: list[tuple[date, float]], known: Mapping[str, Agent]
) -> list[Caution]:
    agent = known[other.agent]
    found: tuple[Interaction, ...] = clashes(seen.agent, agent)
    if seen.agent.code == agent.code and other.whose != _step_said(other):
        # The same poison again, from outside this plan, is as bad as its kin.
        found = tuple(one for one in agent.interactions if one.code == agent.family)
    days = min(abs((theirs - own).days) for own, _ in mine for theirs, _, _ in other.doses)
    fed = other.fed or is_fed(seen.step) or other.unit.startswith("mg/kg")
    left, share, arithmetic = (0.0, 1.0, "") if fed else _left(other, mine)
    apart = (other.own_tank != (seen.step.route in FRESH)) or seen.step.route not in BATHS
    apart = (other.fed != is_fed(seen.step)) if fed else apart
    cautions = []
    # One for each pair: the gravest, and of those the one that names the agent itself.
    for one in sorted(found, key=lambda one: (one.level != "stop", one.code not in known))[:1]:
        in_the_fish = one.code in (agent.family, seen.agent.family) and one.code == (
            "organophosphate"
        )
        level: CautionLevel = one.level
        if not in_the_fish and (days > CLASH_DAYS or share < GONE or (apart and days > 0)):
            level = "mind"
        unit = UNIT_SAID.get(other.unit, other.unit)
        when = "on the same day" if days == 0 else f"{days} {'day' if days == 1 else 'days'} apart"
        cautions.append(
            caution(
                f"clash_{agent.code}",
                level,
                f"{seen.name} and {agent.plain_name} ({other.whose}), {when}: {one.why}"
                + (_APART[fed] if apart else ""),
                f"{agent.plain_name} last on {day_said(max(day for day, _, _ in other.doses))}"
                if fed
                else f"at most {figures(left)} {unit} of {agent.plain_name} left by water changes "
                f"alone: {arithmetic}",
                one.source,
                one.standing,
            )
        )
    return cautions


def _step_said(other: _Other) -> str:
    return other.whose if other.whose.startswith("in step") else ""


def _left(other: _Other, mine: list[tuple[date, float]]) -> tuple[float, float, str]:
    """What water changes alone leave of the other agent when mine is given, the worst of my days.

    Returns the concentration, its share of the highest dose, and the sum in words.
    """
    worst, said = 0.0, "none was given before"
    for day, change in mine:
        present, words = 0.0, []
        theirs = [(when, dose, before) for when, dose, before in other.doses if when <= day]
        own = [(when, 0.0, before) for when, before in mine if when < day]
        for _, dose, before in sorted([*theirs, *own], key=lambda one: one[0]):
            present = present * (1.0 - before / 100.0) + dose
            words += [f"- {figures(before)} %"] if before and present > dose else []
            words += [f"+ {figures(dose)}"] if dose else []
        present *= 1.0 - change / 100.0
        words += [f"- {figures(change)} %"] if change and present else []
        if present > worst:
            worst, said = present, f"{' '.join(words)} = {figures(present)} on {day_said(day)}"
    highest = max(dose for _, dose, _ in other.doses)
    # What they get after a dose of mine meets mine, whatever is left of theirs.
    later = any(when > day for day, _ in mine for when, _, _ in other.doses)
    return worst, 1.0 if later or highest <= 0.0 else worst / highest, said
