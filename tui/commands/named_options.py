"""What can be answered on the command line of sheets whose columns are known by words."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType


@dataclass(frozen=True, slots=True)
class AnswerOption:
    """An option that answers a question of one kind of sheet.

    `name` is what the question asks (`Question.field`). With `about` it is said of a column or a
    word, as `ABOUT=ANSWER`; without an equals sign it then holds for the whole file, unless `each`
    tells that every word must be named.
    """

    name: str
    metavar: str
    help: str
    about: bool = False
    choices: tuple[str, ...] = ()
    each: bool = False

    @property
    def flag(self) -> str:
        """How it is typed."""
        return f"--{self.name}"


COMMON = (
    AnswerOption(
        "column", "HEADING=WHAT",
        "what a column is, by its heading or number: “Size=length cm”, “4=ignore”", about=True,
    ),
    AnswerOption(
        "blank", "HEADING=same|none",
        "whether a blank cell of a column means the same as in the row above; without a heading "
        "it holds for all of them", about=True, choices=("same", "none"),
    ),
)  # fmt: skip
"""What every kind of them may leave open."""

_FISH = (
    AnswerOption("date", "DAY", "on which day the fish were looked at, where the file has none"),
    AnswerOption("examiner", "NAME", "who looked at the fish, where the file does not say it"),
    AnswerOption(
        "purpose", "PURPOSE", "for what: first look, routine, control, losses",
        choices=("first look", "routine", "control", "losses"),
    ),
    AnswerOption(
        "word", "SHORT=PARASITE", "what a short form stands for: “Tri=trichodina”, or "
        "“Epi=words” to keep it in words", about=True,
    ),
    AnswerOption(
        "site", "SITE=PREPARATION", "from where a scrape is: “operculum=skin scrape”; without a "
        "site it holds for the whole file", about=True,
    ),
    AnswerOption(
        "numbers", "MEANING", "what bare numbers are: counted over all fields, counted per field, "
        "or scores", choices=("count", "each", "score"),
    ),
    AnswerOption(
        "scale", "DIGITS", "which score of 1 to 3 each score of a longer scale is, from + on: 1233 "
        "for + ++ +++ and ++++ as +++; or words to keep them in the note",
    ),
    AnswerOption(
        "score", "WORD=SCORE", "which score (1 to 3) a word such as few is; or words, none, blank",
        about=True,
    ),
    AnswerOption(
        "dash", "MEANING", "what a dash means: looked and none seen, or not looked",
        choices=("none", "blank"),
    ),
    AnswerOption(
        "empty", "MEANING", "what a parasite without an amount means",
        choices=("present", "none", "blank"),
    ),
    AnswerOption(
        "inexact", "MEANING", "how “20+” or “~50” is kept: in words, or not at all",
        choices=("words", "refuse"),
    ),
    AnswerOption(
        "fish", "MEANING", "without a column of fish: each row a fish, or a day one fish",
        choices=("row", "day"),
    ),
    AnswerOption(
        "unit", "HEADING=UNIT", "the unit of lengths or weights where none is written", about=True,
    ),
    AnswerOption(
        "others", "yes|no", "whether an examination is another than the one that the book has of "
        "that day by another person or for another purpose", choices=("yes", "no"),
    ),
    AnswerOption(
        "weight", "HOW", "whether weights were weighed or reckoned",
        choices=("weighed", "reckoned"),
    ),
)  # fmt: skip

_DEATHS = (
    AnswerOption(
        "dash", "MEANING", "what a dash in place of the number means: none was dead, or nobody "
        "looked", choices=("none", "blank"),
    ),
    AnswerOption(
        "unit", "HEADING=cm|mm|inch", "the unit of lengths where neither heading nor cell names it",
        about=True,
    ),
    AnswerOption(
        "zone", "MEANING", "whether zones are ponds of the book, or belong into the note",
        choices=("pond", "note"),
    ),
    AnswerOption(
        "total", "MEANING", "whether a last row with a number alone is a total or a row",
        choices=("total", "row"),
    ),
    AnswerOption(
        "twice", "MEANING", "whether rows that say the same are other dead fish, or the same ones",
        choices=("others", "once"),
    ),
    AnswerOption(
        "others", "yes|no", "whether dead fish of a day that an event tells of already are others",
        choices=("yes", "no"),
    ),
)  # fmt: skip

_LAB = (
    AnswerOption(
        "result", "WORD=RESULT",
        "what the laboratory means by a word: detected, not detected, unclear, or not tested",
        about=True, each=True,
    ),
    AnswerOption(
        "test", "TEST=DISEASE",
        "which disease of the list a test is about, by its code, such as khv; or none", about=True,
        each=True,
    ),
    AnswerOption(
        "ponds", "NAME=POND",
        "the pond that a client or report is about, by its code or name; or ignore", about=True,
    ),
)  # fmt: skip

_MEDICINES = (
    AnswerOption(
        "ponds", "NAME=POND",
        "the pond that a client or name of the book is about, by its code or name; or ignore",
        about=True,
    ),
)  # fmt: skip

OPTIONS: Mapping[str, tuple[AnswerOption, ...]] = MappingProxyType(
    {"fish": _FISH, "deaths": _DEATHS, "lab": _LAB, "medicines": _MEDICINES}
)
"""The questions of each kind, by its name on the command line."""
