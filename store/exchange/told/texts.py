"""A text of an owner around its values: read from a file, kept by its days, quoted in a note."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date, datetime
from pathlib import Path
from typing import Final
from uuid import UUID

from store.book.book import Book
from store.book.kits import own_kit
from store.book.people import staff
from store.book.ponds import pond as pond_of
from store.errors import BadInput
from store.exchange.sheets.encoding import encoding_of
from store.exchange.told.found import Found, Looked, Message, Setting
from store.text import day_said, plain
from store.water.understood import KitForms

LONGEST_TEXT: Final = 400_000
"""The longest text that is looked through [characters]: a diary of several years."""
_LONGEST_NOTE = 20_000
_LONGEST_QUOTE = 300


def setting_of(book: Book, pond: UUID, now: datetime) -> Setting:
    """Where a text about a pond is read: kit, zone, the people of the practice.

    An owner does not test with the practice's usual kit: only a kit that was stated for the pond
    itself says as what its readings are reported.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    now
        The present instant.

    Raises
    ------
    NotFound
        No such pond.
    """
    kit = own_kit(book, pond_of(book, pond).id)
    forms = (
        KitForms()
        if kit is None
        else KitForms(kit.ammonia_form, kit.nitrite_form, kit.nitrate_form)
    )
    names = frozenset(" ".join(one.name.casefold().split()) for one in staff(book))
    return Setting(forms, book.zone, now, names)


def text_of(path: Path) -> str:
    """The text of a file, in whatever letters it is written.

    Parameters
    ----------
    path
        The file.

    Raises
    ------
    BadInput
        When it cannot be read, is no text, or is longer than `LONGEST_TEXT`.
    """
    name = plain(path.name)
    try:
        with path.open("rb") as file:
            raw = file.read(4 * LONGEST_TEXT + 1)
    except OSError as error:
        raise BadInput(
            f"{name} cannot be read ({error.strerror or error}); nothing was brought in.",
            field="file",
        ) from error
    written = encoding_of(name, [raw])
    text = plain(raw.decode(written.encoding, written.errors), lines=True)
    check_length(text)
    return text


def check_length(text: str) -> None:
    """Refuse a text that is too long to be looked through by hand.

    Parameters
    ----------
    text
        The text.

    Raises
    ------
    BadInput
        It is longer than `LONGEST_TEXT`.
    """
    if len(text) > LONGEST_TEXT:
        raise BadInput(
            f"The text has more than {LONGEST_TEXT:,} characters; nothing was brought in. Bring "
            "it in by parts, such as a year of a diary."
        )


def word_parts(looked: Looked, today: date) -> tuple[tuple[date, str], ...]:
    """The whole text by the days on which it was written, as it is kept in words.

    Parameters
    ----------
    looked
        The text.
    today
        The day for what bears none.

    Returns
    -------
    tuple of date, str
        Joined they are the text; a day with more than a note holds has several. On saving, blanks
        at the ends of each go.
    """
    parts: list[tuple[date, str]] = []
    for one in looked.messages:
        day = one.written_on
        if day is None or day > today:
            day = parts[-1][0] if parts else today
        text = looked.text[one.start : one.end]
        if parts and parts[-1][0] == day:
            parts[-1] = (day, parts[-1][1] + text)
        else:
            parts.append((day, text))
    return tuple((day, part) for day, text in parts for part in _short_enough(text))


def _short_enough(text: str) -> Iterator[str]:
    """The text in parts that a note holds, cut behind a line or a word."""
    while len(text) > _LONGEST_NOTE:
        half = _LONGEST_NOTE // 2
        ends = [text.rfind(mark, half, _LONGEST_NOTE) + 1 for mark in ("\n", " ")]
        cut = next((end for end in ends if end), _LONGEST_NOTE)
        yield text[:cut]
        text = text[cut:]
    yield text


def quoted(looked: Looked, found: Found) -> str:
    """Who told it, when, and the phrase itself: the line by which it is known again.

    Parameters
    ----------
    looked
        The text.
    found
        What was found in it.

    Returns
    -------
    str
        Such as `told by the owner (Ann Reed, 30 Apr 2026 07:50): “temp 17.5”`.
    """
    return f"{teller(looked, found)}: {phrase(found)}"


def teller(looked: Looked, found: Found) -> str:
    """Who told something, and when it was written.

    Parameters
    ----------
    looked
        The text.
    found
        What was found in it.

    Returns
    -------
    str
        Such as `told by the owner (Ann Reed, 30 Apr 2026 07:50)`.
    """
    message = looked.of(found)
    who = f"written by {message.sender} of the practice" if message.own else "told by the owner"
    inside = ", ".join(filter(None, ["" if message.own else message.sender, _written(message)]))
    return f"{who}{f' ({inside})' if inside else ''}"


def phrase(found: Found) -> str:
    """The phrase as it stands in a note, in quotation marks; a very long one is cut.

    Parameters
    ----------
    found
        What was found.
    """
    raw = plain(found.raw)
    return f"“{raw[:_LONGEST_QUOTE]} …”" if len(raw) > _LONGEST_QUOTE else f"“{raw}”"


def _written(message: Message) -> str:
    day = "" if message.written_on is None else day_said(message.written_on)
    clock = "" if message.written_at is None else f"{message.written_at:%H:%M}"
    return " ".join(filter(None, [day, clock]))
