"""What a client list leaves open, as questions, and a person's answers as plain texts.

The answers are a mapping of a question's key to one of its choices. A screen fills it, or a small
file beside the list does, which is written with every question and read back with the answers.
"""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Literal

from store.errors import BadInput
from store.text import plain

Kind = Literal[
    "double", "pond", "address", "postcodes", "telephones", "gallons", "names", "heading"
]
CHOICES: Mapping[Kind, tuple[str, ...]] = {
    "double": ("same", "other", "open"),
    "pond": ("take", "leave", "open"),
    "address": ("another", "same", "open"),
    "postcodes": ("zero", "keep", "open"),
    "telephones": ("zero", "keep", "open"),
    "gallons": ("us", "uk", "open"),
    "names": ("open",),
    "heading": ("yes", "no", "open"),
}
"""What may be answered, to `names` the letter of a column as well.

`open` is the same as no answer: what hangs on it waits.
"""
MEANS = {
    "same": "the same client", "other": "two clients", "open": "not decided yet",
    "take": "take it as a pond", "leave": "leave it in the notes", "another": "one more site",
    "zero": "put the zero back", "keep": "leave them as they are", "us": "US gallons (3.785 L)",
    "uk": "UK gallons (4.546 L)", "yes": "it is the headings", "no": "it is a row like the others",
}  # fmt: skip
"""Each answer in words."""
_HEADER = ("answer", "choices", "question", "reasons", "key")
_FILE = "file"
_COLUMN = "column "
AFRESH, AFRESH_ANSWER = "columns", "afresh"
"""The answer by which nothing is taken that was said of an earlier list."""
NAMES, HEADING = "names", "heading"
"""Keys of the questions which column holds the names, and whether the first row are headings."""

Answers = Mapping[str, str]


@dataclass(frozen=True, slots=True)
class Question:
    """Something only a person can say.

    `left` and `right` are two sides to be looked at side by side, as label and value; `score` is
    that of a pair that may be one, from 0 to 100. `answer` is empty until it is given.
    """

    key: str
    kind: Kind
    line: int
    asks: str
    reasons: str
    answer: str = ""
    score: int | None = None
    left: tuple[tuple[str, str], ...] = ()
    right: tuple[tuple[str, str], ...] = ()
    among: tuple[tuple[str, str], ...] = ()
    """Choices of this one question alone, each with what it means, before those of its kind."""

    @property
    def choices(self) -> tuple[str, ...]:
        """What may be answered."""
        return (*(value for value, _said in self.among), *CHOICES[self.kind])

    def means(self, choice: str) -> str:
        """A choice in words."""
        return dict(self.among).get(choice) or MEANS[choice]

    @property
    def waits(self) -> bool:
        """Whether what hangs on it waits for an answer."""
        return self.answer in ("", "open")


def answered(answers: Answers, key: str, kind: Kind) -> str:
    """The answer to a question; empty where none is given.

    Parameters
    ----------
    answers
        All answers.
    key, kind
        Of the question.

    Raises
    ------
    BadInput
        The answer is none of its choices.
    """
    answer = answers.get(key, "").strip().casefold()
    if answer and answer not in CHOICES[kind]:
        raise BadInput(
            f"“{plain(answer):.40}” is no answer to “{key}”. It may be one of: "
            f"{', '.join(CHOICES[kind])}. Nothing was brought in.",
            field="answers",
        )
    return answer


def column_key(column: str) -> str:
    """The key under which the answers say what a column means.

    Parameters
    ----------
    column
        Its heading, or its letter.
    """
    return _COLUMN + column


def columns_said(answers: Answers) -> dict[str, str]:
    """What a person said of columns, out of all answers: heading or letter to meaning.

    Parameters
    ----------
    answers
        All answers; those of columns have the key `column HEADING`.
    """
    return {
        key.removeprefix(_COLUMN): answer
        for key, answer in answers.items()
        if key.startswith(_COLUMN) and answer.strip()
    }


def afresh(answers: Answers) -> bool:
    """Whether nothing is to be taken that was said of an earlier list.

    Parameters
    ----------
    answers
        All answers.

    Raises
    ------
    BadInput
        The answer is another one.
    """
    said = answers.get(AFRESH, "").strip().casefold()
    if said not in ("", AFRESH_ANSWER):
        raise BadInput(
            f"“{plain(said):.40}” is no answer to “{AFRESH}”. It may be {AFRESH_ANSWER}, or empty. "
            "Nothing was brought in.",
            field="answers",
        )
    return bool(said)


def answers_text(
    questions: Iterable[Question],
    sha256: str,
    columns: Iterable[tuple[str, str, str]] = (),
    given: Answers | None = None,
    remembered: str = "",
) -> str:
    """The file of answers as text, to be filled in and read back.

    Parameters
    ----------
    questions
        All questions, with the answers that were given.
    sha256
        The fingerprint of the list: answers name lines, and belong to one file.
    columns
        Columns as heading, meaning and why; to correct one, its answer is another meaning.
    given
        Answers so far; those whose question is not asked any more stay in the file.
    remembered
        The sentence on what is taken from an earlier list; empty where nothing is.

    Returns
    -------
    str
        Cells parted by commas, a heading first.
    """
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow(_HEADER)
    writer.writerow((sha256, "", "The list these answers belong to; leave this line.", "", _FILE))
    left = dict(given or {})
    said = left.pop(AFRESH, "")
    if remembered or said:
        writer.writerow(
            (said, AFRESH_ANSWER, remembered or "Columns are taken afresh.", "", AFRESH)
        )
    for heading, meaning, why in columns:
        said = left.pop(_COLUMN + heading, "")
        writer.writerow(
            (said, "a meaning", f"The column is taken for: {meaning}.", why, _COLUMN + heading)
        )
    for one in questions:
        reasons = one.reasons if one.score is None else f"{one.score} of 100: {one.reasons}"
        left.pop(one.key, "")
        writer.writerow((one.answer, " / ".join(one.choices), one.asks, reasons, one.key))
    for key, answer in left.items():
        writer.writerow((answer, "", "Answered before, not asked any more.", "", key))
    return text.getvalue()


def answers_read(text: str, sha256: str) -> dict[str, str]:
    """The answers out of a file that `answers_text` wrote.

    Parameters
    ----------
    text
        The file; spreadsheets may have put semicolons or tabs between the cells.
    sha256
        The fingerprint of the list that is read.

    Returns
    -------
    dict
        Key of the question to its answer; those left empty are left out.

    Raises
    ------
    BadInput
        The file is no such file, or belongs to another list.
    """
    first = text.lstrip("\ufeff").split("\n", 1)[0]
    separator = max(",;\t", key=first.count)
    try:
        rows = list(csv.reader(io.StringIO(text.lstrip("\ufeff")), delimiter=separator))
    except csv.Error:
        rows = []
    header = [cell.strip().casefold() for cell in rows[0]] if rows else []
    if "key" not in header or "answer" not in header:
        raise BadInput(
            "This is no file of answers: it has no columns answer and key. Run the import without "
            "--answers; it writes one.",
            field="answers",
        )
    key_at, answer_at = header.index("key"), header.index("answer")
    found = {
        row[key_at].strip(): row[answer_at].strip()
        for row in rows[1:]
        if max(key_at, answer_at) < len(row) and row[answer_at].strip()
    }
    if found.pop(_FILE, "") != sha256:
        raise BadInput(
            "These answers belong to another file, or to this one before it was changed: its lines "
            "may stand elsewhere now. Run the import without --answers and answer anew.",
            field="answers",
        )
    return found
