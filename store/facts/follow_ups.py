"""Kinds of follow-up and kinds of visit, with what hangs on them; none of it is published."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any, Literal, cast

from store.facts.entry import Entry, Finding, Standing, file_tables, read_each, refuse
from store.facts.sources import source_standings

FILE = "follow_ups.toml"
VISITS = "visit_kinds.toml"

Needs = Literal["visit", "call", "vet"]
"""What keeps a promise: somebody drives there, somebody rings, or a vet decides."""
NEEDS: tuple[Needs, ...] = ("visit", "call", "vet")
MOST_STAKE = 100.0
SHORTEST_MIN, LONGEST_MIN = 5, 1440
BY_HAND: tuple[str, ...] = ("ring", "visit", "look_again", "water_test", "seasonal")
"""Kinds that a person can promise, in the order in which they are offered."""


@dataclass(frozen=True, slots=True)
class FollowUpKind:
    """One kind of follow-up.

    `stake` is how much hangs on it, without a unit. `tolerance_days` is the lateness that weighs as
    much again as the stake [d]. The window runs from `early_days` before to `late_days` after the
    day that was promised [d]. `visit` is the kind of visit that keeps it, empty where none does.
    `before` says what the owner does before it.
    """

    code: str
    label: str
    needs: Needs
    stake: float
    tolerance_days: float
    early_days: int
    late_days: int
    visit: str
    before: tuple[str, ...]
    standing: Standing


@dataclass(frozen=True, slots=True)
class VisitKind:
    """One kind of visit and how long it takes beside the pond [min]."""

    name: str
    minutes: int
    standing: Standing


def read_follow_ups(
    raw: Mapping[str, Any], visits: Mapping[str, VisitKind], standings: Mapping[str, Standing]
) -> tuple[dict[str, FollowUpKind], list[Finding]]:
    """Every good kind of follow-up of a file, and what is wrong with the others.

    Parameters
    ----------
    raw
        The tables of the file, as TOML gives them.
    visits
        Every kind of visit; `visit` names one of them.
    standings
        The standing of every source.

    Returns
    -------
    tuple of dict and list
        Kinds by code, and the findings.
    """

    def kind(entry: Entry) -> FollowUpKind:
        label, needs = entry.text("label"), entry.choice("needs", NEEDS)
        stake = entry.number("stake", low=0.0, high=MOST_STAKE) or 0.0
        tolerance = entry.number("tolerance_days", low=0.1, high=366.0) or 1.0
        early = entry.number("early_days", low=0, high=366) or 0
        late = entry.number("late_days", low=0, high=366) or 0
        visit = entry.text("visit", needed=False)
        if visit and visit not in visits:
            entry.fault("visit", f"{visit!r} is no kind of visit")
        before = entry.texts("before", needed=False)
        _source, standing = entry.backing(standings)
        entry.finish()
        return FollowUpKind(
            entry.name, label, cast("Needs", needs), stake, tolerance, int(early), int(late), visit,
            before, standing,
        )  # fmt: skip

    return read_each(FILE, raw, kind)


def read_visit_kinds(
    raw: Mapping[str, Any], standings: Mapping[str, Standing]
) -> tuple[dict[str, VisitKind], list[Finding]]:
    """Every good kind of visit of a file, and what is wrong with the others.

    Parameters
    ----------
    raw
        The tables of the file, as TOML gives them.
    standings
        The standing of every source.

    Returns
    -------
    tuple of dict and list
        Kinds by name, and the findings.
    """

    def kind(entry: Entry) -> VisitKind:
        minutes = entry.number("minutes", low=SHORTEST_MIN, high=LONGEST_MIN) or SHORTEST_MIN
        _source, standing = entry.backing(standings)
        entry.finish()
        return VisitKind(entry.name, int(minutes), standing)

    return read_each(VISITS, raw, kind)


@cache
def visit_kinds() -> Mapping[str, VisitKind]:
    """Every kind of visit by its name, in the order in which a person is offered them.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    found, findings = read_visit_kinds(file_tables(VISITS), source_standings())
    refuse(findings)
    return MappingProxyType(found)


@cache
def follow_up_kinds() -> Mapping[str, FollowUpKind]:
    """Every kind of follow-up by its code.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    found, findings = read_follow_ups(file_tables(FILE), visit_kinds(), source_standings())
    refuse(findings)
    return MappingProxyType(found)
