"""What the page of an owner's text asks of the store."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date, datetime
from pathlib import Path
from typing import TYPE_CHECKING, cast
from uuid import UUID

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.exchange.columns import Order
    from store.exchange.told.found import Looked, Setting
    from store.exchange.told.keep import KeptTold, Take


def begun(book: Book, pond: UUID, now: datetime, path: Path | None) -> tuple[str, Setting, str]:
    """The name of the pond, where its text is read, and the text of the file.

    Parameters
    ----------
    book
        The book.
    pond
        Key of the pond.
    now
        The present instant.
    path
        The file, if there is one.
    """
    from store.book.ponds import card
    from store.exchange.told.texts import setting_of, text_of

    found = card(book, pond)
    text = "" if path is None else text_of(path)
    return f"{found.client.name}, {found.pond.name}", setting_of(book, pond, now), text


def looked_through(
    text: str, setting: Setting, sent: date | None, order: str, year: int | None
) -> Looked:
    """What a text tells.

    Parameters
    ----------
    text
        As typed or pasted.
    setting, sent, order, year
        As for `store.exchange.told.look.look`.
    """
    from store.exchange.told.look import look
    from store.exchange.told.texts import check_length

    check_length(text)
    return look(text, setting, sent=sent, order=cast("Order", order), year=year)


def saved(
    book: Book,
    act: Act,
    pond: UUID,
    looked: Looked,
    takes: Sequence[Take],
    name: str,
    others: bool,
) -> KeptTold:
    """Keep a text and what was taken from it.

    Parameters
    ----------
    book, act, pond, looked, takes
        As for `store.exchange.told.keep.keep_told`.
    name
        Of the file; empty where the text was pasted.
    others
        Whether dead fish that seem to be in the book already are others.
    """
    from store.exchange.told.keep import PASTED, keep_told

    return keep_told(book, act, pond, looked, takes, name=name or PASTED, sure=others)


def day_from(text: str) -> date | None:
    """The day out of a draft; None where none stands there.

    Parameters
    ----------
    text
        As it was kept.
    """
    try:
        return date.fromisoformat(text)
    except ValueError:
        return None
