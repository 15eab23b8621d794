"""Rules of time: a test that is due, readings too old to say anything."""

from __future__ import annotations

from datetime import date, timedelta

from store.water.plan import due_on, interval_days
from store.watch.concern import Concern
from store.watch.kinds.reading import concern
from store.watch.rule import Finding, Rule, Said
from store.watch.seen import PondSeen


def trusted_days(rule: Rule, seen: PondSeen, today: date) -> int:
    """For how many days a reading of this pond is believed.

    `factor` times the interval of the pond's test plan, at least `min_days`; `no_plan_days` where
    the pond has no plan.
    """
    every = interval_days(today, seen.every_days, seen.seasons)
    if every is None:
        return int(rule.params["no_plan_days"])
    return max(int(rule.params["min_days"]), round(rule.params["factor"] * every))


def count_trusted(rule: Rule, seen: PondSeen, today: date) -> int:
    """How many of the newest tests are young enough to be believed."""
    first = today - timedelta(days=trusted_days(rule, seen, today))
    for index in range(len(seen.tests)):
        if seen.day(index) < first:
            return index
    return len(seen.tests)


class StaleKind:
    """No reading young enough: the pond is `unknown`."""

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """Unknown, where not one test is trusted and a new pond has had its days of grace."""
        if seen.trusted:
            return None
        limit = trusted_days(rule, seen, today)
        if not seen.tests:
            waited = (today - seen.added).days
            if waited < rule.params["new_pond_days"]:
                return None
            return Finding("unknown", 1.0 + waited / limit, waited, limit, -1, seen.added, "never")
        last = seen.day(0)
        age = (today - last).days
        return Finding("unknown", age / limit, age, limit, 0, last)

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `no test for 41 days`."""
        if finding.variant == "never":
            return "never tested"
        return f"no test for {finding.value:.0f} days"

    def series(self, rule: Rule) -> str:
        """The temperature: it dates everything else."""
        return "temperature_c"

    def since(self, rule: Rule, seen: PondSeen, finding: Finding) -> date | None:
        """Day of the last test."""
        return finding.since

    def tell(
        self, rule: Rule, seen: PondSeen, finding: Finding, said: Said, today: date
    ) -> Concern:
        """The age of the last test beside the age that is believed."""
        every = interval_days(today, seen.every_days, seen.seasons)
        plan = "no test plan" if every is None else f"tested every {every} days by its plan"
        if finding.variant == "never":
            arithmetic = (f"entered {finding.value:.0f} days ago, no test yet; {plan}",)
        else:
            arithmetic = (
                f"last test {finding.value:.0f} days ago; readings are believed for "
                f"{finding.limit:.0f} days ({plan})",
            )
        return concern(
            rule,
            finding,
            what=self.what(rule, seen, finding),
            since=finding.since,
            parameter=self.series(rule),
            unit="days",
            arithmetic=arithmetic,
            readings=(said(seen, 0, ()),) if finding.index == 0 else (),
            remarks=("Older readings do not speak: the other rules are silent meanwhile.",),
        )


class OverdueKind:
    """The test plan's day has passed, the last readings are still believed."""

    def find(self, rule: Rule, seen: PondSeen, today: date) -> Finding | None:
        """Watch, once the test is later than `grace_days`."""
        if not seen.trusted:
            return None
        last = seen.day(0)
        if seen.seasons:
            due = due_on(last, seen.every_days, seen.seasons)
        elif seen.every_days is None:
            return None
        else:
            due = last + timedelta(days=seen.every_days)
        if due is None:
            return None
        late = (today - due).days
        if late <= rule.params["grace_days"]:
            return None
        every = max(1, (due - last).days)
        return Finding("watch", late / every, late, every, 0, due)

    def what(self, rule: Rule, seen: PondSeen, finding: Finding) -> str:
        """For example `test 5 days late`."""
        days = "day" if finding.value == 1 else "days"
        return f"test {finding.value:.0f} {days} late"

    def series(self, rule: Rule) -> str:
        """The temperature."""
        return "temperature_c"

    def since(self, rule: Rule, seen: PondSeen, finding: Finding) -> date | None:
        """Day on which the test was due."""
        return finding.since

    def tell(
        self, rule: Rule, seen: PondSeen, finding: Finding, said: Said, today: date
    ) -> Concern:
        """When the test was due by the plan."""
        grace = rule.params["grace_days"]
        return concern(
            rule,
            finding,
            what=self.what(rule, seen, finding),
            since=finding.since,
            parameter=self.series(rule),
            unit="days",
            arithmetic=(
                f"due {finding.limit:.0f} days after the last test, "
                f"{finding.value:.0f} days ago; {grace:.0f} days of grace",
            ),
            readings=(said(seen, 0, ()),),
        )
