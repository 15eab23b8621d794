"""The days of many rules at once: thousands of promises share a few sequences of days.

“Every first Monday” gives the same days whenever it was promised, “every 10 days” one of ten
sequences. Each sequence is expanded once; a promise then takes its part of it.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

from store.diary.times.repeats import days_of, repeat_of
from store.diary.times.repeats_said import filled, said_repeat
from store.diary.times.rule_parts import Parts, parts_of


@dataclass(slots=True)
class _Shared:
    """Days that a rule gives from `since` on, to the end of what is looked at."""

    since: date
    days: Sequence[date]


class RuleDays:
    """The days of rules within a stretch of time.

    Parameters
    ----------
    since, until
        The stretch, both days included; days before it are left out.
    """

    def __init__(self, since: date, until: date) -> None:
        self.since = since
        self.until = until
        self._shared: dict[tuple[str, int], _Shared] = {}
        self._parts: dict[tuple[str, tuple[int, ...]], tuple[Parts, str]] = {}

    def of(self, rule: str, first: date) -> Sequence[date]:
        """The days of one promise within the stretch, earliest first.

        Parameters
        ----------
        rule
            An RFC 5545 rule; empty for what happens once.
        first
            The first day, which always counts.

        Returns
        -------
        Sequence of date
            As `store.diary.times.repeats.days_of` gives them.

        Raises
        ------
        BadInput
            At the field `repeats`: the rule cannot be read.

        Examples
        --------
        >>> days = RuleDays(date(2026, 1, 1), date(2026, 6, 30))
        >>> [str(day) for day in days.of("FREQ=MONTHLY;BYDAY=1MO", date(2026, 3, 4))]
        ['2026-03-04', '2026-04-06', '2026-05-04', '2026-06-01']
        """
        if not rule or first > self.until:
            return [first] if self.since <= first <= self.until else []
        parts, endless = self._filled(rule, first)
        if first < self.since and parts.count is not None:
            return days_of(rule, first, self.since, self.until)
        shared = self._sequence(parts, endless, first)
        if first < self.since:
            return shared
        place = bisect_right(shared, first)
        most = None if parts.count is None else place + parts.count - 1
        return [first, *shared[place:most]]

    def said(self, rule: str, first: date) -> str:
        """The rule in words, as `repeat_of` says it.

        Parameters
        ----------
        rule
            An RFC 5545 rule; empty for what happens once.
        first
            The first day.

        Raises
        ------
        BadInput
            At the field `repeats`: the rule cannot be read.

        Examples
        --------
        >>> RuleDays(date(2026, 1, 1), date(2026, 6, 30)).said("FREQ=WEEKLY", date(2026, 3, 3))
        'every week on Tue'
        """
        if not rule:
            return ""
        parts, endless = self._filled(rule, first)
        if not self.since <= first <= self.until:
            return repeat_of(rule, first).said
        shared = self._sequence(parts, endless, first)
        place = bisect_left(shared, first)
        fits = place < len(shared) and shared[place] == first
        return said_repeat(parts, first, fits=fits)

    def _filled(self, rule: str, first: date) -> tuple[Parts, str]:
        """The rule with what it takes from its first day; as text without its number of times."""
        key = (rule, (first.month, first.day, first.weekday()))
        if (found := self._parts.get(key)) is None:
            parts = filled(parts_of(rule), first)
            found = self._parts[key] = (parts, str(replace(parts, count=None)))
        return found

    def _sequence(self, parts: Parts, endless: str, first: date) -> Sequence[date]:
        """What a rule gives from `first` or before, its number of times left aside."""
        key = (endless, _phase(parts, first))
        found = self._shared.get(key)
        if found is None or found.since > first:
            start = _one_before(parts, first)
            # The day on which it starts counts whether the rule gives it or not; it lies before.
            since = max(start + timedelta(days=1), self.since)
            days = days_of(endless, start, since, self.until) if since <= self.until else ()
            found = self._shared[key] = _Shared(first, list(days))
        return found.days


def _phase(parts: Parts, first: date) -> int:
    """Which of the sequences of an interval a first day begins: they differ by their turn."""
    if parts.frequency == "DAILY":
        turn = first.toordinal()
    elif parts.frequency == "WEEKLY":
        turn = (first.toordinal() - 1 - parts.week_start) // 7
    elif parts.frequency == "MONTHLY":
        turn = 12 * first.year + first.month
    else:
        turn = first.year
    return turn % parts.interval


def _one_before(parts: Parts, first: date) -> date:
    """A day one interval before, from which the rule gives the same days."""
    if parts.frequency in ("DAILY", "WEEKLY"):
        return first - timedelta(days=parts.interval * (7 if parts.frequency == "WEEKLY" else 1))
    months = parts.interval * (12 if parts.frequency == "YEARLY" else 1)
    turn = 12 * first.year + first.month - 1 - months
    return date(turn // 12, turn % 12 + 1, 1)
