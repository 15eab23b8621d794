"""Which hazard of the list a laboratory's test is about, by the name of the test."""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Mapping
from functools import cache
from types import MappingProxyType

from store.facts.hazards import hazards
from store.text import plain

_MORE: Mapping[str, tuple[str, ...]] = {
    "khv": ("khv", "khvd", "cyhv 3", "cyhv3", "koi herpesvirus", "koi herpes virus", "koi herpes"),
    "svc": ("svc", "svcv", "spring viremia of carp", "rhabdovirus carpio", "carp sprivivirus"),
    "sleepy_disease": ("cev", "carp oedema virus", "ksd"),
    "goldfish_herpesvirus": ("cyhv 2", "cyhv2", "gfhnv", "goldfish herpesvirus",
                             "goldfish herpes virus"),
    "ulcer_disease": ("aeromonas", "a salmonicida", "a hydrophila", "a sobria"),
    "columnaris": ("f columnare", "flexibacter columnaris"),
    "water_mould": ("saprolegnia",),
    "white_spot": ("ich", "ichthyophthirius"),
    "costia": ("ichthyobodo",),
}  # fmt: skip
_MARKS = re.compile(r"[^\w]+|_")


@cache
def test_words() -> Mapping[str, str]:
    """Words that name a hazard within the name of a test, folded, to its code."""
    found: dict[str, str] = {}
    for one in hazards().values():
        if one.kind == "environment":
            continue
        names = [one.plain_name, one.name.removesuffix(" spp.")]
        if one.kind in ("fluke", "ciliate", "flagellate", "crustacean"):
            names.append(one.name.split()[0])
        for name in names:
            if " and " not in name:
                found[words_folded(name)] = one.code
    for code, words in _MORE.items():
        found.update(dict.fromkeys(words, code))
    return MappingProxyType(found)


def hazards_of(test: str) -> tuple[str, ...]:
    """The hazards that the name of a test names, by their codes.

    Parameters
    ----------
    test
        As it stands in the file.

    Returns
    -------
    tuple of str
        Empty where none is named; more than one where one result stands for several.

    Examples
    --------
    >>> hazards_of("CyHV-3 real-time PCR"), hazards_of("KHV/CEV duplex"), hazards_of("histology")
    (('khv',), ('khv', 'sleepy_disease'), ())
    """
    text = f" {words_folded(test)} "
    found = {
        code: text.index(f" {word} ") for word, code in test_words().items() if f" {word} " in text
    }
    return tuple(sorted(found, key=lambda code: found[code]))


def words_folded(text: str) -> str:
    """A name without case, accents and marks, one blank between words.

    Parameters
    ----------
    text
        As typed.
    """
    flat = unicodedata.normalize("NFKD", plain(text).casefold())
    flat = "".join(letter for letter in flat if not unicodedata.combining(letter))
    return " ".join(_MARKS.sub(" ", flat).split())
