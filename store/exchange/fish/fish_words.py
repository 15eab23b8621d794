"""Short forms of parasites, sites of a scrape and amounts, as sheets of findings write them.

A name is known by the words of the typed line alone; a short form that they do not know is asked
about, with what it may be, and never taken because it is alike.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, replace
from typing import Literal

from store.exams.line_words import NOTHING, PREP_WORDS, Meaning, nearly, words
from store.exams.values import BY_EYE, PREP_KINDS
from store.facts.hazards import hazards
from store.text import plain

_PARASITES = frozenset({"fluke", "ciliate", "flagellate", "crustacean"})
_SITE_WORDS = {
    "gill": "gill clip", "gills": "gill clip", "kieme": "gill clip", "kiemen": "gill clip",
    "branchie": "gill clip", "branchies": "gill clip", "kieuw": "gill clip",
    "kieuwen": "gill clip", "skin": "skin scrape", "mucus": "skin scrape", "haut": "skin scrape",
    "peau": "skin scrape", "huid": "skin scrape", "fin": "fin clip", "fins": "fin clip",
    "flosse": "fin clip", "nageoire": "fin clip", "vin": "fin clip", "lesion": "lesion edge",
    "ulcer": "lesion edge", "wound": "lesion edge",
}  # fmt: skip
_BY_EYE = frozenset({"by eye", "eye", "naked eye", "visual", "macroscopic", "seen by eye"})
_SAY_NOTHING = frozenset({"scrape", "scraping", "clip", "biopsy", "smear", "edge", "wet mount",
                          "preparation", "of", "the", "from"})  # fmt: skip
_MARKS = re.compile(r"[\s,;:()\[\]/|_-]+")
_AS = {
    "per field": "each", "field": "each", "lpf": "each", "hpf": "each", "count": "count",
    "counted": "count", "number": "count", "score": "score", "grade": "score",
}  # fmt: skip
_NONE_SEEN = NOTHING | {
    "0", "no", "neg", "negative", "absent", "not seen", "none seen", "not found", "none found",
    "n.s.", "keine", "0.0",
}  # fmt: skip
_NOT_LOOKED = frozenset({"n/a", "na", "not looked", "not done", "not checked", "not examined"})
_PRESENT = frozenset({"yes", "y", "pos", "positive", "present", "seen", "found", "x", "✓", "✔"})
_PLUS = re.compile(r"\++|(?:\+ )+\+")
_WHOLE = re.compile(r"[0-9]{1,7}(?:\.0+)?")
_DECIMAL = re.compile(r"[0-9]{1,6}[.,][0-9]{1,4}")
_EACH = re.compile(
    r"(?P<number>[0-9]+(?:[.,][0-9]+)?)\s*(?:/|per|a|pro|par)\s*(?:field|lpf|hpf|f|feld|champ)",
    re.IGNORECASE,
)
_INEXACT = re.compile(
    r"(?:~|≈|ca\.?|approx\.?|about|over|more than|>|≥)\s*[0-9]+|"
    r"[0-9]+\s*(?:\+|-\s*[0-9]+|–\s*[0-9]+|to [0-9]+)|tntc|numerous|[0-9]+\s*ish",
    re.IGNORECASE,
)
SIDES = frozenset({"left", "right", "l", "r", "links", "rechts", "both"})
"""Words beside a site that say which of two it is."""
DASH = re.compile(r"[-–—]+")
As = Literal["", "count", "each", "score"]
AmountKind = Literal[
    "blank", "none", "dash", "plus", "number", "each", "present", "inexact", "word", "empty"
]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Amount:
    """What a cell says of how much: `number` is a score of pluses, or what was counted."""

    kind: AmountKind
    text: str
    number: float = 0.0
    suspected: bool = False


@dataclass(frozen=True, slots=True)
class FoundHeading:
    """A column of one parasite: its code, the preparation and the measure where they are named."""

    hazard: str
    site: str = ""
    measure: As = ""

    @property
    def said(self) -> str:
        """In one text, from which `found_heading` makes it again."""
        site = f" in {self.site}" if self.site else ""
        return f"{self.hazard} found{site}" + (f", {self.measure}" if self.measure else "")


def found_heading(said: str) -> FoundHeading | None:
    """A column of one parasite out of its text; None for any other.

    Parameters
    ----------
    said
        From `FoundHeading.said`.

    Examples
    --------
    >>> found_heading("gill_flukes found in gill clip, count")
    FoundHeading(hazard='gill_flukes', site='gill clip', measure='count')
    """
    found = re.fullmatch(r"(\w+) found(?: in ([^,]+))?(?:, (count|each|score))?", said)
    if found is None:
        return None
    return FoundHeading(found[1], found[2] or "", found[3] or "")  # type: ignore[arg-type]


def parasites_named(text: str) -> tuple[Meaning, ...]:
    """What a name may be by the words that are known; more than one meaning is asked about.

    Parameters
    ----------
    text
        As it stands in the sheet.

    Examples
    --------
    >>> [one.code for one in parasites_named("Gyro.")], parasites_named("Tri")
    (['skin_flukes'], ())
    """
    name = " ".join(plain(text).casefold().split()).strip(" .?:")
    for said in (name, re.sub(r"\s+spp?\.?$", "", name)):
        found = tuple(one for one in words().get(said, ()) if one.kind == "hazard")
        if found:
            return found
    return ()


def parasites_like(text: str) -> tuple[Meaning, ...]:
    """What a short form may stand for: what begins so, or is nearly so; never taken by itself.

    Parameters
    ----------
    text
        As it stands in the sheet.

    Examples
    --------
    >>> [one.code for one in parasites_like("Cos")]
    ['costia']
    """
    name = " ".join(plain(text).casefold().split()).strip(" .?:")
    if len(name) < 2:
        return ()
    begun = [
        one
        for said, meanings in words().items()
        if said.startswith(name)
        for one in meanings
        if one.kind == "hazard" and hazards()[one.code].kind in _PARASITES
    ]
    near = [one for one in nearly(name, frozenset({"hazard"})) if one.code in _known()]
    return tuple(dict.fromkeys((*begun, *near)))


def all_parasites() -> tuple[Meaning, ...]:
    """Every parasite that the book knows, by its plain name."""
    return tuple(
        Meaning("hazard", one.code, one.plain_name)
        for one in sorted(hazards().values(), key=lambda one: one.plain_name)
        if one.code in _known()
    )


def _known() -> frozenset[str]:
    return frozenset(one.code for one in hazards().values() if one.kind in _PARASITES)


def heading_said(title: str) -> FoundHeading | None:
    """A heading that names one parasite, perhaps with the site and how it was measured.

    Parameters
    ----------
    title
        The heading.

    Examples
    --------
    >>> heading_said("Gill: Dactylogyrus per field").said
    'gill_flukes found in gill clip, each'
    >>> heading_said("Dac") is None
    True
    """
    found = parasites_named(title)
    if len(found) == 1:
        return FoundHeading(found[0].code)
    name, site, measure = heading_parts(title)
    found = parasites_named(name)
    return FoundHeading(found[0].code, site, measure) if len(found) == 1 else None


def heading_parts(title: str) -> tuple[str, str, As]:
    """The name within a heading, the preparation and the measure that stand beside it.

    Parameters
    ----------
    title
        The heading.

    Examples
    --------
    >>> heading_parts("Gill: Dac per field"), heading_parts("Gill flukes")
    (('dac', 'gill clip', 'each'), ('gill flukes', '', ''))
    >>> heading_parts("Tri left gill")
    ('tri', 'gill clip left', '')
    """
    text = f" {' '.join(_MARKS.split(title.casefold())).strip()} "
    measure: As = ""
    for word, what in _AS.items():
        if f" {word} " in text:
            measure = what  # type: ignore[assignment]
            text = text.replace(f" {word} ", " ", 1)
    parts = text.split()
    # The first word is the site and not a part of the name: Gill gill flukes, Skin fungus.
    for some in (parts, parts[1:]):
        if len(parasites_named(" ".join(some))) == 1:
            first = _SITE_WORDS.get(parts[0], "") if some is not parts else ""
            if some is parts or first:
                return " ".join(some), first, measure
    kinds = {_SITE_WORDS[one] for one in parts if one in _SITE_WORDS}
    if len(kinds) != 1:
        return text.strip(), "", measure
    left_out = {*_SITE_WORDS, *_SAY_NOTHING, *SIDES}
    side = next((one for one in parts if one in SIDES), "")
    rest = " ".join(one for one in parts if one not in left_out)
    return rest, f"{kinds.pop()} {side}".strip(), measure


def heading_joined(title: str, meaning: str) -> str:
    """What a person says of a heading, with the site and the measure that it names itself.

    Parameters
    ----------
    title
        The heading.
    meaning
        As said.

    Examples
    --------
    >>> heading_joined("Gill Dac", "gill_flukes found")
    'gill_flukes found in gill clip'
    """
    found = found_heading(meaning)
    if found is None:
        return meaning
    _, site, measure = heading_parts(title)
    return replace(found, site=found.site or site, measure=found.measure or measure).said


def site_of(text: str) -> tuple[str, str] | None:
    """The preparation that a site means, and the place that it names; None is asked about.

    Parameters
    ----------
    text
        As it stands in the sheet.

    Returns
    -------
    tuple of str, str or None
        One of `PREP_KINDS` or `by eye`, and a place such as `left`.

    Examples
    --------
    >>> site_of("left gill"), site_of("Skin scrape"), site_of("operculum")
    (('gill clip', 'left'), ('skin scrape', ''), None)
    """
    shown = " ".join(plain(text).split()).strip(" .:")
    name = shown.casefold()
    if name in _BY_EYE:
        return BY_EYE, ""
    if name in PREP_WORDS:
        return PREP_WORDS[name], ""
    if name in PREP_KINDS:
        return name, ""
    parts = [one for one in re.split(r"[\s,;:()]+", shown) if one]
    kinds = {_SITE_WORDS[one.casefold()] for one in parts if one.casefold() in _SITE_WORDS}
    if len(kinds) != 1:
        return None
    place = " ".join(
        one
        for one in parts
        if one.casefold() not in _SITE_WORDS and one.casefold() not in _SAY_NOTHING
    )
    return kinds.pop(), place


def amount_of(cell: str) -> Amount:
    """What a cell says of how much, before anybody has said what its marks mean.

    Parameters
    ----------
    cell
        The cell.

    Examples
    --------
    >>> amount_of("+++"), amount_of("4 / field").kind, amount_of("few").kind
    (Amount(kind='plus', text='+++', number=3.0, suspected=False), 'each', 'word')
    """
    text = " ".join(plain(cell).split())
    suspected = len(text) > 1 and text.endswith("?")
    bare = text.rstrip("? ") if suspected else text
    said = bare.casefold()
    if not text or said in _NOT_LOOKED:
        return Amount("blank", text)
    if DASH.fullmatch(bare):
        return Amount("dash", text)
    if said in _NONE_SEEN:
        return Amount("none", text)
    if said in _PRESENT:
        return Amount("present", text, 0.0, suspected)
    if _PLUS.fullmatch(bare):
        return Amount("plus", text, float(bare.count("+")), suspected)
    if _WHOLE.fullmatch(bare):
        return Amount("number", text, float(bare), suspected)
    each = _EACH.fullmatch(bare)
    if each is not None:
        return Amount("each", text, float(each["number"].replace(",", ".")), suspected)
    if _DECIMAL.fullmatch(bare):
        return Amount("number", text, float(bare.replace(",", ".")), suspected)
    if _INEXACT.fullmatch(bare):
        return Amount("inexact", text, 0.0, suspected)
    return Amount("word", text, 0.0, suspected)
