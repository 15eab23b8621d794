"""Trying a rule on the past: on how many days, at how many ponds, would it have spoken.

Every day is looked at from its end, with the tests taken and the days logged up to it; nothing
that came later is used. What a person has put to rest does not count, and no estimate of the water
speaks. The pond's plan, its site and the tests themselves are taken as they stand in the book now:
a test corrected since counts as corrected.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date, datetime, timedelta
from types import MappingProxyType
from uuid import UUID

from store.book.book import Book
from store.errors import BadInput
from store.watch.kinds import KINDS
from store.watch.levels import LEVELS, Level
from store.watch.look import look
from store.watch.past import Past, read_past
from store.watch.rule import Backing, Limits, Rule
from store.watch.rulebook import check_params, read_rulebook

MOST_DAYS = 3660
EXAMPLES = 5
Progress = Callable[[int, int], bool]
"""Called with the ponds looked at and all of them; False stops the trial where it is."""


@dataclass(frozen=True, slots=True)
class Example:
    """A pond at which the rule would have spoken, and its first word there."""

    pond: UUID
    where: str
    day: date
    level: Level
    what: str


@dataclass(frozen=True, slots=True)
class Month:
    """What the rule would have said in one month."""

    first: date
    """First day of the month."""
    days_spoken: int
    ponds_spoken: int


@dataclass(frozen=True, slots=True)
class Trial:
    """What one rule would have said in the days up to today."""

    rule: Rule
    first_day: date
    last_day: date
    days_spoken: int
    """Calendar days on which it spoke at one pond at least."""
    ponds_spoken: int
    ponds_looked_at: int
    ponds_in_all: int
    """More than were looked at when the trial was stopped."""
    own_say: int
    """Ponds with a say of their own on this rule: they follow it, and are not looked at."""
    times_begun: int
    """How often it began to speak at a pond that it had been silent about the day before."""
    by_level: Mapping[Level, int]
    """Days with each level, added up over the ponds; `calm` are notes and count as not spoken."""
    by_month: tuple[Month, ...]
    """Every month of the span, also those without a word."""
    first_examples: tuple[Example, ...]

    @property
    def stopped(self) -> bool:
        """Whether it was stopped before all ponds were looked at."""
        return self.ponds_looked_at < self.ponds_in_all


def with_numbers(rule: Rule, params: Mapping[str, float], *, own: str = "") -> Rule:
    """A rule with some numbers changed and not yet saved, for trying it.

    Parameters
    ----------
    rule
        The rule in force.
    params
        The numbers that differ [the unit in each name].
    own
        What is shown as the source of these numbers.

    Returns
    -------
    Rule
        As it would be in force.

    Raises
    ------
    BadInput
        A number that the rule does not have, or one out of its bounds.
    """
    check_params(rule, params)
    merged = MappingProxyType({**rule.params, **params})
    backing = dict.fromkeys(params, Backing(own or "not saved yet", "common practice", ""))
    return replace(
        rule,
        params=merged,
        limits=Limits.of(merged),
        backing={**rule.backing, **backing},
        enabled=True,
    )


def try_rule(
    book: Book,
    now: datetime,
    rule: Rule,
    *,
    days: int = 365,
    pond: UUID | None = None,
    progress: Progress | None = None,
) -> Trial:
    """What one rule would have said on the days up to today; see `try_rules`.

    Parameters
    ----------
    book, now, days, pond, progress
        As for `try_rules`.
    rule
        The one rule.
    """
    return try_rules(book, now, (rule,), days=days, pond=pond, progress=progress)[0]


def try_rules(
    book: Book,
    now: datetime,
    rules: Sequence[Rule],
    *,
    days: int = 365,
    pond: UUID | None = None,
    progress: Progress | None = None,
) -> tuple[Trial, ...]:
    """What some rules would have said on each of the days up to today, side by side.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant, with a time zone.
    rules
        Each tried by itself, also one that is silenced; for example a rule in force, and the same
        with other numbers (`with_numbers`).
    days
        How many days, today included [d].
    pond
        The one pond to look at, whatever say of its own it has; None for all that stand.
    progress
        Called now and then with the ponds looked at and all of them; returning False stops.

    Returns
    -------
    tuple of Trial
        In the order of the rules. A pond counts from the day on which it was entered or first
        tested.

    Raises
    ------
    BadInput
        Fewer than one day, or more than ten years.
    NotFound
        There is no such pond.

    Notes
    -----
    Rules that speak instead of one another on the morning list (a test overdue, a reading too old)
    are each tried alone.
    """
    if not 1 <= days <= MOST_DAYS:
        raise BadInput(f"A rule can be tried on 1 to {MOST_DAYS} days, not on {days}.")
    if any(rule.kind == "finding" for rule in rules):
        raise BadInput(
            "What was found and not answered is not tried on the past: every finding is asked for "
            "by the examinations themselves."
        )
    if any(rule.kind == "promise" for rule in rules):
        raise BadInput(
            "What a course promises is not tried on the past: its days moved with every dose."
        )
    zone = book.zone
    last = now.astimezone(zone).date()
    first = last - timedelta(days=days - 1)
    with book.reading() as connection:
        caseload = look(connection, now, zone, pond=pond, newest=1, back_days=0)
        book_of_rules = read_rulebook(connection, zone)
        past = read_past(
            connection,
            caseload,
            first,
            now,
            zone,
            pond=pond,
            hours={rule.parameter for rule in rules if rule.kind == "rate"},
            kits=any(rule.kind in ("rate", "slope") for rule in rules),
        )
    tallies = tuple(_Tally(rule) for rule in rules)
    looked_at = 0
    for key, place in caseload.places.items():
        asked = [
            tally
            for tally in tallies
            if pond is not None or book_of_rules.change(tally.rule.code, key) is None
        ]
        for tally in tallies:
            tally.own_say += tally not in asked
        if asked:
            _look_back(asked, past, key, f"{place.client}, {place.pond_name}")
        looked_at += 1
        if (
            progress is not None
            and not (looked_at % 20 and looked_at < len(caseload.places))
            and not progress(looked_at, len(caseload.places))
        ):
            break
    return tuple(tally.trial(first, last, looked_at, len(caseload.places)) for tally in tallies)


@dataclass(slots=True, eq=False)
class _Tally:
    """What one rule said so far."""

    rule: Rule
    own_say: int = 0
    begun: int = 0
    days: set[date] = field(default_factory=set)
    ponds: set[UUID] = field(default_factory=set)
    levels: dict[Level, int] = field(default_factory=lambda: dict.fromkeys(LEVELS, 0))
    months: dict[tuple[int, int], tuple[set[date], set[UUID]]] = field(
        default_factory=lambda: defaultdict(lambda: (set(), set()))
    )
    examples: list[Example] = field(default_factory=list)

    def spoke(self, pond: UUID, day: date, level: Level) -> None:
        self.levels[level] += 1
        self.days.add(day)
        self.ponds.add(pond)
        month_days, month_ponds = self.months[day.year, day.month]
        month_days.add(day)
        month_ponds.add(pond)

    def trial(self, first: date, last: date, looked_at: int, in_all: int) -> Trial:
        months = []
        month = first.replace(day=1)
        while month <= last:
            spoken = self.months.get((month.year, month.month), (set(), set()))
            months.append(Month(month, len(spoken[0]), len(spoken[1])))
            month = (month + timedelta(days=31)).replace(day=1)
        self.examples.sort(key=lambda example: (example.day, example.where))
        return Trial(
            rule=self.rule,
            first_day=first,
            last_day=last,
            days_spoken=len(self.days),
            ponds_spoken=len(self.ponds),
            ponds_looked_at=looked_at - self.own_say,
            ponds_in_all=in_all - self.own_say,
            own_say=self.own_say,
            times_begun=self.begun,
            by_level=MappingProxyType(dict(self.levels)),
            by_month=tuple(months),
            first_examples=tuple(self.examples[:EXAMPLES]),
        )


def _look_back(tallies: Sequence[_Tally], past: Past, pond: UUID, where: str) -> None:
    """Ask each rule about each day of one pond."""
    spoke_before = [False] * len(tallies)
    finders = [KINDS[tally.rule.kind].find for tally in tallies]
    for day, seen in past.days_of(pond):
        for number, tally in enumerate(tallies):
            finding = finders[number](tally.rule, seen, day)
            if finding is None:
                spoke_before[number] = False
                continue
            if finding.level == "calm":
                tally.levels["calm"] += 1
                spoke_before[number] = False
                continue
            if not spoke_before[number]:
                tally.begun += 1
                spoke_before[number] = True
                if pond not in tally.ponds:
                    what = KINDS[tally.rule.kind].what(tally.rule, seen, finding)
                    tally.examples.append(Example(pond, where, day, finding.level, what))
            tally.spoke(pond, day, finding.level)
