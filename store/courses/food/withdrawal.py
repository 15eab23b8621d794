"""Until when treated fish must not be eaten: degree-days due, and the day on which they are met.

Degree-days here are daily mean water temperatures summed above 0 °C. They belong to withdrawal
alone: parasites do not keep to them. The law in force, the label and the prescribing vet decide.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Literal

from store.courses.food.withdrawal_due import (
    LOCAL_LAW,
    MOST_DEGREE_DAYS,
    Due,
    LabelEnd,
    barred,
    by_label,
    due,
    labelled,
)
from store.errors import BadInput
from store.facts.sources import cite_with_standing
from store.text import day_said
from store.water.given import figures, given

__all__ = [
    "Due",
    "LabelEnd",
    "Missing",
    "Withdrawal",
    "barred",
    "by_label",
    "due",
    "labelled",
    "withdrawal",
]

HIGHEST_C = 40.0
"""Warmer pond water is a reading in °F or a slip."""
LONGEST_DAYS = 4000
LAST_YEAR = 9900

Missing = Literal["nothing", "lower neighbour"]
"""What a day without a reading adds: nothing, or the lower of the readings around it."""


@dataclass(frozen=True, slots=True)
class Withdrawal:
    """When a sum of degree-days is met.

    `until` is the last day of the period, `free_from` the day after it; `until_if_warm` and
    `until_if_cold` are the same with the water warmer and colder than expected by its uncertainty.
    All are None where the sum is not met and nothing is expected of the days to come, or, if cold,
    never met. `met` is True where the record alone meets it. `sum_degree_days` is what the record
    adds up to until the sum is met, or to its end [°C x days].
    """

    degree_days: float
    last_dose: date
    met: bool
    sum_degree_days: float
    until: date | None
    free_from: date | None
    until_if_warm: date | None
    until_if_cold: date | None
    days: int | None
    missing_days: int
    arithmetic: str
    source: str
    remarks: tuple[str, ...]


def withdrawal(
    degree_days: float,
    last_dose: date,
    daily_c: Sequence[float | None] = (),
    *,
    expected_c: float | Sequence[float] | None = None,
    spread_c: float = 0.0,
    missing: Missing = "nothing",
) -> Withdrawal:
    """The day on which the water has summed up to the degree-days due.

    Parameters
    ----------
    degree_days
        The sum that must be met [°C x days].
    last_dose
        Day of the very last dose; a late one starts the count again.
    daily_c
        Daily mean water temperatures from the day after the last dose; None or NaN is a day
        without a reading [°C].
    expected_c
        What is expected of the days after the record: one temperature, or one a day of which the
        last stays; None for nothing [°C].
    spread_c
        How far the expectation may be out either way [°C].
    missing
        What a day without a reading adds.

    Returns
    -------
    Withdrawal
        Days, and the sum of the record [°C x days].

    Raises
    ------
    BadInput
        A number that cannot exist; water above 40 °C, which is °F or a slip.

    Notes
    -----
    Counting begins on the day after the last dose. Water below 0 °C adds nothing. The period ends
    with the day on which the sum is met; the fish are free from the day after.

    Examples
    --------
    >>> found = withdrawal(500.0, date(2026, 5, 3), expected_c=18.0)
    >>> found.days, found.until.isoformat(), found.free_from.isoformat()
    (28, '2026-05-31', '2026-06-01')

    References
    ----------
    SI 1988/1009, regulation 2, for how the sum is made.
    """
    given(degree_days, "degree-days", low=0.0, high=MOST_DEGREE_DAYS)
    if last_dose.year > LAST_YEAR:
        raise BadInput(f"{day_said(last_dose)} is not the day of a dose.", field="from")
    given(spread_c, "spread", "°C", low=0.0, high=HIGHEST_C)
    record = [None if one is None or math.isnan(one) else _temperature(one) for one in daily_c]
    ahead = _ahead(expected_c)
    missing_days = sum(one is None for one in record)
    adds = _adding(record, missing)
    met_on, total = _met(degree_days, adds)
    met = met_on is not None
    until_days = met_on if met_on is not None else _beyond(degree_days, total, len(adds), ahead)
    warm, cold = (
        met_on if met else _beyond(degree_days, total, len(adds), _moved(ahead, by_c))
        for by_c in (spread_c, -spread_c)
    )
    until = _on(last_dose, until_days)
    return Withdrawal(
        degree_days=degree_days,
        last_dose=last_dose,
        met=met,
        sum_degree_days=total,
        until=until,
        free_from=_on(until, 1) if until is not None else None,
        until_if_warm=_on(last_dose, warm),
        until_if_cold=_on(last_dose, cold),
        days=until_days,
        missing_days=missing_days,
        arithmetic=_arithmetic(degree_days, total, len(record), until_days, ahead, met=met),
        source=cite_with_standing("uk_si_1988_1009", "published"),
        remarks=_remarks(last_dose, missing_days, missing, ahead, spread_c, cold, met=met),
    )


def _temperature(value: float) -> float:
    if value > HIGHEST_C and math.isfinite(value):
        raise BadInput(
            f"The water temperature is {value:g} °C: above {HIGHEST_C:g} °C it was read in °F or "
            "slipped. Nothing was summed.",
            field="temperature",
        )
    return given(value, "temperature", "°C", low=-5.0, high=HIGHEST_C)


def _ahead(expected_c: float | Sequence[float] | None) -> tuple[float, ...]:
    if expected_c is None:
        return ()
    series = (expected_c,) if isinstance(expected_c, int | float) else tuple(expected_c)
    return tuple(_temperature(one) for one in series)


def _moved(ahead: Sequence[float], by_c: float) -> tuple[float, ...]:
    return tuple(one + by_c for one in ahead)


def _adding(record: Sequence[float | None], missing: Missing) -> list[float]:
    """What each day of the record adds to the sum, never less than nothing."""
    adds: list[float] = []
    for index, one in enumerate(record):
        if one is not None:
            adds.append(max(0.0, one))
            continue
        before = next((near for near in reversed(record[:index]) if near is not None), None)
        after = next((near for near in record[index:] if near is not None), None)
        filled = 0.0 if before is None or after is None else min(before, after)
        adds.append(max(0.0, filled) if missing == "lower neighbour" else 0.0)
    return adds


def _enough(total: float, degree_days: float) -> bool:
    # 500 / 10 must be day 50, though a sum of floats may fall short by a rounding.
    return total >= degree_days * (1.0 - 1e-12)


def _met(degree_days: float, adds: Sequence[float]) -> tuple[int | None, float]:
    """The day on which the record meets the sum, counted from the last dose, and its sum there."""
    if degree_days == 0.0:
        return 0, 0.0
    for day in range(1, len(adds) + 1):
        total = math.fsum(adds[:day])
        if _enough(total, degree_days):
            return day, total
    return None, math.fsum(adds)


def _beyond(degree_days: float, total: float, days: int, ahead: Sequence[float]) -> int | None:
    """The day on which the sum is met with what is expected; None if it never is."""
    if not ahead:
        return None
    for day, temp_c in enumerate(ahead, start=1):
        total += max(0.0, temp_c)
        if _enough(total, degree_days):
            return days + day
    if ahead[-1] <= 0.0:
        return None
    more = math.ceil((degree_days - total) / ahead[-1] - 1e-9)
    found = days + len(ahead) + more
    return found if found <= LONGEST_DAYS else None


def _on(start: date, days: int | None) -> date | None:
    return None if days is None else start + timedelta(days=days)


def _arithmetic(
    degree_days: float,
    total: float,
    record_days: int,
    until_days: int | None,
    ahead: Sequence[float],
    *,
    met: bool,
) -> str:
    due_said = f"{figures(degree_days)} degree-days due"
    if met:
        return f"{due_said}; the record reaches {figures(total)} on day {until_days}"
    parts = [due_said]
    if record_days:
        parts.append(f"{figures(total)} in {record_days} days of record")
    if ahead and until_days is not None:
        rest = figures(degree_days - total)
        steady = len(ahead) == 1
        parts.append(
            f"{rest} left / {figures(ahead[0])} °C a day, rounded up = day {until_days}"
            if steady
            else f"{rest} left over the days expected = day {until_days}"
        )
    elif not ahead:
        parts.append(f"{figures(degree_days - total)} left, and nothing is expected of the water")
    else:
        parts.append("not met in the water expected")
    return "; ".join(parts)


def _remarks(
    last_dose: date,
    missing_days: int,
    missing: Missing,
    ahead: Sequence[float],
    spread_c: float,
    cold: int | None,
    *,
    met: bool,
) -> tuple[str, ...]:
    remarks: list[str] = []
    if missing_days:
        what = "nothing" if missing == "nothing" else "the lower neighbour"
        remarks.append(
            f"{missing_days} {'day' if missing_days == 1 else 'days'} without a reading: counted "
            f"with {what}."
        )
    if ahead and not met:
        remarks.append(
            "Not before this day, if the water is as expected: sum the pond's own record again "
            "before any fish leaves."
        )
        if spread_c > 0.0:
            late = _on(last_dose, cold)
            remarks.append(
                f"With the water {figures(spread_c)} °C colder it is never met."
                if late is None
                else f"With the water {figures(spread_c)} °C colder: {day_said(late)}."
            )
    return (
        *remarks,
        "Counted from the day after the very last dose; a late dose starts it again.",
        LOCAL_LAW,
    )
