"""What a laboratory's words say of a sample: detected, not detected, unclear, or asked.

A number alone, a Ct value among them, is never turned into detected or not: how many cycles count
is the laboratory's to say. Such a result is unclear, and its words are kept.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Literal

from store.text import plain

Said = Literal["not detected", "detected", "unclear", "awaited", "not tested", "asked"]
"""What a cell says: one of the results of the book, that it comes later, that nothing was looked
for, or a word that only a person can place."""
ANSWERS: Mapping[str, str] = MappingProxyType(
    {
        "unclear": "neither, the words are kept",
        "detected": "the laboratory found it",
        "not detected": "the laboratory did not find it",
        "not tested": "nothing was looked for, nothing is kept",
    }
)
"""What a person may answer of a word, and what that means; what claims least stands first."""

_WORDS: dict[Said, tuple[str, ...]] = {
    "not detected": (
        "not detected", "none detected", "undetected", "neg", "negative", "negative result",
        "test negative", "not found", "none found", "not present", "absent", "not isolated",
        "none isolated", "no growth", "negativ", "nicht nachgewiesen", "nicht nachweisbar",
        "kein nachweis", "négatif", "négative", "non détecté", "non détectée", "negatief",
        "niet aangetoond", "niet gevonden", "negativo", "negativa", "no detectado", "non rilevato",
        "ikke påvist",
    ),
    "detected": (
        "detected", "pos", "positive", "positive result", "test positive", "found", "present",
        "isolated", "confirmed", "confirmed positive", "+", "++", "+++", "positiv", "nachgewiesen",
        "positif", "positive", "détecté", "détectée", "positief", "aangetoond", "positivo",
        "positiva", "detectado", "rilevato", "påvist",
    ),
    "unclear": (
        "inconclusive", "equivocal", "indeterminate", "doubtful", "unclear", "borderline",
        "questionable", "not conclusive", "inhibited", "invalid", "test failed", "failed",
        "no result", "not interpretable", "insufficient", "insufficient sample",
        "insufficient material", "sample unsuitable", "unsuitable", "degraded", "autolysed",
        "too autolysed", "contaminated", "overgrown", "fraglich", "nicht auswertbar", "zweifelhaft",
        "douteux", "non concluant", "dubieus", "dudoso", "dubbio",
    ),
    "awaited": (
        "awaited", "pending", "to follow", "in progress", "result to follow", "awaiting result",
        "not yet available", "outstanding", "tbc", "ausstehend", "folgt", "en cours", "volgt",
    ),
    "not tested": (
        "not tested", "not done", "not requested", "not examined", "not performed", "nt", "n/t",
        "n/a", "not applicable", "nicht untersucht", "non testé", "niet onderzocht",
    ),
}  # fmt: skip
_KNOWN = {word: said for said, words in _WORDS.items() for word in words}
_CYCLES = re.compile(
    r"\(?\bC[tqp]\b(?:[ -]?values?)?[ ]*[:=]?[ ]*(?:[<>~]?[ ]?[0-9]+(?:[.,][0-9]+)?)?\)?",
    re.IGNORECASE,
)
_NUMBER = re.compile(
    r"[<>~≤≥]?[ ]?[-+]?[0-9][0-9 .,]*"
    r"(?:[ ]?[x×*·][ ]?10[ ]?\^?[ ]?[0-9⁰¹²³⁴⁵⁶⁷⁸⁹]+|[eE][+-]?[0-9]+)?"
    r"[ ]?(?P<unit>%|[^\W\d_]{1,12}(?:[ ]?/[ ]?[^\W\d_]{1,12})?)?"
)
_SPEAKS = re.compile(
    r"detect|pos(?:itiv|\b)|neg(?:ativ|\b)|isolat|nachg|found|present|absent|growth|confirm|"
    r"aangetoond|identif|demonstrat|visible|seen\b|evidence|amplif|vir(?:us|al)|\b[dr]na\b|react|"
    r"suspect|consistent|diagnos|reveal|compatible",
    re.IGNORECASE,
)
_PROSE_WORDS = 5
_ENDS = " .,;:!*()[]"
_LOOSE = " -–—/:,;"


@dataclass(frozen=True, slots=True)
class ResultSaid:
    """One result: what it says, the words as they stand in the file, and what was taken of them.

    `word` is what has to be asked about where `said` is `asked`. `number_only` tells that numbers
    stand there without a word: a Ct value, a count.
    """

    said: Said
    words: str
    word: str = ""
    number_only: bool = False
    prose: bool = False


def _unanswered(_word: str) -> str:
    return ""


def result_said(cell: str, answer: Callable[[str], str] = _unanswered) -> ResultSaid | None:
    """What a cell of results says; None for an empty one.

    Parameters
    ----------
    cell
        As it stands in the file.
    answer
        What a person said of a word, folded by `folded`: a key of `ANSWERS`, or empty.

    Examples
    --------
    >>> result_said("Neg.").said, result_said("pos (Ct 24.9)").said, result_said("Ct 31.4").said
    ('not detected', 'detected', 'unclear')
    >>> result_said("n.d.").said  # not detected, not done, not determined?
    'asked'
    """
    words = " ".join(plain(cell).split())
    if not words:
        return None
    whole = folded(words)
    answered = answer(whole)
    if answered in ANSWERS:
        return ResultSaid(answered, words)  # type: ignore[arg-type]
    if whole in _KNOWN:
        return ResultSaid(_KNOWN[whole], words)
    rest = _CYCLES.sub(" ", words)
    bare = folded(rest.strip(_LOOSE + _ENDS)) if rest != words else whole
    if bare in ("no", "none"):  # “no Ct” is a word of its own
        bare = whole
    if bare != whole:
        if not bare:
            return ResultSaid("unclear", words, number_only=True)
        answered = answer(bare)
        if answered in ANSWERS:
            return ResultSaid(answered, words)  # type: ignore[arg-type]
        if bare in _KNOWN:
            return ResultSaid(_KNOWN[bare], words)
    number = _NUMBER.fullmatch(rest.strip(_ENDS + _LOOSE))
    if number is not None and folded(number["unit"] or "") not in _KNOWN:
        return ResultSaid("unclear", words, number_only=True)
    if len(bare.split()) > _PROSE_WORDS and not _SPEAKS.search(rest):
        return ResultSaid("unclear", words, prose=True)
    return ResultSaid("asked", words, bare)


def folded(words: str) -> str:
    """A word of results as it is compared: small letters, no full stop or brackets at its ends.

    Parameters
    ----------
    words
        As typed.

    Examples
    --------
    >>> folded(" Neg. "), folded("(Not  Detected)")
    ('neg', 'not detected')
    """
    text = " ".join(plain(words).casefold().split())
    return text.strip(_ENDS)
