"""Rules of change: a parameter that moved too far within a day."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Callable, Sequence
from datetime import UTC, date, datetime
from itertools import combinations
from typing import NamedTuple

from store.facts.rule_numbers import limit
from store.watch.concern import Concern
from store.watch.hours import BANDS, Moment, alike, band_of, later_in_the_light
from store.watch.kinds.reading import concern
from store.watch.levels import Level
from store.watch.rule import Began, Finding, Rule, Said
from store.watch.seen import DAY_MS, PondSeen
from store.water.parameters import PARAMETERS
from store.water.trends import largest_change_24h

_HALF_HOUR_MS = 1_800_000
NO_KIT = frozenset({"temperature_c"})
"""Parameters that a thermometer reads, whatever kit the test was made with."""

Pair = tuple[tuple[int, float], tuple[int, float]]
"""The earlier and the later reading, each with its epoch milliseconds."""


class _Found(NamedTuple):
    """The largest change of one sort."""

    pair: Pair
    variant: str
    """`tests` and `logger` speak; `swing` and `kits` are changes that cannot be compared."""

    @property
    def size(self) -> float:
        return self.pair[1][1] - self.pair[0][1]


class RateKind:
    """The largest change of a parameter within a day.

    From the last two days of the logger where there is one, else from the tests of the last
    `counts_days`: two of them within 24 hours.

    A rule that says when the bands of the day begin compares only what was taken at like hours of
    two days, and a fall from one band of a day to a later one, which the light cannot have made. A
    change between other hours, or between two kits, is noted and does not reach the list.
    """

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """The change, when it is beyond its limit; its sign is kept."""
        found = _spoken(rule, seen)
        if found is None:
            return None
        change, level, which, edge = found
        day = seen.local_day(change.pair[1][0])
        severity = abs(change.size) / edge if edge > 0.0 else 1.0 + abs(change.size)
        return Finding(level, severity, change.size, edge, which, -1, day, change.variant)

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `pH +0.8 in a day > 0.5`."""
        parameter = PARAMETERS[rule.parameter]
        name = "" if rule.parameter == "temperature_c" else f"{parameter.short} "
        unit = f" {parameter.shown_unit}" if parameter.shown_unit else ""
        change = f"{name}{finding.value / parameter.per_shown:+.1f}{unit}"
        if finding.variant == "swing":
            return f"{change} between other hours"
        if finding.variant == "kits":
            return f"{change} between two kits"
        return f"{change} in a day > {finding.limit / parameter.per_shown:.1f}"

    def series(self, rule: Rule) -> str:
        """The parameter itself."""
        return rule.parameter

    def scale(self, rule: Rule, finding: Finding) -> tuple[float, float]:
        """What a pond usually shows."""
        parameter = PARAMETERS[rule.parameter]
        return parameter.usual_low, parameter.usual_high

    def since(self, rule: Rule, seen: PondSeen, finding: Finding) -> Began | None:
        """Day of the later reading."""
        return finding.began

    def tell(
        self, rule: Rule, seen: PondSeen, finding: Finding, said: Said, today: date
    ) -> Concern:
        """The two readings, when they were taken, and their difference."""
        parameter = PARAMETERS[rule.parameter]
        unit = f" {parameter.shown_unit}" if parameter.shown_unit else ""
        found = _spoken(rule, seen)
        arithmetic: tuple[str, ...] = ()
        readings: tuple[str, ...] = ()
        if found is not None:
            change = found[0]
            (from_ms, before), (to_ms, after) = change.pair
            hours = (to_ms - from_ms) / 3_600_000
            bands = _bands_said(rule, seen, change.pair)
            arithmetic = (
                f"{parameter.shown(after)} − {parameter.shown(before)} = "
                f"{change.size / parameter.per_shown:+.1f}{unit} within {hours:.0f} h{bands}; "
                f"limit {finding.limit / parameter.per_shown:.1f}{unit} in 24 h",
            )
            places = {test.at_ms: place for place, test in reversed(list(enumerate(seen.tests)))}
            readings = tuple(
                said(seen, places[at], (rule.parameter,))
                for at, _ in change.pair
                if at in places and not seen.last_hours.get(rule.parameter)
            ) or ("From the logger's values.",)
        return concern(
            rule,
            finding,
            what=self.what(rule, seen, finding),
            since=finding.began,
            parameter=rule.parameter,
            unit=f"{parameter.unit} a day".strip(),
            arithmetic=arithmetic,
            readings=readings,
            remarks=_remarks(rule, finding),
        )


def _remarks(rule: Rule, finding: Finding) -> tuple[str, ...]:
    remarks = []
    if finding.variant == "kits":
        remarks.append(
            "The two readings are of different kits or batches and are not joined: test once with "
            "both."
        )
    if finding.variant == "swing":
        remarks.append(
            "Noted only: these are different hours of the day, and light alone moves a pond so far."
        )
    begins = _begins(rule)
    if begins:
        bands = ", ".join(f"{band} from {begins[band]:g}" for band in BANDS)
        remarks.append(
            f"Only readings of like hours are compared ({bands} h), and a fall from one of them to "
            "a later one by daylight."
        )
    return tuple(remarks)


def _begins(rule: Rule) -> dict[str, float]:
    found = {band: rule.params.get(f"{band}_from_hour") for band in BANDS}
    return {band: hour for band, hour in found.items() if isinstance(hour, float)}


def _bands_said(rule: Rule, seen: PondSeen, pair: Pair) -> str:
    begins = _begins(rule)
    if not begins:
        return ""
    first, second = (band_of(seen.local_hour(at), begins) for at, _ in pair)
    return f", both {_in_band(first)}" if first == second else f", {first} to {second}"


def _in_band(band: str) -> str:
    return {"midday": "at midday", "night": "in the night"}.get(band, f"in the {band}")


def _spoken(rule: Rule, seen: PondSeen) -> tuple[_Found, Level, str, float] | None:
    """The worst change beyond a limit, with its level and that limit."""
    levels: tuple[Level, ...] = ("act", "watch")
    edges = [
        (level, f"{level}_change_above", edge)
        for level in levels
        if (edge := limit(rule.params, f"{level}_change_above")) is not None
    ]
    if not edges:
        return None
    least = edges[-1][2]
    compared, others = _changes(rule, seen, least)
    if compared is not None:
        for level, which, edge in edges:
            if abs(compared.size) > edge:
                return compared, level, which, edge
    if others is not None and abs(others.size) > least:
        return others, "calm", edges[-1][1], least
    return None


def _changes(rule: Rule, seen: PondSeen, least: float) -> tuple[_Found | None, _Found | None]:
    """The largest change that may be compared, and the largest of those that may not."""
    begins = _begins(rule)
    logged = seen.last_hours.get(rule.parameter)
    if logged:
        any_hours = _largest_24h(logged, "swing" if begins else "logger")
        if not begins:
            return any_hours, None
        return _like_hours_of_a_logger(logged, _moments(seen, logged, begins)), any_hours
    readings = _recent(rule, seen)
    if len(readings) < 2:
        return None, None
    any_hours = _largest_24h(readings, "tests")
    small = any_hours is None or abs(any_hours.size) <= least
    if not begins:
        if small or any_hours is None:
            return any_hours, None
        return _parted_by_kits(rule, seen, readings, _within_24h)
    moments = _moments(seen, readings, begins)

    def comparable(pair: Pair) -> bool:
        earlier, later = moments[pair[0][0]], moments[pair[1][0]]
        falls = pair[1][1] < pair[0][1]
        return alike(earlier, later) or (falls and later_in_the_light(earlier, later))

    like, other_kits = _parted_by_kits(rule, seen, readings, comparable)
    if other_kits is not None and abs(other_kits.size) > least:
        return like, other_kits
    return like, None if any_hours is None else any_hours._replace(variant="swing")


def _recent(rule: Rule, seen: PondSeen) -> list[tuple[int, float]]:
    """Readings of the tests that count, old to new."""
    oldest_ms = seen.oldest_ms(rule.number("counts_days") + 1.0)
    found = []
    for place, test in enumerate(seen.tests):
        if test.at_ms < oldest_ms:
            break
        value = seen.values(place).get(rule.parameter)
        if value is not None:
            found.append((test.at_ms, value))
    return found[::-1]


def _moments(
    seen: PondSeen, readings: Sequence[tuple[int, float]], begins: dict[str, float]
) -> dict[int, Moment]:
    return {
        at: Moment(at, seen.local_day(at), band_of(seen.local_hour(at), begins))
        for at, _ in readings
    }


def _within_24h(pair: Pair) -> bool:
    return pair[1][0] - pair[0][0] <= DAY_MS


def _largest_24h(readings: Sequence[tuple[int, float]], variant: str) -> _Found | None:
    times = [datetime.fromtimestamp(at / 1000, UTC) for at, _ in readings]
    change = largest_change_24h(times, [value for _, value in readings])
    if change is None:
        return None
    ends = ((change.from_time, change.from_value), (change.to_time, change.to_value))
    first, second = ((round(time.timestamp() * 1000), value) for time, value in ends)
    return _Found((first, second), variant)


def _parted_by_kits(
    rule: Rule,
    seen: PondSeen,
    readings: Sequence[tuple[int, float]],
    comparable: Callable[[Pair], bool],
) -> tuple[_Found | None, _Found | None]:
    """The largest comparable change with one kit, and the largest between two kits."""
    same: _Found | None = None
    parted: _Found | None = None
    for pair in combinations(readings, 2):
        if not comparable(pair):
            continue
        if rule.parameter not in NO_KIT and seen.other_kits(pair[0][0], pair[1][0]):
            found = _Found(pair, "kits")
            parted = found if parted is None or abs(found.size) > abs(parted.size) else parted
        else:
            found = _Found(pair, "tests")
            same = found if same is None or abs(found.size) > abs(same.size) else same
    return same, parted


def _like_hours_of_a_logger(
    logged: Sequence[tuple[int, float]], moments: dict[int, Moment]
) -> _Found | None:
    """The largest change from an hour to the same hour of the next day, or against the light."""
    times = [at for at, _ in logged]
    best: _Found | None = None
    highest: dict[tuple[date, str], tuple[int, float]] = {}
    for at, value in logged:
        first = bisect_left(times, at - DAY_MS - _HALF_HOUR_MS)
        last = bisect_right(times, at - DAY_MS + _HALF_HOUR_MS)
        before = list(logged[first:last])
        moment = moments[at]
        for (day, band), top in highest.items():
            if day == moment.day and later_in_the_light(Moment(top[0], day, band), moment):
                before.append(top)
        for earlier in before:
            found = _Found((earlier, (at, value)), "logger")
            light = earlier[0] > at - DAY_MS + _HALF_HOUR_MS
            if light and found.size >= 0.0:
                continue
            if best is None or abs(found.size) > abs(best.size):
                best = found
        key = (moment.day, moment.band)
        if key not in highest or value > highest[key][1]:
            highest[key] = (at, value)
    return best
