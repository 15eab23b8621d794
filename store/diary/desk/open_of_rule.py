"""Which days of a promise are open, and which of them speak.

A rule gives days; what was kept or dropped is closed, what was moved stands on another day and
keeps its place in the rule. Of days that came and were not kept the oldest speaks and says how many
came since; the newest speaks beside it while its window is still open, since it can be kept in
time. Days ahead all speak.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta

from store.text import day_said


@dataclass(frozen=True, slots=True)
class OpenOfRule:
    """One open day.

    `rule_day` is its place in the rule, `due_on` where it stands now. `more_since` counts open days
    that came after it and do not speak themselves; `newest_since` is the last of them.
    """

    rule_day: date
    due_on: date
    more_since: int = 0
    newest_since: date | None = None

    @property
    def more_said(self) -> str:
        """`and 2 more since`, empty where there are none."""
        return f"and {self.more_since} more since" if self.more_since else ""

    @property
    def passed_said(self) -> str:
        """How many came since in a sentence, empty where there are none."""
        if not self.more_since or self.newest_since is None:
            return ""
        if self.more_since == 1:
            return f"One more day of it came since, {day_said(self.newest_since)}."
        return (
            f"{self.more_since} more days of it came since, the last {day_said(self.newest_since)}."
        )


def open_of_rule(
    days: Iterable[date],
    closed: Collection[date],
    moved: Mapping[date, date],
    today: date,
    until: date,
    late_days: int = 0,
) -> tuple[OpenOfRule, ...]:
    """The open days of a promise that speak, by the day on which they stand.

    Parameters
    ----------
    days
        The days that the rule gives up to `until`; those in `moved` may be left out.
    closed
        Days of the rule that were kept or dropped.
    moved
        Where an open day of the rule stands now, by its place in the rule.
    today
        The practice's calendar day.
    until
        The last day looked at.
    late_days
        How long after its day a promise is still kept in time [d].

    Returns
    -------
    tuple of OpenOfRule
        Empty where nothing is open up to `until`.

    Examples
    --------
    >>> march = [date(2026, 3, day) for day in (1, 8, 15, 22)]
    >>> missed = open_of_rule(march, (), {}, date(2026, 3, 16), date(2026, 3, 23))
    >>> [(one.due_on.day, one.more_since) for one in missed]
    [(1, 2), (22, 0)]
    >>> [one.due_on.day for one in
    ...  open_of_rule(march, (), {}, date(2026, 3, 16), date(2026, 3, 23), late_days=3)]
    [1, 15, 22]
    """
    standing = sorted(
        (moved.get(day, day), day) for day in {*days, *moved} if day not in closed
    )  # fmt: skip
    came = [(due, day) for due, day in standing if due <= min(today, until)]
    found = [OpenOfRule(day, due) for due, day in standing if today < due <= until]
    if not came:
        return tuple(found)
    newest_due, newest_day = came[-1]
    speaks = len(came) > 1 and newest_due + timedelta(days=late_days) >= today
    if speaks:
        found.insert(0, OpenOfRule(newest_day, newest_due))
    silent = came[1 : -1 if speaks else None]
    oldest_due, oldest_day = came[0]
    since = silent[-1][0] if silent else None
    found.insert(0, OpenOfRule(oldest_day, oldest_due, len(silent), since))
    return tuple(found)
