"""What is in the water over a course: doses, water changes, and loss where a half-life is known.

Each dose mixes at once into the whole volume; a water change takes its share of what is there.
Between two steps the concentration stays, or falls with the half-life that was given.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from store.errors import BadInput
from store.water.given import figures, given

SOURCE = "arithmetic: mass balance of doses and water changes, first-order loss"
HOURS_A_DAY = 24.0
MOST_STEPS = 1000
"""More doses and changes than any course has."""


@dataclass(frozen=True, slots=True)
class Step:
    """One moment of a course: water replaced, and the dose that follows it.

    `at_h` are hours from the first step; `change_percent` the share of the volume replaced just
    before the dose; `dose_mg_l` what the dose adds, 0 for a water change alone. Water that only
    makes up for evaporation dilutes nothing and is no step.
    """

    at_h: float
    change_percent: float = 0.0
    dose_mg_l: float = 0.0


@dataclass(frozen=True, slots=True)
class Residue:
    """The concentration over a course.

    `before_mg_l`, `after_mg_l` belong to the steps: what is there when the water change is done and
    the dose not yet given, and when it is given. `peaks_mg_l` are those after each dose,
    `troughs_mg_l` those just before each dose but the first. `exposure_mg_h_l` is the area under
    the curve from the first step to `until_h`, `end_mg_l` what is left then. `bound_mg_l` are the
    peaks without any loss: more than that cannot be there. `plateau_mg_l` is where the peaks of
    equal doses would end if they went on; None where they have no end or the steps are not equal.
    """

    steps: tuple[Step, ...]
    half_life_h: float | None
    until_h: float
    before_mg_l: tuple[float, ...]
    after_mg_l: tuple[float, ...]
    peaks_mg_l: tuple[float, ...]
    troughs_mg_l: tuple[float, ...]
    bound_mg_l: tuple[float, ...]
    exposure_mg_h_l: float
    end_mg_l: float
    plateau_mg_l: float | None
    arithmetic: str
    source: str
    remarks: tuple[str, ...]

    @property
    def highest_mg_l(self) -> float:
        """The highest peak [mg/L]."""
        return max(self.peaks_mg_l, default=0.0)


def equal_steps(
    dose_mg_l: float, doses: int, every_days: float, change_percent: float = 0.0
) -> tuple[Step, ...]:
    """Equal doses at equal intervals, with the same water change before each.

    Parameters
    ----------
    dose_mg_l
        What each dose adds [mg/L].
    doses
        How many doses, 1 to 1000.
    every_days
        From one dose to the next [d].
    change_percent
        Water replaced just before each dose [% of the volume].

    Returns
    -------
    tuple of Step
        The steps, hours counted from the first dose.

    Raises
    ------
    BadInput
        A number that cannot exist, or a count that is not whole.

    Examples
    --------
    >>> [step.at_h for step in equal_steps(1.0, 3, 7.0)]
    [0.0, 168.0, 336.0]
    """
    given(dose_mg_l, "dose", "mg/L", above=0.0, high=1e6)
    given(doses, "number of doses", low=1.0, high=MOST_STEPS)
    if doses != int(doses):
        raise BadInput("The number of doses must be a whole number.", field="number of doses")
    given(every_days, "interval", "days", above=0.0, high=3660.0)
    given(change_percent, "water change", "%", low=0.0, high=100.0)
    return tuple(
        Step(place * every_days * HOURS_A_DAY, change_percent, dose_mg_l)
        for place in range(int(doses))
    )


def residue(
    steps: Sequence[Step], *, half_life_h: float | None = None, until_h: float | None = None
) -> Residue:
    """The concentration over a course of doses and water changes.

    At each step C becomes C (1 - f) + D; over the time t to the next, C becomes C e^(-k t) with
    k = ln 2 / half-life, or stays as it is where no half-life is given. For equal steps the peaks
    are D (1 - r^n) / (1 - r) with r = (1 - f) e^(-k t), the plateau D / (1 - r).

    Parameters
    ----------
    steps
        Doses and water changes in the order of time; they need not be equal or evenly spaced.
    half_life_h
        Half-life at the pond's pH and temperature [h]; None where none is published: then nothing
        is lost, which is the safe bound.
    until_h
        Where the course is looked at last [h from the first step]; None for one more interval
        after the last step (as long as the one before it; a day after a single step).

    Returns
    -------
    Residue
        Peaks, troughs, bound, plateau [mg/L] and exposure [mg h/L].

    Raises
    ------
    BadInput
        No step, steps out of order, or a number that cannot exist.

    Notes
    -----
    The same half-life is taken throughout: it holds for one pH and one temperature, and a pond
    keeps neither. Uptake by fish, mud and filter is left out. A fast loss is no ground for a larger
    dose: what an agent turns into may be worse than the agent.

    Examples
    --------
    >>> answer = residue(equal_steps(1.0, 3, 7.0, 30.0))
    >>> [round(peak, 3) for peak in answer.peaks_mg_l], round(answer.plateau_mg_l, 3)
    ([1.0, 1.7, 2.19], 3.333)
    """
    kept = _checked(steps)
    if half_life_h is not None:
        given(half_life_h, "half-life", "h", low=0.01, high=1e6)
    last_h = kept[-1].at_h
    if until_h is None:
        until_h = last_h + (last_h - kept[-2].at_h if len(kept) > 1 else HOURS_A_DAY)
    given(until_h, "end of the course", "h", low=last_h, high=1e7)

    rate_h = 0.0 if half_life_h is None else math.log(2.0) / half_life_h
    before, after, exposure, end = _walk(kept, rate_h, until_h)
    bound = after if half_life_h is None else _walk(kept, 0.0, until_h)[1]
    dosed = [place for place, step in enumerate(kept) if step.dose_mg_l > 0.0]
    return Residue(
        steps=kept,
        half_life_h=half_life_h,
        until_h=until_h,
        before_mg_l=before,
        after_mg_l=after,
        peaks_mg_l=tuple(after[place] for place in dosed),
        troughs_mg_l=tuple(before[place] for place in dosed[1:]),
        bound_mg_l=tuple(bound[place] for place in dosed),
        exposure_mg_h_l=exposure,
        end_mg_l=end,
        plateau_mg_l=_plateau(kept, rate_h),
        arithmetic=_arithmetic(kept, before, after, half_life_h),
        source=SOURCE,
        remarks=_remarks(half_life_h),
    )


def doses_over(answer: Residue, highest_mg_l: float) -> tuple[int, ...]:
    """Which doses bring more into the water than it may hold, judged without any loss.

    Parameters
    ----------
    answer
        What `residue` gave.
    highest_mg_l
        The safe maximum of the agent [mg/L].

    Returns
    -------
    tuple of int
        Numbers of the doses, from 1; empty where none does.

    Raises
    ------
    BadInput
        A maximum that is not above zero.

    Notes
    -----
    The bound is judged, not the predicted peak: a half-life measured elsewhere does not make a
    pond safe. What only meets the maximum is not over it.
    """
    given(highest_mg_l, "safe maximum", "mg/L", above=0.0, high=1e9)
    limit_mg_l = highest_mg_l * (1.0 + 1e-9)
    return tuple(
        number for number, peak in enumerate(answer.bound_mg_l, start=1) if peak > limit_mg_l
    )


def drawn(answer: Residue, points: int = 24) -> tuple[tuple[float, float], ...]:
    """The concentration as a line to draw: upright at each step, falling between them.

    Parameters
    ----------
    answer
        What `residue` gave.
    points
        Points between two steps where something is lost [count].

    Returns
    -------
    tuple of pairs
        Hours from the first step [h] and concentration [mg/L], in the order of time.

    Raises
    ------
    BadInput
        Less than one point.
    """
    given(points, "number of points", low=1.0, high=10_000.0)
    rate_h = 0.0 if answer.half_life_h is None else math.log(2.0) / answer.half_life_h
    line: list[tuple[float, float]] = []
    ends_h = [step.at_h for step in answer.steps[1:]] + [answer.until_h]
    present = 0.0
    for step, after, end_h in zip(answer.steps, answer.after_mg_l, ends_h, strict=True):
        line += [(step.at_h, present), (step.at_h, after)]
        span_h = end_h - step.at_h
        parts = points if rate_h else 1
        line += [
            (step.at_h + span_h * part / parts, after * math.exp(-rate_h * span_h * part / parts))
            for part in range(1, parts + 1)
        ]
        present = after * math.exp(-rate_h * span_h)
    return tuple(line)


def _checked(steps: Sequence[Step]) -> tuple[Step, ...]:
    if not steps:
        raise BadInput("There is no dose, so there is nothing to reckon.", field="number of doses")
    if len(steps) > MOST_STEPS:
        raise BadInput(
            f"There are {len(steps)} doses and changes; {MOST_STEPS} can be reckoned.",
            field="number of doses",
        )
    for place, step in enumerate(steps):
        given(step.at_h, "hour of the dose", "h", low=0.0, high=1e7)
        given(step.change_percent, "water change", "%", low=0.0, high=100.0)
        given(step.dose_mg_l, "dose", "mg/L", low=0.0, high=1e6)
        if place and step.at_h < steps[place - 1].at_h:
            raise BadInput("The doses are not in the order of time.", field="hour of the dose")
    return tuple(steps)


def _walk(
    steps: tuple[Step, ...], rate_h: float, until_h: float
) -> tuple[tuple[float, ...], tuple[float, ...], float, float]:
    before: list[float] = []
    after: list[float] = []
    exposure, present = 0.0, 0.0
    ends_h = [step.at_h for step in steps[1:]] + [until_h]
    for step, end_h in zip(steps, ends_h, strict=True):
        present *= 1.0 - step.change_percent / 100.0
        before.append(present)
        present += step.dose_mg_l
        after.append(present)
        span_h = end_h - step.at_h
        # -expm1(-kt)/k is the area under e^(-kt); where k is nothing it is the span itself.
        exposure += present * (-math.expm1(-rate_h * span_h) / rate_h if rate_h else span_h)
        present *= math.exp(-rate_h * span_h)
    return tuple(before), tuple(after), exposure, present


def _plateau(steps: tuple[Step, ...], rate_h: float) -> float | None:
    if len(steps) < 2:
        return None
    first, second = steps[0], steps[1]
    span_h = second.at_h - first.at_h
    for one, other in pairwise(steps):
        if not math.isclose(other.at_h - one.at_h, span_h, rel_tol=1e-9, abs_tol=1e-9):
            return None
    equal = all(
        step.dose_mg_l == second.dose_mg_l and step.change_percent == second.change_percent
        for step in steps[1:]
    )
    if not equal or first.dose_mg_l != second.dose_mg_l:
        return None
    share = second.change_percent / 100.0
    lost = share + (1.0 - share) * -math.expm1(-rate_h * span_h)
    return second.dose_mg_l / lost if lost > 1e-12 else None


def _arithmetic(
    steps: tuple[Step, ...],
    before: tuple[float, ...],
    after: tuple[float, ...],
    half_life_h: float | None,
) -> str:
    shown = []
    for place, step in enumerate(steps[:4]):
        day = f"day {figures(step.at_h / HOURS_A_DAY)}"
        if place == 0:
            shown.append(f"{day}: {figures(step.dose_mg_l)} mg/L given")
            continue
        span_h = step.at_h - steps[place - 1].at_h
        kept = f" × (1 - {figures(step.change_percent / 100.0)})" if step.change_percent else ""
        lost = "" if half_life_h is None else f" × 0.5^({figures(span_h)}/{figures(half_life_h)})"
        shown.append(
            f"{day}: {figures(after[place - 1])}{lost}{kept} = {figures(before[place])}, "
            f"+ {figures(step.dose_mg_l)} = {figures(after[place])} mg/L"
        )
    if len(steps) > 4:
        shown.append(f"and so on to {figures(after[-1])} mg/L")
    return "; ".join(shown)


def _remarks(half_life_h: float | None) -> tuple[str, ...]:
    if half_life_h is None:
        return (
            (
                "No half-life was given: shown is the case without loss, the safe bound. More than "
                "that cannot be in the water; less may be."
            ),
        )
    return (
        (
            f"The half-life of {figures(half_life_h)} h holds at one pH and one temperature; a "
            "pond keeps neither. The bound without loss stands beside it: judge by that."
        ),
        "A fast loss is no ground for a larger dose.",
    )
