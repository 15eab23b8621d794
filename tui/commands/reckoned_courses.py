"""The calculators of treatment courses behind `pondround reckon`: text in, an answer out."""

from __future__ import annotations

import argparse
from typing import TYPE_CHECKING, cast

from store.errors import BadInput
from tui.commands.answer import Answer, Value
from tui.commands.typed import (
    DAYS,
    DENSITY,
    DOSE_MG_L,
    DOSE_UL_L,
    HOURS,
    PER_KG_FEED,
    PER_KG_FISH,
    PERCENT,
    in_unit,
    kilograms,
    litres,
    salinity,
    temperature,
    whole,
)

if TYPE_CHECKING:
    from store.courses.baths.amount import Amount, Basis
    from store.facts.agent import Agent

_FEED_WORDS = {"mg/kg/d": "mg per kg fish and day", "mg/kg feed": "mg per kg feed"}
LEVEL_WORDS = {"stop": "STOP: ", "mind": "Mind: ", "": ""}


def bath(args: argparse.Namespace) -> Answer:
    """What to weigh or measure out for a bath."""
    from store.courses.baths.amount import bath_amount, bath_by_volume
    from store.water.measures import quantity, spelt

    volume_l = litres(args.volume)
    strength = 100.0 if args.strength is None else in_unit(args.strength, "strength", PERCENT)
    density = None if args.density is None else in_unit(args.density, "density", DENSITY)
    low_l = None if args.low is None else litres(args.low, "least volume")
    high_l = None if args.high is None else litres(args.high, "greatest volume")
    if spelt(quantity(args.dose, "dose")[1]) in DOSE_UL_L:
        if args.basis not in (None, "product"):
            raise BadInput(
                "A dose in microlitres is of the product: the basis cannot be w/w or w/v.",
                field="basis",
            )
        answer = bath_by_volume(
            in_unit(args.dose, "dose", DOSE_UL_L), volume_l,
            strength_percent=strength, density_g_ml=density, low_l=low_l, high_l=high_l,
        )  # fmt: skip
    else:
        answer = bath_amount(
            in_unit(args.dose, "dose", DOSE_MG_L), volume_l,
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
    from store.courses.baths.residue import equal_steps, residue

    half_life_h = None if args.half_life is None else in_unit(args.half_life, "half-life", HOURS)
    answer = residue(
        equal_steps(
            in_unit(args.dose, "dose", DOSE_MG_L),
            whole(args.doses, "number of doses"),
            in_unit(args.every, "interval", DAYS),
            in_unit(args.water_change, "water change", PERCENT),
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
    from store.courses.feeding.appetite import feeding_at
    from store.courses.feeding.feed import fish_dose, medicated_feed, rate_from_feed

    biomass_kg = kilograms(args.biomass, "biomass")
    days = whole(args.days, "number of days")
    if args.rate is None:
        rate = rate_from_feed(kilograms(args.feed, "feed"), days, biomass_kg)
    else:
        rate = in_unit(args.rate, "feeding rate", PERCENT)
    strength = 100.0 if args.strength is None else in_unit(args.strength, "strength", PERCENT)
    arithmetic, remarks = [], []
    if args.inclusion is None:
        dose = in_unit(args.dose, "dose", PER_KG_FISH)
    else:
        back = fish_dose(in_unit(args.inclusion, "inclusion", PER_KG_FEED), rate)
        dose = back.mg_kg_day
        arithmetic.append(back.arithmetic)
    answer = medicated_feed(dose, biomass_kg, rate, days, strength_percent=strength)
    arithmetic.append(answer.arithmetic)
    if args.agent is not None:
        remarks += _beside_published(args.agent, dose, answer.mg_per_kg_feed)
    if args.temp is not None:
        fed = feeding_at(temperature(args.temp), rate)
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


def feeding(args: argparse.Namespace) -> Answer:
    """The total ammonia that a day's feed makes; whether they eat so much at the temperature."""
    from store.courses.feeding.appetite import feeding_at
    from store.water.ammonia_from_feed import ammonia_from_feed

    rate = in_unit(args.rate, "feeding rate", PERCENT)
    answer = ammonia_from_feed(
        kilograms(args.biomass, "biomass"), rate, in_unit(args.protein, "protein", PERCENT),
        litres(args.volume),
    )  # fmt: skip
    arithmetic, source, remarks = [answer.arithmetic], [answer.source], list(answer.remarks)
    if args.temp is not None:
        fed = feeding_at(temperature(args.temp), rate)
        remarks += [LEVEL_WORDS[fed.level if place == 0 else ""] + one
                    for place, one in enumerate(fed.remarks)]  # fmt: skip
        arithmetic += [fed.arithmetic] if fed.arithmetic else []
        source += [fed.source] if fed.source else []
    return Answer(
        values={
            "tan_mg_l_day": answer.tan_mg_l_day,
            "tan_g_day": answer.tan_g_day,
            "feed_kg_day": answer.feed_kg_day,
        },
        units={"tan_mg_l_day": "mg/L as N a day", "tan_g_day": "g as N a day", "feed_kg_day": "kg"},
        labels={
            "tan_mg_l_day": "total ammonia, nothing removing it",
            "tan_g_day": "total ammonia from the feed",
            "feed_kg_day": "feed of a day",
        },
        arithmetic="; ".join(arithmetic),
        source="; ".join(source),
        remarks=tuple(remarks),
    )


def _beside_published(code: str, mg_kg_day: float, mg_per_kg_feed: float) -> list[str]:
    """What the formulary publishes for an agent with the feed, beside what is planned."""
    from store.courses.feeding.feed import beside
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


def salt(args: argparse.Namespace) -> Answer:
    """The salt that brings a pond from one salinity to a higher one."""
    from store.courses.baths.salt_target import salt_to_target

    answer = salt_to_target(
        litres(args.volume),
        salinity(args.present, "salinity"),
        salinity(args.to, "wanted salinity"),
        purity=1.0 if args.purity is None else in_unit(args.purity, "purity", {"": 1.0, "%": 0.01}),
        volume_low_l=None if args.low is None else litres(args.low, "least volume"),
        volume_high_l=None if args.high is None else litres(args.high, "greatest volume"),
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
