"""`pondround import fish`: sheets of what was found on fish under the microscope."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from typing import TYPE_CHECKING, Any

from tui.commands.bring_named import AnswerOption, add_named, said_by, show_preview

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.exchange.plain.planned import Done, Plan

_OPTIONS = (
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


def add_fish(one: argparse.ArgumentParser) -> None:
    """Add the options of `import fish`.

    Parameters
    ----------
    one
        Its parser.
    """
    add_named(one, _OPTIONS)


def planned_fish(
    args: argparse.Namespace, book: Book, act: Act
) -> tuple[Plan[Any], Callable[[], Done]]:
    """What a parasite sheet would bring, and the function that saves it.

    Parameters
    ----------
    args
        What the parser understood.
    book
        The practice's book.
    act
        Who brings the file in, and when.

    Raises
    ------
    BadInput
        When the file cannot be read, or leaves a question open.
    """
    from store.exchange.fish.exams import PlannedExam, look_at_fish, save_fish
    from store.exchange.looking.values import Names
    from store.text import day_said

    preview = look_at_fish(
        args.file, book, act.at, said=said_by(args, _OPTIONS), sheet=args.sheet, pond=args.pond,
        use_remembered=not args.afresh,
    )  # fmt: skip
    names = Names(book)

    def words(one: PlannedExam) -> str:
        day = day_said(one.exam.at.astimezone(book.zone).date())
        return f"{day}, {names.pond(one.pond)}: {one.words}"

    return show_preview(args, preview, words), lambda: save_fish(book, act, preview)
