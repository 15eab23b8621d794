"""Words of the line typed at the pond: what each may mean, and how a number in it is written."""

from __future__ import annotations

import re
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType
from typing import NamedTuple

from store.exams.values import LengthKind, Motile, PrepKind
from store.facts.hazards import hazards
from store.facts.signs import Sign, signs


class Meaning(NamedTuple):
    """What a word or a few words mean: of which kind, and its code."""

    kind: str
    """`hazard`, `behaviour`, `sign`, `condition` or `species`."""
    code: str
    plain: str
    """How it is shown back, and typed so that it has no other meaning."""


SPECIES = ("koi", "goldfish", "carp", "shubunkin", "orfe", "tench", "sturgeon", "grass carp",
           "ghost koi", "rudd", "roach")  # fmt: skip
"""Fish that are understood by their name alone; any other is typed behind `species`."""

_CONDITIONS = {
    "thin": "thin", "emaciated": "thin", "skinny": "thin", "normal": "normal",
    "normal condition": "normal", "well fed": "normal", "full": "full", "fat": "full",
}  # fmt: skip

_MORE_HAZARDS: Mapping[str, str] = {
    "ichthyobodo": "costia", "ich": "white_spot", "ick": "white_spot",
    "ichthyophthirius": "white_spot", "trich": "trichodina", "trichodinids": "trichodina",
    "chilo": "chilodonella", "dactylogyrus": "gill_flukes", "dactylo": "gill_flukes",
    "gill fluke": "gill_flukes", "gyrodactylus": "skin_flukes", "gyro": "skin_flukes",
    "skin fluke": "skin_flukes", "argulus": "fish_louse", "fish lice": "fish_louse",
    "lice": "fish_louse", "louse": "fish_louse", "lernaea": "anchor_worm",
    "anchor worms": "anchor_worm", "ergasilus": "gill_maggot", "gill maggots": "gill_maggot",
    "saprolegnia": "water_mould", "water mold": "water_mould", "mould": "water_mould",
    "mold": "water_mould", "aeromonas": "ulcer_disease", "flavobacterium": "columnaris",
    "khv": "khv", "svc": "svc", "cev": "sleepy_disease", "cyhv-2": "goldfish_herpesvirus",
    "gas bubbles in the gill": "gas_supersaturation",
}  # fmt: skip

_MANY: Mapping[str, tuple[str, ...]] = {
    "flukes": ("gill_flukes", "skin_flukes"),
    "fluke": ("gill_flukes", "skin_flukes"),
    "fungus": ("water_mould", "columnaris"),
    "white spots": ("white_spot", "white_grains"),
}
"""Words that may mean more than one thing: they are asked about, always."""

PREP_WORDS: Mapping[str, PrepKind] = MappingProxyType(
    {
        "gill": "gill clip", "gills": "gill clip", "gill clip": "gill clip",
        "gill biopsy": "gill clip", "skin": "skin scrape", "skin scrape": "skin scrape",
        "scrape": "skin scrape", "mucus": "skin scrape", "fin": "fin clip", "fins": "fin clip",
        "fin clip": "fin clip", "lesion": "lesion edge", "lesion edge": "lesion edge",
        "ulcer edge": "lesion edge", "wound edge": "lesion edge", "other": "other",
    }
)  # fmt: skip
NOTHING = frozenset({"none", "nothing", "nothing found", "nil", "clean", "clear", "no parasites"})
SUSPECTED = frozenset({"suspected", "suspect", "maybe", "possible", "probable", "?"})
SEEN = frozenset({"seen", "sure", "certain", "confirmed"})
MOTILE: Mapping[str, Motile] = MappingProxyType(
    {
        "not motile": "no", "not moving": "no", "still": "no", "dead": "no", "motile": "yes",
        "moving": "yes", "alive": "yes", "live": "yes",
    }
)  # fmt: skip

LENGTH = re.compile(r"(?<![\w.,])(\d+(?:[.,]\d+)?)\s*(cm|mm|inch|inches|\")(?![\w])", re.I)
WEIGHT = re.compile(
    r"(?<![\w.,])(\d+(?:[.,]\d+)?)\s*(kg|g|grams?|lbs?|oz)(?![\w])(?:\s+(weighed|reckoned))?", re.I
)
LENGTH_WORDS: Mapping[str, LengthKind] = {
    "fork": "fork", "fork length": "fork", "fl": "fork", "total": "total", "total length": "total",
    "tl": "total",
}  # fmt: skip
LENGTH_CM: Mapping[str, float] = {
    "cm": 1.0, "mm": 0.1, "inch": 2.54, "inches": 2.54, '"': 2.54
}  # fmt: skip
"""Exact: the inch is 2.54 cm by definition."""
WEIGHT_G: Mapping[str, float] = {
    "kg": 1000.0, "g": 1.0, "gram": 1.0, "grams": 1.0, "lb": 453.59237, "lbs": 453.59237,
    "oz": 28.349523125,
}  # fmt: skip
"""Exact: the pound is 0.45359237 kg by definition, the ounce a sixteenth of it."""
MAGNIFICATION = re.compile(r"(?<![\w.])(?:x\s*(\d+)|(\d+)\s*[x×])(?![\w])", re.I)
FIELDS = re.compile(r"(?<![\w.])(\d+)\s*(?:fields?|f)(?![\w])", re.I)
PER_FIELD = re.compile(r"(?<![\w.,])(\d+)\s*(?:/|per|a)\s*field(?![\w])", re.I)
SCORE = re.compile(r"(?<![+\w])(\+{1,})(?![+\w])|(?<!\w)score\s+(\d+)(?!\w)", re.I)
COUNT = re.compile(r"(?<![\w.,<>~+-])(\d+)(?![\w.,+])")
NUMBER = re.compile(r"\d")


@cache
def words() -> Mapping[str, tuple[Meaning, ...]]:
    """Everything that can be typed of a fish and what was found on it, in small letters.

    Returns
    -------
    Mapping
        Words to what they may mean; more than one meaning is always asked about.
    """
    found: dict[str, list[Meaning]] = {}

    def add(said: str, meaning: Meaning) -> None:
        known = found.setdefault(said.casefold(), [])
        if meaning not in known:
            known.append(meaning)

    for hazard in hazards().values():
        meaning = Meaning("hazard", hazard.code, hazard.plain_name)
        genus = hazard.name.split()[0]
        for said in (hazard.plain_name, hazard.name, hazard.name.removesuffix(" spp.")):
            add(said, meaning)
        if hazard.kind in {"fluke", "ciliate", "flagellate"}:
            add(genus, meaning)
    for said, code in _MORE_HAZARDS.items():
        add(said, Meaning("hazard", code, hazards()[code].plain_name))
    for sign in signs().values():
        for said in (sign.words, *sign.also):
            add(said, Meaning(sign.kind, sign.code, typed_as(sign)))
    for said, code in _CONDITIONS.items():
        add(said, Meaning("condition", code, code))
    for said in SPECIES:
        add(said, Meaning("species", said, said))
    for said, codes in _MANY.items():
        found.pop(said, None)
        for code in codes:
            if code in hazards():
                add(said, Meaning("hazard", code, hazards()[code].plain_name))
            else:
                sign = signs()[code]
                add(said, Meaning(sign.kind, code, typed_as(sign)))
    return MappingProxyType({said: tuple(meanings) for said, meanings in found.items()})


def typed_as(sign: Sign) -> str:
    """How a sign is typed: a comma would end its words, and a number would be read as a length.

    Parameters
    ----------
    sign
        Of `store.facts.signs`.
    """
    mistaken = any(letter == "," or letter.isdigit() for letter in sign.words)
    return sign.also[0] if mistaken else sign.words


_NEAR_ENOUGH = 0.75
"""Similarity of two words from which one is asked about as the other misspelt."""
_SHORTEST = 4


def nearly(said: str, kinds: frozenset[str]) -> tuple[Meaning, ...]:
    """What a misspelt word may be, the nearest first; it is asked about, never taken.

    Parameters
    ----------
    said
        As typed, in small letters.
    kinds
        Kinds of meaning that fit its place.

    Returns
    -------
    tuple of Meaning
        At most three; empty where nothing is near.

    Examples
    --------
    >>> nearly("trichodyna", frozenset({"hazard"}))[0].code
    'trichodina'
    >>> nearly("xyzzy", frozenset({"hazard"}))
    ()
    """
    if len(said) < _SHORTEST:
        return ()
    from rapidfuzz import process
    from rapidfuzz.distance import DamerauLevenshtein

    among = {
        word: meanings
        for word, meanings in words().items()
        if any(one.kind in kinds for one in meanings)
    }
    near = process.extract(
        said, list(among), scorer=DamerauLevenshtein.normalized_similarity,
        score_cutoff=_NEAR_ENOUGH, limit=6,
    )  # fmt: skip
    found = [one for word, _, _ in near for one in among[word] if one.kind in kinds]
    return tuple(dict.fromkeys(found))[:3]
