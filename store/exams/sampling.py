"""How many fish must be looked at to find a disease, and what it proves to have found none.

The chance that n fish, drawn at random from N with D diseased, show no positive is the sum over the
diseased fish among them of hypergeometric chance times (1 - Se) to their number; in a stock without
end it is (1 - p Se)^n. The sample is the smallest n that leaves no more than 1 - confidence to
chance. Nothing here is an approximation but the rounding "fraction", which follows a printed table.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from store.errors import BadInput
from store.exams.shares import given_confidence, percent, whole
from store.exams.tails import caught
from store.water.given import figures, given

SOURCE = "arithmetic: hypergeometric distribution, in an endless stock binomial, with sensitivity"
SOURCE_FRACTION = (
    "from memory, believed to stand in: Cannon & Roe 1982, Livestock Disease Surveys: A Field "
    "Manual for Veterinarians, Australian Government Publishing Service"
)
MOST_FISH = 1_000_000
"""Above this a stock counts as endless: the sample no longer depends on it."""
DESIGNS = (0.02, 0.05, 0.10)
"""Design prevalences that are customary for fish; see `CUSTOM`."""

Rounding = Literal["up", "nearest", "down", "fraction"]
ROUNDINGS: MappingProxyType[str, str] = MappingProxyType(
    {
        "up": (
            "rounded up: at this prevalence or more there is at least that whole number of "
            "diseased fish. Exact; no printed table follows it cell for cell"
        ),
        "nearest": "rounded to the nearest whole number, at least 1. No printed table follows it",
        "down": (
            "rounded down, at least 1: the cautious choice, which asks for more fish. No printed "
            "table follows it"
        ),
        "fraction": (
            "left as a fraction in the approximation of Cannon & Roe 1982, as their printed "
            "95 % table does (from memory)"
        ),
    }
)
"""What each rounding of the number diseased means, and which printed table follows it."""

CUSTOM = (
    "Samples of 30, 60 and 150 fish are customary; they fit 10, 5 and 2 % in large stocks "
    "(de Blas et al. 2020, Front. Vet. Sci. 7:253)."
)
RANDOM = (
    "The fish must be chosen at random. Those that a net catches first, slow and weak ones, are "
    "no random choice."
)
ON_PURPOSE = (
    "Sick fish chosen on purpose find a disease sooner, but from them no prevalence and no freedom "
    "from disease may be claimed."
)
CLUSTERED = (
    "Where the sick keep together, or several ponds count as one stock, such reckoning is too "
    "hopeful (de Blas et al. 2020, Front. Vet. Sci. 7:253)."
)
VALUABLE = (
    "Valuable fish are seldom sampled so that they die: look at as many as may be, and report the "
    "chance of detection that was reached."
)
PERFECT = (
    "The test is taken to find every diseased fish; where it overlooks some, more fish are needed "
    "and less is proven."
)
CAUTIONS = (RANDOM, ON_PURPOSE, CLUSTERED, VALUABLE)
"""What is to be read beside every number of fish."""

_TIE = 1e-9


@dataclass(frozen=True, slots=True)
class Sample:
    """How many fish to examine.

    `fish` is the number; `diseased` the diseased fish that it is laid out to meet (a fraction for
    the rounding "fraction"), None in an endless stock; `reached` the chance [-] of at least one
    positive among `fish`; `rounded` says in words how `diseased` came about. `cautious_fish` is the
    number with the diseased rounded down; None where even all fish do not reach the confidence
    then. `population` is None for an endless stock.
    """

    fish: int
    population: int | None
    prevalence: float
    confidence: float
    sensitivity: float
    rounding: Rounding
    diseased: float | None
    reached: float
    rounded: str
    cautious_fish: int | None
    arithmetic: str
    source: str
    remarks: tuple[str, ...]


def detection(population: int | None, diseased: float, examined: int, sensitivity: float = 1.0
              ) -> float:  # fmt: skip
    """The chance that at least one of the fish examined is found positive.

    Parameters
    ----------
    population
        Fish in the stock [count]; None for an endless stock.
    diseased
        Diseased fish in the stock, a whole number [count]; in an endless stock their share [-].
    examined
        Fish drawn at random and examined [count].
    sensitivity
        Share of diseased fish that the test finds, above 0, at most 1 [-].

    Returns
    -------
    float
        A probability [-]: in a stock of a million good to 1e-8, in a pond to 1e-11.

    Raises
    ------
    BadInput
        A number that cannot be.

    Examples
    --------
    >>> round(detection(2000, 100, 60), 4), round(detection(None, 0.05, 59), 4)
    (0.9561, 0.9515)
    """
    _sensitivity(sensitivity)
    if population is None:
        share = given(diseased, "prevalence", low=0.0, high=1.0)
        whole(examined, "number of fish examined", low=0)
        if share * sensitivity >= 1.0:
            return 1.0 if examined else 0.0
        return -math.expm1(examined * math.log1p(-share * sensitivity))
    whole(population, "number of fish", low=1, high=MOST_FISH)
    whole(diseased, "number of diseased fish", low=0, high=population)
    whole(examined, "number of fish examined", low=0, high=population)
    return 1.0 - _missed(population, int(diseased), examined, sensitivity)


def _missed(population: int, diseased: int, examined: int, sensitivity: float) -> float:
    """The chance of no positive at all [-]."""
    if sensitivity < 1.0:
        return min(1.0, math.fsum(caught(population, diseased, examined, 1.0 - sensitivity)[1]))
    if examined + diseased > population:
        return 0.0
    few, many = min(diseased, examined), max(diseased, examined)
    if few > 5000:
        return min(1.0, caught(population, diseased, examined, 0.0)[1][0])
    return math.exp(math.fsum(math.log1p(-many / (population - one)) for one in range(few)))


def fish_to_examine(
    population: int | None,
    prevalence: float,
    confidence: float = 0.95,
    sensitivity: float = 1.0,
    rounding: Rounding = "up",
) -> Sample:
    """The smallest number of fish that finds a disease with the confidence asked for.

    Parameters
    ----------
    population
        Fish in the stock, 1 to 1,000,000 [count]; None for an endless or larger one.
    prevalence
        Design prevalence: the share diseased that is to be found, above 0, at most 1 [-].
    confidence
        Chance of at least one positive that is asked for, above 0, below 1 [-].
    sensitivity
        Share of diseased fish that the test finds, above 0, at most 1 [-].
    rounding
        What becomes of a number diseased that is not whole; see `ROUNDINGS`. "up" is the default
        since "this share or more" means at least that whole number of fish; the more cautious
        "down" is always told beside it.

    Returns
    -------
    Sample
        The number of fish, and how it came about.

    Raises
    ------
    BadInput
        A number that cannot be, or even all fish examined do not reach the confidence: the sentence
        says what they reach.

    Notes
    -----
    Confidences that agree within 1e-9 count as equal. Perfect specificity is taken for granted: a
    positive is looked into until it is sure.

    Examples
    --------
    >>> fish_to_examine(2000, 0.05).fish, fish_to_examine(None, 0.05).fish
    (58, 59)
    >>> fish_to_examine(30, 0.05).fish, fish_to_examine(30, 0.05, rounding="down").fish
    (23, 29)
    """
    given(prevalence, "prevalence", above=0.0, high=1.0)
    given_confidence(confidence)
    _sensitivity(sensitivity)
    if rounding not in ROUNDINGS:
        raise BadInput(
            f"The rounding must be one of {', '.join(ROUNDINGS)}.", field="rounding"
        )  # fmt: skip
    if population is None:
        return _endless(prevalence, confidence, sensitivity, rounding)
    whole(population, "number of fish", low=1, high=MOST_FISH)
    if rounding == "fraction":
        return _by_fraction(population, prevalence, confidence, sensitivity)
    diseased = diseased_fish(population, prevalence, rounding)
    fish = _fewest(population, diseased, confidence, sensitivity)
    if fish is None:
        raise _never(population, diseased, confidence, sensitivity)
    reached = 1.0 - _missed(population, diseased, fish, sensitivity)
    low = diseased_fish(population, prevalence, "down")
    cautious = fish if low == diseased else _fewest(population, low, confidence, sensitivity)
    remarks = []
    if cautious != fish and rounding != "down":
        stands = (
            f"{cautious} fish would have to be examined"
            if cautious is not None
            else f"even all {population} fish would not reach {percent(confidence)}"
        )
        remarks.append(
            f"{percent(prevalence)} of {population} fish is {figures(prevalence * population)}: "
            f"reckoned with {diseased} diseased. With {low}, the cautious choice, {stands}."
        )
    if fish == population:
        remarks.append("That is every fish of the stock.")
    return Sample(
        fish, population, prevalence, confidence, sensitivity, rounding, float(diseased), reached,
        ROUNDINGS[rounding], cautious,
        _steps(population, prevalence, diseased, fish, reached, confidence, sensitivity),
        SOURCE, (*remarks, *_more(sensitivity)),
    )  # fmt: skip


def diseased_fish(population: int, prevalence: float, rounding: Rounding) -> int:
    """How many whole fish a prevalence stands for, at least one.

    Parameters
    ----------
    population
        Fish in the stock [count].
    prevalence
        Share diseased [-].
    rounding
        "up", "nearest" (a half goes up) or "down".

    Examples
    --------
    >>> [diseased_fish(30, 0.05, one) for one in ("up", "nearest", "down")]
    [2, 2, 1]
    """
    exact = population * prevalence
    if rounding == "up":
        number = math.ceil(exact - _TIE * max(1.0, exact))
    elif rounding == "down":
        number = math.floor(exact + _TIE * max(1.0, exact))
    else:
        number = math.floor(exact + 0.5 + _TIE)
    return min(population, max(1, number))


def _fewest(population: int, diseased: int, confidence: float, sensitivity: float) -> int | None:
    """The fewest fish that reach the confidence; None where all of them do not."""
    allowed = 1.0 - confidence + _TIE
    if _missed(population, diseased, population, sensitivity) > allowed:
        return None
    high = 1
    while high < population and _missed(population, diseased, high, sensitivity) > allowed:
        high = min(population, 2 * high)
    low = high // 2  # does not reach it
    while high - low > 1:
        middle = (low + high) // 2
        if _missed(population, diseased, middle, sensitivity) > allowed:
            low = middle
        else:
            high = middle
    return high


def _never(population: int, diseased: int, confidence: float, sensitivity: float) -> BadInput:
    best = 1.0 - _missed(population, diseased, population, sensitivity)
    return BadInput(
        f"Even all {population} fish reach only {percent(best)}, not {percent(confidence)}: with "
        f"{diseased} diseased and a sensitivity of {percent(sensitivity)} the test overlooks too "
        "many. Ask for a lower confidence or a higher prevalence, or take a better test.",
        field="sensitivity",
    )


def _endless(
    prevalence: float, confidence: float, sensitivity: float, rounding: Rounding
) -> Sample:
    given(prevalence, "prevalence", low=1e-6)
    share = prevalence * sensitivity
    if share >= 1.0:
        fish, exact = 1, 1.0
    else:
        exact = math.log1p(-confidence) / math.log1p(-share)
        fish = max(1, math.ceil(exact - 1e-9 * exact))
    reached = detection(None, prevalence, fish, sensitivity)
    tested = "" if sensitivity == 1.0 else f" × {figures(sensitivity)}"
    arithmetic = (
        f"n = ln(1 - {figures(confidence)}) / ln(1 - {figures(prevalence)}{tested}) = "
        f"{figures(exact, 5)}, so {fish} fish; they reach {percent(reached)}"
    )
    return Sample(
        fish, None, prevalence, confidence, sensitivity, rounding, None, reached,
        "an endless stock needs no rounding of the number diseased", fish, arithmetic, SOURCE,
        _more(sensitivity),
    )  # fmt: skip


def _by_fraction(
    population: int, prevalence: float, confidence: float, sensitivity: float
) -> Sample:
    if sensitivity < 1.0:
        raise BadInput(
            "The approximation with a fraction of a fish is for a perfect test only. Choose "
            "another rounding, or a sensitivity of 100 %.",
            field="rounding",
        )
    diseased = population * prevalence
    exact = (1.0 - (1.0 - confidence) ** (1.0 / diseased)) * (population - (diseased - 1.0) / 2.0)
    fish = min(population, max(1, math.ceil(exact - _TIE * population)))
    whole_fish = diseased_fish(population, prevalence, "up")
    reached = 1.0 - _missed(population, whole_fish, fish, 1.0)
    low = diseased_fish(population, prevalence, "down")
    arithmetic = (
        f"diseased = {population} × {figures(prevalence)} = {figures(diseased)}; "
        f"n = (1 - {figures(1.0 - confidence)}^(1/{figures(diseased)})) × ({population} - "
        f"({figures(diseased)} - 1)/2) = {figures(exact, 5)}, so {fish} fish; with {whole_fish} "
        f"diseased they reach {percent(reached)}"
    )
    return Sample(
        fish, population, prevalence, confidence, 1.0, "fraction", diseased, reached,
        ROUNDINGS["fraction"], _fewest(population, low, confidence, 1.0), arithmetic,
        SOURCE_FRACTION, _more(1.0),
    )  # fmt: skip


def _steps(
    population: int, prevalence: float, diseased: int, fish: int, reached: float,
    confidence: float, sensitivity: float,
) -> str:  # fmt: skip
    exact = figures(population * prevalence)
    rounded = "" if exact == str(diseased) else f", taken as {diseased}"
    steps = [f"diseased = {population} × {figures(prevalence)} = {exact}{rounded}"]
    tested = "" if sensitivity == 1.0 else f" and sensitivity {figures(sensitivity)}"
    with_n = f"{fish} of {population} with {diseased} diseased{tested}"
    steps.append(f"{with_n}: at least one positive in {percent(reached)}")
    if fish > 1:
        fewer = 1.0 - _missed(population, diseased, fish - 1, sensitivity)
        steps.append(f"{fish - 1} would reach {percent(fewer)}, asked for {percent(confidence)}")
    return "; ".join(steps)


def _more(sensitivity: float) -> tuple[str, ...]:
    return (*((PERFECT,) if sensitivity == 1.0 else ()), CUSTOM, *CAUTIONS)


def _sensitivity(sensitivity: float) -> float:
    return given(sensitivity, "sensitivity", above=0.0, high=1.0)
