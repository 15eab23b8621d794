"""Pieces of a typed line with their places, and how much of a hazard such a piece says."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from store.exams.line_words import (
    COUNT,
    MOTILE,
    PER_FIELD,
    SCORE,
    SEEN,
    SUSPECTED,
    Meaning,
    words,
)
from store.exams.values import Confidence, Found, Motile

MOST_SCORE = 3
_DECIMAL = re.compile(r"\d,\d")
_WORD = re.compile(r"[^\s,]+")
_LONGEST = 9
"""So many words has the longest thing that is understood."""


@dataclass(frozen=True, slots=True)
class Spot:
    """A piece of a line without the blanks at its ends, and where it stands.

    With `whole` the text is the piece itself, as long as its place, some of it made blank.
    """

    line: str
    start: int
    end: int
    whole: bool = False

    def __post_init__(self) -> None:
        if self.whole:
            return
        inside = self.line[self.start : self.end]
        object.__setattr__(self, "start", self.start + len(inside) - len(inside.lstrip()))
        object.__setattr__(self, "end", max(self.start, self.end - len(inside)
                                            + len(inside.rstrip())))  # fmt: skip

    @property
    def text(self) -> str:
        """The words of the piece."""
        return self.line if self.whole else self.line[self.start : self.end]

    def part(self, start: int, end: int) -> Spot:
        """A piece of the piece, by places within it."""
        return Spot(self.line, self.start + start, self.start + end)

    def after(self, start: int) -> Spot:
        """What follows a place within the piece."""
        return Spot(self.line, self.start + start, self.end)

    def cut(self, mark: str) -> tuple[Spot, Spot]:
        """What stands before the first mark, and what behind it."""
        at = self.text.index(mark)
        return self.part(0, at), self.after(at + len(mark))

    def split(self, mark: str) -> Iterator[Spot]:
        """The pieces between the marks; brackets and decimal commas are left together."""
        start, depth = 0, 0
        for place, letter in enumerate(self.text):
            depth = max(0, depth + (letter == "(") - (letter == ")"))
            if letter == mark and depth == 0 and not _DECIMAL.match(self.text, max(0, place - 1)):
                yield self.part(start, place)
                start = place + 1
        yield self.after(start)


def phrase_at(spot: Spot, place: int) -> tuple[tuple[Meaning, ...], int, int] | None:
    """The longest thing known that begins at a word, and where it begins and ends in the piece.

    Parameters
    ----------
    spot
        The piece.
    place
        Which of its words, from 0.
    """
    found = list(_WORD.finditer(spot.text))[place : place + _LONGEST]
    for count in range(len(found), 0, -1):
        start, end = found[0].start(), found[count - 1].end()
        meanings = words().get(" ".join(spot.text[start:end].split()).casefold())
        if meanings is not None:
            return meanings, start, end
    return None


def found_in(hazard: str, spot: Spot, fields: int | None) -> Found | tuple[str, tuple[str, ...]]:
    """How much of a hazard the words behind its name say.

    Parameters
    ----------
    hazard
        Its code.
    spot
        The words behind its name.
    fields
        How many fields were looked at, where that is said.

    Returns
    -------
    Found or tuple
        The finding; or a question, and what may stand in the place of the words.

    Examples
    --------
    >>> found_in("costia", Spot("++ motile suspected", 0, 19), None)
    Found(hazard='costia', counted=None, score=2, motile='yes', confidence='suspected', note='')
    >>> found_in("costia", Spot("4 per field", 0, 11), 5)
    ('“4 per field”: type what was counted over all the fields. 4 × 5 = 20?', ('20',))
    """
    rest = spot.text
    note = ""
    bracket = re.search(r"\(([^)]*)\)", rest)
    if bracket is not None:
        note = bracket[1].strip()
        rest = rest[: bracket.start()] + " " + rest[bracket.end() :]
    each = PER_FIELD.search(rest)
    if each is not None:
        question = f"“{each[0]}”: type what was counted over all the fields."
        if fields is None:
            return question, ()
        number = int(each[1]) * fields
        kept = spot.text.replace(each[0], str(number), 1)
        return f"{question} {each[1]} × {fields} = {number}?", (kept,)
    said = re.sub(r"\bby eye\b", " ", " ".join(rest.split()).casefold())
    motile, said = _motile(said)
    confidence, said = _confidence(said)
    scores = [match[1] or match[2] for match in SCORE.finditer(said)]
    said = SCORE.sub(" ", said)
    counts = [int(match[1]) for match in COUNT.finditer(said)]
    left = " ".join(COUNT.sub(" ", said).split())
    if left in {"none", "nil", "absent"} and not scores and not counts:
        return Found(hazard, 0, None, motile, confidence, note)
    if left:
        what = "is no count" if any(letter.isdigit() for letter in left) else "is not understood"
        return (
            f"“{left}” {what}: behind a hazard stands the number counted, or a score of + to "
            "+++, and whether it is suspected.",
            (),
        )
    if len(scores) + len(counts) > 1:
        return f"“{spot.text}”: counted or scored? One of them, once.", ()
    if scores:
        score = len(scores[0]) if scores[0].startswith("+") else int(scores[0])
        if score > MOST_SCORE:
            return f"“{spot.text}”: a score goes from + to +++.", ("+++",)
        return Found(hazard, None, score, motile, confidence, note)
    return Found(hazard, counts[0] if counts else None, None, motile, confidence, note)


def _motile(text: str) -> tuple[Motile, str]:
    for said, motile in MOTILE.items():
        found = re.search(rf"(?<!\w){said}(?!\w)", text)
        if found is not None:
            return motile, text[: found.start()] + " " + text[found.end() :]
    return "not looked", text


def _confidence(text: str) -> tuple[Confidence, str]:
    typed = text.replace("?", " ? ").split()
    kept = [word for word in typed if word not in SEEN | SUSPECTED]
    suspected = any(word in SUSPECTED for word in typed)
    return "suspected" if suspected else "seen", " ".join(kept)
