"""On which days of the past a window rule would have spoken at each pond, as the rules stand now.

It is the trial of a rule kept day by day, so that what was found later can be laid beside it. Of
each day only what was known by its evening counts. A course under way, which silences a window,
and what was put to rest do not count.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from uuid import UUID

from store.book.book import Book
from store.errors import BadInput, NotFound
from store.watch.kinds.window import WindowRule, find_windows, window_rule
from store.watch.look import look
from store.watch.past import Past, read_past
from store.watch.rule import Rule
from store.watch.rulebook import RuleBook, read_rulebook
from store.watch.trial import MOST_DAYS, Progress, with_numbers

SILENT, NOTED, SPOKE, BLIND = "-", "n", "s", "?"
"""What stands for a day: the water lay outside; it stayed in the band for so long that the rule no
longer spoke; the rule spoke; or no temperature was known that is young enough."""


@dataclass(frozen=True, slots=True)
class Tried:
    """A window rule to be tried: its code, and what of its numbers is changed [°C]."""

    code: str
    changed: tuple[tuple[str, float], ...] = ()


@dataclass(frozen=True, slots=True)
class WindowDays:
    """What one rule would have said, day by day.

    `ponds` maps a pond to the first of its days and one letter a day, see `SILENT`.
    """

    tried: Tried
    rule: Rule
    first: date
    last: date
    ponds: Mapping[UUID, tuple[date, str]]
    own_say: int
    """Ponds with numbers of their own, which a change for the practice leaves as they are."""


def window_days(
    book: Book,
    now: datetime,
    tried: Sequence[Tried],
    *,
    days: int,
    progress: Progress | None = None,
) -> tuple[WindowDays, ...]:
    """What window rules would have said on each of the days up to today, at every pond.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant, with a time zone.
    tried
        The rules, each with the numbers that are to be changed.
    days
        How many days, today included [d].
    progress
        Called now and then with the ponds looked at and all of them; returning False stops, and
        the ponds that were not looked at are left out.

    Returns
    -------
    tuple of WindowDays
        In the order asked. A silenced rule is tried as if it spoke.

    Raises
    ------
    BadInput
        Fewer than one day or more than ten years, a rule that is no window, or a number that the
        rule does not have.
    NotFound
        There is no such rule.
    """
    if not 1 <= days <= MOST_DAYS:
        raise BadInput(f"A rule can be tried on 1 to {MOST_DAYS} days, not on {days}.")
    zone = book.zone
    last = now.astimezone(zone).date()
    first = last - timedelta(days=days - 1)
    with book.reading() as connection:
        caseload = look(connection, now, zone, newest=1, back_days=0)
        rules = read_rulebook(connection, zone)
        of_practice = [_changed(_rule(rules.practice, one.code), one) for one in tried]
        past = read_past(connection, caseload, first, now, zone)
    found: list[dict[UUID, tuple[date, str]]] = [{} for _ in tried]
    own = [0] * len(tried)
    for number, pond in enumerate(caseload.places, 1):
        prepared = []
        for place, one in enumerate(tried):
            has_own = rules.change(one.code, pond) is not None
            own[place] += has_own
            here = _rule(rules.of(pond), one.code) if has_own else of_practice[place]
            prepared.append(window_rule(replace(here, enabled=True)))
        for place, (begun, letters) in enumerate(_look_back(prepared, past, pond)):
            if letters:
                found[place][pond] = begun, letters
        if (
            progress is not None
            and not (number % 20 and number < len(caseload.places))
            and not progress(number, len(caseload.places))
        ):
            break
    return tuple(
        WindowDays(one, of_practice[place], first, last, found[place], own[place])
        for place, one in enumerate(tried)
    )


def window_rules(book: Book) -> Mapping[str, Rule]:
    """The window rule in force for the practice, by the code of its hazard.

    Parameters
    ----------
    book
        The practice's book.
    """
    with book.reading() as connection:
        rules: RuleBook = read_rulebook(connection, book.zone)
    return {rule.hazard: rule for rule in rules.practice if rule.kind == "window"}


def _rule(rules: Sequence[Rule], code: str) -> Rule:
    rule = next((one for one in rules if one.code == code), None)
    if rule is None:
        raise NotFound(f"There is no rule “{code}”.")
    if rule.kind != "window":
        raise BadInput(f"{rule.title} is no temperature window.")
    return rule


def _changed(rule: Rule, tried: Tried) -> Rule:
    return with_numbers(rule, dict(tried.changed)) if tried.changed else rule


def _look_back(prepared: Sequence[WindowRule], past: Past, pond: UUID) -> list[tuple[date, str]]:
    """One letter a day for each rule, and the day of the first."""
    places = {id(one.rule): place for place, one in enumerate(prepared)}
    letters: list[list[str]] = [[] for _ in prepared]
    begun: date | None = None
    for day, seen in past.days_of(pond):
        begun = begun or day
        spoken = find_windows(prepared, seen, day)
        known = seen.daily_temperatures()
        for one, line in zip(prepared, letters, strict=True):
            line.append(_unspoken(one, known, day))
        for rule, finding in spoken:
            if finding.level != "calm":
                letters[places[id(rule)]][-1] = SPOKE
    return [(begun or past.first, "".join(line)) for line in letters]


def _unspoken(one: WindowRule, known: Sequence[tuple[int, float]], day: date) -> str:
    """The letter of a day on which the rule does not speak."""
    if not known or day.toordinal() - known[-1][0] > one.settings.stale_after_days:
        return BLIND
    inside = one.band.low_c <= known[-1][1] <= one.band.high_c
    return NOTED if inside and not one.band.needs_fall else SILENT
