"""Cautions about medicine in the feed: is it eaten, how much of it reaches the fish, dust."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, timedelta

from store.courses.cautions.fitting import Look
from store.courses.cautions.said import caution
from store.courses.feeding.appetite import feeding_at
from store.courses.feeding.mix import FOR_PEOPLE
from store.courses.planning.course import Caution, Plan, PlanStep
from store.courses.planning.fed import NOT_EATING, batch_days, fed_on, is_fed
from store.courses.planning.oral import Oral, oral
from store.courses.planning.route import FRESH
from store.facts.bathing import bath_rules
from store.facts.binders import binders
from store.facts.fish import fish
from store.facts.sources import cite_with_standing
from store.text import day_said
from store.water.given import figures

SICK_FILTER = "sick_filter"


def feed_cautions(seen: Look, plan: Plan, *, at_dose: bool = False) -> list[Caution]:
    """What stands against a step that is given with the feed; nothing for any other.

    What holds for the feed as a whole is told at the first of the substances in it.

    Parameters
    ----------
    seen
        The step, in the water that it is judged in.
    plan
        Its plan.
    at_dose
        True just before a batch is fed.
    """
    step = seen.step
    if not is_fed(step) or step.ration is None:
        return []
    found: list[Caution] = []
    first = next((one.place for one in plan.steps if is_fed(one)), step.place) == step.place
    if first or at_dose:
        found += [*_eating(seen), *_temperature(seen)]
    stands = oral(
        seen.agent, seen.hazards,
        mg_kg_day=step.dose, mg_per_kg_feed=_inclusion(step), days=step.ration.feed_days,
    )  # fmt: skip
    found += [*_published(seen, stands), *_filter(seen)]
    if first:
        found += _handling(step)
    return found


def _inclusion(step: PlanStep) -> float:
    """Of the dose as it is given, which is less where less was weighed [mg per kg feed]."""
    assert step.ration is not None
    return step.dose * 100.0 / step.ration.rate_percent


def _eating(seen: Look) -> list[Caution]:
    if NOT_EATING in seen.water.things or NOT_EATING in seen.planned_in.things:
        return [
            caution(
                "not_eating",
                "stop",
                "The fish have stopped eating: medicine in feed that is not eaten reaches no fish, "
                "and fouls the water. Think of a bath or an injection.",
            )
        ]
    return [
        caution(
            "eating",
            "mind",
            "See that they still eat, before the first feeding and at each: sick fish eat less, "
            "and the sickest nothing.",
        )
    ]


def _temperature(seen: Look) -> list[Caution]:
    temp_c, ration = seen.water.temperature_c, seen.step.ration
    assert ration is not None
    if temp_c is None:
        return [
            caution(
                "feed_temp_unknown",
                "mind",
                "The water has no temperature that is still believed: whether fish feed goes by "
                "it. Measure it.",
            )
        ]
    found = feeding_at(temp_c, ration.rate_percent)
    if not found.level:
        return []
    code = "too_cold" if found.level == "stop" else "feeds_less"
    numbers = f"{figures(temp_c)} °C, rate {figures(ration.rate_percent)} % of biomass a day"
    # What it rests on: the temperature below which they eat less, else what they ate at most.
    rests = next(
        (one for one in fish().feeding if temp_c < one.below_c), fish().rations["juvenile_carp"]
    )
    return [
        caution(
            code,
            found.level,
            " ".join(found.remarks),
            "; ".join(filter(None, (numbers, found.arithmetic))),
            rests.source,
            rests.standing,
        )
    ]


def _published(seen: Look, stands: Oral | None) -> list[Caution]:
    step = seen.step
    assert step.ration is not None
    if stands is None:
        return [
            caution(
                "no_oral_dose",
                "stop",
                f"{seen.name}: no dose with the feed is published, so nothing can be put beside "
                f"{figures(step.dose)} mg per kg fish and day.",
                source=seen.agent.source,
                standing=seen.agent.standing,
            )
        ]
    found: list[Caution] = []
    nearest, judged = stands.nearest, stands.nearest.judged
    if judged.level:
        also = "".join(f" Also: {one.said}" for one in stands.others)
        found.append(
            caution(
                "oral_low" if "less" in judged.said else "oral_high",
                judged.level,
                f"{seen.name}: {judged.said}{also}",
                f"{figures(_inclusion(step))} mg per kg feed × "
                f"{figures(step.ration.rate_percent)} / 100 = {figures(step.dose)} mg per kg fish "
                "and day",
                nearest.source,
                nearest.standing,
            )
        )
    route, days = stands.route, step.ration.feed_days
    if stands.feed_days is not None and not (stands.feed_days[0] <= days <= stands.feed_days[1]):
        low, high = stands.feed_days
        span = figures(low) if low == high else f"{figures(low)} to {figures(high)}"
        found.append(
            caution(
                "feed_days",
                "mind",
                f"{seen.name}: {days} d of feeding are planned, published are {span} d.",
                "",
                route.source,
                route.standing,
            )
        )
    temp_c, low_c = seen.water.temperature_c, route.temp_low_c
    if temp_c is not None and low_c is not None and temp_c < low_c:
        found.append(
            caution(
                "feed_temp",
                "mind",
                f"{seen.name}: the dose with the feed is published from {figures(low_c)} °C, and "
                f"the water has {figures(temp_c)} °C. {route.note}".rstrip(),
                "",
                route.source,
                route.standing,
            )
        )
    return found


def _filter(seen: Look) -> list[Caution]:
    """What is known of the agent and the filter: its dung and what is left over reach that too."""
    found = [
        caution("filter", "mind", f"{seen.name}: {one.says}",
                source=one.source, standing=one.standing)
        for one in seen.agent.filter_effect
    ]  # fmt: skip
    if SICK_FILTER in seen.water.things:
        found += [
            caution("sick_filter", one.level, f"{seen.name}: the filter is not ripe. {one.why}",
                    source=one.source, standing=one.standing)
            for one in seen.agent.interactions
            if one.code == SICK_FILTER
        ]  # fmt: skip
    return found


def _handling(step: PlanStep) -> list[Caution]:
    found = [caution("dust", "mind", " ".join(FOR_PEOPLE[:2]))]
    binder = binders().get(step.ration.binder) if step.ration is not None else None
    if binder is not None and binder.cautions:
        found.append(
            caution("binder", "mind", f"Bound with {binder.name}: {' '.join(binder.cautions)}",
                    source=binder.source, standing=binder.standing)
        )  # fmt: skip
    return found


def meeting_cautions(
    seen: Look, plan: Plan, *, running: Sequence[Plan] = (), on_day: date | None = None
) -> list[Caution]:
    """Days on which medicated feed is given and the pond has a bath, before which none is fed.

    Parameters
    ----------
    seen
        The step.
    plan
        Its plan.
    running
        Other courses of the same pond that are under way.
    on_day
        The first day of the batch, or the day of the dose, that is about to be given; None for the
        whole course.
    """
    mine = _days(plan, seen.step, on_day)
    if seen.step.route in FRESH:
        return []
    others: list[tuple[PlanStep, str]] = [
        (one, "in this plan") for one in plan.steps if one.place < seen.step.place
    ]
    others += [(one, "in another course") for other in running for one in other.steps]
    found = []
    for other, whose in others:
        if is_fed(other) == is_fed(seen.step) or other.route in FRESH:
            continue
        days = sorted(mine & _days(None, other, None))
        if not days:
            continue
        rule = next(one for one in bath_rules() if one.code == "no_feed")
        named = ", ".join(day_said(day) for day in days[:4]) + (" …" if len(days) > 4 else "")
        bath, feed = (other, seen.step) if is_fed(seen.step) else (seen.step, other)
        found.append(
            caution(
                "feed_and_bath",
                "mind",
                f"{_name(plan, feed)} goes with the feed and "
                f"{_name(plan, bath)} into the water ({whose}) on {named}: fish that "
                "have a bath are not fed. Leave the medicated feed out on that day and give it a "
                "day longer, or move the bath.",
                f"{cite_with_standing(rule.source, rule.standing)}: {rule.says}",
                rule.source,
                rule.standing,
            )
        )
    return found


def _days(plan: Plan | None, step: PlanStep, on_day: date | None) -> set[date]:
    """The days of a step, or of the batch or dose that is about to be given."""
    if on_day is not None:
        whole = next((one for one in plan.steps if one.place == step.place), step) if plan else step
        long = batch_days(whole, step.doses[0]) if is_fed(step) and step.doses else 1
        return {on_day + timedelta(place) for place in range(long)}
    if is_fed(step):
        return set(fed_on(step))
    return {one.due_on for one in step.doses if one.state not in {"missed", "dropped"}}


def _name(plan: Plan, step: PlanStep) -> str:
    return plan.plain_name(step.agent)
