"""The temperature windows in which a hazard is likely to flare."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date
from functools import cache
from math import inf
from operator import sub
from typing import NamedTuple

from store.facts.hazards import PRECONDITIONS, Window, hazards
from store.watch.concern import Concern
from store.watch.glance import Band, Glance, at_a_glance, band_of, glance
from store.watch.kinds.reading import concern
from store.watch.kinds.window_ahead import (
    BY_ESTIMATE,
    INSIDE,
    STILL,
    Reach,
    as_estimate,
    expected,
    finding_of,
    percent,
    reach,
    reckoned,
    touches,
)
from store.watch.rule import Began, Finding, Rule, Said
from store.watch.seen import SEEN_SAME_DAY, Circumstance, PondSeen
from store.watch.track import Track, last_piece, rising_in_spring
from store.watch.window_settings import WindowSettings, settings_of, window_of
from store.watch.windows import WindowState, state_in, window_level

_CIRCUMSTANCES: Mapping[str, str] = {
    "crowding": "crowding",
    "poor_water": "poor_water",
    "new_fish": "new_fish",
    "seen_here_before": "hazard_seen",
    "seen_same_day": SEEN_SAME_DAY,
}
"""Precondition of a hazard to the kind of event at a pond that means it."""

_OF_A_HAZARD = frozenset({"seen_here_before", "seen_same_day"})
_RISING = "rising_in_spring"
_STAYS = frozenset({"staying", STILL})
_FOR_A_WHILE = frozenset({"new_fish", SEEN_SAME_DAY})
_NOTHING = WindowState("unknown")
NEW_FISH_DAYS = 60
"""How long new fish, and a contact through gear, count: deaths from koi herpesvirus came up to 52
days after contact (Yuasa et al., Fish Pathology), rounded up to the 60 days over which contacts are
asked for in practice."""


class WindowRule(NamedTuple):
    """A rule with what its numbers come to, reckoned once for all ponds."""

    rule: Rule
    window: Window
    settings: WindowSettings
    band: Band
    fall_days: float
    """Within how many days the water must have fallen; infinite where no fall is asked for."""


class _Water(NamedTuple):
    """What a pond's temperatures come to, reckoned once for all windows."""

    settings: WindowSettings
    track: Track
    glance: Glance | None
    rising: bool
    coldest_c: float
    warmest_c: float
    closest_days: float
    """Days between the two values that lie closest together; too far apart, no fall shows."""
    states: dict[tuple[float, float, float], WindowState]
    """States already found, by the ends of the band that the temperatures come near."""
    reach: Reach | None
    """What an estimate says of the days that count; None where there is none."""


def window_rule(rule: Rule) -> WindowRule:
    """A rule of the kind `window`, prepared for looking at many ponds.

    Parameters
    ----------
    rule
        The rule as it is in force.
    """
    window = window_of(rule.params)
    fall_days = inf if window.needs_fall_c is None else window.fall_hours / 24.0
    return WindowRule(rule, window, _the_same(settings_of(rule.params)), band_of(window), fall_days)


@cache
def _the_same(settings: WindowSettings) -> WindowSettings:
    """One object for equal settings, so that they are compared by identity."""
    return settings


def find_windows(
    rules: Sequence[WindowRule], seen: PondSeen, today: date
) -> list[tuple[Rule, Finding]]:
    """What all windows find at a pond; most of them are told at a glance.

    Parameters
    ----------
    rules
        Rules of the kind `window`, from `window_rule`.
    seen
        The pond.
    today
        The practice's calendar day.

    Returns
    -------
    list of tuple
        Each rule that speaks, with its finding.
    """
    found = []
    settings: WindowSettings | None = None
    for prepared in rules:
        _, _, own_settings, band, fall_days = prepared
        if own_settings is not settings:
            settings = own_settings
            water = _water(seen, settings, today)
            now, closest_days, by_estimate = water.glance, water.closest_days, water.reach
        likely = by_estimate is not None and touches(by_estimate, band)
        if now is None:
            if not likely:
                continue
        else:
            if closest_days > fall_days < inf:
                continue
            told = at_a_glance(now, band)
            if told == "outside" and not likely:
                continue
            if told == "staying" and not seen.circumstances:
                continue
        finding = _look_closely(prepared, seen, water, today)
        if finding is not None:
            found.append((prepared.rule, finding))
    return found


def _look_closely(
    prepared: WindowRule, seen: PondSeen, water: _Water, today: date
) -> Finding | None:
    rule, band = prepared.rule, prepared.band
    if rule.hazard in seen.treated:
        return None
    # Without a reading that says anything, nothing is asked of the readings.
    state = _NOTHING if water.glance is None else _state(prepared, water)
    by_estimate = water.reach
    if by_estimate is not None and _may_be_estimated(state, band):
        said = expected(by_estimate, band, prepared.window, prepared.settings)
        if said is None:
            return None
        raised = _raised_by(rule, seen, water, today)
        return finding_of(said, today.toordinal(), prepared.settings, len(raised))
    if state.state in ("outside", "left", "unknown") or state.last_c is None:
        return None
    raised = _raised_by(rule, seen, water, today)
    level = window_level(state, raised, prepared.settings)
    if level == "unknown":
        return None
    weight = 0.5 if state.state == "heading" else 1.0 - 0.02 * min(state.days_in, 25)
    return Finding(
        level,
        weight + len(raised),
        state.last_c,
        band.high_c if state.last_c > band.high_c else band.low_c,
        "low_c",
        -1,
        state.since or state.expected_on,
        state.state,
        state.since is not None and state.since_is == "or earlier",
    )


def _may_be_estimated(state: WindowState, band: Band) -> bool:
    """Whether an estimate speaks in place of the readings: they do not lie inside."""
    return not band.needs_fall and state.state not in ("entered", "staying")


def _state(prepared: WindowRule, water: _Water) -> WindowState:
    """The state in a window; windows that differ only at an end far from the water share it."""
    window, band = prepared.window, prepared.band
    if band.needs_fall:
        return state_in(water.track, window, prepared.settings)
    far_above = water.warmest_c <= band.high_c
    far_below = water.coldest_c >= band.low_c
    key = (
        -inf if far_below else band.low_c,
        inf if far_above else band.high_c,
        window.margin_c,
    )
    known = water.states.get(key)
    if known is None:
        known = water.states[key] = state_in(water.track, window, prepared.settings)
    return known


class WindowKind:
    """Entered, staying in, or heading into the temperature window of a hazard.

    Silent while a course against the hazard runs. Of ponds whose temperatures are too old to say
    anything, which another rule tells, an estimate speaks where there is one; it also tells what a
    pond is heading for, and never asks for anybody today.
    """

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """What one window finds; see `find_windows` for all of them at once."""
        found = find_windows((window_rule(rule),), seen, today)
        return found[0][1] if found else None

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `gill flukes at 15.2 °C` or `gill flukes soon, 63 % by estimate`."""
        name = hazards()[rule.hazard].plain_name
        if finding.variant in BY_ESTIMATE:
            # The chance stands before the rest: a narrow list cuts the end.
            when = finding.variant.removesuffix(INSIDE).strip()
            said = f"{name} {when}," if when else name
            return f"{said} {percent(finding.value)} {INSIDE}"
        if finding.variant == "heading":
            return f"{name} soon, {finding.value:.1f} °C"
        if finding.variant == "staying":
            return f"{name} still, {finding.value:.1f} °C"
        return f"{name} at {finding.value:.1f} °C"

    def series(self, rule: Rule) -> str:
        """The temperature."""
        return "temperature_c"

    def scale(self, rule: Rule, finding: Finding) -> tuple[float, float]:
        """From well below the window to its lower end, above which it is window time."""
        low = rule.number("low_c", rule.number("high_c", 20.0))
        return low - 8.0, low

    def since(self, rule: Rule, seen: PondSeen, finding: Finding) -> Began | None:
        """Day of entering; where the pond is heading for the window, the day it is expected."""
        return finding.began

    def tell(
        self, rule: Rule, seen: PondSeen, finding: Finding, said: Said, today: date
    ) -> Concern:
        """The window, where the pond stands against it, and what raises the level."""
        prepared = window_rule(rule)
        water = _water(seen, prepared.settings, today)
        state = _state(prepared, water)
        raised = [_why(rule, seen, code, today) for code in _raised_by(rule, seen, water, today)]
        by_estimate = finding.variant in BY_ESTIMATE
        remarks = ["A window is when to look, not a diagnosis."]
        if raised and not by_estimate:
            remarks.append(f"Raised because {' and '.join(raised)}.")
        readings = _readings(state, seen)
        told = concern(
            rule,
            finding,
            what=self.what(rule, seen, finding),
            since=finding.began,
            parameter="temperature_c",
            unit="%" if by_estimate else "°C",
            arithmetic=(
                _band(rule),
                *(_by_estimate(prepared, water) if by_estimate else _arithmetic(state, water)),
            ),
            readings=tuple(seen.grounds()) or readings if by_estimate else readings,
            remarks=tuple(remarks),
            stays_in=hazards()[rule.hazard].plain_name if finding.variant in _STAYS else "",
        )
        return as_estimate(told, raised) if by_estimate else told


def _by_estimate(prepared: WindowRule, water: _Water) -> tuple[str, ...]:
    rule, window, settings, band, _ = prepared
    now = water.reach
    said = None if now is None else expected(now, band, window, settings)
    return () if said is None or now is None else reckoned(rule, said, now)


def _band(rule: Rule) -> str:
    window = window_of(rule.params)
    low = "open" if window.low_c is None else f"{window.low_c:g}"
    high = "open" if window.high_c is None else f"{window.high_c:g}"
    return f"window {low} to {high} °C, left beyond a margin of {window.margin_c:g} °C"


def _arithmetic(state: WindowState, water: _Water) -> tuple[str, ...]:
    days = "day" if state.days_in == 1 else "days"
    if state.state == "heading":
        slope = water.track.slope_c_per_day or 0.0
        where = (
            f"daily mean {state.last_c:.1f} °C, trend {slope:+.2f} °C a day: expected inside on "
            f"{state.expected_on}"
        )
    else:
        how = {"measured": "on", "about": "about", "or earlier": "on or before"}[state.since_is]
        where = (
            f"daily mean {state.last_c:.1f} °C; entered {how} {state.since}, "
            f"{state.days_in} {days} ago"
        )
    return (where,)


def _readings(state: WindowState, seen: PondSeen) -> tuple[str, ...]:
    if state.last_on is None:
        return ()
    logged = seen.logger.get("temperature_c")
    by_logger = bool(logged) and any(day.day == state.last_on for day in logged or ())
    source = "the logger's mean" if by_logger else "tests of the day"
    return (f"{state.last_c:.1f} °C on {state.last_on} ({source})",)


def _water(seen: PondSeen, settings: WindowSettings, today: date) -> _Water:
    known = seen.water
    if isinstance(known, _Water) and known.settings is settings:
        return known
    piece = last_piece(seen.daily_temperatures(), today, settings)
    known_c = piece.temps_c if piece.before_c is None else (piece.before_c, *piece.temps_c)
    now = glance(piece, settings)
    water = _Water(
        settings,
        piece,
        now,
        now is not None and rising_in_spring(piece, settings),
        min(known_c, default=inf),
        max(known_c, default=-inf),
        min(map(sub, piece.days[1:], piece.days), default=inf),
        {},
        reach(seen.ahead, today.toordinal(), piece.days[-1] if piece.days else None, settings),
    )
    seen.water = water
    return water


def _raised_by(rule: Rule, seen: PondSeen, water: _Water, today: date) -> list[str]:
    if not seen.circumstances:
        return [_RISING] if water.rising and _RISING in rule.preconditions else []
    found = []
    for code in rule.preconditions:
        if code == _RISING:
            if water.rising:
                found.append(code)
            continue
        kind = _CIRCUMSTANCES[code]
        hazard = rule.hazard if code in _OF_A_HAZARD else ""
        if any(_counts(one, kind, hazard, today) for one in seen.circumstances):
            found.append(code)
    return found


def _why(rule: Rule, seen: PondSeen, code: str, today: date) -> str:
    """A precondition in words; where the pond it came from is known, that pond is named."""
    kind = _CIRCUMSTANCES.get(code, "")
    hazard = rule.hazard if code in _OF_A_HAZARD else ""
    told = [one for one in seen.circumstances if one.says and _counts(one, kind, hazard, today)]
    return max(told, key=lambda one: one.first).says if told else PRECONDITIONS[code]


def would_act(rule: Rule, seen: PondSeen, today: date) -> tuple[str, ...]:
    """What holds at a pond by which a window that was measured would ask for somebody today.

    Parameters
    ----------
    rule
        A rule of the kind `window`.
    seen
        The pond.
    today
        The practice's calendar day.

    Returns
    -------
    tuple of str
        In words; empty where the temperature alone would speak, which is watched only.
    """
    return tuple(
        _why(rule, seen, code, today)
        for code in rule.preconditions
        if code != _RISING
        and any(
            _counts(one, _CIRCUMSTANCES[code], rule.hazard if code in _OF_A_HAZARD else "", today)
            for one in seen.circumstances
        )
    )


def _counts(happened: Circumstance, kind: str, hazard: str, today: date) -> bool:
    if happened.kind != kind or (hazard and happened.hazard != hazard):
        return False
    return kind not in _FOR_A_WHILE or (today - happened.first).days <= NEW_FISH_DAYS
