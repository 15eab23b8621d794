"""Most bands of most ponds can be told at a glance: nothing moved for weeks, and nothing will.

A caseload holds tens of thousands of pairs of pond and band, and every morning all of them are
asked. A `Glance` is made once a pond; `at_a_glance` then answers for a band with a few comparisons
or says that it must be looked at with `store.watch.windows.state_in`.
"""

from __future__ import annotations

import math
from typing import Literal, NamedTuple

from store.facts.hazards import Window
from store.watch.track import Track
from store.watch.window_settings import USUAL_SETTINGS, WindowSettings

_NEAR_C = 1e-6


class Band(NamedTuple):
    """A window as bare numbers [°C], made once a rule; infinite where the window is open."""

    low_c: float
    high_c: float
    out_low_c: float
    out_high_c: float
    needs_fall: bool


class Glance(NamedTuple):
    """The reach of a pond's temperatures [°C], made once a pond.

    Least and greatest of the days that count, with the value before them, which is the oldest; the
    newest; and where the trend leads the newest by the end of the days in which heading counts.
    `settled` tells that the oldest is older than the days that count.
    """

    least_c: float
    greatest_c: float
    oldest_c: float
    newest_c: float
    led_low_c: float
    led_high_c: float
    settled: bool


def band_of(window: Window) -> Band:
    """A window as bare numbers.

    Parameters
    ----------
    window
        The window of a hazard, from `store.watch.window_settings.window_of`.
    """
    low_c = -math.inf if window.low_c is None else window.low_c
    high_c = math.inf if window.high_c is None else window.high_c
    return Band(
        low_c,
        high_c,
        low_c - window.margin_c - _NEAR_C,
        high_c + window.margin_c + _NEAR_C,
        window.needs_fall_c is not None,
    )


def glance(seen: Track, settings: WindowSettings = USUAL_SETTINGS) -> Glance | None:
    """The reach of a pond's temperatures; None when they are missing or too old to say anything.

    Parameters
    ----------
    seen
        The pond's temperatures, from `store.watch.track.track`.
    settings
        How many days count; the same as were given to `track`.
    """
    today = seen.today.toordinal()
    if not seen.days or today - seen.days[-1] > settings.stale_after_days:
        return None
    counts = max(settings.watch_days, settings.entered_within_days, settings.left_within_days)
    place = len(seen.days) - 1
    while place > 0 and today - seen.days[place] <= counts:
        place -= 1
    reach = seen.temps_c[place:]
    led = 0.0
    if seen.slope_c_per_day is not None:
        led = seen.slope_c_per_day * (settings.heading_within_days + today - seen.days[-1])
    return Glance(
        min(reach),
        max(reach),
        reach[0],
        reach[-1],
        reach[-1] + min(led, 0.0),
        reach[-1] + max(led, 0.0),
        today - seen.days[place] > counts,
    )


def at_a_glance(now: Glance, band: Band) -> Literal["outside", "staying", "look"]:
    """What can be told of a band without looking closely.

    Parameters
    ----------
    now
        The reach of the pond's temperatures.
    band
        The band.

    Returns
    -------
    str
        `outside`: beyond the margin of leaving, and not heading back. `staying`: inside for longer
        than staying is watched; calm unless a precondition raises it. `look`: neither is certain.

    Examples
    --------
    >>> warm = Glance(23.0, 25.0, 23.0, 24.0, 24.0, 24.5, True)
    >>> [at_a_glance(warm, band_of(Window(low, low + 15.0))) for low in (2.0, 15.0, 24.0)]
    ['outside', 'staying', 'look']
    """
    least_c, greatest_c, oldest_c, newest_c, led_low_c, led_high_c, settled = now
    low_c, high_c, out_low_c, out_high_c, needs_fall = band
    if newest_c < out_low_c:
        return "outside" if led_high_c < low_c - _NEAR_C else "look"
    if newest_c > out_high_c:
        return "outside" if led_low_c > high_c + _NEAR_C else "look"
    if (
        settled
        and low_c <= oldest_c <= high_c
        and out_low_c + 2.0 * _NEAR_C <= least_c
        and greatest_c <= out_high_c - 2.0 * _NEAR_C
    ):
        return "look" if needs_fall else "staying"
    return "look"
