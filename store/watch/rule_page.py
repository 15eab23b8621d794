"""A rule as a person reads and changes it: its numbers in words, with unit, source and standing."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isclose
from types import MappingProxyType
from typing import Literal
from uuid import UUID
from zoneinfo import ZoneInfo

from store.book.act import Act
from store.book.book import Book
from store.errors import BadInput, NotFound
from store.facts.hazards import PRECONDITIONS, hazards
from store.facts.ranges import UNITS, Range, ranges
from store.facts.rules import CORRECTIONS, EVENTS, SIGNS
from store.facts.sources import cite
from store.text import plain
from store.watch.rule import Rule
from store.watch.rule_words import in_one_clause, label_of, parameter_of, said_number, unit_of
from store.watch.rulebook import (
    RuleBook,
    RuleChange,
    change_rule,
    changes_of,
    check_params,
    published,
    rulebook,
)
from store.water.measures import quantity, spelt
from store.water.parameters import PARAMETERS
from store.water.units import to_stored

Group = Literal["water", "change", "windows", "time", "events"]
GROUPS: tuple[Group, ...] = ("water", "change", "windows", "time", "events")
_GROUP_OF: Mapping[str, Group] = {
    "rate": "change", "slope": "change", "window": "windows", "overdue": "time", "stale": "time",
    "promise": "time", "event": "events", "signs": "events", "corrections": "events",
    "feeding": "events", "losses": "events", "suspicion": "events",
    "finding": "events",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Number:
    """One number of a rule."""

    name: str
    label: str
    value: float
    unit: str
    usual: float
    """What stands below it: the published number, or for one pond the practice's."""
    source: str
    standing: str
    note: str
    parameter: str
    """What the rule looks at; empty where that is no single parameter."""

    def say(self, value: float, *, both: bool = True) -> str:
        """A number in its place, with its unit; see `said_number`."""
        return said_number(self.name, value, self.parameter, both=both)

    @property
    def said(self) -> str:
        """The number with its unit."""
        return self.say(self.value)

    @property
    def changed(self) -> bool:
        """Whether it differs from what stands below it."""
        return not isclose(self.value, self.usual, rel_tol=1e-12, abs_tol=1e-12)


@dataclass(frozen=True, slots=True)
class Statement:
    """Another publication's word on the same thing; nothing is averaged."""

    said: str
    source: str
    standing: str


@dataclass(frozen=True, slots=True)
class RuleLine:
    """A rule on the list of those in force."""

    rule: Rule
    group: Group
    numbers: str
    """The numbers that speak, in one clause."""
    state: Literal["published", "changed", "silent"]
    of_pond: bool
    """Whether the pond has a say of its own on it."""
    changed_by: str
    """Who, with the day; empty for the published rule."""


@dataclass(frozen=True, slots=True)
class RulePage:
    """A rule with everything that a person may ask about it."""

    line: RuleLine
    numbers: tuple[Number, ...]
    about: tuple[str, ...]
    """What it waits for, what raises it, what it warns of, and what to do next."""
    statements: tuple[Statement, ...]
    own: Mapping[str, float]
    """The numbers of the say that is in force here, by name."""
    record: tuple[str, ...]
    """Every say on it, newest first, with what it set."""


def _group_of(rule: Rule) -> Group:
    """Under which head a rule stands: water, change, windows, time or events."""
    return _GROUP_OF.get(rule.kind, "water")


def _numbers(rule: Rule, below: Rule) -> tuple[Number, ...]:
    found = []
    parameter = parameter_of(rule)
    for name, value in rule.params.items():
        usual = below.params[name]
        if isinstance(value, float) and isinstance(usual, float):
            backing = rule.backing.get(name, rule.backing[""])
            found.append(
                Number(
                    name, label_of(name), value, unit_of(name, parameter), usual, backing.source,
                    backing.standing, backing.note, parameter,
                )
            )  # fmt: skip
    return tuple(found)


def _line(rule: Rule, book: RuleBook, pond: UUID | None, zone: ZoneInfo) -> RuleLine:
    own = None if pond is None else book.change(rule.code, pond)
    change = own or book.change(rule.code, None)
    differs = change is not None and bool(change.params)
    return RuleLine(
        rule,
        _group_of(rule),
        in_one_clause(rule),
        "silent" if not rule.enabled else "changed" if differs else "published",
        own is not None,
        "" if change is None else f"{change.by}, {change.at.astimezone(zone).date():%Y-%m-%d}",
    )


def rules_in_force(book: Book, pond: UUID | None = None) -> tuple[RuleLine, ...]:
    """Every rule as it is in force, by group.

    Parameters
    ----------
    book
        The practice's book.
    pond
        The one pond; None for the practice.

    Returns
    -------
    tuple of RuleLine
        Water first, then change, windows, time and events.
    """
    laws, zone = rulebook(book), book.zone
    rules = laws.practice if pond is None else laws.of(pond)
    lines = [_line(rule, laws, pond, zone) for rule in rules]
    return tuple(sorted(lines, key=lambda line: GROUPS.index(line.group)))


def rule_page(book: Book, code: str, pond: UUID | None = None) -> RulePage:
    """One rule as it is in force, with its numbers, its sources and its record.

    Parameters
    ----------
    book
        The practice's book.
    code
        The rule.
    pond
        The one pond; None for the practice.

    Returns
    -------
    RulePage
        For one pond the numbers are compared with the practice's, else with the published ones.

    Raises
    ------
    NotFound
        There is no such rule.
    """
    if code not in published():
        raise NotFound(f"There is no rule “{code}”.")
    laws, zone = rulebook(book), book.zone
    practice = {rule.code: rule for rule in laws.practice}[code]
    rule, below = practice, published()[code]
    if pond is not None:
        rule, below = {one.code: one for one in laws.of(pond)}[code], practice
    own = laws.change(code, pond)
    return RulePage(
        _line(rule, laws, pond, zone),
        _numbers(rule, below),
        _about(rule),
        _statements(rule),
        MappingProxyType(dict(own.params) if own else {}),
        tuple(
            _recorded(change, zone, parameter_of(rule))
            for change in changes_of(book, code)
            if change.pond in (None, pond)
        ),
    )


def _recorded(change: RuleChange, zone: ZoneInfo, parameter: str) -> str:
    numbers = ", ".join(
        f"{label_of(name)} {said_number(name, value, parameter)}"
        for name, value in change.params.items()
    )
    return f"{change.said(zone)} ({numbers or 'the numbers below it'}" + (
        ")" if change.enabled else "; silent)"
    )


def _about(rule: Rule) -> tuple[str, ...]:
    event = rule.params.get("event")
    parts = [f"Speaks after: {EVENTS[event]}." if isinstance(event, str) else "", rule.changed]
    joined = {"signs": SIGNS, "corrections": CORRECTIONS}.get(rule.kind)
    if joined:
        parts.append(f"Counts these events: {'; '.join(joined.values())}.")
    if rule.preconditions:
        said = ", or ".join(PRECONDITIONS[code] for code in rule.preconditions)
        parts.append(f"Raised when {said}.")
    own = rule.backing[""]
    parts += [own.note, *rule.cautions, f"Next: {rule.advice}"]
    return tuple(part for part in parts if part)


def _statements(rule: Rule) -> tuple[Statement, ...]:
    """What other publications say on the same window or parameter."""
    found = []
    hazard = hazards().get(rule.hazard)
    if hazard is not None:
        if hazard.window_note:
            found.append(Statement(hazard.window_note, cite(hazard.source), hazard.standing))
        found += [
            Statement(
                f"{_span(one.low_c, one.high_c)} °C: {one.says}", cite(one.source), one.standing
            )
            for one in hazard.alternates
        ]
        return tuple(found)
    for one in ranges(rule.parameter) if rule.kind in ("level", "oxygen", "nitrite") else ():
        said = f"{_with_unit(one)}: {one.basis}"
        said += f". {one.note}" if one.note else ""
        found.append(Statement(said, cite(one.source), one.standing))
    return tuple(found)


def _with_unit(one: Range) -> str:
    """The span of a published statement with its unit, in degrees too where lists show those."""
    span, unit = _span(one.low, one.high), UNITS.get(one.parameter, "")
    if one.parameter == "ph":
        return f"pH {span}"
    parameter = PARAMETERS.get(one.parameter)
    if parameter is None or parameter.per_shown == 1.0:
        return f"{span} {unit}".strip()
    ends = [None if end is None else float(parameter.shown(end)) for end in (one.low, one.high)]
    return f"{span} {unit} ({_span(*ends)} {parameter.shown_unit})"


def _span(low: float | None, high: float | None) -> str:
    if low is None:
        return f"up to {high:g}"
    return f"from {low:g}" if high is None else f"{low:g} to {high:g}"


_ALSO: Mapping[str, tuple[str, ...]] = {
    "days": ("d", "day"), "h": ("hours", "hour"), "mg/L": ("ppm",), "g/L": ("ppt",),
}  # fmt: skip
_DIFFERENCES = ("change", "margin", "fall", "per_day")
"""In the name of a number that is a difference of temperatures, not a temperature."""


def read_number(name: str, text: str, parameter: str = "") -> float:
    """The number typed for a rule, in the unit that its name ends in.

    Parameters
    ----------
    name
        The number's name.
    text
        As typed: with a decimal point or comma; a unit may follow, temperatures also as °F,
        alkalinity and hardness also in degrees, a chance in percent.
    parameter
        What the rule looks at; empty for no single parameter.

    Returns
    -------
    float
        In the unit of the name.

    Raises
    ------
    BadInput
        No number, or a unit that does not belong here; the field is the name.

    Examples
    --------
    >>> read_number("watch_above_c", "82,4 F"), read_number("watch_days", "10 d")
    (28.0, 10.0)
    >>> round(read_number("watch_below_mg_l", "4 dKH", "alkalinity_mg_l"), 1)
    71.4
    >>> read_number("estimate_chance", "60 %")
    0.6
    """
    unit = unit_of(name, parameter)
    known = PARAMETERS.get(parameter)
    try:
        value, typed = quantity(text, "number")
        if typed and unit == "°C":
            if not any(part in name for part in _DIFFERENCES):
                return round(to_stored("temperature_c", value, typed, ""), 6)
            if spelt(typed) == "f":
                return round(value / 1.8, 6)
        if unit_of(name) == "of one" and spelt(typed) == "%":
            return value / 100.0
        shown = "" if known is None or known.per_shown == 1.0 else known.shown_unit
        if typed and unit == "mg/L" and spelt(typed) == spelt(shown):
            return round(to_stored(parameter, value, typed), 6)
    except BadInput as trouble:
        raise BadInput(trouble.message, field=name) from trouble
    fitting = {spelt(unit), spelt(unit.split(" ")[0]), *_ALSO.get(unit.split(" ")[0], ())}
    if typed and spelt(typed) not in fitting:
        raise BadInput(
            f"The unit {plain(typed)[:20]} does not belong here; this is in "
            f"{unit or 'no unit at all'}. Nothing was changed.",
            field=name,
        )
    return value


def save_numbers(
    book: Book,
    act: Act,
    page: RulePage,
    staged: Mapping[str, float],
    why: str,
    *,
    pond: UUID | None = None,
    enabled: bool | None = None,
) -> None:
    """Put changed numbers in force, or silence a rule, beside what was changed before.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who, and when.
    page
        The rule as the person saw it.
    staged
        The numbers that were changed now, by name [the unit in each name].
    why
        The reason; never empty.
    pond
        The one pond; None for the practice.
    enabled
        False silences it, True lets it speak; None leaves it as it is.

    Raises
    ------
    BadInput
        No reason, or a number out of its bounds; the field is its name.
    """
    numbers = {number.name: number for number in page.numbers}
    params = {**page.own, **staged}
    params = {
        name: value
        for name, value in params.items()
        if not isclose(value, numbers[name].usual, rel_tol=1e-12, abs_tol=1e-12)
    }
    check_params(page.line.rule, staged)
    change_rule(
        book, act, page.line.rule.code, params=params, why=why, pond=pond,
        enabled=page.line.rule.enabled if enabled is None else enabled,
    )  # fmt: skip
