"""An agent over all ponds where it was counted before and after: where it does well, where not.

Counts of different ponds are never put together: another clip, another magnification, another
examiner. Only each pond's own reduction is compared, and the middle one of them told, with the
interval that ordered values give without any assumption on their shape.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from store.errors import BadInput
from store.exams.reduction import AFTER_HATCH, NO_THRESHOLD, Limits, Reduction
from store.exams.shares import given_confidence, percent
from store.exams.tails import beta_share
from store.water.given import figures

SOURCE = (
    "arithmetic: median, with the interval of ordered values (binomial; textbooks of nonparametric "
    "statistics, from memory)"
)
FEWEST_PONDS = 2


@dataclass(frozen=True, slots=True)
class PondResult:
    """What came of one course at one pond; `found` None where nothing could be reckoned, `why`."""

    pond: str
    found: Reduction | None
    why: str = ""


@dataclass(frozen=True, slots=True)
class OverPonds:
    """One agent over the ponds.

    `worst_first` are the ponds with a reduction, the lowest first; `apart` those without one, which
    are told and never dropped. `median` is the middle reduction [%], None below two ponds;
    `limits` its interval, None where there are too few ponds for the confidence. `no_change` are
    the ponds whose own limits do not exclude that nothing changed.
    """

    worst_first: tuple[PondResult, ...]
    apart: tuple[PondResult, ...]
    median: float | None
    limits: Limits | None
    reached: float | None
    no_change: tuple[str, ...]
    said: str
    arithmetic: str
    source: str
    remarks: tuple[str, ...]


def over_ponds(results: Sequence[PondResult], confidence: float = 0.95) -> OverPonds:
    """One agent's reductions, pond by pond and in the middle.

    Parameters
    ----------
    results
        One for each course at a pond, at least one.
    confidence
        Confidence of the interval of the median, above 0, below 1 [-].

    Returns
    -------
    OverPonds
        Percentages [%].

    Raises
    ------
    BadInput
        No result at all.

    Notes
    -----
    With n ponds the interval from the k-th lowest to the k-th highest holds the median with
    1 - 2 P(fewer than k of n heads); the largest k that keeps the confidence is taken. For 95 % it
    takes six ponds. A pond treated twice counts twice and is not independent of itself.
    """
    given_confidence(confidence)
    if not results:
        raise BadInput("There is no course with counts before and after.", field="results")
    pairs = [(one.found.percent, one) for one in results if one.found is not None]
    pairs.sort(key=lambda pair: (pair[0], pair[1].pond))
    ordered = [value for value, _ in pairs]
    apart = tuple(one for one in results if one.found is None)
    median = _median(ordered) if len(ordered) >= FEWEST_PONDS else None
    place, reached = _place(len(ordered), confidence)
    limits = Limits(ordered[place - 1], ordered[-place]) if place else None
    no_change = tuple(
        one.pond
        for _, one in pairs
        if one.found is not None
        and (
            one.found.percent <= 0.0 or (one.found.shown is not None and one.found.shown.low <= 0.0)
        )
    )
    return OverPonds(
        tuple(one for _, one in pairs), apart, median, limits, reached if place else None,
        no_change, _said(pairs, apart, median, limits, reached),
        _arithmetic(ordered, median, place, reached), SOURCE,
        _remarks(pairs, apart, limits, no_change, confidence),
    )  # fmt: skip


def _median(ordered: Sequence[float]) -> float:
    half = len(ordered) // 2
    return ordered[half] if len(ordered) % 2 else 0.5 * (ordered[half - 1] + ordered[half])


def _place(ponds: int, confidence: float) -> tuple[int, float]:
    """The greatest k whose interval keeps the confidence, 0 for none, and what it reaches [-]."""
    best, kept = 0, 0.0
    for k in range(1, (ponds + 1) // 2 + 1):
        fewer = 1.0 - beta_share(0.5, float(k), ponds - k + 1.0)  # fewer than k of n heads
        if 1.0 - 2.0 * fewer < confidence:
            break
        best, kept = k, 1.0 - 2.0 * fewer
    return best, kept


def _one(value: float) -> str:
    return f"{figures(value, 3)} %"


def _said(
    pairs: Sequence[tuple[float, PondResult]], apart: Sequence[PondResult], median: float | None,
    limits: Limits | None, reached: float,
) -> str:  # fmt: skip
    if not pairs:
        return f"Of {len(apart)} courses none can be reckoned."
    lowest, worst = pairs[0]
    if median is None:
        return f"One pond only: {worst.pond}, {_one(lowest)}."
    spread = (
        f"{_one(limits.low)} to {_one(limits.high)} ({percent(reached)} interval of the median)"
        if limits is not None
        else f"from {_one(lowest)} to {_one(pairs[-1][0])}, too few ponds for an interval"
    )
    return (
        f"In the middle of {len(pairs)} courses {_one(median)}, {spread}; lowest {worst.pond}, "
        f"{_one(lowest)}."
    )


def _arithmetic(ordered: Sequence[float], median: float | None, place: int, reached: float) -> str:
    steps = ["reductions in order: " + (", ".join(figures(one) for one in ordered) or "none")]
    if median is not None:
        steps.append(f"median = {figures(median)} %")
    if place:
        steps.append(
            f"interval from place {place} to place {len(ordered) - place + 1}, which hold the "
            f"median with {percent(reached)}"
        )
    return "; ".join(steps)


def _remarks(
    pairs: Sequence[tuple[float, PondResult]], apart: Sequence[PondResult], limits: Limits | None,
    no_change: Sequence[str], confidence: float,
) -> tuple[str, ...]:  # fmt: skip
    remarks = [
        f"Not reckoned: {one.pond}: {one.why or 'no counts on both sides.'}" for one in apart
    ]
    if no_change:
        remarks.append(
            f"By their own limits nothing may have changed at {', '.join(no_change)}: look at "
            "dose, volume, temperature and the day of the recount before the agent is blamed."
        )
    if limits is None and len(pairs) >= FEWEST_PONDS:
        remarks.append(f"So few ponds give no interval of {percent(confidence)}.")
    return (
        *remarks,
        "Counts of different ponds are not put together; only each pond's own reduction is.",
        "A practice counts again where it doubts: these ponds are no random choice.",
        AFTER_HATCH,
        NO_THRESHOLD,
    )
