"""The rules in force: the published ones with the practice's and a pond's own changes laid over."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from functools import cache
from types import MappingProxyType
from typing import Any
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection, Row, select

from store.book.act import Act
from store.book.book import Book
from store.book.tables import table
from store.errors import BadInput, NotFound
from store.facts.hazards import hazards
from store.facts.rule_numbers import BOUNDS, limit
from store.facts.rules import RuleFact, rules
from store.facts.sources import cite
from store.watch.judge import RuleSet, rule_set
from store.watch.kinds import KINDS
from store.watch.kinds.reading import ReadingKind
from store.watch.rule import Backing, Limits, Rule
from store.watch.rule_words import parameter_of, said_number

STALE = "reading_too_old"
"""The rule that holds for how long each reading is believed."""


@dataclass(frozen=True, slots=True)
class RuleChange:
    """One say of the practice on a rule, for all ponds (`pond` is None) or for one."""

    rule: str
    pond: UUID | None
    params: Mapping[str, float]
    enabled: bool
    why: str
    by: str
    at: datetime

    def said(self, zone: ZoneInfo) -> str:
        """Who changed it, when and why, in one sentence."""
        where = "the practice" if self.pond is None else "this pond"
        return f"Changed for {where} by {self.by} on {_day(self, zone)}: {self.why}"


def _day(change: RuleChange, zone: ZoneInfo) -> str:
    return f"{change.at.astimezone(zone).date():%Y-%m-%d}"


class RuleBook:
    """Every rule as it is in force, for the practice and for single ponds."""

    def __init__(
        self, changes: Mapping[tuple[UUID | None, str], RuleChange], zone: ZoneInfo
    ) -> None:
        self._changes = changes
        self._zone = zone
        self._ponds = {pond for pond, _ in changes if pond is not None}
        self.practice: tuple[Rule, ...] = self._laid_over(tuple(published().values()), None)
        self._practice_set = rule_set(self.practice)

    def _laid_over(self, below: tuple[Rule, ...], pond: UUID | None) -> tuple[Rule, ...]:
        stale = self._changes.get((pond, STALE))
        ages = next(rule.params for rule in below if rule.code == STALE)
        if stale is not None:
            ages = MappingProxyType({**ages, **stale.params})
        return tuple(
            _changed(rule, self._changes.get((pond, rule.code)), self._zone, ages) for rule in below
        )

    def of(self, pond: UUID) -> tuple[Rule, ...]:
        """The rules in force at a pond; the practice's own where the pond has no say."""
        if pond not in self._ponds:
            return self.practice
        return self._laid_over(self.practice, pond)

    def set_of(self, pond: UUID) -> RuleSet:
        """The rules in force at a pond, sorted for looking at many ponds."""
        return rule_set(self.of(pond)) if pond in self._ponds else self._practice_set

    def change(self, code: str, pond: UUID | None) -> RuleChange | None:
        """The change in force for the practice (`pond` None) or for one pond, if any."""
        return self._changes.get((pond, code))


@cache
def published() -> Mapping[str, Rule]:
    """Every rule as published, by its code."""
    return MappingProxyType({code: _rule(fact) for code, fact in rules().items()})


def _rule(fact: RuleFact) -> Rule:
    own = Backing(cite(fact.source), fact.standing, "")
    backing = {
        name: Backing(cite(one.source), one.standing, one.note)
        for name, one in fact.backing.items()
    }
    hazard = hazards().get(fact.hazard or "")
    rule = Rule(
        code=fact.code,
        kind=fact.kind,
        title=fact.title,
        parameter=fact.parameter or "",
        hazard=fact.hazard or "",
        params=fact.params,
        limits=Limits.of(fact.params),
        trusted_days=0.0,
        backing={"": own, **backing},
        advice=fact.advice,
        cautions=fact.cautions,
        preconditions=() if hazard is None else hazard.preconditions,
        notifiable=hazard is not None and hazard.notifiable,
    )
    return replace(rule, trusted_days=_trusted_days(rule, rules()[STALE].params))


def _trusted_days(rule: Rule, ages: Mapping[str, float | str]) -> float:
    """The shortest time for which any ingredient of a rule is believed."""
    kind = KINDS[rule.kind]
    codes = kind.needs(rule) if isinstance(kind, ReadingKind) else (rule.parameter,)
    otherwise = ages["default_days"]
    days = [ages.get(f"{code}_days", otherwise) for code in codes]
    return min(value for value in days if isinstance(value, float))


def _changed(
    rule: Rule, change: RuleChange | None, zone: ZoneInfo, ages: Mapping[str, float | str]
) -> Rule:
    if change is None:
        if ages is rules()[STALE].params:
            return rule
        return replace(rule, trusted_days=_trusted_days(rule, ages))
    params = MappingProxyType({**rule.params, **change.params})
    whose = "practice" if change.pond is None else "pond"
    said = f"the {whose}'s own, changed by {change.by} on {_day(change, zone)}: {change.why}"
    own = {name: Backing(said, f"{whose}'s own", _beside(rule, name)) for name in change.params}
    return replace(
        rule,
        params=params,
        limits=Limits.of(params),
        trusted_days=_trusted_days(rule, ages),
        backing={
            **rule.backing,
            **own,
        },
        enabled=change.enabled,
        changed=change.said(zone),
    )


def _beside(below: Rule, name: str) -> str:
    """What stands without a change, with what it rests on."""
    backing, value = below.backing.get(name, below.backing[""]), below.params.get(name)
    if not isinstance(value, float):
        return ""
    said = said_number(name, value, parameter_of(below))
    if backing.own:
        return f"For the practice {said}: {backing.source}. {backing.note}"
    source = "" if backing.standing in backing.source else f"; {backing.source}"
    return f"{backing.standing.capitalize()}: {said}{source}."


def read_rulebook(connection: Connection, zone: ZoneInfo) -> RuleBook:
    """The rules in force, within a reading that is under way.

    Parameters
    ----------
    connection
        A reading connection of the book.
    zone
        The practice's time zone.

    Returns
    -------
    RuleBook
        Published rules with the newest change of each laid over.
    """
    changes, staff = table("rule_change"), table("staff")
    query = (
        select(changes, staff.c.name.label("staff_name"))
        .join(staff, staff.c.id == changes.c.created_by)
        .order_by(changes.c.created_at, changes.c.id)
    )
    newest = {(row.pond_id, row.rule): _rule_change(row) for row in connection.execute(query)}
    return RuleBook(newest, zone)


def rulebook(book: Book) -> RuleBook:
    """The rules in force in a book.

    Parameters
    ----------
    book
        The practice's book.
    """
    zone = book.zone
    with book.reading() as connection:
        return read_rulebook(connection, zone)


def _rule_change(row: Row[Any]) -> RuleChange:
    params = {name: float(value) for name, value in row.params.items()}
    return RuleChange(
        row.rule, row.pond_id, params, row.enabled, row.why, row.staff_name, row.created_at
    )


def change_rule(
    book: Book,
    act: Act,
    code: str,
    *,
    params: Mapping[str, float],
    why: str,
    enabled: bool = True,
    pond: UUID | None = None,
) -> None:
    """Change a rule for the practice or for one pond; the earlier say stays readable.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who, and when.
    code
        The rule.
    params
        The numbers that differ from the published ones, for one pond from the practice's [the unit
        in each name]; an empty mapping goes back to those.
    why
        The reason; never empty.
    enabled
        False silences the rule.
    pond
        The one pond it is for; None for the practice.

    Raises
    ------
    NotFound
        No such rule.
    BadInput
        No reason, a number that the rule does not have, or one out of its bounds.
    """
    if code not in published():
        raise NotFound(f"There is no rule “{code}”; nothing was changed.")
    if not why.strip():
        raise BadInput("Please say why the rule is changed. Nothing was saved.", field="why")
    zone = book.zone
    with book.writing(act) as writing:
        below = published()[code]
        if pond is not None:
            practice = read_rulebook(writing.connection, zone).practice
            below = next(rule for rule in practice if rule.code == code)
        check_params(below, params)
        writing.add(
            "rule_change",
            pond_id=pond,
            rule=code,
            params=dict(params),
            enabled=enabled,
            why=why,
        )


def check_params(rule: Rule, params: Mapping[str, float]) -> None:
    """Refuse numbers that a rule does not have, or that contradict each other.

    Parameters
    ----------
    rule
        The rule whose other numbers stay: the published one, for one pond the practice's.
    params
        The numbers to be set [the unit in each name].

    Raises
    ------
    BadInput
        Naming the number.
    """
    for name, value in params.items():
        if name not in rule.params:
            raise BadInput(f"The rule “{rule.title}” has no number “{name}”.", field=name)
        if not -1e6 < value < 1e6:  # refuses what is no number as well
            raise BadInput("This must be an ordinary number. Nothing was saved.", field=name)
        if value < 0.0 and not name.endswith("_c"):
            raise BadInput("This cannot be below zero. Nothing was saved.", field=name)
        least, most = BOUNDS.get(name, (value, value))
        if not least <= value <= most:
            raise BadInput(
                f"This must lie between {least:g} and {most:g}. Nothing was saved.", field=name
            )
    merged = {**rule.params, **params}
    for mild, hard, direction in _PAIRS:
        low, high = limit(merged, mild), limit(merged, hard)
        if low is not None and high is not None and direction * (high - low) < 0.0:
            raise BadInput(
                f"“{hard.replace('_', ' ')}” ({_said_limit(rule, merged, hard)}) must lie beyond "
                f"“{mild.replace('_', ' ')}” ({_said_limit(rule, merged, mild)}). "
                "Nothing was saved.",
                field=_name_of(merged, hard),
            )


def _name_of(params: Mapping[str, float | str], which: str) -> str:
    return next(name for name in params if name.startswith(which + "_"))


def _said_limit(rule: Rule, params: Mapping[str, float | str], which: str) -> str:
    name = _name_of(params, which)
    return said_number(name, limit(params, which) or 0.0, parameter_of(rule))


_PAIRS = (
    ("watch_above", "act_above", 1),
    ("watch_below", "act_below", -1),
    ("watch_change_above", "act_change_above", 1),
    ("act_days_to_floor", "watch_days_to_floor", 1),
    ("low", "high", 1),
    ("morning_from", "midday_from", 1),
    ("midday_from", "afternoon_from", 1),
    ("afternoon_from", "night_from", 1),
)
"""Numbers that must lie in order: the milder one, the harder one, and in which direction."""


def changes_of(book: Book, code: str) -> tuple[RuleChange, ...]:
    """Every say on a rule, newest first.

    Parameters
    ----------
    book
        The practice's book.
    code
        The rule.

    Returns
    -------
    tuple of RuleChange
        For the practice and for single ponds; empty when nobody changed it.
    """
    changes, staff = table("rule_change"), table("staff")
    query = (
        select(changes, staff.c.name.label("staff_name"))
        .join(staff, staff.c.id == changes.c.created_by)
        .where(changes.c.rule == code)
        .order_by(changes.c.created_at.desc(), changes.c.id.desc())
    )
    with book.reading() as connection:
        return tuple(_rule_change(row) for row in connection.execute(query))
