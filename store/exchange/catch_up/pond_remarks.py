"""Ponds out of a remark: volume with its unit, depth, species; proposed, never taken silently."""

from __future__ import annotations

import re
from dataclasses import dataclass

from store.errors import PondroundError
from store.exchange.catch_up.addresses import ListedAddress
from store.exchange.catch_up.folding import squeezed
from store.text import plain
from store.water.measures import spelt, to_litres, to_metres

_FIGURES = r"\d{1,3}(?:[ ,.'’\u00a0]\d{3})+(?![\d])|\d+(?:[.,]\d+)?"
_VOLUME = re.compile(
    rf"(?P<number>{_FIGURES})\s?(?P<thousand>k)?\s*"
    r"(?P<unit>(?:u\.?s\.?|u\.?k\.?|imp(?:erial)?)?\s*gal(?:lon)?s?\b\.?(?:\s*\(?(?:us|uk|imp)\b\)?)?"
    r"|lit(?:re|er)s?\b|ltrs?\b|l\b|m3\b|m³|cu(?:bic)?\.?\s*(?:m(?:et(?:re|er)s?)?|f(?:ee|oo)?t)\b"
    r"|ft3\b|ft³)",
    re.IGNORECASE,
)
_LENGTH = (
    r"(?P<{0}>\d+(?:[.,]\d+)?)\s*"
    r"(?P<{1}>cm|mm|m|metres?|meters?|ft|feet|foot|inch(?:es)?|in|['’′](?!\d))"
)
_DEPTH = re.compile(
    _LENGTH.format("first", "unit1")
    + r"\.?\s*(?:deep|depth|d\b)"
    + r"|(?:depth|deep)\s*[:=]?\s*(?:about|approx\.?|c\.?|ca\.?|~)?\s*"
    + _LENGTH.format("second", "unit2"),
    re.IGNORECASE,
)
_NUMBERS = {"one": 1, "two": 2, "three": 3, "four": 4, "five": 5, "six": 6, "2": 2, "3": 3, "4": 4,
            "5": 5, "6": 6, "1": 1, "zwei": 2, "drei": 3}  # fmt: skip
_MANY = re.compile(
    rf"\b(?P<count>{'|'.join(_NUMBERS)})\s+(?:\w+\s+)?(?:ponds|tanks|pools|lakes|teiche)\b",
    re.IGNORECASE,
)
_WHICH = (
    "upper|lower|main|big|large|small|front|back|rear|koi|quarantine|qt|top|middle|bottom|old|new|"
    "fish|indoor|outdoor|outside|lily|wildlife|first|second|third|nursery|growing|show|raised|"
    "formal|garden|courtyard|patio|stock|holding"
)
_NAMED = re.compile(
    rf"\b(?:(?:{_WHICH})\s+)+(?:pond|tank|pool|lake|vat)\b(?:\s+\d\b(?!\s*[.,\dmlkgcfu]))?"
    r"|\b(?:pond|tank|lake|pool)\s+(?:[1-9]|[A-D])\b|\bquarantine\b",
    re.IGNORECASE,
)
_ANY = re.compile(r"\b(?:pond|lake|teich|vijver)s?\b", re.IGNORECASE)
_SPECIES = re.compile(
    r"\b(?:ghost koi|koi|goldfish|shubunkins?|comets?|carp|mirror carp|grass carp|sturgeons?|"
    r"sterlets?|(?:golden |blue )?orfes?|tench|(?:rainbow |brown )?trout|rudd|roach|perch|pike|"
    r"minnows?|sticklebacks?|fantails?|orandas?|catfish|eels?)\b",
    re.IGNORECASE,
)
_GALLONS = "gallons"


@dataclass(frozen=True, slots=True)
class ProposedPond:
    """A pond that a remark seems to speak of.

    `volume_typed` is what was read as its volume and `litres` [L] what that is; None where gallons
    do not say which, or the figures can be read in two ways. `gallons` is their number then.
    `said` is the part of the remark it comes from.
    """

    name: str
    said: str
    volume_typed: str = ""
    litres: float | None = None
    gallons: float | None = None
    depth_m: float | None = None
    species: str = ""
    doubts: tuple[str, ...] = ()
    place: ListedAddress | None = None
    """The address of the row that speaks of it, where that row has one."""


def proposed_ponds(remark: str) -> tuple[ProposedPond, ...]:
    """The ponds that a remark seems to speak of.

    Parameters
    ----------
    remark
        The cell; it is kept as it is whatever comes of this.

    Returns
    -------
    tuple of ProposedPond
        In their order; empty where neither a pond nor a volume nor fish are named.

    Examples
    --------
    >>> [(one.name, one.litres, one.depth_m, one.species)
    ...  for one in proposed_ponds("koi pond 12,000 l, 1.4 m deep; quarantine tank 800 litres")]
    [('Koi pond', 12000.0, 1.4, 'koi'), ('Quarantine tank', 800.0, None, '')]
    >>> [one.name for one in proposed_ponds("Two ponds, goldfish. Dog bites")]
    ['Pond 1', 'Pond 2']
    """
    text = squeezed(plain(remark))
    volumes = list(_VOLUME.finditer(text))
    names = _names(text)
    many = _MANY.search(text)
    count = _NUMBERS[many["count"].casefold()] if many else 0
    if not names and not count and not volumes and not _ANY.search(text):
        return ()
    if len(names) >= 2 or (names and not count):
        return tuple(_of_segment(name, said) for name, said in _segments(text, names))
    if count >= 2:
        return _counted(text, count, volumes)
    if len(volumes) >= 2:
        ends = [one.end() for one in volumes[:-1]] + [len(text)]
        starts = [0, *ends[:-1]]
        return tuple(
            _of_segment(f"Pond {at + 1}", text[start:end].strip(" ,;+&"))
            for at, (start, end) in enumerate(zip(starts, ends, strict=True))
        )
    return (_of_segment("Pond", text),)


def read_volume(text: str, unit: str = "") -> tuple[str, float | None, float | None, str]:
    """A volume out of a cell of its own.

    Parameters
    ----------
    text
        The cell, with or without unit.
    unit
        Of the heading, where the cell names none.

    Returns
    -------
    tuple
        What was read; litres [L] or None; gallons where it is not said which; a doubt in words or
        nothing.

    Examples
    --------
    >>> read_volume("3,000 gal")
    ('3,000 gal', None, 3000.0, 'gallons: US or UK?')
    >>> read_volume("12.5", "m3")
    ('12.5 m3', 12500.0, None, '')
    """
    cell = squeezed(plain(text))
    if re.fullmatch(rf"(?:c\.?|ca\.?|~|about|approx\.?)?\s*(?:{_FIGURES})", cell):
        if not unit:
            return cell, None, None, "a volume without a unit"
        cell = f"{cell} {unit}"
    found = _VOLUME.search(cell)
    if found is None:
        return cell, None, None, "no volume that can be read" if cell else ""
    return _volume(found)


def read_depth(text: str, unit: str = "") -> float | None:
    """A depth out of a cell of its own.

    Parameters
    ----------
    text
        The cell.
    unit
        Of the heading; metres where neither names one is not supposed.

    Returns
    -------
    float or None
        The depth [m]; None where it cannot be read.

    Examples
    --------
    >>> read_depth("4 ft"), read_depth("1,4", "m"), read_depth("1.4")
    (1.2192, 1.4, None)
    """
    cell = squeezed(plain(text))
    if re.fullmatch(r"\d+(?:[.,]\d+)?", cell) and unit:
        cell = f"{cell} {unit}"
    found = re.fullmatch(_LENGTH.format("first", "unit1") + r"\.?(?:\s*deep)?", cell, re.IGNORECASE)
    return None if found is None else _metres(found["first"], found["unit1"])


def species_in(text: str) -> str:
    """The fish that a text names, as it names them, parted by commas.

    Parameters
    ----------
    text
        A remark.
    """
    found = dict.fromkeys(one[0].casefold() for one in _SPECIES.finditer(text))
    return ", ".join(found)


def _names(text: str) -> list[re.Match[str]]:
    """Names of single ponds; what `two koi ponds` says is none."""
    return list(_NAMED.finditer(text))


def _segments(text: str, names: list[re.Match[str]]) -> list[tuple[str, str]]:
    """Name and part of the text of each pond: from its name, or the figure before it, to the next.

    `12,000 l koi pond, 800 l quarantine tank` has the figures before the names.
    """
    first = _VOLUME.search(text)
    before = first is not None and first.end() <= names[0].start() and len(names) > 1
    parts = []
    for at, found in enumerate(names):
        if before:
            start = names[at - 1].end() if at else 0
            end = found.end() if at + 1 < len(names) else len(text)
        else:
            start = found.start() if at else 0
            end = names[at + 1].start() if at + 1 < len(names) else len(text)
        name = found[0][:1].upper() + found[0][1:]
        parts.append((name, text[start:end].strip(" ,;+&")))
    taken: dict[str, int] = {}
    told = []
    for name, said in parts:
        taken[name.casefold()] = taken.get(name.casefold(), 0) + 1
        number = taken[name.casefold()]
        told.append((name if number == 1 else f"{name} {number}", said))
    return told


def _counted(text: str, count: int, volumes: list[re.Match[str]]) -> tuple[ProposedPond, ...]:
    fish = species_in(text)
    depth = _depth(text)
    ponds = []
    for at in range(count):
        name = f"Pond {at + 1}"
        if len(volumes) == count:
            typed, litres, gallons, doubt = _volume(volumes[at])
            doubts = (doubt,) if doubt else ()
            ponds.append(ProposedPond(name, text, typed, litres, gallons, None, fish, doubts))
            continue
        doubts = (
            (f"{count} ponds and {len(volumes)} volume{'s' * (len(volumes) != 1)}: not taken",)
            if volumes
            else ()
        )
        if depth is not None:
            doubts = (*doubts, "which pond has the depth is not said: not taken")
        ponds.append(ProposedPond(name, text, species=fish, doubts=doubts))
    return tuple(ponds)


def _of_segment(name: str, said: str) -> ProposedPond:
    # The number of a pond is no figure of its volume: `pond 1 400 l`.
    measures = said[len(name) :] if said.casefold().startswith(name.casefold()) else said
    volumes = list(_VOLUME.finditer(measures))
    typed, litres, gallons, doubt = _volume(volumes[0]) if volumes else ("", None, None, "")
    doubts = [doubt] if doubt else []
    if len(volumes) > 1:
        doubts.append(f"{len(volumes)} volumes are named: the first was read")
    return ProposedPond(
        name, said, typed, litres, gallons, _depth(measures), species_in(said), tuple(doubts)
    )


def _volume(found: re.Match[str]) -> tuple[str, float | None, float | None, str]:
    typed = squeezed(found[0])
    unit = spelt(found["unit"].replace("(", "").replace(")", ""))
    unit = {"ltr": "l", "ltrs": "l", "cubicm": "m3", "cum": "m3", "cumetre": "m3", "cuft": "cuft",
            "cubicft": "ft3", "cubicmeter": "m3", "cumeter": "m3", "cubicmetres": "m3",
            "cubicmeters": "m3", "m3s": "m3", "galus": "usgal", "galuk": "ukgal",
            "galimp": "ukgal"}.get(unit, unit)  # fmt: skip
    number = found["number"]
    grouped = re.fullmatch(r"\d{1,3}(?:[ ,.'’\u00a0]\d{3})+", number) is not None
    if grouped and unit in ("m3", "ft3", "cuft") and re.fullmatch(r"\d{1,3}[.,]\d{3}", number):
        return typed, None, None, f"“{typed}” can be read in two ways"
    figure = float(re.sub(r"\D", "", number) if grouped else number.replace(",", "."))
    if found["thousand"]:
        figure *= 1000.0
    if unit == "gal":
        return typed, None, figure, f"{_GALLONS}: US or UK?"
    try:
        return typed, round(to_litres(figure, unit), 3), None, ""
    except PondroundError:
        return typed, None, None, f"“{typed}” is no volume that can be read"


def _depth(text: str) -> float | None:
    found = list(_DEPTH.finditer(text))
    if len(found) != 1:
        return None
    one = found[0]
    return _metres(one["first"] or one["second"], one["unit1"] or one["unit2"])


def _metres(number: str, unit: str) -> float | None:
    name = unit.casefold()
    name = "ft" if name in "'’′" else "m" if name.startswith("met") else name
    metres = to_metres(float(number.replace(",", ".")), name)
    return round(metres, 6) if 0.0 < metres <= 200.0 else None
