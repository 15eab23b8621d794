"""Feeding again after a cold spell: told by the mean of several days, never by one warm one."""

from __future__ import annotations

from datetime import date
from typing import NamedTuple

from store.watch.concern import Concern
from store.watch.kinds.reading import concern
from store.watch.rule import Began, Finding, Rule, Said
from store.watch.seen import PondSeen

STOPPED = "feeding_stopped"


class _Mean(NamedTuple):
    mean_c: float
    days: int
    """Days with a value among those looked at."""
    newest_c: float
    newest_on: date


class FeedingKind:
    """At a pond where feeding was stopped: is the mean of the last `mean_days` warm enough?

    It is a note in any case. From fewer than `least_values` days with a value nothing is said but
    that they are too few.
    """

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """The mean above its limit; or a newest day above it that the mean does not bear out."""
        stopped = [
            one.first
            for one in seen.circumstances
            if one.kind == STOPPED and (one.until is None or one.until >= today)
        ]
        if not stopped:
            return None
        water = _mean(rule, seen, today)
        edge = rule.limits.calm_above
        if water is None or water.newest_c <= edge:
            return None
        few = water.days < rule.number("least_values")
        variant = "few" if few else "ready" if water.mean_c > edge else "one day"
        return Finding(
            "calm", water.mean_c / edge, water.mean_c, edge, "calm_above", -1, max(stopped), variant
        )

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `7-day mean 11.2 °C: feed again?`."""
        days = f"{rule.number('mean_days'):.0f}-day mean"
        if finding.variant == "ready":
            return f"{days} {finding.value:.1f} °C: feed again?"
        if finding.variant == "few":
            return f"warm, but too few days for a {days}"
        return f"warm day, {days} only {finding.value:.1f} °C"

    def series(self, rule: Rule) -> str:
        """The temperature."""
        return "temperature_c"

    def scale(self, rule: Rule, finding: Finding) -> tuple[float, float]:
        """Up to the limit."""
        return 0.0, finding.limit

    def since(self, rule: Rule, seen: PondSeen, finding: Finding) -> Began | None:
        """Day on which feeding was stopped."""
        return finding.began

    def tell(
        self, rule: Rule, seen: PondSeen, finding: Finding, said: Said, today: date
    ) -> Concern:
        """The mean with its days beside the newest value."""
        water = _mean(rule, seen, today)
        arithmetic: tuple[str, ...] = ()
        readings: tuple[str, ...] = ()
        if water is not None:
            arithmetic = (
                f"mean of {water.days} of the last {rule.number('mean_days'):.0f} days = "
                f"{water.mean_c:.1f} °C; limit {finding.limit:g} °C, from at least "
                f"{rule.number('least_values'):.0f} days with a value",
            )
            readings = (f"{water.newest_c:.1f} °C on {water.newest_on}, the newest day",)
        remarks = ["Feeding was stopped; whatever else it was stopped for still holds."]
        if finding.variant == "few":
            remarks.append("One warm reading says nothing: read it daily, or leave a logger in.")
        elif finding.variant == "one day":
            remarks.append("One warm day is no spring: wait for the mean.")
        return concern(
            rule,
            finding,
            what=self.what(rule, seen, finding),
            since=finding.began,
            parameter=self.series(rule),
            unit="°C",
            arithmetic=arithmetic,
            readings=readings,
            remarks=tuple(remarks),
        )


def _mean(rule: Rule, seen: PondSeen, today: date) -> _Mean | None:
    """Mean of the daily means of the last days, today included."""
    first = today.toordinal() - rule.number("mean_days") + 1.0
    days = [one for one in seen.daily_temperatures() if first <= one[0] <= today.toordinal()]
    if not days:
        return None
    mean_c = sum(value for _, value in days) / len(days)
    return _Mean(mean_c, len(days), days[-1][1], date.fromordinal(days[-1][0]))
