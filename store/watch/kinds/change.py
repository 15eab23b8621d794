"""Rules of change: too fast within a day, or falling steadily towards a floor."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import UTC, date, datetime

from store.facts.rules import limit
from store.watch.concern import Concern
from store.watch.kinds.reading import concern
from store.watch.rule import Finding, Rule, Said
from store.watch.seen import DAY_MS, PondSeen
from store.water.parameters import PARAMETERS
from store.water.trends import Change, days_to_floor, largest_change_24h, theil_sen

FAR = 4.0
"""How many times its floor a falling parameter may stand and still be looked at."""


class RateKind:
    """The largest change of a parameter within 24 hours.

    From the last two days of the logger where there is one, else from the tests of the last
    `counts_days`: two of them within 24 hours.
    """

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """The change, when it is beyond its limit; its sign is kept."""
        found = _largest(rule, seen)
        if found is None:
            return None
        change, logger = found
        high, hard = (
            limit(rule.params, "watch_change_above"),
            limit(rule.params, "act_change_above"),
        )
        size = abs(change.size)
        since = change.to_time.astimezone(UTC)
        day = seen.local_day(round(since.timestamp() * 1000))
        variant = "logger" if logger else "tests"
        if hard is not None and size > hard:
            return Finding(
                "act", size / hard, change.size, hard, "act_change_above", -1, day, variant
            )
        if high is not None and size > high:
            return Finding(
                "watch", size / high, change.size, high, "watch_change_above", -1, day, variant
            )
        return None

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `pH +0.8 in a day > 0.5`."""
        parameter = PARAMETERS[rule.parameter]
        name = "" if rule.parameter == "temperature_c" else f"{parameter.short} "
        unit = f" {parameter.shown_unit}" if parameter.shown_unit else ""
        change = finding.value / parameter.per_shown
        return f"{name}{change:+.1f}{unit} in a day > {finding.limit / parameter.per_shown:.1f}"

    def series(self, rule: Rule) -> str:
        """The parameter itself."""
        return rule.parameter

    def scale(self, rule: Rule, finding: Finding) -> tuple[float, float]:
        """What a pond usually shows."""
        parameter = PARAMETERS[rule.parameter]
        return parameter.usual_low, parameter.usual_high

    def since(self, rule: Rule, seen: PondSeen, finding: Finding) -> date | None:
        """Day of the later reading."""
        return finding.since

    def tell(
        self, rule: Rule, seen: PondSeen, finding: Finding, said: Said, today: date
    ) -> Concern:
        """The two readings and their difference."""
        parameter = PARAMETERS[rule.parameter]
        unit = f" {parameter.shown_unit}" if parameter.shown_unit else ""
        found = _largest(rule, seen)
        arithmetic: tuple[str, ...] = ()
        if found is not None:
            change, _ = found
            hours = (change.to_time - change.from_time).total_seconds() / 3600.0
            arithmetic = (
                f"{parameter.shown(change.to_value)} − {parameter.shown(change.from_value)} = "
                f"{change.size / parameter.per_shown:+.1f}{unit} within {hours:.0f} h; limit "
                f"{finding.limit / parameter.per_shown:.1f}{unit} in 24 h",
            )
        return concern(
            rule,
            finding,
            what=self.what(rule, seen, finding),
            since=finding.since,
            parameter=rule.parameter,
            unit=f"{parameter.unit} a day".strip(),
            arithmetic=arithmetic,
            readings=("From the logger's values.",) if finding.variant == "logger" else (),
        )


def _largest(rule: Rule, seen: PondSeen) -> tuple[Change, bool] | None:
    """The largest change within 24 hours, and whether a logger tells it."""
    hours = seen.last_hours.get(rule.parameter)
    if hours:
        pairs: Sequence[tuple[int, float]] = hours
    else:
        oldest_ms = seen.oldest_ms(rule.number("counts_days") + 1.0)
        if len(seen.tests) < 2 or seen.tests[1].at_ms < oldest_ms:
            return None
        pairs = [pair for pair in seen.history(rule.parameter) if pair[0] >= oldest_ms]
    times = [datetime.fromtimestamp(at / 1000, UTC) for at, _ in pairs]
    found = largest_change_24h(times, [value for _, value in pairs])
    return None if found is None else (found, bool(hours))


class FallingKind:
    """A parameter that falls steadily and reaches its floor within days.

    The slope is the median of all pairwise slopes over the tests of the last `over_days`, at least
    `least_readings` of them.
    """

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """Days until the floor is reached at the present slope, when they are few."""
        if not seen.tests or seen.tests[0].at_ms < seen.oldest_ms(rule.trusted_days):
            return None
        floor = limit(rule.params, "floor") or 0.0
        newest = seen.values(0).get(rule.parameter)
        if newest is None or not floor < newest < FAR * floor:
            # Far above its floor it has weeks, and most histories need not be unpacked; below it
            # the rule on the level speaks.
            return None
        if not _seems_to_fall(rule, seen, newest - floor):
            return None
        found = self._slope(rule, seen)
        if found is None:
            return None
        last_ms, last, per_day = found
        days = days_to_floor(last, per_day, floor)
        if days is None:
            return None
        days = max(0.0, days - (today - seen.local_day(last_ms)).days)
        for level, which in (("act", "act_days_to_floor"), ("watch", "watch_days_to_floor")):
            few = rule.number(which, -1.0)
            if days <= few:
                severity = 1.0 + (few - days) / few
                return Finding("act" if level == "act" else "watch", severity, days, few, which, 0)
        return None

    def _slope(self, rule: Rule, seen: PondSeen) -> tuple[int, float, float] | None:
        first = seen.tests[0].at_ms - rule.number("over_days") * DAY_MS
        history = [(at, value) for at, value in seen.history(rule.parameter) if at >= first]
        if len(history) < rule.number("least_readings"):
            return None
        slope = theil_sen(_days(history), [value for _, value in history])
        if slope is None or slope.per_day >= 0.0:
            return None
        return history[-1][0], history[-1][1], slope.per_day

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `KH falling, 12 d to 1.1 dKH`."""
        parameter = PARAMETERS[rule.parameter]
        floor = parameter.shown_with_unit(limit(rule.params, "floor") or 0.0)
        return f"{parameter.short} falling, {max(finding.value, 0.0):.0f} d to {floor}"

    def series(self, rule: Rule) -> str:
        """The parameter itself."""
        return rule.parameter

    def scale(self, rule: Rule, finding: Finding) -> tuple[float, float]:
        """From the floor up to where the rule begins to look."""
        floor = limit(rule.params, "floor") or 0.0
        return floor, FAR * floor

    def since(self, rule: Rule, seen: PondSeen, finding: Finding) -> date | None:
        """First day of the history that the slope rests on."""
        first = seen.tests[0].at_ms - rule.number("over_days") * DAY_MS
        for at, _ in seen.history(rule.parameter):
            if at >= first:
                return seen.local_day(at)
        return None

    def tell(
        self, rule: Rule, seen: PondSeen, finding: Finding, said: Said, today: date
    ) -> Concern:
        """Slope, floor and the division."""
        parameter = PARAMETERS[rule.parameter]
        found = self._slope(rule, seen)
        assert found is not None
        last_ms, last, per_day = found
        floor = limit(rule.params, "floor") or 0.0
        week = 7.0 * per_day / parameter.per_shown
        return concern(
            rule,
            finding,
            what=self.what(rule, seen, finding),
            since=self.since(rule, seen, finding),
            parameter=rule.parameter,
            unit="days",
            arithmetic=(
                f"median slope of all pairs of tests: {week:+.2f} {parameter.shown_unit} a week",
                f"({parameter.shown(last)} − {parameter.shown(floor)}) ÷ {-week:.2f} × 7 − "
                f"{(today - seen.local_day(last_ms)).days} days since = {finding.value:.0f} days "
                f"until {parameter.shown_with_unit(floor)}",
            ),
            readings=(said(seen, 0, (rule.parameter,)),),
            remarks=("A straight line is drawn on; a water change or dosing ends it.",),
        )


def _seems_to_fall(rule: Rule, seen: PondSeen, above_floor: float) -> bool:
    """Whether any of the three tests before shows a quarter of the fall that would be told.

    Spares unpacking the whole history of the many ponds whose reading stays where it was.
    """
    told = above_floor / max(rule.number("watch_days_to_floor"), 1.0)
    newest = seen.values(0)[rule.parameter]
    for place in range(1, min(4, len(seen.tests))):
        before = seen.values(place).get(rule.parameter)
        passed = (seen.tests[0].at_ms - seen.tests[place].at_ms) / DAY_MS
        if before is not None and passed > 0.0 and (before - newest) / passed >= 0.25 * told:
            return True
    return False


def _days(history: Sequence[tuple[int, float]]) -> list[float]:
    start = history[0][0]
    return [(at - start) / DAY_MS for at, _ in history]
