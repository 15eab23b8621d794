"""The band of a window rule and the days that count in it, from the numbers in force."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, fields

from store.facts.hazards import Window


@dataclass(frozen=True, slots=True)
class WindowSettings:
    """How many days count; every field can be changed by the practice, in the rule of the window.

    The defaults are the practice's own choice (common practice); the publications give bands and
    no days.
    """

    entered_within_days: float = 7.0
    """A pond has `entered` for so long, then it is `staying`."""
    heading_within_days: float = 7.0
    """A pond outside is `heading` when the trend reaches the band within so many days of today."""
    watch_days: float = 14.0
    """Staying is watched until so many days after entering, and is a calm note from then on."""
    left_within_days: float = 7.0
    """A pond has `left` for so long, then it is `outside`."""
    trend_days: float = 14.0
    """The trend is taken over the values of the last so many days before the newest."""
    trend_least_values: float = 3.0
    """Fewer values make no trend."""
    trend_least_c_per_day: float = 0.05
    """A slower trend leads nowhere."""
    max_gap_days: float = 21.0
    """Values further apart are not joined: neither a trend nor an interpolation runs across."""
    stale_after_days: float = 14.0
    """After so many days without a value the state is `unknown`."""
    cold_below_c: float = 10.0
    """Rising in spring means: it was colder than this not long ago."""
    cold_within_days: float = 60.0
    """How long ago that may have been."""
    rising_least_c_per_day: float = 0.1
    """And it rises at least by this."""
    fresh_days: float = 3.0
    """Of a pond measured outside, an estimate says nothing of today until the reading is older."""
    estimate_chance: float = 0.5
    """Where nobody has read the water, it counts as inside from this chance on (0.5 to 1)."""


USUAL_SETTINGS = WindowSettings()
"""The settings of a practice that has changed none."""


def window_of(params: Mapping[str, float | str]) -> Window:
    """The band, from the numbers in force of a rule of the kind `window`.

    Parameters
    ----------
    params
        The numbers in force [the unit in each name].
    """
    numbers = _numbers(params)
    return Window(
        low_c=numbers.get("low_c"),
        high_c=numbers.get("high_c"),
        margin_c=numbers.get("margin_c", 1.0),
        needs_fall_c=numbers.get("needs_fall_c"),
        fall_hours=numbers.get("fall_hours", 48.0),
        fall_counts_days=numbers.get("fall_counts_days", 14.0),
    )


def settings_of(params: Mapping[str, float | str]) -> WindowSettings:
    """The days that count, from the numbers in force of a rule of the kind `window`.

    Parameters
    ----------
    params
        The numbers in force [the unit in each name].
    """
    numbers = _numbers(params)
    return WindowSettings(
        **{one.name: numbers[one.name] for one in fields(WindowSettings) if one.name in numbers}
    )


def _numbers(params: Mapping[str, float | str]) -> dict[str, float]:
    return {name: value for name, value in params.items() if isinstance(value, float)}
