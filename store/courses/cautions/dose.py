"""Cautions about the dose: its range, the rule of its water, its hours, its repeats."""

from __future__ import annotations

from store.courses.baths.permanganate import PERMANGANATE_FACTOR
from store.courses.cautions.fitting import (
    Bound,
    Look,
    by_water,
    own_said,
    published_range,
    said_otherwise,
)
from store.courses.cautions.said import caution
from store.courses.planning.course import Caution
from store.courses.planning.limits import MG_IN_G
from store.courses.planning.route import FRESH, word_for
from store.errors import BadInput
from store.facts.entry import OWN
from store.facts.sources import cite_with_standing
from store.water.given import figures, said_minutes

DEVIATION = 0.10
"""From so much more or less, of water or of the least dose, the dose is another one; common
practice [-]."""
SLACK = 1.0 + 1e-9


def range_cautions(seen: Look) -> list[Caution]:
    """The doses of a step beside what is published, and beside what its water allows.

    Parameters
    ----------
    seen
        The step.
    """
    if not seen.is_bath:
        return []
    own_only = bool(seen.every_route) and seen.every_route[0].standing == OWN
    if not seen.every_route or (own_only and seen.agent.standing != OWN):
        said = "".join(f" There is {one.source.rstrip('.')}." for one in seen.routes[:1])
        return [
            caution(
                "no_route",
                "stop",
                f"{seen.name}: no dose is published for this way of giving it.{said}",
                f"route {seen.step.route}; known are "
                + ", ".join(dict.fromkeys(one.code for one in seen.agent.routes)),
                seen.agent.source,
                seen.agent.standing,
            )
        ]
    found: list[Caution] = _own_alone(seen) if own_only else []
    published = published_range(seen)
    if published is None:
        first = seen.routes[0]
        found.append(
            caution(
                "dose_unknown",
                "stop",
                f"{seen.name}: the published dose cannot be put beside this one, for want of a "
                "density or because it is no concentration.",
                f"dose {figures(seen.step.dose)} {seen.unit}; published up to "
                f"{figures(first.dose_high)} {first.unit}",
                first.source,
                first.standing,
            )
        )
    else:
        low, high = min(seen.doses), max(seen.doses)
        if seen.salt_present_mg_l is not None:
            low = seen.salt_present_mg_l + sum(seen.doses)  # salt is published as what it comes to
        if high > published.most.value * SLACK:
            found.append(_high(seen, high, published.most, published.custom))
        elif high > published.cautious.value * SLACK:
            found.append(_disputed(seen, high, published.cautious, published.most))
        least = published.least
        if least is not None and low * SLACK < least.value:
            found.append(
                caution(
                    "dose_low",
                    "stop" if low < least.value * (1.0 - DEVIATION) else "mind",
                    f"{seen.name}: {figures(low)} {seen.unit} is less than any dose that is "
                    f"{word_for(seen.routes[0])}; the least is {figures(least.value)} {seen.unit} "
                    f"({least.says}).{own_said(seen, low)}",
                    f"{figures(low)} / {figures(least.value)} = {figures(low / least.value, 3)}",
                    least.source,
                    least.standing,
                )
            )
    if said_otherwise(seen):
        first = seen.routes[0]
        found.append(
            caution(
                "basis",
                "mind",
                f"{seen.name}: the dose is published as an amount of "
                f"{'the product' if first.basis == 'product' else 'active substance'}, and this "
                "one is typed the other way. See the label and the plan once more.",
                f"strength {figures(seen.step.product.strength_percent)} %",
                first.source,
                first.standing,
            )
        )
    return found + _rule(seen) + _hours(seen) + _tank(seen)


def _high(seen: Look, dose: float, most: Bound, custom: Bound | None) -> Caution:
    demand, also = "", ""
    if custom is not None and custom.value > most.value:
        also = (
            f" Common practice goes up to {figures(custom.value)} {seen.unit} ({custom.says}), "
            "which no publication backs."
        )
    if any(one.rule == "permanganate_by_demand" for one in seen.routes):
        demand = (
            f"; by the demand test it is the dose for a demand of "
            f"{figures(dose / PERMANGANATE_FACTOR)} mg/L"
        )
    return caution(
        "dose_high",
        "stop",
        f"{seen.name}: {figures(dose)} {seen.unit} is more than any dose that is "
        f"{word_for(seen.routes[0])}; the most is {figures(most.value)} {seen.unit} ({most.says})."
        f"{also}{own_said(seen, dose)}",
        f"{figures(dose)} / {figures(most.value)} = {figures(dose / most.value, 3)}{demand}",
        most.source,
        most.standing,
    )


def _own_alone(seen: Look) -> list[Caution]:
    """Nothing is published of the agent: what is planned rests on the practice's own word."""
    first = seen.routes[0]
    return [
        caution(
            "own_agent",
            "mind",
            f"{seen.name}: nothing published backs this dose. It rests on {first.source}"
            f"{'' if first.source.endswith('.') else '.'} What it does to fish, filter and oxygen, "
            "and how long it stays, is not written down.",
            f"dose {figures(max(seen.doses))} {seen.unit}",
            first.source,
            OWN,
        )
    ]


def _disputed(seen: Look, dose: float, cautious: Bound, most: Bound) -> Caution:
    return caution(
        "dose_disputed",
        "mind",
        f"{seen.name}: {figures(dose)} {seen.unit} is more than the cautious publication gives, "
        f"{figures(cautious.value)} {seen.unit} ({cautious.says}); another goes up to "
        f"{figures(most.value)} {seen.unit} ({most.says}; "
        f"{cite_with_standing(most.source, most.standing)}).",
        f"{figures(dose)} / {figures(cautious.value)} = {figures(dose / cautious.value, 3)}",
        cautious.source,
        cautious.standing,
    )


def _rule(seen: Look) -> list[Caution]:
    """The dose beside that which the pond's own water sets: copper, chloramine-T."""
    first = seen.routes[0]
    try:
        answer = by_water(seen)
    except BadInput as refused:
        said = f"{seen.name}: {refused.message}"
        return [caution("no_dose_here", "stop", said, "", first.source, first.standing)]
    high = max(seen.doses)
    if answer is None or high <= answer.dose_mg_l * SLACK:
        return []
    return [
        caution(
            "dose_for_water",
            "stop",
            f"{seen.name}: this water bears {figures(answer.dose_mg_l)} mg/L, and "
            f"{figures(high)} mg/L is planned.",
            answer.arithmetic,
            answer.source,
            answer.standing,
        )
    ]


def _hours(seen: Look) -> list[Caution]:
    hours = seen.step.exposure_h
    longest = [one for one in seen.routes if one.exposure_h is not None]
    if hours is None:
        timed = [one for one in seen.routes if one.exposure == "timed"]
        if len(timed) < len(seen.routes) or not longest:
            return []
        first = longest[0]
        return [
            caution(
                "exposure_open",
                "stop",
                f"{seen.name}: this dose is {word_for(first)} for a bath of "
                f"{said_minutes((first.exposure_h or 0.0) * 60.0)}, and no end is planned.",
                f"{figures(seen.step.dose)} {seen.unit}",
                first.source,
                first.standing,
            )
        ]
    if not longest or len(longest) < len(seen.routes):
        return []
    most = max(longest, key=lambda one: one.exposure_h or 0.0)
    published_h = most.exposure_h or 0.0
    if hours <= published_h * SLACK:
        return []
    return [
        caution(
            "exposure_long",
            "stop",
            f"{seen.name}: a bath of {said_minutes(hours * 60.0)} is longer than the "
            f"{said_minutes(published_h * 60.0)} that are {word_for(most)}.",
            f"{figures(hours)} h against {figures(published_h)} h",
            most.source,
            most.standing,
        )
    ]


def _tank(seen: Look) -> list[Caution]:
    if seen.step.route not in FRESH or not seen.in_pond:
        return []
    first = seen.routes[0]
    return [
        caution(
            "tank_volume",
            "stop",
            f"{seen.name}: this dose is for a tank, and it is reckoned on the whole pond of "
            f"{figures(seen.step.volume_l)} L, where a bath cannot be ended. Give the volume of "
            "the tank.",
            f"{figures(seen.step.dose)} {seen.unit} in {figures(seen.step.volume_l)} L",
            first.source,
            first.standing,
        )
    ]


def repeat_cautions(seen: Look) -> list[Caution]:
    """The number of doses and their interval beside what is published.

    Parameters
    ----------
    seen
        The step.
    """
    found = []
    count = len([one for one in seen.step.doses if one.state not in ("missed", "dropped")])
    every = seen.step.interval_days
    for route in seen.routes[:1]:
        if route.doses is not None and count > route.doses:
            found.append(
                caution(
                    "more_doses",
                    "mind",
                    f"{seen.name}: {count} doses are planned, and {route.doses} "
                    f"{'is' if route.doses == 1 else 'are'} {word_for(route)} ({route.for_what}).",
                    route.note,
                    route.source,
                    route.standing,
                )
            )
        if route.repeat_days and every is not None and count > 1 and every < route.repeat_days[0]:
            found.append(
                caution(
                    "too_often",
                    "mind",
                    f"{seen.name}: every {every} d is oftener than {word_for(route)}, "
                    f"{_span(route.repeat_days)} d.",
                    seen.step.interval_why,
                    route.source,
                    route.standing,
                )
            )
        if seen.hazards and route.hazards and not set(seen.hazards).intersection(route.hazards):
            found.append(
                caution(
                    "for_what",
                    "mind",
                    f"{seen.name}: what is {word_for(route)} speaks of {route.for_what}, "
                    "not of what was found here.",
                    "found: " + ", ".join(one.replace("_", " ") for one in seen.hazards),
                    route.source,
                    route.standing,
                )
            )
    return found


def _span(pair: tuple[float, float]) -> str:
    low, high = pair
    return figures(low) if low == high else f"{figures(low)}-{figures(high)}"


def highest_allowed(seen: Look, *, at_dose: bool = False) -> Bound | None:
    """The most that may be in the water, in the unit of the step; None where nothing is known.

    The lowest of the highest published dose, the safe maximum of the plan, and what the water
    allows by a rule. For salt in a pond it is what may be added to the salt that is there.

    Parameters
    ----------
    seen
        The step.
    at_dose
        True just before a dose: then the salinity of now counts, not that of the plan.
    """
    bounds = []
    published = published_range(seen)
    present = seen.salt_present_mg_l
    if published is not None and present is None:
        bounds.append(published.most)
    elif published is not None and present is not None:
        most = published.most
        bounds.append(
            Bound(
                most.value - present,
                f"{figures(most.value)} - {figures(present)} {seen.unit} that are there, "
                f"{most.says}",
                most.source,
                most.standing,
            )
        )
    safe = seen.step.safe_most
    if safe is not None:
        says = "the safe maximum of the plan"
        if present is not None:
            says = "what may be added to the salt that is there"
            if at_dose:
                safe += (seen.planned_in.salinity_g_l or 0.0) * MG_IN_G - present
        source, standing = seen.step.source, seen.step.standing
        if standing == OWN and seen.own and seen.routes:
            source, standing = seen.routes[0].source, seen.routes[0].standing
        bounds.append(Bound(safe, says, source, standing))
    try:
        answer = by_water(seen)
    except BadInput:
        answer = None
    if answer is not None and seen.step.unit == "mg/L":
        bounds.append(
            Bound(answer.dose_mg_l, "what this water bears", answer.source, answer.standing)
        )
    return min(bounds, key=lambda one: one.value, default=None)
