"""`pondround import deaths`: mortality books of keepers and sites."""

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


def add_deaths(one: argparse.ArgumentParser) -> None:
    """Add the options of `import deaths`.

    Parameters
    ----------
    one
        Its parser.
    """
    add_named(one, _OPTIONS)


def planned_deaths(
    args: argparse.Namespace, book: Book, act: Act
) -> tuple[Plan[Any], Callable[[], Done]]:
    """What a mortality book would bring, and the function that saves it.

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
    from store.exchange.fish.deaths import PlannedDeaths, look_at_deaths, save_deaths
    from store.exchange.looking.values import Names
    from store.text import day_said

    preview = look_at_deaths(
        args.file, book, act.at, said=said_by(args, _OPTIONS), sheet=args.sheet, pond=args.pond,
        use_remembered=not args.afresh,
    )  # fmt: skip
    names = Names(book)

    def words(one: PlannedDeaths) -> str:
        return f"{day_said(one.deaths.on_day)}, {names.pond(one.pond)}: {one.words}"

    return show_preview(args, preview, words), lambda: save_deaths(book, act, preview)
