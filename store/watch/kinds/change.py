"""Rules of change: too fast within a day, or falling steadily towards a floor."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from store.water.parameters import PARAMETERS
from store.water.trends import days_to_floor, largest_change_24h, theil_sen
from store.watch.concern import Concern
from store.watch.kinds.reading import above, concern
from store.watch.rule import Finding, Rule, Said
from store.watch.seen import DAY_MS, PondSeen


class RateKind:
    """The change of a parameter within 24 hours against `watch_per_day` and `act_per_day`.

    With a logger: the largest rise or fall over any 24 hours of the last two days. With tests: the
    two newest, where they lie at most 48 hours apart; apart less than a day counts as it is, apart
    longer it is scaled to a day.
    """

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """The change, when it is beyond its limit; its sign is kept."""
        hours = seen.last_hours.get(rule.parameter)
        if hours and (today - seen.local_day(hours[-1][0])).days <= 1:
            found = largest_change_24h([at for at, _ in hours], [value for _, value in hours])
            change, variant, index = found, "logger", -1
        else:
            pair = _newest_two(seen, rule.parameter)
            if pair is None:
                return None
            (later_ms, later, index), (earlier_ms, earlier) = pair
            apart = (later_ms - earlier_ms) / DAY_MS
            if apart > 2.0 or apart <= 0.0:
                return None
            change, variant = (later - earlier) / max(1.0, apart), "tests"
        params = rule.params
        broken = above(abs(change), params.get("watch_per_day"), params.get("act_per_day"))
        if broken is None:
            return None
        level, limit, severity = broken
        since = today if index < 0 else seen.day(index)
        return Finding(level, severity, change, limit, index, since, variant)

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `pH +0.8 in a day, limit 0.5`."""
        parameter = PARAMETERS[rule.parameter]
        name = "" if rule.parameter == "temperature_c" else f"{parameter.short} "
        unit = f" {parameter.shown_unit}" if parameter.shown_unit else ""
        change = finding.value / parameter.per_shown
        limit = finding.limit / parameter.per_shown
        return f"{name}{change:+.1f}{unit} in a day, limit {limit:.1f}"

    def series(self, rule: Rule) -> str:
        """The parameter itself."""
        return rule.parameter

    def since(self, rule: Rule, seen: PondSeen, finding: Finding) -> date | None:
        """Day of the later reading."""
        return finding.since

    def tell(
        self, rule: Rule, seen: PondSeen, finding: Finding, said: Said, today: date
    ) -> Concern:
        """The two readings and their difference."""
        parameter = PARAMETERS[rule.parameter]
        unit = parameter.shown_unit
        readings: tuple[str, ...] = ()
        if finding.variant == "logger":
            arithmetic = (
                f"largest change within 24 hours in the logger's last two days: "
                f"{finding.value:+.2f} {unit}; limit {finding.limit:.1f} {unit}".replace(" ;", ";"),
            )
        else:
            pair = _newest_two(seen, rule.parameter)
            assert pair is not None
            (later_ms, later, _), (earlier_ms, earlier) = pair
            apart_h = (later_ms - earlier_ms) / 3_600_000
            scaled = f" × 24 ÷ {apart_h:.0f}" if apart_h > 24 else ""
            arithmetic = (
                f"({parameter.shown(later)} − {parameter.shown(earlier)}){scaled} = "
                f"{finding.value / parameter.per_shown:+.2f} {unit} within a day "
                f"({apart_h:.0f} h apart); limit {finding.limit / parameter.per_shown:.1f}",
            )
            readings = (said(seen, finding.index, (rule.parameter,)),)
        return concern(
            rule,
            finding,
            what=self.what(rule, seen, finding),
            since=finding.since,
            parameter=rule.parameter,
            unit=f"{parameter.unit} a day".strip(),
            arithmetic=arithmetic,
            readings=readings,
            remarks=("A morning and an afternoon reading differ on any sunny day.",)
            if rule.parameter == "ph"
            else (),
        )


def _newest_two(
    seen: PondSeen, code: str
) -> tuple[tuple[int, float, int], tuple[int, float]] | None:
    newest: tuple[int, float, int] | None = None
    for index in range(len(seen.tests)):
        if newest is None and index >= seen.trusted:
            return None
        value = seen.values(index).get(code)
        if value is None:
            if newest is None:
                continue
        elif newest is None:
            newest = (seen.tests[index].at_ms, value, index)
        else:
            return newest, (seen.tests[index].at_ms, value)
        if newest is not None and newest[0] - seen.tests[index].at_ms > 2 * DAY_MS:
            return None
    return None


class FallingKind:
    """A parameter that falls steadily and reaches `floor` within `watch_days` or `act_days`.

    The slope is the median of all pairwise slopes over the tests of the last `over_days`, at least
    `least_tests` of them.
    """

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """Days until the floor is reached at the present slope, when they are few."""
        if not seen.trusted:
            return None
        if seen.values(0).get(rule.parameter, 0.0) > 4.0 * rule.params["floor"]:
            return None  # far from its floor; spares unpacking the history of most ponds
        found = self._slope(rule, seen)
        if found is None:
            return None
        last_ms, last, per_day = found
        if last <= rule.params["floor"]:
            return None  # the level rule speaks
        days = days_to_floor(last, per_day, rule.params["floor"])
        if days is None:
            return None
        days -= (today - seen.local_day(last_ms)).days
        params = rule.params
        if days <= params["act_days"]:
            return Finding("act", 1.0 + params["act_days"] / max(days, 1.0), days, params["act_days"], 0)
        if days <= params["watch_days"]:
            return Finding("watch", params["watch_days"] / max(days, 1.0), days, params["watch_days"], 0)
        return None

    def _slope(self, rule: Rule, seen: PondSeen) -> tuple[int, float, float] | None:
        history = seen.history(rule.parameter)
        first = seen.tests[0].at_ms - rule.params["over_days"] * DAY_MS
        history = [(at, value) for at, value in history if at >= first]
        if len(history) < rule.params["least_tests"]:
            return None
        slope = theil_sen(_days(history), [value for _, value in history])
        if slope is None or slope.per_day >= 0.0:
            return None
        return history[-1][0], history[-1][1], slope.per_day

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `KH falling, 12 days to 1.1 dKH`."""
        parameter = PARAMETERS[rule.parameter]
        floor = parameter.shown_with_unit(rule.params["floor"])
        return f"{parameter.short} falling, {max(finding.value, 0.0):.0f} d to {floor}"

    def series(self, rule: Rule) -> str:
        """The parameter itself."""
        return rule.parameter

    def since(self, rule: Rule, seen: PondSeen, finding: Finding) -> date | None:
        """First day of the history that the slope rests on."""
        first = seen.tests[0].at_ms - rule.params["over_days"] * DAY_MS
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
        floor = rule.params["floor"]
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


def _days(history: Sequence[tuple[int, float]]) -> list[float]:
    start = history[0][0]
    return [(at - start) / DAY_MS for at, _ in history]
