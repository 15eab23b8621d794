"""Finding while somebody waits on the telephone: what is due of whom, and who has nothing due."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from uuid import UUID

from store.book.book import Book
from store.book.find import Found, find
from store.diary.desk.due import DeskList, DueLine
from store.diary.kept.due.desk import sought

MOST_FOUND = 400
"""Hits that are ranked [clients and ponds]; fewer letters than that many fit name nobody."""


@dataclass(frozen=True, slots=True)
class Quiet:
    """A client that was found and has nothing due; `reason` says why it was found."""

    client_id: UUID
    client: str
    town: str
    phone: str
    reason: str


@dataclass(frozen=True, slots=True)
class Sought:
    """What fits what was typed: lines that are due, then clients with nothing due."""

    lines: tuple[DueLine, ...]
    quiet: tuple[Quiet, ...]


def seek(book: Book, listed: DeskList, text: str) -> Sought:
    """Lines of the desk and clients that fit what was typed.

    Parameters
    ----------
    book
        The practice's book.
    listed
        The desk as it was read last.
    text
        Part of a name, street or town, misspelt too, or any part of a telephone number.

    Returns
    -------
    Sought
        Clients in the order in which they fit, the lines of one client in that of the desk.
    """
    lines = sought(book, listed, text)
    found = find(book, text, MOST_FOUND)
    rank = {key: place for place, key in enumerate(dict.fromkeys(one.client_id for one in found))}
    last = len(rank)
    ordered = sorted(lines, key=lambda line: rank.get(line.promised.client_id, last))
    due = {line.promised.client_id for line in lines}
    return Sought(tuple(ordered), tuple(_quiet(found, due)))


def _quiet(found: Iterable[Found], due: Iterable[UUID]) -> Iterable[Quiet]:
    seen = set(due)
    for one in found:
        if one.client_id in seen:
            continue
        seen.add(one.client_id)
        yield Quiet(one.client_id, one.client, one.town, one.phone, one.reason)
