"""What a person said about a sheet whose columns are known by words: answers by what was asked."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Any

from store.errors import BadInput
from store.exchange.columns.question import Question
from store.exchange.columns.words import same
from store.text import plain

ONE_FILE = frozenset({"year", "header_line", "pond", "date"})
"""Answers that hold for one file alone and are never remembered."""


def key_of(name: str, about: str = "") -> str:
    """How an answer is found again: what it answers, and about which column or word.

    Parameters
    ----------
    name
        `Question.field`.
    about
        `Question.about`; case, blanks and marks do not matter.

    Examples
    --------
    >>> key_of("column", "Length (cm)"), key_of("order")
    ('column:lengthcm', 'order')
    """
    # Marks are all that some cells hold (`++++`, `-`): they tell those apart.
    folded = same(about) or " ".join(plain(about).casefold().split())
    return f"{name}:{folded}" if folded else name


@dataclass(frozen=True, slots=True)
class Said:
    """Answers by `key_of`; they go before every guess, and what is missing is guessed or asked."""

    answers: Mapping[str, str] = field(default_factory=lambda: MappingProxyType({}))

    def get(self, name: str, about: str = "") -> str:
        """An answer, or else the one given for the whole file; empty where nothing was said.

        Parameters
        ----------
        name
            What is asked: `order`, `year`, `blank`, `column`, or a word of the kind of sheet.
        about
            The column or word that is meant.
        """
        return self.answers.get(key_of(name, about)) or self.answers.get(name, "")

    def column(self, title: str, place: int) -> str:
        """What was said about a column, by its heading or by its number; empty for nothing.

        Parameters
        ----------
        title
            The heading.
        place
            Counted from 0.
        """
        keys = [key_of("column", title), key_of("column", str(place + 1))]
        return next((self.answers[key] for key in keys if key in self.answers), "")

    def answering(self, question: Question, answer: str) -> Said:
        """These answers and one more.

        Parameters
        ----------
        question
            What was asked.
        answer
            `Answer.value`, or the person's own words.
        """
        key = key_of(question.field, question.about)
        return Said({**self.answers, key: plain(answer).strip()})

    def over(self, other: Said) -> Said:
        """These answers, with those of another where nothing is said here.

        Parameters
        ----------
        other
            Such as what was said for an earlier file.
        """
        return Said({**other.answers, **self.answers})

    def lasting(self, once: Collection[str] = ()) -> Said:
        """What holds for the next file of that source as well.

        Parameters
        ----------
        once
            Further names of answers that hold for one file alone.
        """
        gone = {*ONE_FILE, *once}
        return Said(
            {key: one for key, one in self.answers.items() if key.partition(":")[0] not in gone}
        )

    def as_json(self) -> dict[str, Any]:
        """The answers for the book; empty where nothing was said."""
        return {key: one for key, one in self.answers.items() if one}


def said_from(kept: Mapping[str, Any]) -> Said:
    """Answers out of what the book keeps; what is no text is left out.

    Parameters
    ----------
    kept
        From `Said.as_json`, perhaps of another release.
    """
    return Said({str(key): one for key, one in kept.items() if isinstance(one, str)})


def said_as(name: str, text: str) -> tuple[str, str]:
    """An answer typed as `about=answer`: `Length=length`, `4=ignore`, `++++=+++`.

    Parameters
    ----------
    name
        What it answers, such as `column`.
    text
        As typed.

    Returns
    -------
    tuple of str, str
        Key and answer, for `Said`.

    Raises
    ------
    BadInput
        When there is no `=`, or nothing on one side of it.

    Examples
    --------
    >>> said_as("column", "Scrape site = site")
    ('column:scrapesite', 'site')
    """
    about, mark, answer = text.rpartition("=")
    if not mark or not about.strip() or not answer.strip():
        raise BadInput(
            f"“{plain(text):.60}” says nothing of a {name}. Write what is meant, “=”, and the "
            "answer.",
            field=name,
        )
    return key_of(name, about), plain(answer).strip()
