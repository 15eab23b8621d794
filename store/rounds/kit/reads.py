"""Meters and reagents of a day: what is read at each pond, counted, with one spare."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from store.facts.gear import Reading
from store.facts.numbers import Number
from store.facts.sources import cite_with_standing
from store.rounds.kit.values import KitLine, StopRef
from store.text import joined

READ_FROM: Mapping[str, tuple[str, ...]] = {
    "nh3_n_mg_l": ("tan_mg_l", "ph", "temperature_c"),
    "acute_tan_mg_l": ("tan_mg_l", "ph", "temperature_c"),
    "chronic_tan_mg_l": ("tan_mg_l", "ph", "temperature_c"),
    "co2_mg_l": ("alkalinity_mg_l", "ph", "temperature_c"),
    "oxygen_saturation_percent": ("oxygen_mg_l", "temperature_c"),
    "chloride_to_nitrite": ("chloride_mg_l", "nitrite_mg_l"),
    "salinity_by_conductivity_g_l": ("conductivity_us_cm", "temperature_c"),
}
"""What has to be read for each value that is reckoned from others."""


@dataclass(frozen=True, slots=True)
class ToRead:
    """A parameter that is to be read at a pond, and why; `code` may be one that is reckoned.

    `own_kit` tells that the pond has a kit of its own, in date, so that no reagent is packed.
    """

    code: str
    pond: str
    stop: StopRef
    why: str
    own_kit: bool = False


def parameters_of(code: str) -> tuple[str, ...]:
    """The parameters that have to be read for a code.

    Parameters
    ----------
    code
        Of a parameter, or of a value that is reckoned from others.

    Examples
    --------
    >>> parameters_of("co2_mg_l"), parameters_of("ph")
    (('alkalinity_mg_l', 'ph', 'temperature_c'), ('ph',))
    """
    return READ_FROM.get(code, (code,))


def read_lines(
    asked: Sequence[ToRead], known: Mapping[str, Reading], spare: Number
) -> tuple[KitLine, ...]:
    """A line for each meter and each reagent, in the order in which a test is shown.

    Parameters
    ----------
    asked
        What is read, pond by pond; the same may stand there twice.
    known
        With what each parameter is read, by its code.
    spare
        How many tests are packed beside those that are to be read [tests].

    Returns
    -------
    tuple of KitLine
        Reagents are counted in tests, one a pond and the spare; a meter goes along once.
    """
    found: dict[str, list[tuple[Reading, ToRead]]] = {}
    ranks = {code: rank for rank, code in enumerate(known)}
    for one in asked:
        for code in parameters_of(one.code):
            if code in known:
                found.setdefault(known[code].says, []).append((known[code], one))
    lines = [_line(says, pairs, spare) for says, pairs in found.items()]
    order = {says: min(ranks[one.parameter] for one, _ in pairs) for says, pairs in found.items()}
    return tuple(sorted(lines, key=lambda one: order[one.what]))


def _line(says: str, pairs: Sequence[tuple[Reading, ToRead]], spare: Number) -> KitLine:
    reading = pairs[0][0]
    ponds = {one.pond: one for _, one in pairs}
    theirs = sorted({one.pond for _, one in pairs if one.own_kit})
    many, extra = len(ponds) - len(theirs), int(spare.value)
    why = _why([one for _, one in pairs])
    rests = cite_with_standing(reading.source, reading.standing)
    mind = (f"With a kit of its own: {', '.join(theirs)}.",) if theirs else ()
    if reading.by == "meter":
        return KitLine(
            f"tests:{says}", "tests", says, "", stops_of(one.stop for _, one in pairs),
            arithmetic=f"read at {_ponds(len(ponds))}", rests_on=rests, mind=(why,),
        )  # fmt: skip
    total = many + extra
    return KitLine(
        f"tests:{says}", "tests", says, f"{total} test{'' if total == 1 else 's'}",
        stops_of(one.stop for _, one in pairs),
        arithmetic=f"{_ponds(many)} + {extra} spare = {total} test{'' if total == 1 else 's'}",
        rests_on=rests, mind=(why, *mind),
    )  # fmt: skip


def _why(asked: Sequence[ToRead]) -> str:
    """The ponds by the first reason that each has, such as `As at the last tests: Mill Lane 4.`"""
    first: dict[str, str] = {}
    for one in asked:
        first.setdefault(one.pond, one.why)
    by: dict[str, list[str]] = {}
    for pond, why in first.items():
        by.setdefault(why, []).append(pond)
    said = joined(f"{why}: {' / '.join(ponds)}" for why, ponds in by.items())
    return f"{said[:1].upper()}{said[1:]}."


def _ponds(count: int) -> str:
    return f"{count} pond{'' if count == 1 else 's'}"


def stops_of(stops: Iterable[StopRef]) -> tuple[StopRef, ...]:
    """Stops once each, in the order of the rounds.

    Parameters
    ----------
    stops
        Any of them, in any order.
    """
    return tuple(sorted(set(stops), key=lambda one: (one.who, one.nth)))
