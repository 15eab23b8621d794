"""Did it work: parasites counted before a course against those counted after it.

The reduction is that of arithmetic means, 100 (1 - after/before). The mean of each fish's own
percentage is not given: a fish with few parasites would count as much as one with many. Limits come
in two ways. Those of the WAAVP form are shown first: they are published and anybody can reckon them
again. Beside them stand limits by drawing the fish anew (bootstrap), with the seed given, so that
they come out the same again; with the few fish of a pond they are mostly too narrow.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from random import Random
from statistics import fmean, variance
from typing import Literal

from store.errors import BadInput
from store.exams.prevalence import Prevalence, prevalence
from store.exams.shares import given_confidence, percent, whole
from store.exams.tails import t_quantile
from store.water.given import figures, given

SOURCE = (
    "WAAVP form: Coles et al. 1992, Vet. Parasitol. 44:35-44, as set out in later "
    "texts; reduction from before and after: McKenna 2006, N. Z. Vet. J. 54"
)
LEAST_DRAWS, MOST_DRAWS = 2_000, 100_000
DRAWS = 10_000
"""How often the fish are drawn anew, unless it is said."""
MOST_COUNTS = 2_000
MOST_FACTOR = 1_000.0
"""Limits that lie further apart from the middle than times this tell nothing and are not given."""
FEW = 5
"""Fewer fish than this on a side, and the limits are said to be rough (common practice)."""

Scale = Literal["count", "score"]
Method = Literal["WAAVP form", "none"]

SAME_WAY = (
    "Both counts must come from the same site and size of clip or scrape, at the same "
    "magnification, and from as many fields."
)
FALLING_OFF = "Dead flukes fall off over days: fix the day of the recount, and keep to it."
AFTER_HATCH = (
    "For egg layers count again after the next hatch: eggs outlive a course, and what hatches then "
    "looks like a course that failed."
)
NO_THRESHOLD = (
    "No reduction is published from which a course against parasites of fish has worked. Those "
    "for worms of sheep are not validated for fish, and none of them is applied here."
)
NO_CONTROL = (
    "Without untreated fish counted beside them it is not shown what would have become of the "
    "burden anyway."
)
CAUTIONS = (SAME_WAY, FALLING_OFF, AFTER_HATCH, NO_THRESHOLD, NO_CONTROL)
"""What is to be read beside every reduction."""


@dataclass(frozen=True, slots=True)
class Limits:
    """Two limits of a reduction [%]; below 0 where the burden may have grown."""

    low: float
    high: float


@dataclass(frozen=True, slots=True)
class Reduction:
    """By how much parasites became fewer.

    `percent` is the reduction of the arithmetic means [%], below 0 where there are more; `shown`
    the limits that come first, by `method` ("none": they cannot be estimated, and `said` tells
    why); `waavp` and `drawn` the limits of either way, None where it gives none. `still` is the
    share of fish with any after the course where all counts were zero. `said` is one sentence.
    """

    percent: float
    shown: Limits | None
    method: Method
    waavp: Limits | None
    drawn: Limits | None
    mean_before: float
    mean_after: float
    same_fish: bool
    confidence: float
    seed: int
    draws: int
    still: Prevalence | None
    said: str
    arithmetic: str
    source: str
    remarks: tuple[str, ...]


def reduction(
    before: Sequence[float],
    after: Sequence[float],
    *,
    same_fish: bool,
    seed: int,
    confidence: float = 0.95,
    draws: int = DRAWS,
    before_scale: Scale = "count",
    after_scale: Scale = "count",
    unit: str = "on a fish",
) -> Reduction:
    """The percent reduction from counts before to counts after a course, with limits.

    Parameters
    ----------
    before, after
        Parasites on each fish, counted the same way, none below zero [count or count per field].
    same_fish
        Whether the two lists are of the same fish in the same order. They are then drawn anew as
        pairs; the WAAVP form makes no use of it.
    seed
        From which the drawing starts: the same seed gives the same limits.
    confidence
        Confidence of the limits, above 0, below 1 [-].
    draws
        How often the fish are drawn anew, 2,000 to 100,000 [count].
    before_scale, after_scale
        "count" or "score"; scores are refused.
    unit
        What one number of the lists is of, in words, for the sentence.

    Returns
    -------
    Reduction
        Percent and limits [%].

    Raises
    ------
    BadInput
        No fish, scores, nothing there before, lists of the same fish that differ in length, or a
        number that cannot be. The sentence says what to do instead.

    Notes
    -----
    Variance of the logarithm of the ratio: s²/(n mean²) of either side, added; limits
    100 (1 - ratio e^(±t s)) with n1 + n2 - 2 degrees of freedom. It takes the two lists for two
    groups: where fish with many before have more after as well, it is wider than need be, the safe
    way. Draws in which nothing was there before have no ratio; they are left out and told.

    Examples
    --------
    >>> answer = reduction([42, 35, 60, 18, 27, 55, 33, 30], [3, 1, 6, 0, 2, 4, 1, 3],
    ...                    same_fish=True, seed=1)
    >>> answer.said
    'Fewer by 93 %, 87 to 97 % (95 % limits): 37.5 on a fish before, 2.5 after, 8 fish.'
    """
    refuse_scores(before_scale, after_scale)
    _counts(before, "counts before")
    _counts(after, "counts after")
    given_confidence(confidence)
    whole(draws, "number of draws", low=LEAST_DRAWS, high=MOST_DRAWS)
    if same_fish and len(before) != len(after):
        raise BadInput(
            f"{len(before)} fish were counted before and {len(after)} after: those cannot all be "
            "the same fish. Leave out the fish that were counted once, or take them as two groups.",
            field="counts after",
        )
    mean_before, mean_after = fmean(before), fmean(after)
    if mean_before == 0.0:
        raise BadInput(
            "Nothing was counted before, so that nothing can have become less. Compare the share "
            "of fish that carry any.",
            field="counts before",
        )
    fewer = 100.0 * (1.0 - mean_after / mean_before)
    waavp = _waavp(before, after, confidence)
    drawn, left_out = (None, 0)
    if waavp is not None:
        drawn, left_out = _drawn(before, after, confidence, draws, seed, same_fish=same_fish)
    still = None if mean_after else prevalence(0, len(after), confidence)
    return Reduction(
        fewer, waavp, "none" if waavp is None else "WAAVP form", waavp, drawn,
        mean_before, mean_after, same_fish, confidence, seed, draws, still,
        _said(before, after, fewer, waavp, confidence, still, unit, same_fish=same_fish),
        _arithmetic(before, after, fewer, waavp, drawn, confidence, (draws, seed)), SOURCE,
        _remarks(before, after, waavp, drawn, left_out, draws, same_fish=same_fish),
    )  # fmt: skip


def refuse_scores(*scales: Scale) -> None:
    """Refuse scores where counts are reckoned with.

    Parameters
    ----------
    *scales
        "count" or "score", of each list.

    Raises
    ------
    BadInput
        One of them is of scores; the sentence says what may be compared instead.
    """
    if "score" in scales:
        mixed = "are counts and scores, which are no measure of one another" if (
            "count" in scales
        ) else "are scores"  # fmt: skip
        raise BadInput(
            f"These {mixed}: a score of 0 to 3 is a rank, its steps are not equal, and no mean or "
            "percentage may be taken of it. Compare the share of fish that carry any, before and "
            "after.",
            field="scale",
        )


def _counts(counts: Sequence[float], name: str) -> None:
    if not counts:
        raise BadInput(f"There are no {name}. Please give one for each fish.", field=name)
    if len(counts) > MOST_COUNTS:
        raise BadInput(
            f"There are {len(counts)} {name}; more than {MOST_COUNTS} are not taken.", field=name
        )
    for one in counts:
        given(one, name, low=0.0, high=1e9)


def _waavp(before: Sequence[float], after: Sequence[float], confidence: float) -> Limits | None:
    """The limits of the WAAVP form; None where a side has one fish or nothing was left."""
    if min(len(before), len(after)) < 2 or not any(after):
        return None
    ratio = fmean(after) / fmean(before)
    wide = _t(before, after, confidence) * math.sqrt(_log_variance(before) + _log_variance(after))
    if wide > math.log(MOST_FACTOR):
        return None
    return Limits(100.0 * (1.0 - ratio * math.exp(wide)), 100.0 * (1.0 - ratio * math.exp(-wide)))


def _log_variance(counts: Sequence[float]) -> float:
    return variance(counts) / (len(counts) * fmean(counts) ** 2)


def _t(before: Sequence[float], after: Sequence[float], confidence: float) -> float:
    return t_quantile(0.5 * (1.0 + confidence), len(before) + len(after) - 2.0)


def _drawn(
    before: Sequence[float], after: Sequence[float], confidence: float, draws: int, seed: int,
    *, same_fish: bool,
) -> tuple[Limits | None, int]:  # fmt: skip
    """Limits from drawing the fish anew, and how many draws had nothing before."""
    chance = Random(seed).random
    n_before, n_after = len(before), len(after)
    found: list[float] = []
    for _ in range(draws):
        places = [int(chance() * n_before) for _ in range(n_before)]
        others = places if same_fish else [int(chance() * n_after) for _ in range(n_after)]
        there = sum(before[place] for place in places)
        if there:
            left = sum(after[place] for place in others)
            found.append(100.0 * (1.0 - (left * n_before) / (there * n_after)))
    if len(found) < LEAST_DRAWS // 2:
        return None, draws - len(found)
    found.sort()
    half = 0.5 * (1.0 - confidence)
    return Limits(_quantile(found, half), _quantile(found, 1.0 - half)), draws - len(found)


def _quantile(ordered: Sequence[float], share: float) -> float:
    """Between the two nearest of the ordered values, in proportion."""
    place = share * (len(ordered) - 1)
    first = min(int(place), len(ordered) - 2)
    return ordered[first] + (place - first) * (ordered[first + 1] - ordered[first])


def _whole_percent(value: float) -> str:
    """A percentage without decimals, but never 100 or 0 where it is not."""
    text = f"{value:.0f}"
    if text in {"100", "0", "-0"} and value not in {100.0, 0.0}:
        text = f"{value:.1f}"
        if text in {"100.0", "0.0", "-0.0"}:
            return "almost 100" if value > 50.0 else "almost 0"
    return text


def _said(
    before: Sequence[float], after: Sequence[float], fewer: float, limits: Limits | None,
    confidence: float, still: Prevalence | None, unit: str, *, same_fish: bool,
) -> str:  # fmt: skip
    fish = (
        f"{len(before)} fish" if same_fish else f"{len(before)} fish before and {len(after)} after"
    )
    means = f"{figures(fmean(before), 3)} {unit} before, {figures(fmean(after), 3)} after, {fish}"
    if still is not None:
        upper = figures(100.0 * (still.at_most or 0.0), 3)
        return (
            f"Fewer by 100 %, limits not estimable: 0 of {len(after)} fish carry any after, which "
            f"leaves up to {upper} % possible ({percent(confidence)}, one-sided, exact); "
            f"{figures(fmean(before), 3)} {unit} before."
        )
    word, amount = ("Fewer", fewer) if fewer >= 0.0 else ("More", -fewer)
    head = f"{word} by {_whole_percent(amount)} %" if fewer else "As many as before"
    if limits is None:
        single = min(len(before), len(after)) == 1
        why = (
            "a single fish shows nothing about the others"
            if single
            else "so few fish differ too much"
        )
        return f"{head}, limits not estimable, since {why}: {means}."
    sure = f"{percent(confidence)} limits"
    if limits.low < 0.0 < limits.high:
        return (
            f"{head}, from {_signed(limits.low)} to {_signed(limits.high)} ({sure}; no change is "
            f"not excluded): {means}."
        )
    low, high = (limits.low, limits.high) if fewer >= 0.0 else (-limits.high, -limits.low)
    return f"{head}, {_whole_percent(low)} to {_whole_percent(high)} % ({sure}): {means}."


def _signed(value: float) -> str:
    return f"{_whole_percent(abs(value))} % {'fewer' if value >= 0.0 else 'more'}"


def _arithmetic(
    before: Sequence[float], after: Sequence[float], fewer: float,
    waavp: Limits | None, drawn: Limits | None, confidence: float, drawing: tuple[int, int],
) -> str:  # fmt: skip
    mean_before, mean_after = fmean(before), fmean(after)
    steps = [
        f"100 × (1 - {figures(mean_after)} / {figures(mean_before)}) = {figures(fewer)} %",
    ]
    if waavp is not None:
        spread = _log_variance(before) + _log_variance(after)
        one, other = variance(before), variance(after)
        steps += [
            f"variance of the log ratio = {figures(other)} / ({len(after)} × "
            f"{figures(mean_after)}²) + {figures(one)} / ({len(before)} × "
            f"{figures(mean_before)}²) = {figures(spread)}",
            f"t with {len(before) + len(after) - 2} degrees of freedom = "
            f"{figures(_t(before, after, confidence))}; WAAVP form: "
            f"{figures(waavp.low)} to {figures(waavp.high)} %",
        ]
    if drawn is not None:
        steps.append(
            f"drawn anew {drawing[0]} times, seed {drawing[1]}: {figures(drawn.low)} to "
            f"{figures(drawn.high)} %"
        )
    return "; ".join(steps)


def _remarks(
    before: Sequence[float], after: Sequence[float], waavp: Limits | None, drawn: Limits | None,
    left_out: int, draws: int, *, same_fish: bool,
) -> tuple[str, ...]:  # fmt: skip
    remarks = []
    if waavp is not None:
        remarks.append(
            "Shown first are the limits of the WAAVP form: published, and to be reckoned again by "
            "hand." + (" They make no use of the fish being the same." if same_fish else "")
        )
    if drawn is not None:
        remarks.append(
            f"Drawing {'pairs of counts of the same fish' if same_fish else 'each group'} anew "
            f"gives {figures(drawn.low, 3)} to {figures(drawn.high, 3)} %; with few fish such "
            "limits are mostly too narrow."
            + (
                " Here one of them lies further out than that shown: go by the wider."
                if waavp is not None and (drawn.low < waavp.low or drawn.high > waavp.high)
                else ""
            )
        )
    if left_out:
        remarks.append(f"{left_out} of {draws} draws had nothing before and were left out.")
    if min(len(before), len(after)) < FEW:
        remarks.append(f"With fewer than {FEW} fish on a side limits are rough.")
    if waavp is not None and waavp.low == waavp.high:
        remarks.append("All counts of a side are alike: limits without width are no certainty.")
    if not same_fish and len(before) != len(after):
        remarks.append("The groups differ in number, so they are not the same fish.")
    return (*remarks, *CAUTIONS)
