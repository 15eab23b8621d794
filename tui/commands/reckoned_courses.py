"""The calculators of treatment courses behind `pondround reckon`: text in, an answer out."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from typing import TYPE_CHECKING, cast

from store.errors import BadInput
from tui.commands.answer import Answer, Value

if TYPE_CHECKING:
    from store.courses.amount import Amount, Basis
    from store.facts.agent import Agent

LEVEL_WORDS = {"stop": "STOP: ", "mind": "Mind: ", "": ""}

# What a bath dose may be typed in, as factors to mg/L; microlitres are another thing altogether.
_DOSE_MG_L = {"": 1.0, "mg/l": 1.0, "ppm": 1.0, "g/m3": 1.0, "ug/l": 0.001, "g/l": 1000.0,
              "ppt": 1000.0}  # fmt: skip
_DOSE_UL_L = {"ul/l": 1.0, "ml/m3": 1.0, "ml/l": 1000.0}
_DAYS = {"": 1.0, "d": 1.0, "day": 1.0, "days": 1.0, "h": 1.0 / 24.0, "w": 7.0, "weeks": 7.0}
_HOURS = {"": 1.0, "h": 1.0, "hours": 1.0, "min": 1.0 / 60.0, "d": 24.0, "days": 24.0}
_PERCENT = {"": 1.0, "%": 1.0, "%w/w": 1.0, "%w/v": 1.0}
_DENSITY = {"": 1.0, "g/ml": 1.0, "kg/l": 1.0, "kg/m3": 0.001, "g/l": 0.001}
_IN_FEED = {"": 1.0, "mg/kg": 1.0, "ppm": 1.0, "g/kg": 1000.0, "g/t": 1.0}
_TO_FISH = {"": 1.0, "mg/kg": 1.0, "mg/kg/d": 1.0, "mg/kg/day": 1.0, "g/kg": 1000.0}
_FEED_WORDS = {"mg/kg/d": "mg per kg fish and day", "mg/kg feed": "mg per kg feed"}
_DEGREE_DAYS = {"": 1.0, "dd": 1.0, "cd": 1.0}


def _in(text: str, name: str, factors: Mapping[str, float]) -> float:
    from store.water.measures import quantity, spelt, unknown_unit

    value, unit = quantity(text, name)
    factor = factors.get(spelt(unit))
    if factor is None:
        raise unknown_unit(name, unit, tuple(one for one in factors if one))
    return value * factor


def _litres(text: str, name: str = "volume") -> float:
    from store.water.measures import quantity, to_litres

    return to_litres(*quantity(text, name))


def _kilograms(text: str, name: str) -> float:
    from store.water.measures import quantity, to_grams

    value, unit = quantity(text, name)
    return to_grams(value, unit or "kg") / 1000.0


def _whole(text: str, name: str) -> int:
    value = _in(text, name, {"": 1.0, "d": 1.0, "days": 1.0})
    if value != int(value):
        raise BadInput(f"The {name} must be a whole number.", field=name)
    return int(value)


def _temperature(text: str) -> float:
    from store.water.measures import quantity
    from store.water.units import to_stored

    value, unit = quantity(text, "temperature")
    return to_stored("temperature_c", value, unit)


def bath(args: argparse.Namespace) -> Answer:
    """What to weigh or measure out for a bath."""
    from store.courses.amount import bath_amount, bath_by_volume
    from store.water.measures import quantity, spelt

    volume_l = _litres(args.volume)
    strength = 100.0 if args.strength is None else _in(args.strength, "strength", _PERCENT)
    density = None if args.density is None else _in(args.density, "density", _DENSITY)
    low_l = None if args.low is None else _litres(args.low, "least volume")
    high_l = None if args.high is None else _litres(args.high, "greatest volume")
    if spelt(quantity(args.dose, "dose")[1]) in _DOSE_UL_L:
        if args.basis not in (None, "product"):
            raise BadInput(
                "A dose in microlitres is of the product: the basis cannot be w/w or w/v.",
                field="basis",
            )
        answer = bath_by_volume(
            _in(args.dose, "dose", _DOSE_UL_L), volume_l,
            strength_percent=strength, density_g_ml=density, low_l=low_l, high_l=high_l,
        )  # fmt: skip
    else:
        answer = bath_amount(
            _in(args.dose, "dose", _DOSE_MG_L), volume_l,
            strength_percent=strength, basis=cast("Basis", args.basis or "w/w"),
            density_g_ml=density, low_l=low_l, high_l=high_l,
        )  # fmt: skip
    return _bath(answer)


def _bath(answer: Amount) -> Answer:
    unit = answer.out.unit
    key = "grams" if unit == "g" else "millilitres"
    dose_unit = "µL/L" if answer.dose_unit == "uL/L" else "mg/L"
    values: dict[str, Value] = {
        key: answer.out.exact,
        f"measured_{key}": answer.out.measured,
        f"step_{key}": answer.out.step,
        "short_percent": answer.out.short_percent,
        "active_mg_l": answer.active_mg_l,
    }
    units = {
        key: unit,
        f"measured_{key}": unit,
        f"step_{key}": unit,
        "short_percent": "%",
        "active_mg_l": "mg/L",
    }
    labels = {
        key: "to give",
        f"measured_{key}": "measured out",
        f"step_{key}": "step of the scale",
        "active_mg_l": "active substance",
    }
    if unit == "mL":
        values["mass_g"], units["mass_g"], labels["mass_g"] = answer.mass_g, "g", "which weighs"
    for where, amount, dose in (
        ("least", answer.at_low, answer.highest_dose),
        ("greatest", answer.at_high, answer.lowest_dose),
    ):
        if amount is not None:
            name = f"{key}_for_{where}_volume"
            values[name], units[name] = amount.exact, unit
            labels[name] = f"for the {where} volume"
            name = f"dose_in_{where}_volume"
            values[name], units[name] = dose, dose_unit
            labels[name] = f"dose in the {where}"
    return Answer(values, units, labels, answer.arithmetic, answer.source, answer.remarks)


def residue(args: argparse.Namespace) -> Answer:
    """Peaks and troughs over a course."""
    from store.courses.residue import equal_steps, residue

    half_life_h = None if args.half_life is None else _in(args.half_life, "half-life", _HOURS)
    answer = residue(
        equal_steps(
            _in(args.dose, "dose", _DOSE_MG_L),
            _whole(args.doses, "number of doses"),
            _in(args.every, "interval", _DAYS),
            _in(args.water_change, "water change", _PERCENT),
        ),
        half_life_h=half_life_h,
    )
    return Answer(
        values={
            "peaks_mg_l": answer.peaks_mg_l,
            "troughs_mg_l": answer.troughs_mg_l,
            "bound_mg_l": answer.bound_mg_l,
            "plateau_mg_l": answer.plateau_mg_l,
            "end_mg_l": answer.end_mg_l,
            "exposure_mg_h_l": answer.exposure_mg_h_l,
        },
        units={
            "peaks_mg_l": "mg/L",
            "troughs_mg_l": "mg/L",
            "bound_mg_l": "mg/L",
            "plateau_mg_l": "mg/L",
            "end_mg_l": "mg/L",
            "exposure_mg_h_l": "mg h/L",
        },
        labels={
            "peaks_mg_l": "peaks after each dose",
            "troughs_mg_l": "just before each next",
            "bound_mg_l": "peaks without loss",
            "plateau_mg_l": "peaks end at",
            "end_mg_l": "left an interval later",
            "exposure_mg_h_l": "exposure",
        },
        arithmetic=answer.arithmetic,
        source=answer.source,
        remarks=answer.remarks,
    )


def feed(args: argparse.Namespace) -> Answer:
    """Medicated feed, from the dose for the fish or from the inclusion in the feed."""
    from store.courses.feed import feeding_at, fish_dose, medicated_feed, rate_from_feed

    biomass_kg = _kilograms(args.biomass, "biomass")
    days = _whole(args.days, "number of days")
    if args.rate is None:
        rate = rate_from_feed(_kilograms(args.feed, "feed"), days, biomass_kg)
    else:
        rate = _in(args.rate, "feeding rate", _PERCENT)
    strength = 100.0 if args.strength is None else _in(args.strength, "strength", _PERCENT)
    arithmetic, remarks = [], []
    if args.inclusion is None:
        dose = _in(args.dose, "dose", _TO_FISH)
    else:
        back = fish_dose(_in(args.inclusion, "inclusion", _IN_FEED), rate)
        dose = back.mg_kg_day
        arithmetic.append(back.arithmetic)
    answer = medicated_feed(dose, biomass_kg, rate, days, strength_percent=strength)
    arithmetic.append(answer.arithmetic)
    if args.agent is not None:
        remarks += _beside_published(args.agent, dose, answer.mg_per_kg_feed)
    if args.temp is not None:
        fed = feeding_at(_temperature(args.temp), rate)
        remarks += [LEVEL_WORDS[fed.level if place == 0 else ""] + one
                    for place, one in enumerate(fed.remarks)]  # fmt: skip
        arithmetic += [fed.arithmetic] if fed.arithmetic else []
    return Answer(
        values={
            "feed_kg": answer.feed_kg,
            "product_g": answer.product_g,
            "mg_per_kg_feed": answer.mg_per_kg_feed,
            "mg_kg_day": dose,
            "rate_percent": rate,
            "measured_g": answer.product.measured,
            "feed_kg_day": answer.feed_kg_day,
            "product_g_day": answer.product_g_day,
            "product_g_per_kg_feed": answer.product_g_per_kg_feed,
        },
        units={
            "feed_kg": "kg",
            "product_g": "g",
            "mg_per_kg_feed": "mg/kg",
            "mg_kg_day": "mg per kg fish and day",
            "rate_percent": "% of biomass a day",
            "measured_g": "g",
            "feed_kg_day": "kg",
            "product_g_day": "g",
            "product_g_per_kg_feed": "g/kg",
        },
        labels={
            "feed_kg": "feed for the course",
            "product_g": "product for the course",
            "measured_g": "weighed out",
            "mg_per_kg_feed": "active in the feed",
            "mg_kg_day": "the fish get",
            "rate_percent": "feeding rate",
            "feed_kg_day": "feed a day",
            "product_g_day": "product a day",
            "product_g_per_kg_feed": "product in the feed",
        },
        arithmetic="; ".join(arithmetic),
        source=answer.source,
        remarks=(*remarks, *answer.remarks),
    )


def _beside_published(code: str, mg_kg_day: float, mg_per_kg_feed: float) -> list[str]:
    """What the formulary publishes for an agent with the feed, beside what is planned."""
    from store.courses.feed import beside
    from store.facts.agents import agent_by_code
    from store.facts.sources import cite_with_standing

    agent: Agent = agent_by_code(code)
    said = []
    for route in agent.routes:
        if route.code != "feed":
            continue
        cited = cite_with_standing(route.source, route.standing)
        head = f"{agent.name}, {route.for_what}"
        planned = {"mg/kg/d": mg_kg_day, "mg/kg feed": mg_per_kg_feed}.get(route.unit)
        if planned is None:
            said.append(f"{head}: published {route.dose_high:g} {route.unit} ({cited})")
            continue
        # A dose that is published as "up to" has no low end to fall short of.
        low = min(planned, route.dose_high) if route.dose_low is None else route.dose_low
        judged = beside(planned, low, route.dose_high, _FEED_WORDS[route.unit])
        said.append(f"{LEVEL_WORDS[judged.level]}{head}: {judged.said} ({cited})")
    return said or [f"The formulary has no dose of {agent.name} with the feed."]


def cycle(args: argparse.Namespace) -> Answer:
    """The life cycle of a parasite at a temperature and the interval that follows from it."""
    from store.courses.cycle import life_cycle, proposed_interval

    temp_c = _temperature(args.temp)
    found = life_cycle(args.hazard, temp_c)
    told = next(one.name for one in found.stages if one.code == found.stage)
    values: dict[str, Value] = {
        "days": found.days,
        "days_low": found.days_low,
        "days_high": found.days_high,
        "stage": told,
        "interval_days": None,
        "doses": None,
        "last_dose_day": None,
    }
    units = {
        "days": "d",
        "days_low": "d",
        "days_high": "d",
        "stage": "1",
        "interval_days": "d",
        "doses": "1",
        "last_dose_day": "d",
    }
    labels = {
        "stage": found.organism,
        "days": "takes",
        "days_low": "at least",
        "days_high": "at most",
        "interval_days": "days between doses",
        "doses": "doses",
        "last_dose_day": "last dose on day",
    }
    for one in found.stages:
        if one.code != found.stage:
            key = f"{one.code}_days"
            values[key], units[key], labels[key] = one.days, "d", one.name
    arithmetic, sources, points = [found.arithmetic], [found.source], list(found.points)
    remarks = list(found.remarks)
    try:
        interval = proposed_interval(args.hazard, temp_c)
    except BadInput as refused:
        remarks.insert(0, refused.message)
    else:
        values["interval_days"] = interval.days
        values["doses"] = interval.doses
        values["last_dose_day"] = interval.course_days
        arithmetic.append(interval.arithmetic)
        sources.append(interval.source)
        points += interval.points
        remarks += [*interval.remarks, *(f"Also published: {one}" for one in interval.alternates)]
    return Answer(
        values=values,
        units=units,
        labels=labels,
        arithmetic="; ".join(arithmetic),
        source="; ".join(dict.fromkeys(sources)),
        remarks=(
            *dict.fromkeys(remarks),
            *(f"Published point: {one}" for one in dict.fromkeys(points)),
        ),
    )


def salt(args: argparse.Namespace) -> Answer:
    """The salt that brings a pond from one salinity to a higher one."""
    from store.courses.salt_target import salt_to_target

    answer = salt_to_target(
        _litres(args.volume),
        _salinity(args.present, "salinity"),
        _salinity(args.to, "wanted salinity"),
        purity=1.0 if args.purity is None else _in(args.purity, "purity", {"": 1.0, "%": 0.01}),
        volume_low_l=None if args.low is None else _litres(args.low, "least volume"),
        volume_high_l=None if args.high is None else _litres(args.high, "greatest volume"),
    )
    return Answer(
        values={
            "grams": answer.grams,
            "grams_for_least_volume": answer.low_g,
            "grams_for_greatest_volume": answer.high_g,
            "salinity_in_least_volume": answer.reached_high_g_l,
            "salinity_in_greatest_volume": answer.reached_low_g_l,
            "water_change_percent": answer.water_change_percent,
        },
        units={
            "grams": "g",
            "grams_for_least_volume": "g",
            "grams_for_greatest_volume": "g",
            "salinity_in_least_volume": "g/L",
            "salinity_in_greatest_volume": "g/L",
            "water_change_percent": "%",
        },
        labels={
            "grams": "salt to add",
            "grams_for_least_volume": "for the least volume",
            "grams_for_greatest_volume": "for the greatest volume",
            "salinity_in_least_volume": "salinity in the least",
            "salinity_in_greatest_volume": "salinity in the greatest",
            "water_change_percent": "water change instead",
        },
        arithmetic=answer.arithmetic,
        source=answer.source,
        remarks=answer.remarks,
    )


def _salinity(text: str, name: str) -> float:
    from store.water.measures import quantity
    from store.water.units import to_stored

    value, unit = quantity(text, name)
    return to_stored("salinity_g_l", value, unit)
