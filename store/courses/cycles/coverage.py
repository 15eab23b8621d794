"""Whether the doses of a course meet what hatches, over the temperatures that the pond really had.

Development is summed day by day: a day at a temperature at which a stage takes d days brings it
forward by 1/d. That is not a sum of degree-days above zero, which belongs to withdrawal alone.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Literal

from store.courses.cycles.points import cited, said_days, said_near, weakest
from store.courses.cycles.stages import Bound, longest, outside_points, shortest, timed
from store.errors import BadInput
from store.facts.entry import Standing
from store.facts.life_cycles import LifeCycle, Series
from store.water.given import figures, given, given_temperature

LONGEST_COURSE_DAYS = 400
WHOLE_KILL = "Reckoned as if each dose killed all that it reaches; what survives a dose breeds on."

Verdict = Literal[
    "covered", "gap too long", "ends too early", "ends before the first hatch", "not known"
]
"""`not known`: the doses go on beyond the first hatch, and how long hatching goes on is not
published."""


@dataclass(frozen=True, slots=True)
class Coverage:
    """What a course leaves, for eggs laid on the day of its first dose.

    Days count from the first dose. `first_hatch_day` is the earliest, `end_day` the latest day that
    the published points allow: of the last hatching, or of a whole cycle. `allowed_gap_days` is the
    shortest time, after any dose but the last, in which a young that hatched just after it can
    breed. None where it does not apply or is not published. `said` tells it in words.
    """

    hazard: str
    verdict: Verdict
    first_hatch_day: float | None
    end_day: float | None
    allowed_gap_days: float | None
    longest_gap_days: float
    last_dose_day: float
    said: str
    points: tuple[str, ...]
    arithmetic: str
    source: str
    standing: Standing
    remarks: tuple[str, ...]

    @property
    def covered(self) -> bool:
        """True only where every egg is known to be met before its worm breeds."""
        return self.verdict == "covered"


def covers(
    dose_days: Sequence[float], hazard: str, temps: float | Sequence[float | None]
) -> Coverage:
    """Whether doses on some days meet everything that outlives each of them.

    Parameters
    ----------
    dose_days
        Days of the doses, in any order, on one count with the temperatures [days].
    hazard
        Code of the hazard, such as `gill_flukes`.
    temps
        Daily mean water temperatures from day 0 on, None for a missing day; the last one stands
        for the days that follow. One number for water that stays at it [°C].

    Returns
    -------
    Coverage
        The verdict, the days it rests on [days from the first dose] and what to tell the vet.

    Raises
    ------
    BadInput
        No doses, no temperatures, a number that cannot exist, a hazard whose repeats are not timed,
        or water so far outside the published points that nothing can be said.

    Notes
    -----
    The earliest hatch uses the shortest estimate of each day, the end the longest. On a day colder
    than every point development counts as at the coldest point for the earliest, and not at all
    for the end. A missing day takes its warmer neighbour for the earliest, the colder for the end.

    Examples
    --------
    >>> covers([0, 7, 14], "gill_flukes", 10.0).verdict
    'ends before the first hatch'

    References
    ----------
    Gill flukes: Zhang et al. 2015, Acta Hydrobiologica Sinica 39(6).
    """
    cycle = timed(hazard)
    if cycle.timing == "none":
        raise BadInput(
            f"Repeats against {cycle.organism} are not timed by its life cycle. {cycle.why}",
            field="hazard",
        )
    doses = _days(dose_days)
    warm, cold, remarks = _temperatures(temps, math.floor(doses[0]))
    doses = tuple(day - doses[0] for day in doses)
    first = _first_hatch(cycle, warm)
    end = _end(cycle, cold)
    allowed = _allowed(cycle, doses, warm)
    gap, gap_allowed = max(
        # After the dose that follows the last hatch nothing is left that could breed in a gap.
        (
            (later - day, one)
            for (day, later), one in zip(pairwise(doses), allowed, strict=True)
            if day < end
        ),
        key=lambda pair: pair[0] - pair[1],
        default=(0.0, None),
    )
    gap_allowed = None if gap_allowed == math.inf else gap_allowed
    verdict = _verdict(cycle, doses[-1], first, end, gap, gap_allowed)
    series = _series(cycle)
    bounds = _bounds(cycle, warm, gaps=len(doses) > 1)
    standing = weakest(one.standing for one in series)
    return Coverage(
        hazard=cycle.hazard,
        verdict=verdict,
        first_hatch_day=first,
        end_day=end,
        allowed_gap_days=gap_allowed,
        longest_gap_days=max((b - a for a, b in pairwise(doses)), default=0.0),
        last_dose_day=doses[-1],
        said=_said(cycle, verdict, doses, first, end, gap, gap_allowed),
        points=tuple(
            dict.fromkeys(
                said_near(one, temp_c) for one in series for temp_c in (min(cold), max(warm))
            )
        ),
        arithmetic=_arithmetic(cycle, doses, first, end, gap_allowed),
        source=cited(series),
        standing="common practice" if any(one.assumed for one in bounds) else standing,
        remarks=(
            *remarks,
            *dict.fromkeys(one.why for one in bounds if one.why),
            cycle.reached,
            WHOLE_KILL,
            "Count again after the last dose, and once more when the next hatch is due.",
        ),
    )


@dataclass(frozen=True, slots=True)
class End:
    """What a course waits for: `share` is what a day at a temperature [°C] brings it nearer, 1 in
    all and None where nothing is published; `said` is that it has come, `short` what it is."""

    share: Callable[[float], float | None]
    said: str
    short: str


def ends_by(hazard: str) -> End:
    """What must be over before a course may end, by the longest that is published.

    Parameters
    ----------
    hazard
        Code of the hazard, such as `gill_flukes`.

    Returns
    -------
    End
        The shares of a day [per day], as `covers` sums them for its `end_day`.

    Raises
    ------
    BadInput
        No timing is published for the hazard.

    Examples
    --------
    >>> end = ends_by("gill_flukes")
    >>> end.said, round(1.0 / end.share(20.0), 2)
    ('the last egg has hatched', 8.0)
    """
    cycle = timed(hazard)
    code = _end_code(cycle)

    def share(temp_c: float) -> float | None:
        days = longest(cycle, code, temp_c)
        return None if days is None else 1.0 / days

    said, short = {
        "whole_cycle": ("a whole cycle is over", "cycle over"),
        "last_hatch": ("the last egg has hatched", "last hatch"),
        "first_hatch": ("the first egg has hatched", "first hatch"),
    }[code]
    return End(share, said, short)


def _days(dose_days: Sequence[float]) -> tuple[float, ...]:
    if not dose_days:
        raise BadInput("There is no dose, so there is nothing to look at.", field="doses")
    for day in dose_days:
        given(day, "day of a dose", "d", low=0.0, high=float(LONGEST_COURSE_DAYS))
    return tuple(sorted(float(day) for day in dose_days))


def _temperatures(
    temps: float | Sequence[float | None], first_day: int
) -> tuple[list[float], list[float], tuple[str, ...]]:
    """The days from the first dose on, for the earliest and for the end, and what was put in."""
    series = [temps] if isinstance(temps, int | float) else list(temps)
    known = [temp for temp in series if temp is not None and not math.isnan(temp)]
    if not known:
        raise BadInput("There is no water temperature, so nothing is timed.", field="temperature")
    for temp in known:
        given_temperature(temp)
    warm, cold = _filled(series, max), _filled(series, min)
    start = min(first_day, len(series) - 1)
    remarks: tuple[str, ...] = ()
    missing = len(series) - len(known)
    if missing:
        remarks += (
            f"{missing} {'day has' if missing == 1 else 'days have'} no temperature: the warmer "
            "neighbour is taken for the earliest hatch, the colder for the end.",
        )
    if len(series) > 1:
        remarks += (
            f"After the last temperature {figures(warm[-1])} °C is taken to stay; reckon again as "
            "the water moves.",
        )
    return warm[start:], cold[start:], remarks


def _filled(series: Sequence[float | None], choose: Callable[[float, float], float]) -> list[float]:
    """Each missing day with one of the two known days around it."""
    filled: list[float] = []
    known = [None if temp is None or math.isnan(temp) else float(temp) for temp in series]
    for index, temp in enumerate(known):
        before = next((one for one in reversed(known[: index + 1]) if one is not None), None)
        after = next((one for one in known[index:] if one is not None), None)
        if temp is not None:
            filled.append(temp)
        elif before is None or after is None:
            filled.append(before if after is None else after)  # type: ignore[arg-type]
        else:
            filled.append(choose(before, after))
    return filled


def days_until(
    temps: Sequence[float], start: float, days_at: Callable[[float], float | None]
) -> float | None:
    """The time from `start` until the daily parts of a stage sum to 1; None if they never do.

    Parameters
    ----------
    temps
        Daily water temperatures from day 0 on; the last one stays [°C].
    start
        When the stage begins [days].
    days_at
        How long the stage takes at a temperature [days]; None where it does not go on.
    """
    done, now = 0.0, start
    while now < start + LONGEST_COURSE_DAYS:
        step = math.floor(now) + 1.0 - now
        days = days_at(temps[min(math.floor(now), len(temps) - 1)])
        if days is not None:
            needed = (1.0 - done) * days
            if needed <= step + 1e-9:
                return round(now + needed - start, 9)
            done += step / days
        now += step
    return None


def _bound(cycle: LifeCycle, code: str) -> Callable[[float], float | None]:
    def days(temp_c: float) -> float | None:
        found = shortest(cycle, code, temp_c)
        if found is None:
            raise outside_points(cycle, code, temp_c)
        return found.days

    return days


def _first_hatch(cycle: LifeCycle, warm: Sequence[float]) -> float | None:
    if cycle.timing != "eggs":
        return None
    return days_until(warm, 0.0, _bound(cycle, "first_hatch"))


def _end_code(cycle: LifeCycle) -> str:
    if cycle.timing == "cycle":
        return "whole_cycle"
    return "last_hatch" if "last_hatch" in cycle.stages else "first_hatch"


def _end(cycle: LifeCycle, cold: Sequence[float]) -> float:
    code = _end_code(cycle)
    end = days_until(cold, 0.0, lambda temp_c: longest(cycle, code, temp_c))
    if end is None:
        raise outside_points(cycle, code, cold[-1])
    return end


def _gap_code(cycle: LifeCycle) -> str:
    return "maturity" if "maturity" in cycle.stages else "interval"


def _allowed(cycle: LifeCycle, doses: Sequence[float], warm: Sequence[float]) -> tuple[float, ...]:
    """For every dose but the last, in how many days a young that hatched just after it breeds."""
    days_at = _bound(cycle, _gap_code(cycle))
    found = (days_until(warm, day, days_at) for day in doses[:-1])
    return tuple(math.inf if days is None else days for days in found)


def _verdict(
    cycle: LifeCycle,
    last: float,
    first: float | None,
    end: float,
    gap: float,
    allowed: float | None,
) -> Verdict:
    if first is not None and last < first:
        return "ends before the first hatch"
    if last < end:
        return "ends too early"
    if allowed is not None and gap > allowed + 1e-9:
        return "gap too long"
    if cycle.timing == "eggs" and "last_hatch" not in cycle.stages:
        return "not known"
    return "covered"


def _said(
    cycle: LifeCycle,
    verdict: Verdict,
    doses: Sequence[float],
    first: float | None,
    end: float,
    gap: float,
    allowed: float | None,
) -> str:
    one = len(doses) == 1
    those = "The one dose falls" if one else f"All {len(doses)} doses fall"
    until = {
        "whole_cycle": f"a whole cycle takes up to {said_days(end)}",
        "last_hatch": f"eggs may hatch until day {math.ceil(end - 1e-9)}",
        "first_hatch": f"the first egg may hatch as late as day {math.ceil(end - 1e-9)}",
    }[_end_code(cycle)]
    sentences = {
        "covered": f"Covered: {until}, and the last dose is on day {figures(doses[-1])}.",
        "gap too long": "Not covered throughout, though the last dose is late enough.",
        "ends too early": f"Not covered: {until}, and the last dose is on day "
        f"{figures(doses[-1])}.",
        "ends before the first hatch": f"Not covered: {those.lower()} before the first egg "
        f"hatches, on day {math.floor((first or 0.0) + 1e-9)} at the earliest; {until}. What is "
        "counted before that shows grown worms killed, and no more.",
        "not known": f"Not known: the last dose, on day {figures(doses[-1])}, is after the first "
        "hatch, but how long hatching goes on is not published.",
    }
    said = sentences[verdict]
    if verdict != "ends before the first hatch" and allowed is not None and gap > allowed + 1e-9:
        said += (
            f" A gap of {figures(gap)} d is longer than the {said_days(allowed)} in which the "
            "fastest young can breed: count again after the course."
            if _gap_code(cycle) == "maturity"
            else f" A gap of {figures(gap)} d is longer than the {said_days(allowed)} advised."
        )
    return said


def _arithmetic(
    cycle: LifeCycle,
    doses: Sequence[float],
    first: float | None,
    end: float,
    allowed: float | None,
) -> str:
    parts = [f"doses on day {', '.join(figures(day) for day in doses)}"]
    if first is not None:
        parts.append(f"first hatch from day {figures(first, 3)}")
    code = _end_code(cycle)
    if code != "first_hatch":
        parts.append(f"{cycle.stages[code].name} by day {figures(end, 3)}")
    if allowed is not None:
        parts.append(f"{'young breed' if _gap_code(cycle) == 'maturity' else 'next dose'} "
                     f"{figures(allowed, 3)} d after the dose")  # fmt: skip
    return "; ".join(parts)


def _series(cycle: LifeCycle) -> tuple[Series, ...]:
    codes = [_end_code(cycle)] + (["first_hatch"] if cycle.timing == "eggs" else [])
    stages = [one for code in codes for one in cycle.stages[code].series]
    gap = _gap_code(cycle)
    return (*stages, *(cycle.interval if gap == "interval" else cycle.stages[gap].series))


def _bounds(cycle: LifeCycle, warm: Sequence[float], *, gaps: bool) -> tuple[Bound, ...]:
    """The bounds of every temperature that occurred, for what had to be assumed."""
    codes = ["first_hatch"] if cycle.timing == "eggs" else []
    codes += [_gap_code(cycle)] if gaps else []
    found = (shortest(cycle, code, temp_c) for code in codes for temp_c in dict.fromkeys(warm))
    return tuple(one for one in found if one is not None)
