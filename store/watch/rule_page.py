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
from store.facts.ranges import UNITS, ranges
from store.facts.rules import EVENTS
from store.facts.sources import cite
from store.text import plain
from store.watch.rule import Rule
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
    "event": "events",
}  # fmt: skip

_SUFFIXES = (
    ("_c_per_day", "°C a day"), ("_nh3_n_mg_l", "mg/L NH3-N"), ("_nh3_mg_l", "mg/L NH3"),
    ("_chronic_share", "× the chronic criterion"), ("_acute_share", "× the acute criterion"),
    ("_intervals", "× the interval"), ("_to_floor", "days"), ("_days", "days"), ("_hours", "h"),
    ("_hour", "h"), ("_percent", "%"), ("_mg_l", "mg/L"), ("_g_l", "g/L"), ("_ph", ""),
    ("_c", "°C"),
)  # fmt: skip
"""How the name of a number ends, and the unit this means; the longer endings first."""

_LABELS: Mapping[str, str] = {
    "low_c": "window from", "high_c": "window to", "margin_c": "left beyond a margin of",
    "needs_fall_c": "only after a fall of", "fall_hours": "fall within",
    "fall_counts_days": "fall counts for", "entered_within_days": "counts as entered for",
    "heading_within_days": "looks ahead by", "watch_days": "watched for",
    "left_within_days": "counts as left for", "trend_days": "trend over the last",
    "trend_least_values": "trend from at least [days with a value]",
    "trend_least_c_per_day": "least trend", "max_gap_days": "a gap parts beyond",
    "stale_after_days": "temperature believed for", "cold_below_c": "cold is below",
    "cold_within_days": "cold within the last", "rising_least_c_per_day": "least rise in spring",
    "counts_days": "told for", "over_days": "slope over the last",
    "least_readings": "from at least [readings]", "watch_days_to_floor": "watch, days to the floor",
    "act_days_to_floor": "act, days to the floor", "default_days": "readings believed for",
    "after_intervals": "or, if longer, for", "watch_after_intervals": "late after",
    "default_interval_days": "without a plan, every", "grace_days": "let pass",
    "watch_hours": "watched for", "calm_days": "noted for", "dawn_before_hour": "dawn ends at",
    "dawn_counts_days": "dawn reading counts for", "enough_mg_l": "enough oxygen at dawn",
    "least_chloride_to_nitrite": "least chloride to nitrite",
}  # fmt: skip

_NO_UNIT = frozenset({"least_chloride_to_nitrite", "trend_least_values", "least_readings"})
_DIFFERENCES = ("change", "margin", "fall", "per_day")
"""In the name of a number that is a difference of temperatures, not a temperature."""


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

    @property
    def said(self) -> str:
        """The number with its unit."""
        return f"{self.value:g} {self.unit}".strip()

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


def unit_of(name: str) -> str:
    """The unit of a number of a rule, from its name.

    Parameters
    ----------
    name
        The number's name, with its unit at the end.

    Examples
    --------
    >>> unit_of("act_above_nh3_n_mg_l"), unit_of("watch_days"), unit_of("act_above_ph")
    ('mg/L NH3-N', 'days', '')
    """
    if name in _NO_UNIT:
        return ""
    return next((unit for ending, unit in _SUFFIXES if name.endswith(ending)), "")


def label_of(name: str) -> str:
    """What a number of a rule is called.

    Parameters
    ----------
    name
        The number's name, with its unit at the end.

    Examples
    --------
    >>> label_of("watch_change_above_c"), label_of("tan_mg_l_days"), label_of("low_c")
    ('watch, change above', 'total ammonia as N believed for', 'window from')
    """
    if name in _LABELS:
        return _LABELS[name]
    if name.endswith("_days") and name.removesuffix("_days") in PARAMETERS:
        return f"{PARAMETERS[name.removesuffix('_days')].label} believed for"
    for level in ("calm", "watch", "act"):
        for side in ("change_above", "above", "below"):
            if name.startswith(f"{level}_{side}"):
                spoken = "note" if level == "calm" else level
                return f"{spoken}, {side.replace('_', ' ')}"
    if name.startswith("floor_"):
        return "floor"
    return name.replace("_", " ")


def read_number(name: str, text: str) -> float:
    """The number typed for a rule, in the unit that its name ends in.

    Parameters
    ----------
    name
        The number's name.
    text
        As typed: with a decimal point or comma; a unit may follow, temperatures also as °F.

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
    """
    unit = unit_of(name)
    try:
        value, typed = quantity(text, "number")
        if typed and unit == "°C":
            if not any(part in name for part in _DIFFERENCES):
                return round(to_stored("temperature_c", value, typed, ""), 6)
            if spelt(typed) == "f":
                return round(value / 1.8, 6)
    except BadInput as trouble:
        raise BadInput(trouble.message, field=name) from trouble
    fitting = {spelt(unit), spelt(unit.split(" ")[0]), *_ALSO.get(unit, ())}
    if typed and spelt(typed) not in fitting:
        raise BadInput(
            f"The unit {plain(typed)[:20]} does not belong here; this is in "
            f"{unit or 'no unit at all'}. Nothing was changed.",
            field=name,
        )
    return value


_ALSO: Mapping[str, tuple[str, ...]] = {
    "days": ("d", "day"), "h": ("hours", "hour"), "mg/L": ("ppm",), "g/L": ("ppt",),
}  # fmt: skip


def _numbers(rule: Rule, below: Rule) -> tuple[Number, ...]:
    found = []
    for name, value in rule.params.items():
        usual = below.params[name]
        if isinstance(value, float) and isinstance(usual, float):
            backing = rule.backing.get(name, rule.backing[""])
            found.append(
                Number(
                    name, label_of(name), value, unit_of(name), usual, backing.source,
                    backing.standing, backing.note,
                )
            )  # fmt: skip
    return tuple(found)


def in_one_clause(rule: Rule) -> str:
    """The numbers of a rule that speak, in one clause for a list.

    Parameters
    ----------
    rule
        The rule as it is in force.

    Examples
    --------
    >>> in_one_clause(published()["ph_range"])
    'watch below 6.7, above 8.5; act below 6, above 9'
    """
    if rule.kind == "window":
        low, high = rule.params.get("low_c"), rule.params.get("high_c")
        if isinstance(low, float) and isinstance(high, float):
            band = f"{low:g} to {high:g} °C"
        else:
            band = f"from {low:g} °C" if isinstance(low, float) else f"up to {high:g} °C"
        fall = rule.params.get("needs_fall_c")
        return f"{band}, after a fall of {fall:g} °C" if isinstance(fall, float) else band
    clauses = []
    for level in ("calm", "watch", "act"):
        sides = [
            (name, value)
            for name, value in rule.params.items()
            if name.startswith(f"{level}_") and isinstance(value, float)
        ]
        if sides:
            said = ", ".join(_side(name.removeprefix(f"{level}_"), value) for name, value in sides)
            clauses.append(f"{'note' if level == 'calm' else level} {said}")
    if not clauses:
        days = rule.number("default_days")
        clauses.append(f"after {days:g} days, some readings sooner")
    units = {
        unit_of(name) for name, value in rule.params.items() if name.startswith(("watch_", "act_"))
    }
    unit = units.pop() if len(units) == 1 else ""
    return f"{'; '.join(clauses)} {unit}".strip()


def _side(rest: str, value: float) -> str:
    for start, said in (
        ("change_above", "by more than"), ("above", "above"), ("below", "below"),
        ("days_to_floor", "within"), ("after_intervals", "after"), ("days", "for"),
        ("hours", "for"),
    ):  # fmt: skip
        if rest.startswith(start):
            return f"{said} {value:g}"
    return f"{value:g}"


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
            _recorded(change, zone)
            for change in changes_of(book, code)
            if change.pond in (None, pond)
        ),
    )


def _recorded(change: RuleChange, zone: ZoneInfo) -> str:
    numbers = ", ".join(
        f"{label_of(name)} {value:g} {unit_of(name)}".strip()
        for name, value in change.params.items()
    )
    return f"{change.said(zone)} ({numbers or 'the numbers below it'}" + (
        ")" if change.enabled else "; silent)"
    )


def _about(rule: Rule) -> tuple[str, ...]:
    event = rule.params.get("event")
    parts = [f"Speaks after: {EVENTS[event]}." if isinstance(event, str) else "", rule.changed]
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
        unit = UNITS.get(one.parameter, "")
        said = f"{_span(one.low, one.high)} {unit}".strip() + f": {one.basis}"
        said += f". {one.note}" if one.note else ""
        found.append(Statement(said, cite(one.source), one.standing))
    return tuple(found)


def _span(low: float | None, high: float | None) -> str:
    if low is None:
        return f"up to {high:g}"
    return f"from {low:g}" if high is None else f"{low:g} to {high:g}"


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
