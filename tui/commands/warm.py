"""Estimates of water at the command line: learnt on the way where the book is small."""

from __future__ import annotations

import sys
from datetime import datetime
from pathlib import Path
from typing import TYPE_CHECKING

from store.errors import PondroundError
from store.text import plain

if TYPE_CHECKING:
    from store.book.book import Book

SMALL_PONDS, SMALL_TESTS = 200, 20_000
"""Up to so many ponds and water tests a command learns by itself: it takes about a second."""
NOT_LEARNT = (
    "Nothing is said here of ponds by estimate: their temperatures have not been learnt, and with "
    f"more than {SMALL_PONDS} ponds or {SMALL_TESTS:,} water tests a command does not wait for "
    "that. The application learns them while it is open."
)


def warmth_folder() -> Path:
    """Where what was learnt of a book's temperatures lies; it may be deleted at any time."""
    from platformdirs import user_cache_path

    return user_cache_path("pondround", appauthor=False) / "warmth"


def have_fit(book: Book, at: datetime) -> None:
    """Have at hand what estimates rest on, or say on standard error that there are none.

    Parameters
    ----------
    book
        The practice's book.
    at
        The present instant.
    """
    from store.warmth.kept.fits import (
        counted,
        fit_at_hand,
        fit_is_old,
        make_fit,
        said_unkept,
    )

    at_hand = fit_at_hand(book, at) is not None
    if at_hand and not fit_is_old(book, at):
        return
    ponds, tests = counted(book)
    if ponds <= SMALL_PONDS and tests <= SMALL_TESTS:
        try:
            make_fit(book, at)
        except PondroundError as trouble:
            print(plain(trouble.message), file=sys.stderr)
        if said := said_unkept(book):
            from tui.commands.trouble import log_path, note

            note(log_path(), said)
    elif not at_hand:
        print(NOT_LEARNT, file=sys.stderr)
