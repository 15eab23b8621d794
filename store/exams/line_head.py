"""Which preparation it is, and how it was looked at: what stands before the colon."""

from __future__ import annotations

import re
from typing import Any

from store.exams.line_words import FIELDS, MAGNIFICATION, PREP_WORDS
from store.exams.values import Prep

Question = tuple[str, tuple[tuple[str, str], ...]]
"""What is asked, and each answer as it is offered and as it is written in the place of the words.
"""
_SHORT = ("gill", "skin", "fin", "lesion")


def read_head(text: str) -> Prep | Question:
    """A preparation without its findings, or what is to be asked about it.

    Parameters
    ----------
    text
        What stands before the colon.

    Examples
    --------
    >>> read_head("gill (left) 100x 5 fields")
    Prep(kind='gill clip', place='left', magnification=100, fields=5, note='', found=())
    >>> read_head("skin 40")[1]
    (('40x', 'skin 40x'), ('40 fields', 'skin 40 fields'))
    """
    rest = text
    values: dict[str, Any] = {}
    place = re.search(r"\(([^)]*)\)", rest)
    if place is not None:
        values["place"] = place[1].strip()
        rest = blanked(rest, place)
    for name, pattern in (("magnification", MAGNIFICATION), ("fields", FIELDS)):
        found = list(pattern.finditer(rest))
        if len(found) > 1:
            return f"“{text}”: {name} stands there twice. Which one is it?", ()
        if found:
            values[name] = int(next(group for group in found[0].groups() if group))
            rest = blanked(rest, found[0])
            if values[name] == 0:
                return f"“{text}”: {name} cannot be 0.", ()
    said = " ".join(rest.split()).casefold()
    kind = PREP_WORDS.get(said)
    return _asked(text, said) if kind is None else Prep(kind, **values)


def _asked(text: str, said: str) -> Question:
    figures = re.findall(r"(?<!\w)\d+(?!\w)", said)
    if len(figures) == 1 and " ".join(said.replace(figures[0], "").split()) in PREP_WORDS:
        figure = figures[0]
        before, _, after = text.rpartition(figure)
        units = ("x", " fields")
        return (
            f"“{figure}” in “{text}”: magnification or fields?",
            tuple((f"{figure}{unit}", f"{before}{figure}{unit}{after}") for unit in units),
        )
    near = next((word for word in _SHORT if word in said.split()), "")
    if not near:
        return f"“{text}” is no preparation. There are: {', '.join(_SHORT)}, other.", ()
    left = " ".join(word for word in said.split() if word != near)
    at = text.casefold().find(left)
    answers: tuple[tuple[str, str], ...] = ()
    if at >= 0 and "(" not in text:
        place = text[at : at + len(left)]
        other = " ".join((text[:at] + text[at + len(left) :]).split())
        written = re.sub(rf"\b{near}\b", lambda _: f"{near} ({place})", other, count=1, flags=re.I)
        answers = ((f"{near} ({place})", written),)
    return f"“{left}” is not understood. Is it the place?", answers


def begins_a_prep(text: str) -> bool:
    """Whether a piece begins with the word for a preparation.

    Parameters
    ----------
    text
        The piece.
    """
    first = text.casefold().split()
    return any(" ".join(first[:count]) in PREP_WORDS for count in (1, 2))


def blanked(text: str, found: re.Match[str]) -> str:
    """The text of the same length with what was read made blank.

    Parameters
    ----------
    text
        Any text.
    found
        What was read of it.
    """
    return text[: found.start()] + " " * (found.end() - found.start()) + text[found.end() :]
