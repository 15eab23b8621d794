"""The calculators of time behind `pondround reckon`: life cycles and withdrawal."""

from __future__ import annotations

import argparse
from datetime import date

from store.errors import BadInput
from tui.commands.answer import Answer, Value
from tui.commands.typed import DEGREE_DAYS, day, in_unit, temperature


def cycle(args: argparse.Namespace) -> Answer:
    """The life cycle of a parasite at a temperature and the interval that follows from it."""
    from store.courses.cycles.cycle import life_cycle, proposed_interval

    temp_c = temperature(args.temp)
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


def withdrawal(args: argparse.Namespace) -> Answer:
    """Until when treated fish must not be eaten, at a steady temperature."""
    from store.courses.food.withdrawal import withdrawal

    answer = withdrawal(
        in_unit(args.degree_days, "degree-days", DEGREE_DAYS),
        day(args.last_dose, "last dose"),
        expected_c=temperature(args.temp),
        spread_c=0.0
        if args.spread is None
        else in_unit(args.spread, "spread", {"": 1.0, "c": 1.0}),
    )

    def iso(one: date | None) -> str | None:
        return None if one is None else one.isoformat()

    unsure = args.spread is not None
    return Answer(
        values={
            "until": iso(answer.until),
            "free_from": iso(answer.free_from),
            "until_if_warm": iso(answer.until_if_warm) if unsure else None,
            "until_if_cold": iso(answer.until_if_cold) if unsure else None,
            "days": answer.days,
        },
        units={
            "until": "date",
            "free_from": "date",
            "until_if_warm": "date",
            "until_if_cold": "date",
            "days": "d",
        },
        labels={
            "until": "not for food until",
            "free_from": "free from",
            "until_if_warm": "until, if warmer",
            "until_if_cold": "until, if colder",
            "days": "days",
        },
        arithmetic=answer.arithmetic,
        source=answer.source,
        remarks=answer.remarks,
    )
