"""A water test while it is typed: the answers given to its questions survive further typing."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from store.water.understood import Doubt, ReadingValue, Understood

_Key = tuple[str, str, str]


@dataclass(frozen=True, slots=True)
class Answer:
    """One way to answer a question: its key on the keyboard, its words, what is chosen."""

    key: str
    words: str
    reading: ReadingValue | None
    keep_in_note: bool = False


class Answers:
    """What a person answered, by question; a question that is typed away forgets its answer."""

    def __init__(self) -> None:
        self._given: dict[_Key, Answer] = {}

    def give(self, doubt: Doubt, answer: Answer) -> None:
        """Remember the answer to a question."""
        self._given[_key(doubt)] = answer

    def apply(self, understood: Understood) -> Understood:
        """The line with every question answered that was answered before."""
        from store.water.understood import accept, keep_in_note

        standing = {_key(doubt) for doubt in understood.doubts}
        self._given = {key: answer for key, answer in self._given.items() if key in standing}
        for doubt in understood.doubts:
            answer = self._given.get(_key(doubt))
            if answer is None:
                continue
            if answer.keep_in_note:
                understood = keep_in_note(understood, doubt)
            else:
                understood = accept(understood, doubt, answer.reading)
        return understood

    def carry(self, understood: Understood, before: tuple[ReadingValue, ...]) -> None:
        """Remember for this text what was answered for the same thing typed elsewhere.

        An answer is the same where number, unit and what was typed for it are.
        """
        had = {reading.parameter: reading for reading in before}
        for doubt in understood.doubts:
            reading = had.get(doubt.parameter)
            if reading is not None and reading in (doubt.proposal, *doubt.others):
                self.give(doubt, Answer("", "", reading))

    def clear(self) -> None:
        """Forget all answers."""
        self._given.clear()


def _key(doubt: Doubt) -> _Key:
    return doubt.parameter, doubt.typed, doubt.question


def answers_to(doubt: Doubt) -> tuple[Answer, ...]:
    """The ways to answer a question, the proposal on enter first, the note last."""
    from store.water.understood import proposal_text, shown

    found = []
    proposed = proposal_text(doubt)
    if proposed:
        found.append(Answer("enter", proposed, doubt.proposal))
    for number, other in enumerate(doubt.others[:9], 1):
        found.append(Answer(str(number), shown(other), other))
    found.append(Answer("k", f"keep “{doubt.typed}” in the note", None, keep_in_note=True))
    return tuple(found)
