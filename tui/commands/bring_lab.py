"""`pondround import lab`: results of a laboratory, as its sheet has them."""

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


def add_lab(one: argparse.ArgumentParser) -> None:
    """Add the options of `import lab`.

    Parameters
    ----------
    one
        Its parser.
    """
    add_named(one, _OPTIONS)


def planned_lab(
    args: argparse.Namespace, book: Book, act: Act
) -> tuple[Plan[Any], Callable[[], Done]]:
    """What a sheet of results would bring, and the function that saves it.

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
    from store.exchange.lab.results import look_at_lab, save_lab

    preview = look_at_lab(
        args.file, book, act.at, said=said_by(args, _OPTIONS), sheet=args.sheet, pond=args.pond,
        use_remembered=not args.afresh,
    )  # fmt: skip
    return show_preview(args, preview), lambda: save_lab(book, act, preview)
