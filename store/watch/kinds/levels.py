"""Levels of one parameter: too high or too low, by a test or by the logger's last day."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from store.watch.hours import by_day
from store.watch.kinds.reading import ReadingKind, Values
from store.watch.rule import Began, Finding, Limits, Rule
from store.watch.rule_words import said_limit
from store.watch.seen import LoggerDay, PondSeen
from store.water.parameters import PARAMETERS

SPOKEN: Mapping[str, str] = {
    "temperature_c": "",
    "nitrate_mg_l": "nitrate",
    "oxygen_mg_l": "oxygen",
    "oxygen_percent": "oxygen",
    "salinity_g_l": "salt",
    "chloride_mg_l": "chloride",
    "chlorine_mg_l": "chlorine",
    "conductivity_us_cm": "conductivity",
}
"""Names in a clause, where the short one would not be said aloud."""


class LevelKind(ReadingKind):
    """A measured parameter against its limits."""

    def needs(self, rule: Rule) -> tuple[str, ...]:
        """The one parameter."""
        return (rule.parameter,)

    def judge(self, rule: Rule, seen: PondSeen, values: Values) -> Finding | None:
        """The limit that the value broke."""
        return rule.limits.judge(values[rule.parameter])

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """The finding on the newest test, or on the logger's last day where that is newer."""
        days = seen.logger.get(rule.parameter)
        if days and days[0].day >= today - timedelta(days=1):
            newest = seen.day(0) if seen.tests else None
            if newest is None or days[0].day > newest or rule.parameter not in seen.values(0):
                found = _judge_day(rule.limits, days[0])
                if found is None:
                    return None
                since, or_earlier = _since(rule.limits, days)
                return found._replace(since=since, or_earlier=or_earlier)
        return super().find(rule, seen, today)

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `pH 9.1 > 8.5`."""
        parameter = PARAMETERS[rule.parameter]
        name = SPOKEN.get(rule.parameter, parameter.short)
        value = parameter.shown_with_unit(finding.value)
        when = "" if not finding.variant else " lowest" if finding.variant == "low" else " highest"
        beyond = ">" if finding.which.endswith("above") else "<"
        return f"{name} {value}{when} {beyond} {parameter.shown_limit(finding.limit)}".strip()

    def unit(self, rule: Rule) -> str:
        """The stored unit of the parameter."""
        return PARAMETERS[rule.parameter].unit

    def scale(self, rule: Rule, finding: Finding) -> tuple[float, float]:
        """As for every reading; pH from the middle of what is good."""
        if rule.parameter == "ph":
            middle = 7.5
            return (finding.limit, middle) if finding.limit < middle else (middle, finding.limit)
        return super().scale(rule, finding)

    def remarks(self, rule: Rule, seen: PondSeen, finding: Finding) -> tuple[str, ...]:
        """At which hour oxygen was taken, where that matters."""
        if rule.parameter != "oxygen_mg_l" or finding.test < 0:
            return ()
        hour = seen.local_hour(seen.tests[finding.test].at_ms)
        said = by_day(hour, seen.values(finding.test).get("temperature_c"))
        return (said,) if said else ()

    def arithmetic(self, rule: Rule, seen: PondSeen, finding: Finding) -> tuple[str, ...]:
        """The value beside the limit it broke."""
        parameter = PARAMETERS[rule.parameter]
        value = parameter.shown_with_unit(finding.value)
        beyond = "above" if finding.value > finding.limit else "below"
        said = f"{parameter.label} {value} is {beyond} {said_limit(rule.parameter, finding.limit)}"
        if finding.variant:
            extreme = "lowest" if finding.variant == "low" else "highest"
            said += f" ({extreme} value of the logger's last day)"
        return (said,)


def _judge_day(limits: Limits, day: LoggerDay) -> Finding | None:
    low = limits.judge(day.low)
    if low is not None and low.which.endswith("below"):
        return low._replace(variant="low")
    high = limits.judge(day.high)
    if high is not None and high.which.endswith("above"):
        return high._replace(variant="high")
    return None


def _since(limits: Limits, days: Sequence[LoggerDay]) -> Began:
    first = days[0].day
    for day in days[1:]:
        if first - day.day > timedelta(days=1):
            break
        if _judge_day(limits, day) is None:
            return Began(first)
        first = day.day
    return Began(first, or_earlier=True)
