"""What share of a stock is positive, from the fish examined, with its interval.

Two intervals are given, exact (Clopper & Pearson) and of scores (Wilson); the textbook form "share
± 2 standard errors" is not, since it leaves 0 to 100 % and has no width where all fish agree. Both
take the stock for endless; of a pond of known number the exact interval in whole fish stands beside
them, and once every fish was examined nothing is left to chance.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from store.errors import BadInput
from store.exams.sampling import MOST_FISH, ON_PURPOSE, RANDOM
from store.exams.shares import given_confidence, percent, whole
from store.exams.tails import at_most, beta_quantile
from store.water.given import figures

SOURCE = (
    "Clopper & Pearson 1934, Biometrika 26:404-413; Wilson 1927, J. Am. Stat. Assoc. 22:209-212; "
    "in a pond of known number the hypergeometric distribution"
)
MUCH_OF_THE_POND = 0.1
"""Share of a stock examined from which the interval of an endless stock is plainly too wide [-]."""


@dataclass(frozen=True, slots=True)
class Interval:
    """Two limits of a share [-], 0 to 1."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class FewestMost:
    """The fewest and the most diseased fish of a pond that the sample leaves possible."""

    fewest: int
    most: int
    population: int

    @property
    def shares(self) -> Interval:
        """The same as shares of the stock [-]."""
        return Interval(self.fewest / self.population, self.most / self.population)


@dataclass(frozen=True, slots=True)
class Prevalence:
    """What share is positive.

    `point` is the share of those examined [-]; `exact` the interval of Clopper & Pearson, `wilson`
    that of Wilson, both two-sided. `at_most` is the exact one-sided upper limit where none was
    positive, `at_least` the one-sided lower limit where all were; None otherwise. `in_pond` is the
    interval in whole fish where the number of fish is known. `said` is one sentence.
    """

    positive: int
    examined: int
    confidence: float
    point: float
    exact: Interval
    wilson: Interval
    at_most: float | None
    at_least: float | None
    in_pond: FewestMost | None
    said: str
    arithmetic: str
    source: str
    remarks: tuple[str, ...]


def prevalence(
    positive: int, examined: int, confidence: float = 0.95, population: int | None = None
) -> Prevalence:
    """The share of fish that are positive, with its intervals.

    Parameters
    ----------
    positive, examined
        Fish found positive, and fish examined, at least one [count].
    confidence
        Confidence of the intervals, above 0, below 1 [-].
    population
        Fish in the stock, up to 1,000,000 [count]; None where it is not known or larger.

    Returns
    -------
    Prevalence
        Share and limits [-].

    Raises
    ------
    BadInput
        Numbers that cannot be: more positive than examined, more examined than there are.

    Notes
    -----
    The share is of fish that the test finds: what it overlooks is not in it.

    Examples
    --------
    >>> answer = prevalence(3, 20)
    >>> round(answer.exact.low, 4), round(answer.exact.high, 4)
    (0.0321, 0.3789)
    >>> round(answer.wilson.low, 4), round(answer.wilson.high, 4)
    (0.0524, 0.3604)
    """
    whole(examined, "number of fish examined", low=1, high=MOST_FISH)
    whole(positive, "number of positive fish", low=0)
    given_confidence(confidence)
    if positive > examined:
        raise BadInput(
            f"{positive} positive of {examined} examined cannot be. Please put one of them right.",
            field="number of positive fish",
        )
    if population is not None:
        whole(population, "number of fish", low=1, high=MOST_FISH)
        if examined > population:
            raise BadInput(
                f"{examined} fish were examined, and the stock has {population}. Please put one of "
                "them right.",
                field="number of fish examined",
            )
    doubt = 1.0 - confidence
    exact = clopper_pearson(positive, examined, confidence)
    scores = wilson(positive, examined, confidence)
    upper = -math.expm1(math.log(doubt) / examined) if positive == 0 else None
    lower = doubt ** (1.0 / examined) if positive == examined else None
    in_pond = (
        None if population is None else fewest_and_most(positive, examined, population, confidence)
    )
    return Prevalence(
        positive, examined, confidence, positive / examined, exact, scores, upper, lower, in_pond,
        _said(positive, examined, confidence, exact, in_pond),
        _arithmetic(positive, examined, confidence, exact, scores, in_pond), SOURCE,
        _remarks(examined, confidence, exact, upper, lower, in_pond),
    )  # fmt: skip


def clopper_pearson(positive: int, examined: int, confidence: float = 0.95) -> Interval:
    """The exact interval: limits at which so many or more, so many or fewer, become too unlikely.

    Parameters
    ----------
    positive, examined
        Fish found positive, and fish examined [count].
    confidence
        Confidence of the interval [-].

    Returns
    -------
    Interval
        Quantiles of the beta distribution [-].

    Examples
    --------
    >>> round(clopper_pearson(0, 60).high, 4)
    0.0596
    """
    half = 0.5 * (1.0 - confidence)
    failed = examined - positive
    low = 0.0 if positive == 0 else beta_quantile(half, positive, failed + 1.0)
    high = 1.0 if failed == 0 else 1.0 - beta_quantile(half, failed, positive + 1.0)
    return Interval(low, high)


def wilson(positive: int, examined: int, confidence: float = 0.95) -> Interval:
    """Wilson's interval of scores, without correction for continuity.

    Parameters
    ----------
    positive, examined
        Fish found positive, and fish examined [count].
    confidence
        Confidence of the interval [-].

    Returns
    -------
    Interval
        Limits [-]; its mean cover is nearer to the confidence than that of the exact interval, in
        single cases it is less.

    Examples
    --------
    >>> round(wilson(0, 20).high, 4)
    0.1611
    """
    z = _normal(confidence)
    share, square = positive / examined, z * z
    middle = share + square / (2.0 * examined)
    spread = z * math.sqrt(share * (1.0 - share) / examined + square / (4.0 * examined**2))
    scale = 1.0 + square / examined
    low = 0.0 if positive == 0 else (middle - spread) / scale
    high = 1.0 if positive == examined else (middle + spread) / scale
    return Interval(max(0.0, low), min(1.0, high))


def _normal(confidence: float) -> float:
    from statistics import NormalDist

    return NormalDist().inv_cdf(0.5 * (1.0 + confidence))


def fewest_and_most(
    positive: int, examined: int, population: int, confidence: float = 0.95
) -> FewestMost:
    """The exact interval in a pond of known number, in whole fish.

    Parameters
    ----------
    positive, examined
        Fish found positive, and fish examined [count].
    population
        Fish in the stock [count].
    confidence
        Confidence of the interval [-].

    Returns
    -------
    FewestMost
        A number diseased is possible while so many or more, and so many or fewer, positive fish
        would each be met with more than half the doubt.

    Examples
    --------
    >>> fewest_and_most(4, 12, 12).most
    4
    >>> fewest_and_most(0, 60, 2000).most
    117
    """
    half = 0.5 * (1.0 - confidence) + 1e-9
    least, greatest = positive, population - (examined - positive)
    low, high = least, greatest
    while low < high:  # the fewest with P(X >= positive) above half the doubt
        middle = (low + high) // 2
        more = 1.0 - at_most(positive - 1, population, middle, examined) if positive else 1.0
        low, high = (low, middle) if more > half else (middle + 1, high)
    fewest = low
    low, high = fewest, greatest
    while low < high:  # the most with P(X <= positive) above half the doubt
        middle = (low + high + 1) // 2
        fits = at_most(positive, population, middle, examined) > half
        low, high = (middle, high) if fits else (low, middle - 1)
    return FewestMost(fewest, low, population)


def _percents(limits: Interval) -> str:
    return f"{figures(100.0 * limits.low, 3)} to {figures(100.0 * limits.high, 3)} %"


def _said(
    positive: int, examined: int, confidence: float, exact: Interval, in_pond: FewestMost | None
) -> str:
    share = f"{positive} of {examined} positive, {figures(100.0 * positive / examined, 3)} %"
    if in_pond is None:
        return f"{share} ({percent(confidence)} interval {_percents(exact)})."
    if in_pond.population == examined:
        return f"{share}: every fish of the pond was examined, no error of sampling is left."
    return (
        f"{share}; of the {in_pond.population} fish of the pond {in_pond.fewest} to "
        f"{in_pond.most} are diseased ({percent(confidence)} interval)."
    )


def _arithmetic(
    positive: int, examined: int, confidence: float,
    exact: Interval, scores: Interval, in_pond: FewestMost | None,
) -> str:  # fmt: skip
    half = 0.5 * (1.0 - confidence)
    failed = examined - positive
    one, other = figures(half), figures(1.0 - half, 5)
    low = "0" if positive == 0 else f"Beta({one}, {positive}, {failed + 1})"
    high = "1" if failed == 0 else f"Beta({other}, {positive + 1}, {failed})"
    z = _normal(confidence)
    steps = [
        f"share = {positive} / {examined} = {figures(positive / examined)}",
        f"exact: {low} to {high} = {_percents(exact)}",
        f"Wilson, z = {figures(z, 5)}: (p + z²/2n ± z √(p(1-p)/n + z²/4n²)) / (1 + z²/n) = "
        f"{_percents(scores)}",
    ]
    if in_pond is not None:
        steps.append(
            f"in a pond of {in_pond.population}: {in_pond.fewest} to {in_pond.most} fish = "
            f"{_percents(in_pond.shares)}"
        )
    return "; ".join(steps)


def _remarks(
    examined: int, confidence: float, exact: Interval,
    upper: float | None, lower: float | None, in_pond: FewestMost | None,
) -> tuple[str, ...]:  # fmt: skip
    remarks = []
    if in_pond is not None and in_pond.population == examined:
        remarks.append(
            "Every fish was examined: no error of sampling is left, only that of the test; the "
            "intervals of an endless stock do not hold."
        )
    elif in_pond is not None and examined > MUCH_OF_THE_POND * in_pond.population:
        remarks.append(
            f"{percent(examined / in_pond.population)} of the pond was examined: the interval in "
            "whole fish is the right one, those of an endless stock are too wide."
        )
    elif in_pond is None:
        remarks.append(
            "The intervals take the stock for endless. Where much of a pond was examined, give the "
            "number of its fish."
        )
    if upper is not None:
        remarks.append(
            f"None positive: one-sided, no more than {figures(100.0 * upper, 3)} % are with "
            f"{percent(confidence)} confidence; the two-sided limit is "
            f"{figures(100.0 * exact.high, 3)} %."
        )
    if lower is not None:
        remarks.append(
            f"All positive: one-sided, at least {figures(100.0 * lower, 3)} % are with "
            f"{percent(confidence)} confidence; the two-sided limit is "
            f"{figures(100.0 * exact.low, 3)} %."
        )
    remarks += [
        "Counted are fish that the test finds: those it overlooks are not in the share.",
        RANDOM,
        ON_PURPOSE,
    ]
    return tuple(remarks)
