"""One line typed at the pond for one fish, understood.

`koi 42 cm, thin, clamped; gill 100x 5 fields: gill flukes 23, trichodina +; skin: nothing`

The fish stands first, then each preparation with a colon before what was found in it. A number
behind a hazard is what was counted over all the fields; `+`, `++` and `+++` are scores of 1 to 3.
`treated`, `photo`, `mark` and `species` begin parts of their own; after `//` everything is kept as
it is. What is not understood is asked, never guessed, and the answer is put into the line itself.
"""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from typing import Any

from store.exams.line_found import Spot, found_in, phrase_at
from store.exams.line_head import begins_a_prep, blanked, read_head
from store.exams.line_said import say, write
from store.exams.line_words import (
    LENGTH,
    LENGTH_CM,
    LENGTH_WORDS,
    NOTHING,
    WEIGHT,
    WEIGHT_G,
    Meaning,
    nearly,
)
from store.exams.values import ExamFish, Found, Prep
from store.text import plain
from store.water.given import figures

__all__ = [
    "Answer", "FishDoubt", "UnderstoodFish", "answered", "keep_in_note", "say", "understand_fish",
    "write",
]  # fmt: skip

LEAST_CM, MOST_CM = 1.0, 150.0
LEAST_G, MOST_G = 0.01, 60_000.0
"""Beyond them a fish of a pond is asked about: the largest carp on record stay below."""
_WORD = re.compile(r"[^\s,]+")
_LEFT_OVER = (
    (r",(?:\s*,)+", ","), (r"\s*,\s*(?=;|$)", ""), (r"(?<=[;:])\s*,", ""), (r";(?:\s*;)+", ";"),
)  # fmt: skip
"""Marks between which nothing stands any more, and what takes their place."""


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer to a question: how it is offered, and what it puts in the place of the words."""

    said: str
    written: str


@dataclass(frozen=True, slots=True)
class FishDoubt:
    """A question about one piece of the line; nothing of it counts until it is answered.

    The first answer is the one that is evident, where there is one. Without any, the piece is typed
    again or kept in the note.
    """

    typed: str
    question: str
    answers: tuple[Answer, ...]
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class UnderstoodFish:
    """A line read: the fish as far as it is beyond doubt, the questions, and how it is shown."""

    text: str
    fish: ExamFish
    doubts: tuple[FishDoubt, ...]
    echo: str


def understand_fish(text: str, *, nth: int = 1) -> UnderstoodFish:
    """What a line says of one fish, with every doubt to be asked.

    Parameters
    ----------
    text
        Any text.
    nth
        Number of the fish within its examination.

    Returns
    -------
    UnderstoodFish
        `echo` shows what was understood; `text` is the line that the doubts point into.

    Examples
    --------
    >>> understood = understand_fish("koi 42 cm; gill 100x 5 fields: gill flukes 23, trichodina +")
    >>> understood.echo
    'koi · 42 cm · gill clip, 100x, 5 fields: gill flukes 23 in 5 fields (4.6 a field), \
trichodina + (1 of 3)'
    >>> [doubt.question for doubt in understand_fish("skin: costja ++").doubts]
    ['“costja” is not known. Is it costia?']
    """
    reader = _Reader(" ".join(plain(text).split()))
    reader.read()
    fish = ExamFish(nth=nth, **reader.values())
    doubts = tuple(sorted(reader.doubts, key=lambda one: one.start))
    return UnderstoodFish(reader.text, fish, doubts, say(fish))


def answered(understood: UnderstoodFish, doubt: FishDoubt, answer: Answer) -> str:
    """The line with an answer in the place of what was asked about; to be understood again.

    Parameters
    ----------
    understood
        The line as it was read.
    doubt
        One of its questions.
    answer
        One of the answers offered.
    """
    text = understood.text
    return text[: doubt.start] + answer.written + text[doubt.end :]


def keep_in_note(understood: UnderstoodFish, doubt: FishDoubt) -> str:
    """The line with what was asked about moved behind `//`, so that nothing of it is lost.

    Parameters
    ----------
    understood
        The line as it was read.
    doubt
        One of its questions.
    """
    text = understood.text
    body, mark, note = (text[: doubt.start] + text[doubt.end :]).partition("//")
    for pattern, other in _LEFT_OVER:
        body = re.sub(pattern, other, body)
    body = body.strip(" ,;")
    kept = f"{note.strip()}, {doubt.typed}" if mark and note.strip() else doubt.typed
    return f"{body} // {kept}".strip()


@dataclass(slots=True)
class _Reader:
    """A line on the way to a fish; places stay those of the text, since what is read is blanked."""

    text: str
    fish: dict[str, Any] = field(default_factory=dict)
    lists: dict[str, list[Any]] = field(
        default_factory=lambda: {
            "behaviour": [], "signs": [], "by_eye": [], "preparations": [], "photos": []
        }
    )  # fmt: skip
    doubts: list[FishDoubt] = field(default_factory=list)

    def values(self) -> dict[str, Any]:
        """The fields of the fish."""
        return self.fish | {name: tuple(found) for name, found in self.lists.items()}

    def doubt(self, start: int, end: int, question: str, *answers: Answer) -> None:
        """Ask about a piece of the line."""
        self.doubts.append(FishDoubt(self.text[start:end], question, answers, start, end))

    def read(self) -> None:
        """Every part of the line; what follows `//` is kept as it is."""
        body, _, other = self.text.partition("//")
        if other.strip():
            self.fish["other"] = other.strip()
        for spot in Spot(body, 0, len(body)).split(";"):
            self._part(spot)

    def _part(self, part: Spot) -> None:
        head = re.match(r"(treated|photos?|mark|species)\b\s*:?\s*", part.text, re.I)
        if head is not None:
            self._verbatim(head[1].casefold(), part, part.after(head.end()))
        elif ":" in part.text:
            self._prep(*part.cut(":"))
        elif begins_a_prep(part.text) and not phrase_at(part, 0):
            self._no_colon(part)
        elif part.text:
            for item in part.split(","):
                self._item(item)

    def _verbatim(self, name: str, part: Spot, rest: Spot) -> None:
        if not rest.text:
            return self.doubt(part.start, part.end, f"Nothing stands behind “{name}”.")
        if name.startswith("photo"):
            self.lists["photos"] += [one.text for one in rest.split(",") if one.text]
            return None
        if name in self.fish:
            return self.doubt(part.start, part.end, f"The {name} is said twice. Which one is it?")
        self.fish[name] = rest.text
        return None

    def _no_colon(self, part: Spot) -> None:
        """A preparation without a colon: where it belongs is asked."""
        for place in range(1, len(list(_WORD.finditer(part.text)))):
            found = phrase_at(part, place)
            if found is not None and found[0][0].kind == "hazard":
                start = found[1]
                head, body = part.text[:start].strip(), part.text[start:].strip()
                written = f"{head}: {body}"
                question = "A colon belongs between a preparation and what was found in it."
                return self.doubt(part.start, part.end, f"{question} {written}?",
                                  Answer(written, written))  # fmt: skip
        written = f"{part.text}: nothing"
        question = f"“{part.text}”: was nothing found in it?"
        return self.doubt(part.start, part.end, question, Answer("nothing found", written))

    def _prep(self, head: Spot, body: Spot) -> None:
        prep = read_head(head.text)
        if not isinstance(prep, Prep):
            question, written = prep
            answers = (Answer(said, f"{line}: {body.text}") for said, line in written)
            self.doubt(head.start, body.end, question, *answers)
            return
        found: list[Found] = []
        nothing = False
        items = list(body.split(","))
        for place, item in enumerate(items):
            note = re.match(r"note\b\s*", item.text, re.I)
            if note is not None:
                rest = Spot(self.text, item.start, body.end).after(note.end())
                prep = replace(prep, note=rest.text)
                items = items[:place]
                break
            if item.text.casefold() in NOTHING:
                nothing = True
            elif item.text:
                self._add(found, item, self._finding(item, prep.fields))
        if not any(item.text for item in items):
            self.doubt(
                head.start, body.end, f"Was nothing found in the {prep.kind}?",
                Answer("nothing found", f"{head.text}: nothing"),
            )  # fmt: skip
            return
        if nothing and found:
            self.doubt(
                body.start, body.end, "Nothing was found, and something was. Which is it?",
                Answer("nothing found", "nothing"),
            )  # fmt: skip
            return
        if not nothing and not found:  # all of it is asked about: a clean slide is no guess
            return
        self.lists["preparations"].append(replace(prep, found=tuple(found)))

    def _finding(self, item: Spot, fields: int | None) -> Found | None:
        """One hazard with how much of it, or a question about the whole of it."""
        absent = re.match(r"no\s+", item.text, re.I)
        spot = item.after(absent.end()) if absent is not None else item
        phrase = phrase_at(spot, 0)
        if phrase is None:
            self._unknown(item, frozenset({"hazard"}), spot)
            return None
        meanings = tuple(one for one in phrase[0] if one.kind == "hazard")
        _, start, end = phrase
        if not meanings:
            self.doubt(item.start, item.end, f"“{item.text}” belongs to the fish, not to a slide.")
            return None
        before = item.text[: spot.start - item.start]
        if len(meanings) > 1:
            self._which(item, spot.text[start:end], meanings, before, spot.text[end:])
            return None
        answer = found_in(meanings[0].code, spot.after(end), fields)
        if isinstance(answer, Found):
            if absent is not None and answer.counted is None and answer.score is None:
                return replace(answer, counted=0)
            return answer
        question, written = answer
        name = before + spot.text[:end]
        self.doubt(item.start, item.end, question,
                   *(Answer(one.strip(), f"{name} {one.strip()}") for one in written))  # fmt: skip
        return None

    def _item(self, item: Spot) -> None:
        """A piece of what is said of the fish itself."""
        rest = item.text
        length, weight = LENGTH.search(rest), WEIGHT.search(rest)
        if length is not None:
            self._length(item, length)
            rest = blanked(rest, length)
        if weight is not None:
            self._weight(item, weight)
            rest = blanked(rest, weight)
        spot = Spot(rest, item.start, item.end, whole=True)
        place = 0
        unknown: tuple[int, int] | None = None
        count = len(list(_WORD.finditer(rest)))
        while place < count:
            found = phrase_at(spot, place)
            if found is not None and {one.kind for one in found[0]} == {"hazard"}:
                self._hazard_by_eye(item, found[1])
                break
            word = list(_WORD.finditer(rest))[place]
            if found is not None:
                meanings, start, end = found
                if len(meanings) > 1:
                    self._which(item.part(start, end), rest[start:end], meanings)
                else:
                    self._take(item, start, end, meanings[0])
                place += len(rest[start:end].split())
                continue
            if word[0].casefold() in LENGTH_WORDS and length is not None:
                self.fish["length_kind"] = LENGTH_WORDS[word[0].casefold()]
            else:
                begin = word.start() if unknown is None else unknown[0]
                unknown = (begin, word.end())
            place += 1
        if unknown is not None:
            self._unknown(item.part(*unknown), frozenset({"behaviour", "sign", "condition",
                                                          "species", "hazard"}))  # fmt: skip

    def _hazard_by_eye(self, item: Spot, start: int) -> None:
        spot = item.after(start)
        self._add(self.lists["by_eye"], spot, self._finding(spot, None))

    def _add(self, to: list[Found], spot: Spot, found: Found | None) -> None:
        """Take a finding; the same hazard twice in one place is asked about."""
        if found is None:
            return
        if any(one.hazard == found.hazard for one in to):
            self.doubt(spot.start, spot.end, f"“{spot.text}”: it stands here twice. Which one?")
        else:
            to.append(found)

    def _take(self, item: Spot, start: int, end: int, meaning: Meaning) -> None:
        if meaning.kind in self.lists or meaning.kind == "sign":
            found = self.lists["signs" if meaning.kind == "sign" else "behaviour"]
            if meaning.code not in found:
                found.append(meaning.code)
        elif self.fish.get(meaning.kind, meaning.code) != meaning.code:
            self.doubt(item.start + start, item.start + end,
                       f"Two say what the {meaning.kind} is. Which one?")  # fmt: skip
        else:
            self.fish[meaning.kind] = meaning.code

    def _length(self, item: Spot, found: re.Match[str]) -> None:
        number = float(found[1].replace(",", "."))
        length_cm = round(number * LENGTH_CM[found[2].casefold()], 10)
        if LEAST_CM <= length_cm <= MOST_CM and "length_cm" not in self.fish:
            self.fish["length_cm"] = length_cm
            return None
        start, end = item.start + found.start(), item.start + found.end()
        if "length_cm" in self.fish:
            return self.doubt(start, end, "Two lengths are said. Which one is it?")
        answers = [f"{figures(one)} cm" for one in (number / 10.0,) if LEAST_CM <= one <= MOST_CM]
        return self.doubt(start, end, f"A fish of {figures(length_cm)} cm is none of a pond.",
                          *(Answer(one, one) for one in answers))  # fmt: skip

    def _weight(self, item: Spot, found: re.Match[str]) -> None:
        number = float(found[1].replace(",", "."))
        weight_g = round(number * WEIGHT_G[found[2].casefold()], 10)
        if LEAST_G <= weight_g <= MOST_G and "weight_g" not in self.fish:
            self.fish["weight_g"] = weight_g
            self.fish["weight_how"] = (found[3] or "weighed").casefold()
            return
        start, end = item.start + found.start(), item.start + found.end()
        said = (
            "Two weights are said. Which one is it?"
            if "weight_g" in self.fish
            else f"A fish of {figures(weight_g)} g is none of a pond."
        )
        self.doubt(start, end, said)

    def _which(
        self, spot: Spot, typed: str, meanings: tuple[Meaning, ...], before: str = "",
        after: str = "",
    ) -> None:  # fmt: skip
        """A word of several meanings; what stands around it stays."""
        said = " or ".join(one.plain for one in meanings)
        answers = (Answer(one.plain, f"{before}{one.plain}{after}") for one in meanings)
        self.doubt(spot.start, spot.end, f"“{typed}” may be {said}. Which?", *answers)

    def _unknown(self, spot: Spot, kinds: frozenset[str], named: Spot | None = None) -> None:
        """Words that are not known, with what they may be; `named` is where the name begins."""
        inside = spot if named is None else named
        if re.fullmatch(r"\d+(?:[.,]\d+)?", spot.text):
            return self.doubt(
                spot.start, spot.end, f"“{spot.text}” has no unit. Is it the length?",
                *(Answer(f"{spot.text} {unit}", f"{spot.text} {unit}") for unit in ("cm", "g")),
            )  # fmt: skip
        name = re.match(r"[^\d+?]*[^\d+?\s]", inside.text)
        said = "" if name is None else name[0]
        near = nearly(said.casefold(), kinds)
        if not near:
            return self.doubt(spot.start, spot.end, f"“{spot.text}” is not known.")
        before = spot.text[: inside.start - spot.start]
        answers = (Answer(one.plain, f"{before}{one.plain}{inside.text[len(said) :]}")
                   for one in near)  # fmt: skip
        question = f"“{said}” is not known. Is it {near[0].plain}?"
        return self.doubt(spot.start, spot.end, question, *answers)
