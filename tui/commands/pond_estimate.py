"""The temperature by estimate of one pond, as an object of JSON."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from store.warmth.estimate import EstimatedDay
    from store.watch.warmth_told import WarmthTold

_DIGITS = 2


def estimate_json(warmth: WarmthTold | None) -> dict[str, Any] | None:
    """The estimate of a pond; never a measurement.

    Keys: `on` (today), `mean_c`, `low_c`, `high_c` (four in five lie between) [°C] or null,
    `why_not` (why there is none, or null), `measured_today`, `grounds`, `days_ahead` (`on`,
    `mean_c`, `low_c`, `high_c`), `doubts` (runs of readings that the water cannot have had:
    `first`, `last`, `readings`, `read_c`, `expected_c`, `fits_as_fahrenheit`) and `to_settle` (the
    same and what else is to be settled, in sentences).

    Parameters
    ----------
    warmth
        Of the pond; without a fit at hand None, and so is the answer.
    """
    if warmth is None:
        return None
    estimate = warmth.estimate
    days = () if estimate is None else estimate.days
    nothing = {"on": warmth.today.isoformat(), "mean_c": None, "low_c": None, "high_c": None}
    return {
        **(nothing if estimate is None else _day(estimate.of_today)),
        "why_not": warmth.why_not or None,
        "measured_today": warmth.measured_today,
        "grounds": list(warmth.grounds),
        "days_ahead": [_day(one) for one in days if one.day > warmth.today],
        "doubts": [
            {
                "first": one.first.isoformat(),
                "last": one.last.isoformat(),
                "readings": one.readings,
                "read_c": round(one.read_c, _DIGITS),
                "expected_c": round(one.expected_c, _DIGITS),
                "fits_as_fahrenheit": one.fahrenheit,
            }
            for one in warmth.doubts
        ],
        "to_settle": [*warmth.to_settle, *([warmth.settle] if warmth.settle else [])],
    }


def _day(one: EstimatedDay) -> dict[str, Any]:
    return {
        "on": one.day.isoformat(),
        "mean_c": round(one.mean_c, _DIGITS),
        "low_c": round(one.low_c, _DIGITS),
        "high_c": round(one.high_c, _DIGITS),
    }
