"""Rules that speak for a while after something happened at a pond."""

from __future__ import annotations

from datetime import date

from store.facts.rule_numbers import limit
from store.watch.concern import Concern
from store.watch.kinds.reading import concern
from store.watch.levels import Level
from store.watch.rule import Began, Finding, Rule, Said
from store.watch.seen import PondSeen


class EventKind:
    """For `watch_days`, `watch_hours` or `calm_days` after an event at the pond."""

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """The newest such event, while its days last."""
        if not seen.circumstances:
            return None
        level, which, days = _span(rule)
        for happened in seen.circumstances:
            if happened.kind == rule.params["event"] and happened.first <= today:
                passed = (today - happened.first).days
                if passed > days:
                    return None
                left = 1.0 - passed / (days + 1.0)
                return Finding(level, 0.5 + left / 2, passed, days, which, -1, happened.first)
        return None

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `filter disturbed 5 d ago`."""
        ago = "today" if finding.value == 0 else f"{finding.value:.0f} d ago"
        return f"{rule.title[0].lower()}{rule.title[1:]} {ago}"

    def series(self, rule: Rule) -> str:
        """What is to be watched after it."""
        return rule.parameter

    def scale(self, rule: Rule, finding: Finding) -> tuple[float, float]:
        """What a pond usually shows of that parameter."""
        return {"oxygen_mg_l": (4.0, 12.0), "chlorine_mg_l": (0.0, 0.1)}.get(
            rule.parameter, (0.0, 1.0)
        )

    def since(self, rule: Rule, seen: PondSeen, finding: Finding) -> Began | None:
        """Day of the event."""
        return finding.began

    def tell(
        self, rule: Rule, seen: PondSeen, finding: Finding, said: Said, today: date
    ) -> Concern:
        """How long ago, and for how long it is watched."""
        return concern(
            rule,
            finding,
            what=self.what(rule, seen, finding),
            since=finding.began,
            parameter=rule.parameter,
            unit="days",
            arithmetic=(
                f"{finding.value:.0f} days since it was entered; watched for "
                f"{finding.limit:.0f} days",
            ),
            readings=(said(seen, 0, (rule.parameter,)),) if seen.tests and rule.parameter else (),
        )


def _span(rule: Rule) -> tuple[Level, str, float]:
    hours = rule.params.get("watch_hours")
    if isinstance(hours, float):
        return "watch", "watch_hours", hours / 24.0
    days = limit(rule.params, "watch")
    if days is not None:
        return "watch", "watch_days", days
    return "calm", "calm_days", rule.number("calm_days")
