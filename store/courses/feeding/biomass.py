"""How many kilograms of fish there are: from a count and weights, or from lengths."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

from store.errors import BadInput
from store.exams.weight import weight_g
from store.facts.fish import LengthWeight, relation
from store.facts.sources import cite_with_standing
from store.water.given import figures, given

MeasuredAs = Literal["fork", "total"]
"""To the fork of the tail, or to its tip."""
SOURCE_WEIGHED = "mean of a sample, Student's t at 95 %, with finite population correction"

# Student's t, two-sided 95 %, by degrees of freedom from 1; 1.96 from 31 on errs by 4 % at most.
_T95 = (
    12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228,
    2.201, 2.179, 2.160, 2.145, 2.131, 2.120, 2.110, 2.101, 2.093, 2.086,
    2.080, 2.074, 2.069, 2.064, 2.060, 2.056, 2.052, 2.048, 2.045, 2.042,
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Biomass:
    """The weight of all the fish; bounds are None where nothing is known of them."""

    kg: float
    low_kg: float | None
    high_kg: float | None
    count: int
    arithmetic: str
    source: str
    remarks: tuple[str, ...]


def by_weighing(weights_g: Sequence[float], count: int | None = None) -> Biomass:
    """The biomass from weights: of all fish, or of a sample and the count of all.

    Mean weight x count; the bounds are mean ± t s / sqrt(n) x sqrt(1 - n / N), with t of Student
    for 95 %: the uncertainty of drawing these fish and not others, and of nothing else.

    Parameters
    ----------
    weights_g
        Weights of the fish that were weighed [g].
    count
        How many fish there are; None where all were weighed.

    Returns
    -------
    Biomass
        Weight of all fish with its bounds [kg]; no bounds from a single fish out of several.

    Raises
    ------
    BadInput
        No weight, a weight that cannot exist, or fewer fish than were weighed.

    Examples
    --------
    >>> answer = by_weighing([900.0, 1100.0, 1300.0], 30)
    >>> round(answer.kg, 1), round(answer.low_kg, 1), round(answer.high_kg, 1)
    (33.0, 18.9, 47.1)
    """
    if not weights_g:
        raise BadInput("No fish was weighed.", field="weight")
    for each_g in weights_g:
        given(each_g, "weight", "g", above=0.0, high=200_000.0)
    weighed = len(weights_g)
    fish = weighed if count is None else count
    _check_count(fish, weighed, "weighed")
    mean_g = math.fsum(weights_g) / weighed
    kg = mean_g * fish / 1000.0
    low_kg: float | None = kg
    high_kg: float | None = kg
    remarks: tuple[str, ...] = ()
    if weighed < fish:
        if weighed == 1:
            low_kg = high_kg = None
            remarks = ("One fish was weighed: how far the others differ is not known.",)
        else:
            spread_g = math.sqrt(math.fsum((w - mean_g) ** 2 for w in weights_g) / (weighed - 1))
            t95 = _T95[weighed - 2] if weighed - 1 <= len(_T95) else 1.96
            half_kg = (
                t95 * spread_g / math.sqrt(weighed) * math.sqrt(1.0 - weighed / fish) * fish
            ) / 1000.0
            low_kg, high_kg = max(0.0, kg - half_kg), kg + half_kg
        remarks += (
            "The sample must stand for all: the fish that are easily netted are seldom the large.",
        )
    return Biomass(
        kg=kg,
        low_kg=low_kg,
        high_kg=high_kg,
        count=fish,
        arithmetic=f"mean of {weighed} weights {figures(mean_g)} g × {fish} fish / 1000 = "
        f"{figures(kg)} kg",
        source=SOURCE_WEIGHED if weighed < fish else "every fish weighed",
        remarks=(*remarks, "Water carried in the bowl weighs too: tare it."),
    )


def by_length(
    lengths_cm: Sequence[float], code: str, measured_as: MeasuredAs, count: int | None = None
) -> Biomass:
    """The biomass from lengths, by a published relation of length and weight.

    The weight of each fish is a L^b; the mean weight of those measured stands for the others.

    Parameters
    ----------
    lengths_cm
        Lengths of the fish that were measured [cm].
    code
        Code of the relation, such as `carp_total`.
    measured_as
        How the fish were measured: to the fork of the tail, or to its tip.
    count
        How many fish there are; None where all were measured.

    Returns
    -------
    Biomass
        Weight of all fish [kg], without bounds: how far this pond's fish differ from those of the
        publication is not known.

    Raises
    ------
    BadInput
        No length, one that cannot exist, fewer fish than were measured, or a relation for the other
        kind of length.
    NotFound
        There is no such relation.

    Examples
    --------
    >>> round(by_length([40.0, 50.0], "carp_total", "total").kg, 2)
    2.4
    """
    chosen = relation(code)
    if chosen.length not in (measured_as, "not stated"):
        raise BadInput(
            f"The relation for {chosen.species} takes {chosen.length} length, and the fish were "
            f"measured as {measured_as} length: the weight would be out by a third or more.",
            field="length",
        )
    if not lengths_cm:
        raise BadInput("No fish was measured.", field="length")
    fish = len(lengths_cm) if count is None else count
    _check_count(fish, len(lengths_cm), "measured")
    weights_g = [weight_g(length_cm, code) for length_cm in lengths_cm]
    mean_g = math.fsum(weights_g) / len(weights_g)
    kg = mean_g * fish / 1000.0
    return Biomass(
        kg=kg,
        low_kg=None,
        high_kg=None,
        count=fish,
        arithmetic=f"W = {figures(chosen.a_g)} L^{figures(chosen.b, 5)}; mean of "
        f"{len(weights_g)} fish {figures(mean_g)} g × {fish} fish / 1000 = {figures(kg)} kg",
        source=cite_with_standing(chosen.source, chosen.standing),
        remarks=_length_remarks(chosen, lengths_cm),
    )


def _check_count(count: int, looked_at: int, done: str) -> None:
    given(count, "number of fish", low=1.0, high=1e8)
    if count != int(count):
        raise BadInput("The number of fish must be a whole number.", field="number of fish")
    if count < looked_at:
        raise BadInput(
            f"{looked_at} fish were {done}, and there are said to be only {count}.",
            field="number of fish",
        )


def _length_remarks(chosen: LengthWeight, lengths_cm: Sequence[float]) -> tuple[str, ...]:
    remarks = [
        (
            f"Found for {chosen.species} of one water ({chosen.fish} fish, length "
            f"{chosen.length}); none for koi alone was found. Weigh some fish where the dose must "
            "be right."
        )
    ]
    if chosen.low_cm is None or chosen.high_cm is None:
        remarks.append(chosen.note or "The range of lengths is not stated.")
    else:
        outside = [one for one in lengths_cm if not chosen.low_cm <= one <= chosen.high_cm]
        if outside:
            remarks.append(
                f"{len(outside)} of the lengths lie outside {figures(chosen.low_cm)}-"
                f"{figures(chosen.high_cm)} cm, the fish that the relation was found for."
            )
    if chosen.length == "not stated":
        remarks.append("It is not published whether fork or total length is meant.")
    return tuple(remarks)
