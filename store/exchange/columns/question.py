"""What has to be asked once for a whole file, with the answers there are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from store.errors import BadInput


@dataclass(frozen=True, slots=True)
class Answer:
    """One answer: what goes into the shape, and how it is said to a person."""

    value: str
    label: str
    about: str = ""
    """The column it is said of, where that is another than the one the question is about."""


@dataclass(frozen=True, slots=True)
class Question:
    """Something that a file does not say and that nobody may guess.

    `field` names where the answer belongs in the shape (`order`, `year`, `blank`, `column`,
    `block`); `about` is the column or block that is meant. Without answers to choose from, a word
    of the person's own is the answer. What is not `needed` leaves rows refused while it is open.
    """

    field: str
    text: str
    answers: tuple[Answer, ...] = ()
    about: str = ""
    needed: bool = True


class AskFirst(BadInput):
    """A file that cannot be read before a person has answered.

    Parameters
    ----------
    questions
        At least one, those that are needed.
    """

    title = "The file leaves a question open"

    def __init__(self, questions: Sequence[Question]) -> None:
        said = " ".join(one.text for one in questions)
        super().__init__(f"{said} Nothing was brought in.", field=questions[0].field)
        self.questions = tuple(questions)
