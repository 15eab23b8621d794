"""When treated fish may be eaten: the rules for use outside a label, labels, and bars for ever.

The law in force, the label and the prescribing vet decide. The rules of the European Union are
given from memory and must be read in the consolidated text before anybody relies on them.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any

from store.facts.entry import Entry, Finding, Standing, entries, file_tables, refuse
from store.facts.sources import source_standings

FILE = "withdrawal.toml"
KINDS = ("rule", "label", "bar", "statement")
RULES = ("aquatic", "land", "unauthorised", "zero")
"""The four rules for use outside the label; arithmetic asks for each of them by name."""


@dataclass(frozen=True, slots=True)
class CascadeRule:
    """One rule: either `factor` times a labelled period, not above `most_degree_days` where that
    is given, or `degree_days` outright [°C x days]."""

    code: str
    law: str
    when: str
    factor: float | None
    most_degree_days: float | None
    degree_days: float | None
    source: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class Label:
    """What one label says [days]; below `least_temp_c` [°C] the product must not be used."""

    code: str
    product: str
    species: str
    days: float
    least_temp_c: float | None
    note: str
    source: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class Bar:
    """Substances after which no fish of the pond may ever be food, by their code names."""

    code: str
    substance: str
    names: tuple[str, ...]
    says: str
    source: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class Told:
    """A statement on withdrawal that nothing is reckoned with."""

    code: str
    says: str
    source: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class WithdrawalFacts:
    """Everything of the file, by code."""

    rules: Mapping[str, CascadeRule]
    labels: Mapping[str, Label]
    bars: Mapping[str, Bar]
    statements: Mapping[str, Told]


def _rule(entry: Entry, source: str, standing: Standing) -> CascadeRule:
    if entry.name not in RULES:
        entry.fault("entry", f"is not one of {', '.join(RULES)}")
    factor = entry.number("factor", low=1.0, high=100.0, needed=False)
    most = entry.number("most_degree_days", low=1.0, high=2000.0, needed=False)
    outright = entry.number("degree_days", low=1.0, high=2000.0, needed=False)
    if (factor is None) == (outright is None):
        entry.fault("factor", "or degree_days must be there, and not both")
    if most is not None and factor is None:
        entry.fault("most_degree_days", "is there without a factor")
    return CascadeRule(
        entry.name, entry.text("law"), entry.text("when"), factor, most, outright, source, standing
    )


def _label(entry: Entry, source: str, standing: Standing) -> Label:
    days = entry.number("days", low=0.0, high=400.0)
    return Label(
        code=entry.name,
        product=entry.text("product"),
        species=entry.text("species"),
        days=days or 0.0,
        least_temp_c=entry.number("least_temp_c", low=0.0, high=40.0, needed=False),
        note=entry.text("note", needed=False),
        source=source,
        standing=standing,
    )


def read_withdrawal(
    raw: Mapping[str, Any], standings: Mapping[str, Standing]
) -> tuple[WithdrawalFacts, list[Finding]]:
    """Every good entry of the tables of a file, and everything wrong with the others.

    Parameters
    ----------
    raw
        The tables of the file, as TOML gives them.
    standings
        Standing of every source by its key; see `store.facts.sources.source_standings`.

    Returns
    -------
    tuple of WithdrawalFacts and list
        What could be read, and the findings.
    """
    findings: list[Finding] = []
    rules: dict[str, CascadeRule] = {}
    labels: dict[str, Label] = {}
    bars: dict[str, Bar] = {}
    told: dict[str, Told] = {}
    for entry in entries(FILE, raw, findings):
        before = len(findings)
        kind = entry.choice("kind", KINDS)
        source, standing = entry.backing(standings)
        made: CascadeRule | Label | Bar | Told | None = None
        if kind == "rule":
            made = _rule(entry, source, standing)
        elif kind == "label":
            made = _label(entry, source, standing)
        elif kind == "bar":
            made = Bar(entry.name, entry.text("substance"), entry.texts("names"),
                       entry.text("says"), source, standing)  # fmt: skip
        elif kind == "statement":
            made = Told(entry.name, entry.text("says"), source, standing)
        entry.finish()
        if len(findings) > before:
            continue
        if isinstance(made, CascadeRule):
            rules[made.code] = made
        elif isinstance(made, Label):
            labels[made.code] = made
        elif isinstance(made, Bar):
            bars[made.code] = made
        elif made is not None:
            told[made.code] = made
    findings += [Finding(FILE, code, "entry", "is missing") for code in RULES if code not in raw]
    return (
        WithdrawalFacts(
            MappingProxyType(rules),
            MappingProxyType(labels),
            MappingProxyType(bars),
            MappingProxyType(told),
        ),
        findings,
    )


@cache
def withdrawal_facts() -> WithdrawalFacts:
    """The rules, labels and bars, in the order of the file.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    found, findings = read_withdrawal(file_tables(FILE), source_standings())
    refuse(findings)
    return found
