"""What an estimate of a pond's temperature says of the temperature window of a hazard.

A pond that nobody has read for days may have come into a window meanwhile, and one that was read
may be about to. Where there is an estimate (`store.warmth`) it says how likely that is. It never
asks for anybody today: what it says is watched until somebody has measured.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from datetime import date
from functools import cache
from statistics import NormalDist
from typing import Final, Literal, NamedTuple

from store.facts.hazards import Window
from store.warmth.estimate import EIGHTY, Ahead, EstimatedDay
from store.warmth.words import in_words
from store.watch.concern import Concern
from store.watch.glance import Band
from store.watch.rule import Finding, Rule
from store.watch.window_settings import WindowSettings

What = Literal["soon by estimate", "by estimate", "still by estimate"]
SOON: Final = "soon by estimate"
INSIDE: Final = "by estimate"
STILL: Final = "still by estimate"
"""Outside, and likely inside on a day to come; likely inside since not long ago; for longer."""
BY_ESTIMATE: frozenset[str] = frozenset({SOON, INSIDE, STILL})

_NEAR_C = 1e-6
_WEIGHT_SOON, _WEIGHT_INSIDE = 0.5, 0.9
"""Below what was measured: there heading weighs 0.5 and a pond that has entered 1."""


class Reach(NamedTuple):
    """An estimate with the days of it that count, made once a pond.

    Days are ordinals. `least_c` and `greatest_c` are the ends of the means from `begins` to `ends`.
    A band that holds a pair of `lived` holds the water of that day likely enough; one that holds
    `sure_low_c` to `sure_high_c` does so on every day on which staying is watched.
    """

    ahead: Ahead
    of_today: bool
    """Whether the estimate may say that the water lies inside today."""
    begins: int
    """The first day on which the water may be expected inside."""
    ends: int
    back: int
    """The first of the days before today on which staying is watched."""
    least_c: float
    greatest_c: float
    sure_low_c: float
    sure_high_c: float
    lived: Sequence[tuple[float, float]]
    """From `back` to today, empty where the estimate may not speak of today [°C]."""


class Expected(NamedTuple):
    """A pond that is likely in a band, or soon."""

    what: What
    day: int
    """Ordinal of the day on which it is expected inside, or since which it is likely there."""
    chance: float
    """Of lying inside on the expected day, else today, 0 to 1."""
    or_earlier: bool = False
    """Whether it was likely inside on the first day looked at already."""


def reach(
    ahead: Ahead | None, today: int, measured: int | None, settings: WindowSettings
) -> Reach | None:
    """The days of an estimate that count; None where there is none, or one made on another day.

    Parameters
    ----------
    ahead
        The estimate.
    today
        Ordinal of the day it is.
    measured
        Ordinal of the last day on which the pond's temperature was measured; None for never.
    settings
        How many days count.
    """
    if ahead is None or ahead.today != today:
        return None
    means_c = ahead.means_c
    begins = today + 1 if measured == today else today
    last = ahead.first + len(means_c) - 1
    ends = min(today + math.floor(settings.heading_within_days), last)
    back = max(math.ceil(today - settings.watch_days), ahead.first)
    coming = means_c[begins - ahead.first : ends + 1 - ahead.first]
    holds = min(settings.fresh_days, settings.stale_after_days)
    of_today = measured is None or today - measured > holds
    lived: list[tuple[float, float]] = []
    if of_today:
        span = slice(back - ahead.first, today + 1 - ahead.first)
        within = _spreads_within(settings.estimate_chance)
        lived = [
            (mean - within * spread, mean + within * spread)
            for mean, spread in zip(means_c[span], ahead.spreads_c[span], strict=True)
        ]
    return Reach(
        ahead, of_today, begins, ends, back, min(coming, default=math.inf),
        max(coming, default=-math.inf), min((low for low, _ in lived), default=-math.inf),
        max((high for _, high in lived), default=math.inf), lived,
    )  # fmt: skip


@cache
def _spreads_within(chance: float) -> float:
    """So many standard deviations to both sides hold a normal value with that chance."""
    return NormalDist().inv_cdf((1.0 + chance) / 2.0) if chance < 1.0 else math.inf


def touches(now: Reach, band: Band) -> bool:
    """Whether a mean of the days that count lies in a band; else no chance comes to a half.

    Parameters
    ----------
    now
        The estimate, from `reach`.
    band
        The band; one that asks for a fall is touched by no estimate.
    """
    return (
        not band.needs_fall
        and now.greatest_c >= band.low_c - _NEAR_C
        and now.least_c <= band.high_c + _NEAR_C
    )


def expected(now: Reach, band: Band, window: Window, settings: WindowSettings) -> Expected | None:
    """What an estimate says of a band at a pond that was not measured inside it; None for nothing.

    The water counts as inside from a chance of `estimate_chance` on, and as having left when the
    chance of the band widened by its margin falls below that.

    Parameters
    ----------
    now
        The estimate, from `reach`.
    band, window
        The band.
    settings
        How many days count; the same as were given to `reach`.

    Returns
    -------
    Expected or None
        `INSIDE` where the water is likely inside today and was likely outside `watch_days` ago,
        `STILL` where it was inside then already or nothing is known of then, else `SOON` where a
        day up to `heading_within_days` from today is likely inside.
    """
    ahead, needed = now.ahead, settings.estimate_chance
    low_c, high_c = band.low_c, band.high_c
    if now.of_today and (chance := _chance(ahead, ahead.today, low_c, high_c)) >= needed:
        since = now.back
        if now.sure_low_c < low_c or high_c < now.sure_high_c:
            since = _since(now, band, window.margin_c, needed)
        longer = since == now.back
        return Expected(STILL if longer else INSIDE, since, chance, longer)
    for day in range(now.begins, now.ends + 1):
        chance = _chance(ahead, day, low_c, high_c)
        if chance >= needed:
            return Expected(SOON, day, chance)
    return None


def _since(now: Reach, band: Band, margin_c: float, needed: float) -> int:
    """The first day of the run of days up to today on which the water is likely inside."""
    ahead, low_c, high_c = now.ahead, band.low_c, band.high_c
    since = ahead.today
    for day in range(since - 1, now.back - 1, -1):
        sure_low_c, sure_high_c = now.lived[day - now.back]
        if (low_c <= sure_low_c and sure_high_c <= high_c) or (
            _chance(ahead, day, low_c, high_c) >= needed
        ):
            since = day
        elif _chance(ahead, day, low_c - margin_c, high_c + margin_c) < needed:
            break
    return since


def _chance(ahead: Ahead, day: int, low_c: float, high_c: float) -> float:
    """The chance of a band; where it is below a half 0 will do."""
    mean_c = ahead.means_c[day - ahead.first]
    if low_c - _NEAR_C <= mean_c <= high_c + _NEAR_C:
        return ahead.inside(day, low_c, high_c)
    return 0.0


def finding_of(said: Expected, today: int, settings: WindowSettings, raised: int = 0) -> Finding:
    """The finding of a window rule by estimate; its value is the chance in percent.

    Parameters
    ----------
    said
        What the estimate says.
    today
        Ordinal of the day it is.
    settings
        What the numbers of the rule come to.
    raised
        How many preconditions hold: they order it within its level and raise none.
    """
    weight = _WEIGHT_SOON
    if said.what != SOON:
        weight = _WEIGHT_INSIDE - 0.02 * min(today - said.day, 25)
    return Finding(
        "calm" if said.what == STILL else "watch",
        weight + raised,
        100.0 * said.chance,
        100.0 * settings.estimate_chance,
        "low_c",
        -1,
        date.fromordinal(said.day),
        said.what,
        said.or_earlier,
    )


def percent(value: float) -> str:
    """A chance in percent as it is said; nothing that is reckoned is certain.

    Parameters
    ----------
    value
        The chance [%].

    Examples
    --------
    >>> percent(62.6), percent(99.97)
    ('63 %', '>99 %')
    """
    return f"{value:.0f} %" if value < 99.5 else ">99 %"


def reckoned(rule: Rule, said: Expected, now: Reach) -> tuple[str, ...]:
    """How a chance comes about, one step a line.

    Parameters
    ----------
    rule
        The rule as it is in force.
    said
        What the estimate says.
    now
        The estimate.
    """
    ahead = now.ahead
    on = said.day if said.what == SOON else ahead.today
    mean_c, spread_c = ahead.at(on)
    half_c = EIGHTY * spread_c
    day = date.fromordinal(on)
    about = in_words(EstimatedDay(day, mean_c, max(mean_c - half_c, 0.0), mean_c + half_c))
    least = percent(100.0 * rule.number("estimate_chance"))
    standing = rule.rests_on("estimate_chance").standing
    chance = percent(100.0 * said.chance)
    if said.what == SOON:
        where = f"expected inside on {day}: chance {chance}"
    else:
        days_in = ahead.today - said.day
        since = date.fromordinal(said.day)
        days = "day" if days_in == 1 else "days"
        how = "since on or before" if said.or_earlier else "since about"
        begun = f"{how} {since}, {days_in} {days} ago" if days_in else "since today"
        where = f"chance of lying inside {chance}; inside by estimate {begun}"
    when = "today" if on == ahead.today else str(day)
    return f"estimate for {when}: {about}", f"{where}; told from {least} on ({standing})"


def as_estimate(concern: Concern, raised: Sequence[str]) -> Concern:
    """A concern that says that it rests on an estimate, and how to know better.

    Parameters
    ----------
    concern
        The concern.
    raised
        The preconditions that hold, in words.
    """
    stays = "a note" if concern.level == "calm" else "at watch"
    own = [f"By estimate, not measured: it stays {stays} until somebody has measured."]
    if raised:
        own.append(f"It matters more because {' and '.join(raised)}.")
    return replace(
        concern,
        remarks=(*own, *concern.remarks),
        advice=f"Ask for a thermometer reading. {concern.advice}",
        by_estimate=True,
    )
