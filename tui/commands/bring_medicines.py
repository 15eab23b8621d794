"""`pondround import medicines`: what went out of a medicine book, as given at ponds."""

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
        "ponds", "NAME=POND",
        "the pond that a client or name of the book is about, by its code or name; or ignore",
        about=True,
    ),
)  # fmt: skip


def add_medicines(one: argparse.ArgumentParser) -> None:
    """Add the options of `import medicines`.

    Parameters
    ----------
    one
        Its parser.
    """
    add_named(one, _OPTIONS)


def planned_medicines(
    args: argparse.Namespace, book: Book, act: Act
) -> tuple[Plan[Any], Callable[[], Done]]:
    """What a medicine book would bring, and the function that saves it.

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
    from store.exchange.medicines.medicine_books import look_at_medicines, save_medicines

    preview = look_at_medicines(
        args.file, book, act.at, said=said_by(args, _OPTIONS), sheet=args.sheet, pond=args.pond,
        use_remembered=not args.afresh,
    )  # fmt: skip
    return show_preview(args, preview), lambda: save_medicines(book, act, preview)
