"""What a clean sample proves: the prevalence that it rules out, and what it might have overlooked.

A number diseased is ruled out when fish examined would have shown at least one positive with the
confidence asked for. One-sided, all the doubt lies on the side of "more are diseased"; two-sided,
half of it, as in an interval: the two differ and are stated apart.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from store.errors import BadInput
from store.exams.sampling import (
    CAUTIONS,
    DESIGNS,
    MOST_FISH,
    PERFECT,
    SOURCE,
    detection,
    diseased_fish,
)
from store.exams.shares import given_confidence, percent, whole
from store.water.given import figures, given

_TIE = 1e-9


@dataclass(frozen=True, slots=True)
class RuledOut:
    """What is ruled out at one confidence.

    `prevalence` is the highest share diseased [-] that is not ruled out, `diseased` the same as a
    number of fish (None in an endless stock). 1 means that nothing is ruled out.
    """

    prevalence: float
    diseased: int | None


@dataclass(frozen=True, slots=True)
class Reached:
    """The chance [-] that the fish examined would have shown a disease of one design prevalence.

    `diseased` are the fish that it stands for, rounded up; None in an endless stock.
    """

    prevalence: float
    diseased: int | None
    detection: float


@dataclass(frozen=True, slots=True)
class Clean:
    """What it proves that all fish examined were negative.

    `one_sided` belongs to the claim "with this confidence no more than so many are diseased",
    `two_sided` is the upper end of the interval of prevalence. `every_fish` says that the whole
    stock was examined, so that no error of sampling is left. `said` is one sentence.
    """

    population: int | None
    examined: int
    sensitivity: float
    confidence: float
    one_sided: RuledOut
    two_sided: RuledOut
    designs: tuple[Reached, ...]
    every_fish: bool
    said: str
    arithmetic: str
    source: str
    remarks: tuple[str, ...]


def what_a_clean_sample_proves(
    population: int | None,
    examined: int,
    sensitivity: float = 1.0,
    confidence: float = 0.95,
    designs: Sequence[float] = DESIGNS,
) -> Clean:
    """The prevalence that a sample without any positive rules out.

    Parameters
    ----------
    population
        Fish in the stock, 1 to 1,000,000 [count]; None for an endless or larger one.
    examined
        Fish examined, drawn at random, all of them negative; at least 1 [count].
    sensitivity
        Share of diseased fish that the test finds, above 0, at most 1 [-].
    confidence
        How sure the claim is to be, above 0, below 1 [-].
    designs
        Design prevalences for which the chance of detection is told, above 0, at most 1 [-].

    Returns
    -------
    Clean
        What is ruled out, one-sided and two-sided.

    Raises
    ------
    BadInput
        A number that cannot be, or more fish examined than there are.

    Examples
    --------
    >>> answer = what_a_clean_sample_proves(None, 60)
    >>> round(answer.one_sided.prevalence, 4), round(answer.two_sided.prevalence, 4)
    (0.0487, 0.0596)
    >>> what_a_clean_sample_proves(12, 12).one_sided.diseased
    0
    """
    given(sensitivity, "sensitivity", above=0.0, high=1.0)
    given_confidence(confidence)
    whole(examined, "number of fish examined", low=1)
    if population is not None:
        whole(population, "number of fish", low=1, high=MOST_FISH)
        if examined > population:
            raise BadInput(
                f"{examined} fish were examined, and the stock has {population}. Please put one of "
                "them right.",
                field="number of fish examined",
            )
    doubt = 1.0 - confidence
    one = _ruled_out(population, examined, sensitivity, doubt)
    two = _ruled_out(population, examined, sensitivity, doubt / 2.0)
    every = population == examined
    return Clean(
        population, examined, sensitivity, confidence, one, two,
        tuple(_reached(population, examined, sensitivity, design) for design in designs),
        every, _said(population, examined, sensitivity, confidence, one),
        _arithmetic(population, examined, sensitivity, doubt, one, two), SOURCE,
        _remarks(sensitivity, confidence, one, two, every=every),
    )  # fmt: skip


def _ruled_out(population: int | None, examined: int, sensitivity: float, doubt: float) -> RuledOut:
    if population is None:
        highest = -math.expm1(math.log(doubt) / examined) / sensitivity
        return RuledOut(min(1.0, highest), None)
    # Diseased fish: `low` is not ruled out, `high` is (or is one more than there are fish).
    low, high = 0, population + 1
    while high - low > 1:
        middle = (low + high) // 2
        if 1.0 - detection(population, middle, examined, sensitivity) > doubt + _TIE:
            low = middle
        else:
            high = middle
    return RuledOut(low / population, low)


def _reached(population: int | None, examined: int, sensitivity: float, design: float) -> Reached:
    given(design, "design prevalence", above=0.0, high=1.0)
    if population is None:
        return Reached(design, None, detection(None, design, examined, sensitivity))
    diseased = diseased_fish(population, design, "up")
    return Reached(
        design, diseased, detection(population, diseased, examined, sensitivity)
    )  # fmt: skip


def _said(
    population: int | None, examined: int, sensitivity: float, confidence: float, one: RuledOut
) -> str:
    if population == examined and sensitivity == 1.0:
        return (
            f"All {examined} fish were examined and none is positive: no error of sampling is left."
        )
    if one.prevalence >= 1.0:
        return (
            f"None of {examined} positive proves nothing at {percent(confidence)}: even if every "
            "fish were diseased, so few with such a test might show none."
        )
    fish = (
        f" ({one.diseased} of {population} fish)"
        if one.diseased is not None
        else " of a large stock"
    )
    return (
        f"None of {examined} positive: with {percent(confidence)} confidence no more than "
        f"{figures(100.0 * one.prevalence, 3)} %{fish} are diseased."
    )


def _arithmetic(
    population: int | None, examined: int, sensitivity: float, doubt: float,
    one: RuledOut, two: RuledOut,
) -> str:  # fmt: skip
    tested = "" if sensitivity == 1.0 else f" / {figures(sensitivity)}"
    steps = []
    for name, left, out in (("one-sided", doubt, one), ("two-sided", doubt / 2.0, two)):
        if population is None:
            exact = -math.expm1(math.log(left) / examined) / sensitivity
            capped = "" if exact < 1.0 else ", which rules nothing out"
            steps.append(
                f"{name}: (1 - {figures(left)}^(1/{examined})){tested} = "
                f"{figures(100.0 * exact)} %{capped}"
            )
            continue
        seen = detection(population, out.diseased or 0, examined, sensitivity)
        step = f"{name}: {out.diseased} diseased would be overlooked in {percent(1.0 - seen)}"
        if (out.diseased or 0) < population:
            more = (out.diseased or 0) + 1
            seen = detection(population, more, examined, sensitivity)
            step += f", {more} in {percent(1.0 - seen)}, allowed {percent(left)}"
        steps.append(step)
    return "; ".join(steps)


def _remarks(
    sensitivity: float, confidence: float, one: RuledOut, two: RuledOut, *, every: bool
) -> tuple[str, ...]:
    remarks = []
    if every:
        remarks.append(
            "Every fish was examined: no error of sampling is left."
            if sensitivity == 1.0
            else "Every fish was examined: no error of sampling is left, but that of the test is."
        )
    if two.prevalence > one.prevalence:
        remarks.append(
            f"That is the one-sided claim. As the upper end of a {percent(confidence)} interval, "
            f"two-sided, {figures(100.0 * two.prevalence, 3)} % stands: say which one is meant."
        )
    if sensitivity == 1.0:
        remarks.append(PERFECT)
    cautions = CAUTIONS[1:] if every else CAUTIONS
    return (*remarks, *cautions)
