"""Levels of one parameter: too high or too low, by a test or by the logger's last day."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import date, timedelta

from store.water.parameters import PARAMETERS
from store.watch.kinds.reading import ReadingKind, Values, above, below
from store.watch.rule import Finding, Rule
from store.watch.seen import LoggerDay, PondSeen


class LevelKind(ReadingKind):
    """A measured parameter against `watch_below`, `act_below`, `watch_above` and `act_above`."""

    def needs(self, rule: Rule) -> tuple[str, ...]:
        """The one parameter."""
        return (rule.parameter,)

    def judge(self, rule: Rule, seen: PondSeen, values: Values) -> Finding | None:
        """The worse of too high and too low."""
        return judge_level(rule.params, values[rule.parameter])

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """The finding on the newest test, or on the logger's last day where that is newer."""
        days = seen.logger.get(rule.parameter)
        if days and days[0].day >= today - timedelta(days=1):
            newest = seen.day(0) if seen.tests else None
            if newest is None or days[0].day > newest or rule.parameter not in seen.values(0):
                found = _judge_day(rule.params, days[0])
                return None if found is None else found._replace(since=_since(rule.params, days))
        return super().find(rule, seen, today)

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `pH 9.1, limit 8.5`."""
        parameter = PARAMETERS[rule.parameter]
        name = _SPOKEN.get(rule.parameter, parameter.short)
        value = parameter.shown_with_unit(finding.value)
        spoken = f"{name} {value}" if name else value
        day = " lowest" if finding.variant == "low" else " highest" if finding.variant else ""
        return f"{spoken}{day}, limit {parameter.shown(finding.limit)}"

    def unit(self, rule: Rule) -> str:
        """The stored unit of the parameter."""
        return PARAMETERS[rule.parameter].unit

    def arithmetic(self, rule: Rule, seen: PondSeen, finding: Finding) -> tuple[str, ...]:
        """The value beside the limit it broke."""
        parameter = PARAMETERS[rule.parameter]
        value = parameter.shown_with_unit(finding.value)
        limit = parameter.shown_with_unit(finding.limit)
        beyond = "above" if finding.value > finding.limit else "below"
        said = f"{parameter.label} {value} is {beyond} {limit}"
        if finding.variant:
            extreme = "lowest" if finding.variant == "low" else "highest"
            said += f" ({extreme} value of the logger's last day)"
        return (said,)


_SPOKEN: Mapping[str, str] = {
    "temperature_c": "",
    "nitrate_mg_l": "nitrate",
    "oxygen_mg_l": "oxygen",
    "salinity_g_l": "salinity",
    "chloride_mg_l": "chloride",
    "chlorine_mg_l": "chlorine",
}


def judge_level(params: Mapping[str, float], value: float) -> Finding | None:
    """The finding on one value against the four limits; the worse side wins."""
    high = above(value, params.get("watch_above"), params.get("act_above"))
    low = below(value, params.get("watch_below"), params.get("act_below"))
    found = high or low
    if found is None:
        return None
    level, limit, severity = found
    return Finding(level, severity, value, limit)


def _judge_day(params: Mapping[str, float], day: LoggerDay) -> Finding | None:
    low = judge_level(params, day.low)
    if low is not None and low.value < low.limit:
        return low._replace(variant="low")
    high = judge_level(params, day.high)
    if high is not None and high.value > high.limit:
        return high._replace(variant="high")
    return None


def _since(params: Mapping[str, float], days: tuple[LoggerDay, ...] | list[LoggerDay]) -> date:
    first = days[0].day
    for day in days[1:]:
        if first - day.day > timedelta(days=1) or _judge_day(params, day) is None:
            break
        first = day.day
    return first
