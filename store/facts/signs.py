"""How a fish behaves and what shows on it without a microscope, to pick from.

The words name no cause. Each sign knows among whose signs it stands, by the very sentence of
`store.facts.hazards`; one that stands among none is common practice and points at nothing.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from functools import cache
from types import MappingProxyType
from typing import Any, Literal

from store.facts.entry import Entry, Finding, Standing, file_tables, read_each, refuse
from store.facts.hazards import Hazard, hazards

FILE = "signs.toml"

Kind = Literal["behaviour", "sign"]


@dataclass(frozen=True, slots=True)
class Among:
    """One hazard among whose signs a sign stands: the sentence there, its source and standing."""

    hazard: str
    says: str
    source: str
    standing: Standing


@dataclass(frozen=True, slots=True)
class Sign:
    """One behaviour, or one mark on a fish; `also` is what else people type for it."""

    code: str
    kind: Kind
    words: str
    also: tuple[str, ...]
    of: tuple[Among, ...]


def read_signs(
    raw: Mapping[str, Any], known: Mapping[str, Hazard]
) -> tuple[dict[str, Sign], list[Finding]]:
    """Every good sign of the tables of a file, and what is wrong with the others.

    Parameters
    ----------
    raw
        The tables of the file, as TOML gives them.
    known
        Every hazard by its code; a sentence must stand among its signs.

    Returns
    -------
    tuple of dict and list
        Signs by code, and the findings.
    """
    typed: dict[str, str] = {}

    def sign(entry: Entry) -> Sign:
        words = entry.text("words")
        also = entry.texts("also")
        for one in dict.fromkeys((words.casefold(), *map(str.casefold, also))):
            if one in typed:
                entry.fault("also", f"{one!r} is typed for {typed[one]} already")
            typed[one] = entry.name
        kind = entry.choice("kind", ("behaviour", "sign"))
        part = entry.part("of", needed=False)
        of = () if part is None else tuple(_among(part, known))
        entry.finish()
        return Sign(entry.name, "behaviour" if kind == "behaviour" else "sign", words, also, of)

    return read_each(FILE, raw, sign)


def _among(part: Entry, known: Mapping[str, Hazard]) -> Iterable[Among]:
    for code in part.fields():
        says = part.text(code)
        hazard = known.get(code)
        if hazard is None:
            part.fault(code, "is no hazard")
        elif says not in hazard.signs:
            part.fault(code, f"{says!r} does not stand among its signs")
        else:
            yield Among(code, says, hazard.source, hazard.standing)


@cache
def signs() -> Mapping[str, Sign]:
    """Every sign by its code, in the order in which a person is offered them.

    Raises
    ------
    FactsTrouble
        The file has bad entries; all of them are named.
    """
    found, findings = read_signs(file_tables(FILE), hazards())
    refuse(findings)
    return MappingProxyType(found)


def fitting(codes: Iterable[str]) -> Mapping[str, tuple[Sign, ...]]:
    """Among whose signs these stand, the hazard with the most of them first.

    Parameters
    ----------
    codes
        Codes of signs; unknown ones fit nothing.

    Returns
    -------
    Mapping
        Code of a hazard to the signs that stand among its own. It is where to look, and no
        diagnosis: most signs stand among those of several.

    Examples
    --------
    >>> {hazard: len(them) for hazard, them in fitting(["sunken_eyes", "gills_mottled"]).items()}
    {'khv': 2, 'sleepy_disease': 1}
    """
    found: dict[str, list[Sign]] = {}
    for code in dict.fromkeys(codes):
        sign = signs().get(code)
        for among in () if sign is None else sign.of:
            found.setdefault(among.hazard, []).append(signs()[code])
    ordered = sorted(found.items(), key=lambda one: -len(one[1]))
    return MappingProxyType({hazard: tuple(them) for hazard, them in ordered})
