"""Where the water of a pond stands against a band of temperature in which a hazard flares.

One value a day (the daily mean of a logger, or the tests of that day) goes in; nothing here reads
records. A pond is *inside* from the first day on which its temperature lies within the band, both
ends included, until a day on which it lies beyond an end by more than the margin. Between an end
and its margin nothing changes, so a pond at the edge does not flap. A day without a value changes
nothing. `window_events` tells the whole history by that rule, `window_state` what holds today.
"""

from __future__ import annotations

import math
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal, NamedTuple

from store.facts.hazards import Window
from store.watch.levels import Level
from store.watch.track import Track, ordered, track
from store.watch.window_settings import USUAL_SETTINGS, WindowSettings

State = Literal["outside", "heading", "entered", "staying", "left", "unknown"]
SinceIs = Literal["measured", "about", "or earlier"]
Unknown = Literal["", "no readings", "readings too old", "fall not measured"]

TEMPERATURE_ALONE = frozenset({"rising_in_spring"})
"""Preconditions that say no more than the temperature itself."""

_TINY_C = 1e-9


class Event(NamedTuple):
    """A day on which a pond entered or left a band, with the temperature of that day [°C]."""

    what: Literal["enters", "leaves"]
    day: date
    temp_c: float


@dataclass(frozen=True, slots=True)
class WindowState:
    """Where a pond stands against a band today.

    `since` is the day of entering (`entered`, `staying`) or of leaving (`left`); `since_is` says
    whether that day was measured, lies between two tests (`about`), or is the first day known of a
    pond that was never seen outside (`or earlier`). `days_in` counts from then to today.
    `expected_on` is the day on which the trend reaches the band; it may lie before today when the
    last value is some days old. `fell_on` is the day on which a fall that the hazard needs was
    complete.
    """

    state: State
    since: date | None = None
    since_is: SinceIs = "measured"
    days_in: int = 0
    slope_c_per_day: float | None = None
    expected_on: date | None = None
    last_on: date | None = None
    last_c: float | None = None
    fell_on: date | None = None
    unknown_for: Unknown = ""


def _ends(window: Window) -> tuple[float, float, float, float]:
    """Band and margins as numbers: low, high, low to leave, high to leave."""
    low_c = -math.inf if window.low_c is None else window.low_c
    high_c = math.inf if window.high_c is None else window.high_c
    # 5.6 less 1.0 is not 4.6 in binary; a value on the margin itself has not left.
    return low_c, high_c, low_c - window.margin_c - _TINY_C, high_c + window.margin_c + _TINY_C


def window_events(
    days: Sequence[date],
    temps_c: Sequence[float | None],
    low_c: float | None,
    high_c: float | None,
    margin_c: float = 1.0,
) -> tuple[Event, ...]:
    """Every day on which a pond entered or left a band of temperature, old to new.

    The pond is outside before the first value. It enters on a day with low <= t <= high and leaves
    on a day with t < low - margin or t > high + margin.

    Parameters
    ----------
    days
        Calendar days, in any order, each once.
    temps_c
        Daily mean temperature, in step with the days [°C]; None and NaN are missing days.
    low_c, high_c
        Ends of the band [°C]; None is an open end.
    margin_c
        Margin on leaving [°C].

    Returns
    -------
    tuple of Event
        At most one a day; enters and leaves take turns.

    Raises
    ------
    BadInput
        A day stands twice, or the lengths differ.

    Notes
    -----
    A pond that crosses the whole band between two values was never seen inside, and has no event.

    Examples
    --------
    >>> four = [date(2021, 4, day) for day in (8, 9, 10, 11)]
    >>> [(one.what, one.day.day) for one in window_events(four, [10.1, 9.2, 8.9, 9.9], 10, 20)]
    [('enters', 8), ('leaves', 10)]
    """
    low, high, out_low, out_high = _ends(Window(low_c, high_c, margin_c=margin_c))
    inside = False
    found: list[Event] = []
    for day, temp in ordered(days, temps_c):
        if inside:
            if temp < out_low or temp > out_high:
                inside = False
                found.append(Event("leaves", date.fromordinal(day), temp))
        elif low <= temp <= high:
            inside = True
            found.append(Event("enters", date.fromordinal(day), temp))
    return tuple(found)


def window_state(
    days: Sequence[date],
    temps_c: Sequence[float | None],
    window: Window,
    today: date,
    settings: WindowSettings = USUAL_SETTINGS,
) -> WindowState:
    """Where a pond stands against one band today; see `state_in` for how it is found.

    Parameters
    ----------
    days, temps_c, today
        As for `store.watch.track.track` [°C].
    window, settings
        As for `state_in`.
    """
    return state_in(track(days, temps_c, today, settings), window, settings)


def state_in(seen: Track, window: Window, settings: WindowSettings = USUAL_SETTINGS) -> WindowState:
    """Where a pond stands against a band today.

    Inside and outside are told by the rule at the top of this file, over the last piece of the
    series without a gap longer than `max_gap_days`.

    - `unknown`: no value, or the newest is older than `stale_after_days`; or the hazard needs a
      fall and no two values lie close enough together to show one.
    - `entered`: inside since at most `entered_within_days`; then `staying`. Where the entering
      fell between two values more than a day apart, its day is interpolated in a straight line. A
      piece that begins inside is `staying`, unless the value before the gap lay outside.
    - `left`: outside since at most `left_within_days`; then `outside`.
    - `heading`: outside, and the Theil-Sen slope over the last `trend_days` carries the newest
      value to the band by `heading_within_days` from today. It takes the place of `left`.

    A hazard that needs a fall is inside only from the day on which the water had fallen by
    `needs_fall_c` within `fall_hours`, for `fall_counts_days`; nothing heads for it.

    Parameters
    ----------
    seen
        The pond's temperatures, from `track`.
    window
        The band.
    settings
        How many days count; the same as were given to `track`.

    Returns
    -------
    WindowState
        State, day and trend.

    Examples
    --------
    >>> days = [date(2026, 4, day) for day in (1, 8, 15)]
    >>> now = window_state(days, [8.0, 9.0, 12.0], Window(10.0, 20.0), date(2026, 4, 16))
    >>> now.state, now.since, now.since_is, now.days_in
    ('entered', datetime.date(2026, 4, 11), 'about', 5)
    >>> now = window_state(days, [5.0, 6.8, 8.6], Window(10.0, 20.0), date(2026, 4, 16))
    >>> now.state, now.expected_on
    ('heading', datetime.date(2026, 4, 21))
    """
    if not seen.days:
        return WindowState("unknown", unknown_for="no readings")
    if seen.today.toordinal() - seen.days[-1] > settings.stale_after_days:
        return _told(seen, "unknown", "readings too old")
    newest = _newest_inside(seen, window)
    if newest is None:
        return _outside(seen, window, settings)
    return _inside(seen, window, settings, newest)


def _told(seen: Track, state: State, unknown_for: Unknown = "") -> WindowState:
    """A state without a day of its own, with the newest value and the trend."""
    return WindowState(
        state,
        slope_c_per_day=seen.slope_c_per_day,
        last_on=date.fromordinal(seen.days[-1]),
        last_c=seen.temps_c[-1],
        unknown_for=unknown_for,
    )


def _backwards(seen: Track) -> Iterator[tuple[int, float]]:
    for place in range(len(seen.days) - 1, -1, -1):
        yield place, seen.temps_c[place]


def _newest_inside(seen: Track, window: Window) -> int | None:
    """Place of the newest value in the band, when the pond has not left since; else None."""
    low, high, out_low, out_high = _ends(window)
    for place, temp in _backwards(seen):
        if low <= temp <= high:
            return place
        if temp < out_low or temp > out_high:
            return None
    return None


def _inside(seen: Track, window: Window, settings: WindowSettings, newest: int) -> WindowState:
    """Entered or staying; for a hazard that needs a fall, only after one."""
    since, since_is = _entered_on(seen, window, newest)
    fell_on = None
    if window.needs_fall_c is not None:
        fall = _fall(seen, window)
        if fall is None:
            return _told(seen, "unknown", "fall not measured")
        if fall == 0:
            return _told(seen, "outside")
        fell_on = date.fromordinal(fall)
        if fall >= since:
            since, since_is = fall, "measured"
    days_in = seen.today.toordinal() - since
    low, high, _, _ = _ends(window)
    was_outside = seen.before_c is not None and not low <= seen.before_c <= high
    news = since_is != "or earlier" or was_outside
    return WindowState(
        "entered" if news and days_in <= settings.entered_within_days else "staying",
        date.fromordinal(since),
        since_is,
        days_in,
        seen.slope_c_per_day,
        None,
        date.fromordinal(seen.days[-1]),
        seen.temps_c[-1],
        fell_on,
    )


def _entered_on(seen: Track, window: Window, newest: int) -> tuple[int, SinceIs]:
    """The day of entering of a pond that is inside, and how well it is known."""
    low, high, out_low, out_high = _ends(window)
    first = newest
    for place in range(newest, -1, -1):
        temp = seen.temps_c[place]
        if temp < out_low or temp > out_high:
            break
        if low <= temp <= high:
            first = place
    day = seen.days[first]
    if first == 0:
        return day, "or earlier"
    gap = day - seen.days[first - 1]
    if gap <= 1:
        return day, "measured"
    before_c, temp = seen.temps_c[first - 1], seen.temps_c[first]
    end = low if before_c < low else high
    crossing = math.ceil((end - before_c) / (temp - before_c) * gap - _TINY_C)
    return seen.days[first - 1] + min(max(crossing, 1), gap), "about"


def _fall(seen: Track, window: Window) -> int | None:
    """The last day that itself completed a fall that counts; 0 for none, None for not measured."""
    needed = math.inf if window.needs_fall_c is None else window.needs_fall_c - _TINY_C
    from_day = seen.today.toordinal() - window.fall_counts_days
    apart = window.fall_hours / 24.0
    measured = False
    for place, temp in _backwards(seen):
        if seen.days[place] < from_day:
            break
        for earlier in range(place - 1, -1, -1):
            if seen.days[place] - seen.days[earlier] > apart:
                break
            measured = True
            if temp < seen.temps_c[place - 1] and seen.temps_c[earlier] - temp >= needed:
                return seen.days[place]
    return 0 if measured else None


def _outside(seen: Track, window: Window, settings: WindowSettings) -> WindowState:
    """Heading for the band, just left, or simply outside."""
    if window.needs_fall_c is not None:
        return _told(seen, "outside")
    expected = _expected_on(seen, window, settings)
    if expected is not None:
        return WindowState(
            "heading",
            slope_c_per_day=seen.slope_c_per_day,
            expected_on=expected,
            last_on=date.fromordinal(seen.days[-1]),
            last_c=seen.temps_c[-1],
        )
    left = _left_on(seen, window, settings)
    if left is None:
        return _told(seen, "outside")
    return WindowState(
        "left",
        date.fromordinal(left),
        days_in=seen.today.toordinal() - left,
        slope_c_per_day=seen.slope_c_per_day,
        last_on=date.fromordinal(seen.days[-1]),
        last_c=seen.temps_c[-1],
    )


def _expected_on(seen: Track, window: Window, settings: WindowSettings) -> date | None:
    """The day on which the trend reaches the band, when that is soon enough."""
    slope = seen.slope_c_per_day
    if slope is None or abs(slope) < settings.trend_least_c_per_day:
        return None
    low, high, _, _ = _ends(window)
    last_c = seen.temps_c[-1]
    end = low if last_c < low else high
    if (end > last_c) != (slope > 0.0):
        return None
    days = math.ceil((end - last_c) / slope - _TINY_C)
    day = seen.days[-1] + days
    if day > seen.today.toordinal() + settings.heading_within_days:
        return None
    return date.fromordinal(day)


def _left_on(seen: Track, window: Window, settings: WindowSettings) -> int | None:
    """The day of leaving, for a pond that has left not long ago."""
    low, high, out_low, out_high = _ends(window)
    left = None
    for place, temp in _backwards(seen):
        if low <= temp <= high:
            return left
        if temp < out_low or temp > out_high:
            left = seen.days[place]
            if seen.today.toordinal() - left > settings.left_within_days:
                return None
    return None


def window_level(
    state: WindowState,
    raised_by: Collection[str] = (),
    settings: WindowSettings = USUAL_SETTINGS,
) -> Level:
    """The level at which a state is told.

    ==============================  ===========  ====================  ==========================
    state                           by itself    rising in spring      any other precondition
    ==============================  ===========  ====================  ==========================
    heading                         watch        watch                 watch
    entered                         watch        watch                 act
    staying, up to `watch_days`     watch        watch                 watch
    staying longer, or unseen       calm         calm                  watch
    outside, left                   calm         calm                  calm
    unknown                         unknown      unknown               unknown
    ==============================  ===========  ====================  ==========================

    Temperature alone never asks for anybody today, whatever the hazard: that it rises in spring
    is temperature too. Where only the fall cannot be told, nothing is asked either: `calm`.

    Parameters
    ----------
    state
        Where the pond stands.
    raised_by
        Codes of the preconditions of the hazard that hold at the pond.
    settings
        How long staying is watched.

    Examples
    --------
    >>> window_level(WindowState("entered"), {"rising_in_spring"})
    'watch'
    >>> window_level(WindowState("entered"), {"new_fish"})
    'act'
    """
    if state.state == "unknown":
        return "calm" if state.unknown_for == "fall not measured" else "unknown"
    if state.state == "heading":
        return "watch"
    if state.state == "entered":
        return "act" if set(raised_by) - TEMPERATURE_ALONE else "watch"
    if state.state == "staying":
        fresh = state.since_is != "or earlier" and state.days_in <= settings.watch_days
        return "watch" if fresh or set(raised_by) - TEMPERATURE_ALONE else "calm"
    return "calm"
