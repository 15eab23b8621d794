"""The calculators of examinations behind `pondround reckon`: text in, an answer out."""

from __future__ import annotations

import argparse
import re
from typing import TYPE_CHECKING, cast

from store.errors import BadInput
from store.text import plain
from tui.commands.answer import Answer, Value

if TYPE_CHECKING:
    from store.exams.sampling import Rounding

_ENDLESS = frozenset({"inf", "infinite", "large"})


def share(text: str, name: str) -> float:
    """A share of 0 to 1, as 5%, 0.05 or 1 for all; a bare 5 could be either and is refused.

    Parameters
    ----------
    text
        As typed.
    name
        The word for it in the sentence.
    """
    from store.water.measures import quantity

    value, unit = quantity(text, name)
    if unit == "%":
        return value / 100.0
    if unit:
        raise BadInput(f"The {name} must be a share, such as 5% or 0.05.", field=name)
    if value == 1.0 and name == "prevalence":
        raise BadInput(
            "A prevalence of 1 could be one of a hundred or every fish. Please write 1% or 100%.",
            field=name,
        )
    if value > 1.0:
        percent = plain(text).strip()
        raise BadInput(
            f"The {name} {percent} is not clear. Please write {percent}% for {percent} of a "
            "hundred, or a number below 1.",
            field=name,
        )
    return value


def fish(text: str, name: str) -> int:
    """A number of fish, without a unit.

    Parameters
    ----------
    text
        As typed.
    name
        The word for it in the sentence.
    """
    from store.water.measures import quantity

    value, unit = quantity(text, name)
    if unit not in ("", "fish") or value != int(value):
        raise BadInput(f"The {name} must be a whole number.", field=name)
    return int(value)


def counts(text: str, name: str) -> list[float]:
    """One number a fish, parted by commas, semicolons or blanks.

    Parameters
    ----------
    text
        As typed; with semicolons between them numbers may carry a decimal comma.
    name
        The word for it in the sentence.
    """
    from store.water.measures import quantity

    parted = text.split(";") if ";" in text else re.split(r"[,\s]+", text.strip())
    if ";" not in text and re.search(r"\d,\d", text) and re.search(r"\d\s+\d", text):
        raise BadInput(
            f"The {name} have commas and blanks between them, so that it is not clear which part "
            "two numbers. Please write 3, 5, 2 or 3,5; 2.",
            field=name,
        )
    found = []
    for one in parted:
        if not one.strip():
            continue
        value, unit = quantity(one, name)
        if unit:
            raise BadInput(f"The {name} must be plain numbers, one a fish.", field=name)
        found.append(value)
    return found


def _population(text: str) -> int | None:
    return None if text.strip().casefold() in _ENDLESS else fish(text, "number of fish")


def sample(args: argparse.Namespace) -> Answer:
    """How many fish to examine, or what a clean sample proves."""
    population = _population(args.population)
    confidence = share(args.confidence, "confidence")
    sensitivity = share(args.sensitivity, "sensitivity")
    if args.examined is not None:
        return _clean(population, args, confidence, sensitivity)
    from store.exams.sampling import fish_to_examine

    answer = fish_to_examine(
        population, share(args.prevalence, "prevalence"), confidence, sensitivity,
        cast("Rounding", args.rounding),
    )  # fmt: skip
    return Answer(
        values={
            "fish": answer.fish,
            "reached_percent": 100.0 * answer.reached,
            "diseased": answer.diseased,
            "rounding": answer.rounded,
            "cautious_fish": answer.cautious_fish,
        },
        units={
            "fish": "fish",
            "reached_percent": "%",
            "diseased": "fish",
            "rounding": "1",
            "cautious_fish": "fish",
        },
        labels={
            "fish": "examine",
            "reached_percent": "which reach",
            "diseased": "diseased to be met",
            "rounding": "number diseased",
            "cautious_fish": "rounded down",
        },
        arithmetic=answer.arithmetic,
        source=answer.source,
        remarks=answer.remarks,
    )


def _clean(
    population: int | None, args: argparse.Namespace, confidence: float, sensitivity: float
) -> Answer:
    from store.exams.clean import what_a_clean_sample_proves

    answer = what_a_clean_sample_proves(
        population, fish(args.examined, "number of fish examined"), sensitivity, confidence
    )
    values: dict[str, Value] = {
        "said": answer.said,
        "one_sided_percent": 100.0 * answer.one_sided.prevalence,
        "two_sided_percent": 100.0 * answer.two_sided.prevalence,
    }
    units = {"said": "1", "one_sided_percent": "%", "two_sided_percent": "%"}
    labels = {
        "said": "clean sample",
        "one_sided_percent": "ruled out above",
        "two_sided_percent": "end of interval",
    }
    for one in answer.designs:
        key = f"detection_of_{100.0 * one.prevalence:g}_percent"
        values[key], units[key] = 100.0 * one.detection, "%"
        labels[key] = f"chance to find {100.0 * one.prevalence:g} %"
    return Answer(values, units, labels, answer.arithmetic, answer.source, answer.remarks)


def prevalence(args: argparse.Namespace) -> Answer:
    """The share of fish that are positive, by both methods."""
    from store.exams.prevalence import prevalence as reckoned

    answer = reckoned(
        fish(args.positive, "number of positive fish"),
        fish(args.examined, "number of fish examined"),
        share(args.confidence, "confidence"),
        None if args.population is None else _population(args.population),
    )
    values: dict[str, Value] = {
        "percent": 100.0 * answer.point,
        "low": answer.exact.low,
        "high": answer.exact.high,
        "wilson_low": answer.wilson.low,
        "wilson_high": answer.wilson.high,
        "one_sided_high": answer.at_most,
        "one_sided_low": answer.at_least,
        "said": answer.said,
    }
    labels = {
        "said": "positive",
        "low": "exact, low",
        "high": "exact, high",
        "wilson_low": "Wilson, low",
        "wilson_high": "Wilson, high",
        "one_sided_high": "one-sided, at most",
        "one_sided_low": "one-sided, at least",
    }
    units = {**dict.fromkeys(values, "1"), "percent": "%"}
    if answer.in_pond is not None:
        values["fewest"], values["most"] = answer.in_pond.fewest, answer.in_pond.most
        units["fewest"] = units["most"] = "fish"
        labels["fewest"], labels["most"] = "fewest of the pond", "most of the pond"
    return Answer(values, units, labels, answer.arithmetic, answer.source, answer.remarks)


def reduction(args: argparse.Namespace) -> Answer:
    """Counts of parasites before against after; of scores the share of fish with any."""
    before, after = counts(args.before, "counts before"), counts(args.after, "counts after")
    confidence = share(args.confidence, "confidence")
    if args.scores:
        return _carrying(before, after, confidence)
    from store.exams.reduction import reduction as reckoned

    answer = reckoned(
        before, after, same_fish=args.same_fish, confidence=confidence,
        seed=fish(args.seed, "seed"), draws=fish(args.draws, "number of draws"),
    )  # fmt: skip
    shown, drawn = answer.shown, answer.drawn
    return Answer(
        values={
            "said": answer.said,
            "percent": answer.percent,
            "low": None if shown is None else shown.low,
            "high": None if shown is None else shown.high,
            "method": answer.method,
            "drawn_low": None if drawn is None else drawn.low,
            "drawn_high": None if drawn is None else drawn.high,
            "mean_before": answer.mean_before,
            "mean_after": answer.mean_after,
            "seed": answer.seed,
            "draws": answer.draws,
        },
        units={
            "said": "1",
            "percent": "%",
            "low": "%",
            "high": "%",
            "method": "1",
            "drawn_low": "%",
            "drawn_high": "%",
            "mean_before": "a fish",
            "mean_after": "a fish",
            "seed": "1",
            "draws": "1",
        },
        labels={
            "said": "did it work",
            "percent": "reduction",
            "low": "low",
            "high": "high",
            "method": "limits by",
            "drawn_low": "drawn anew, low",
            "drawn_high": "drawn anew, high",
        },
        arithmetic=answer.arithmetic,
        source=answer.source,
        remarks=answer.remarks,
    )


def _carrying(before: list[float], after: list[float], confidence: float) -> Answer:
    from store.exams.carrying import carrying

    answer = carrying(before, after, confidence)
    values: dict[str, Value] = {"said": answer.said}
    for name, side in (("before", answer.before), ("after", answer.after)):
        values[f"percent_{name}"] = 100.0 * side.point
        values[f"low_{name}"] = 100.0 * side.exact.low
        values[f"high_{name}"] = 100.0 * side.exact.high
    units = {key: "1" if key == "said" else "%" for key in values}
    labels = {"said": "fish with any", "percent_before": "before", "percent_after": "after"}
    return Answer(values, units, labels, answer.arithmetic, answer.source, answer.remarks)
