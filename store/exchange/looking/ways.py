"""Every kind of file that gives a plan, by its name."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from pathlib import Path
from types import MappingProxyType

from store.book.book import Book
from store.exchange.looking.air_files import AIR
from store.exchange.looking.named_sheets import NAMED
from store.exchange.looking.plain_files import PLAIN
from store.exchange.looking.values import Asked, Looked, Way

WAYS: Mapping[str, Way] = MappingProxyType({**PLAIN, **NAMED, **AIR})
"""The names are those of the command line."""


def look_at(kind: str, path: Path, book: Book, now: datetime, asked: Asked | None = None) -> Looked:
    """What a file of one kind would bring; nothing is saved.

    Parameters
    ----------
    kind
        A name of `WAYS`.
    path
        The file.
    book
        The practice's book.
    now
        The present instant.
    asked
        What a person said of the file.

    Returns
    -------
    Looked
        Without a plan while a question is open that is needed.

    Raises
    ------
    BadInput
        The file cannot be read, or is not of that kind.
    """
    return WAYS[kind].look(path, book, now, asked or Asked())
