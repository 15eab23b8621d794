"""Cautions about the water: oxygen, temperature, pH, alkalinity, and what else is in it."""

from __future__ import annotations

from collections.abc import Callable

from store.courses.baths.conditional import HARD_FROM_MG_L
from store.courses.baths.oxygen_taken import GOOD_MG_L, oxygen_taken
from store.courses.cautions.breakdown import ORGANOPHOSPHATE, breakdown_cautions
from store.courses.cautions.fitting import Look, backed, in_step_unit
from store.courses.cautions.reading import reading_cautions
from store.courses.cautions.said import caution
from store.courses.planning.course import Caution
from store.facts.agent import THINGS, Interaction, OxygenTaken, Route
from store.text import day_said
from store.water.given import figures, said_minutes

HIGH_PH = 8.5
"""From here water counts as having a high pH where an agent names no limit; common practice."""
SOFT_ALKALINITY_MG_L = 50.0
"""Below it water counts as soft by its alkalinity (UF/IFAS FA008) [mg/L as CaCO3]."""


def water_cautions(seen: Look, *, at_dose: bool = False) -> list[Caution]:
    """Everything that the water says against a step.

    Parameters
    ----------
    seen
        The step, in the water that it is judged in.
    at_dose
        True just before a dose: then a reading that is missing stops it.
    """
    if not seen.is_bath or not seen.routes:
        return []
    return [
        *_oxygen(seen),
        *_temperature(seen),
        *_ph(seen),
        *_alkalinity(seen),
        *breakdown_cautions(seen, at_dose=at_dose),
        *_things(seen),
        *reading_cautions(seen, at_dose=at_dose),
    ]


def _oxygen(seen: Look) -> list[Caution]:
    rule, water = seen.agent.oxygen_taken, seen.water
    limits = [one for one in seen.routes if one.least_oxygen_mg_l is not None]
    found: list[Caution] = []
    if rule is not None and water.oxygen_mg_l is not None:
        dose = _in_mg(seen, max(seen.doses))
        if dose is None:
            found.append(
                caution(
                    "oxygen",
                    "stop",
                    f"{seen.name}: it takes oxygen out of the water, and how much cannot be "
                    "reckoned without its density.",
                    f"dose {figures(max(seen.doses))} {seen.unit}",
                    rule.source,
                    rule.standing,
                )
            )
        elif seen.step.exposure_h is not None and seen.step.exposure_h < rule.low_h:
            found.append(_short_bath(seen, rule, dose))
        else:
            answer = oxygen_taken(seen.agent.code, dose, water.oxygen_mg_l, water.temperature_c)
            if answer.level:
                found.append(
                    caution(
                        "oxygen",
                        answer.level,
                        f"{seen.name}: it takes {figures(answer.taken_mg_l)} mg/L of oxygen out "
                        f"of {figures(water.oxygen_mg_l)} mg/L. " + " ".join(answer.remarks),
                        answer.arithmetic,
                        answer.source,
                        answer.standing,
                    )
                )
    said = any(one.level == "stop" for one in found)
    for one in limits if water.oxygen_mg_l is not None and not said else ():
        least = one.least_oxygen_mg_l or 0.0
        if water.oxygen_mg_l is not None and water.oxygen_mg_l < least:
            found.append(
                caution(
                    "oxygen_least",
                    "stop",
                    f"{seen.name}: there are {figures(water.oxygen_mg_l)} mg/L of oxygen, and it "
                    f"is not given with less than {figures(least)} mg/L.",
                    f"{figures(water.oxygen_mg_l)} < {figures(least)} mg/L",
                    one.source,
                    one.standing,
                )
            )
    return found


def _short_bath(seen: Look, rule: OxygenTaken, dose: float) -> Caution:
    return caution(
        "oxygen",
        "mind",
        f"{seen.name}: it takes oxygen, up to {figures(dose * rule.mg_per_mg)} mg/L within "
        f"{figures(rule.low_h)}-{figures(rule.high_h)} h; how much of that within the bath is not "
        "published. Air the tank, and measure the oxygen while the fish are in it.",
        f"{figures(dose)} mg/L × {figures(rule.mg_per_mg)} = "
        f"{figures(dose * rule.mg_per_mg)} mg/L; the bath lasts "
        f"{said_minutes((seen.step.exposure_h or 0.0) * 60.0)}",
        rule.source,
        rule.standing,
    )


def _in_mg(seen: Look, dose: float) -> float | None:
    """The dose in mg/L of the product as it is published, or None for want of a density."""
    one = in_step_unit(1.0, "mg/L", seen.routes[0].basis, seen)
    return None if one is None else dose / one


def _temperature(seen: Look) -> list[Caution]:
    temp_c = seen.water.temperature_c
    if temp_c is None:
        return []
    outside = [one for one in seen.routes if not _bears(one, temp_c)]
    if len(outside) == len(seen.routes):
        one = outside[0]
        return [
            caution(
                "temperature",
                "stop",
                f"{seen.name}: the water has {figures(temp_c)} °C, and this dose is published for "
                f"{_band(one.temp_low_c, one.temp_high_c, '°C')} ({one.for_what}).",
                f"{figures(temp_c)} °C",
                one.source,
                one.standing,
            )
        ]
    trend = seen.water.trend_c_per_day
    if not trend or not seen.step.doses:
        return []
    first = seen.step.doses[0].due_on
    for dose in seen.step.doses:
        days = (dose.due_on - first).days
        later_c = temp_c + trend * days
        if all(not _bears(one, later_c) for one in seen.routes):
            one = seen.routes[0]
            return [
                caution(
                    "temperature_trend",
                    "mind",
                    f"{seen.name}: if the water goes on as it does now, it has {figures(later_c)} "
                    f"°C at dose {dose.number} on {day_said(dose.due_on)}; the dose is published "
                    f"for {_band(one.temp_low_c, one.temp_high_c, '°C')}. Measure before each.",
                    f"{figures(temp_c)} °C + {days} d × {figures(trend)} °C/d = "
                    f"{figures(later_c)} °C",
                    one.source,
                    one.standing,
                )
            ]
    return []


def _bears(one: Route, temp_c: float) -> bool:
    return (one.temp_low_c is None or one.temp_low_c <= temp_c) and (
        one.temp_high_c is None or temp_c <= one.temp_high_c
    )


def _band(low: float | None, high: float | None, unit: str) -> str:
    unit = f" {unit}" if unit else ""
    if low is not None and high is not None:
        return f"{figures(low)} to {figures(high)}{unit}"
    return (
        f"{figures(low)}{unit} or more"
        if low is not None
        else f"up to {figures(high or 0.0)}{unit}"
    )


def _ph(seen: Look) -> list[Caution]:
    ph = seen.water.ph
    if ph is None:
        return []
    # "Unreliable at pH 9 or more": the upper end itself lies outside.
    outside = [
        one
        for one in seen.routes
        if (one.ph_low is not None and ph < one.ph_low)
        or (one.ph_high is not None and ph >= one.ph_high)
    ]
    if not outside or len(outside) < len(seen.routes):
        return []
    one = outside[0]
    band = f"below {figures(one.ph_high)}" if one.ph_high is not None else ""
    if one.ph_low is not None:
        band = f"from {figures(one.ph_low)}" + (f" and {band}" if band else "")
    return [
        caution(
            "ph",
            "stop",
            f"{seen.name}: the water has pH {figures(ph)}, and it is published for pH {band}.",
            f"pH {figures(ph)}",
            one.source,
            one.standing,
        )
    ]


def _alkalinity(seen: Look) -> list[Caution]:
    alkalinity = seen.water.alkalinity_mg_l
    found: list[Caution] = []
    for one in seen.routes if alkalinity is not None else ():
        low, high = one.alkalinity_low_mg_l, one.alkalinity_high_mg_l
        outside = (low is not None and (alkalinity or 0.0) < low) or (
            high is not None and (alkalinity or 0.0) > high
        )
        if outside:
            found.append(
                caution(
                    "alkalinity",
                    "stop",
                    f"{seen.name}: the alkalinity is {figures(alkalinity or 0.0)} mg/L as CaCO3, "
                    f"and it is published for {_band(low, high, 'mg/L')}.",
                    f"{figures(alkalinity or 0.0)} mg/L",
                    one.source,
                    one.standing,
                )
            )
    return found


def _things(seen: Look) -> list[Caution]:
    """What the agent clashes with besides other agents: zeolite, soft water, a sick filter."""
    found: list[Caution] = []
    for one in seen.agent.interactions:
        if one.code not in THINGS:
            continue
        if one.code == "high_ph" and seen.agent.family == ORGANOPHOSPHATE:
            continue  # told with its half-life
        there = one.code in seen.water.things
        measured = _MEASURED[one.code](seen) if one.code in _MEASURED else ""
        if there or measured:
            found.append(_thing(seen, one, measured))
        elif one.code == "zeolite" and seen.in_pond:
            found.append(
                caution(
                    "zeolite_asked",
                    "mind",
                    f"{seen.name}: is there zeolite in the filter? {one.why}",
                    source=one.source,
                    standing=one.standing,
                )
            )
    known = {one.code for one in seen.agent.interactions}
    if "sick_filter" in seen.water.things and "sick_filter" not in known and seen.in_pond:
        found += [
            caution(
                "sick_filter",
                "mind",
                f"{seen.name}: there is {THINGS['sick_filter']}. {told.says} Test ammonia and "
                "nitrite.",
                source=told.source,
                standing=told.standing,
            )
            for told in seen.agent.filter_effect[:1]
        ]
    return found


def _thing(seen: Look, one: Interaction, measured: str) -> Caution:
    more = ""
    if one.code == "sick_filter":
        more = " " + " ".join(
            f"{told.says.removesuffix('.')} ({backed(told.source, told.standing)})."
            for told in seen.agent.filter_effect
        )
    return caution(
        one.code,
        one.level,
        f"{seen.name}: there is {THINGS[one.code]}. {one.why}{more}",
        measured or "noted in the pond's record",
        one.source,
        one.standing,
    )


def _soft(seen: Look) -> str:
    """Numbers that show soft water, by the limit of the agent where it has one; "" for none."""
    water = seen.water
    low = min(
        (one.alkalinity_low_mg_l for one in seen.routes if one.alkalinity_low_mg_l is not None),
        default=SOFT_ALKALINITY_MG_L,
    )
    by_hardness = any(one.rule == "chloramine_t_by_ph" for one in seen.routes)
    if water.alkalinity_mg_l is not None and water.alkalinity_mg_l < low:
        return f"alkalinity {figures(water.alkalinity_mg_l)} < {figures(low)} mg/L as CaCO3"
    if by_hardness and water.hardness_mg_l is not None and water.hardness_mg_l < HARD_FROM_MG_L:
        return f"hardness {figures(water.hardness_mg_l)} < {figures(HARD_FROM_MG_L)} mg/L as CaCO3"
    return ""


def _high_ph(seen: Look) -> str:
    ph = seen.water.ph
    return "" if ph is None or ph < HIGH_PH else f"pH {figures(ph)}, from {figures(HIGH_PH)}"


def _low_oxygen(seen: Look) -> str:
    oxygen = seen.water.oxygen_mg_l
    if oxygen is None or oxygen >= GOOD_MG_L or seen.agent.oxygen_taken is not None:
        return ""  # what an agent itself takes is reckoned through
    return f"oxygen {figures(oxygen)} < {figures(GOOD_MG_L)} mg/L"


_MEASURED: dict[str, Callable[[Look], str]] = {
    "soft_water": _soft,
    "high_ph": _high_ph,
    "low_oxygen": _low_oxygen,
}
