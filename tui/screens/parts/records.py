"""What the screens of the directory ask of the book in one step, in a thread of its own."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from uuid import UUID

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.water.entered import RecordName


_AMMONIA_AS = {"n": "as N", "nh3": "as NH3", "nh4": "as NH4", "unknown": "form not known"}


@dataclass(frozen=True, slots=True)
class Begun:
    """A record as its form begins with it."""

    key: UUID
    rev: int
    name: str
    texts: dict[str, str]
    struck: bool


def begun(book: Book, record: RecordName, key: UUID) -> Begun:
    """The record with the texts of its form."""
    from store.book.ponds import card
    from store.water.entered import texts_of
    from tui.screens.ponds.pond_lines import head_name

    row = read_record(book, record, key)
    name = row.name
    if record == "pond":
        # Many ponds are called alike; whose it is tells them apart.
        name = head_name(card(book, key))
    return Begun(row.id, row.rev, name, texts_of(record, row), row.struck_at is not None)


def read_record(book: Book, record: RecordName, key: UUID) -> Any:
    """One record by its key."""
    from store.book.clients import client, site
    from store.book.kits import kit
    from store.book.people import person
    from store.book.ponds import pond
    from store.book.practice import practice

    if record == "practice":
        return practice(book)
    read = {"client": client, "site": site, "pond": pond, "kit": kit, "staff": person}
    return read[record](book, key)


def struck_through(
    book: Book, act: Act, record: RecordName, key: UUID, why: str, *, strike: bool
) -> None:
    """Strike a record through, or restore it."""
    with book.writing(act) as writing:
        (writing.strike if strike else writing.restore)(record, key, why)


def kit_choices(book: Book, pond: UUID | None = None) -> tuple[tuple[str, str], ...]:
    """The kits to choose from, with none first."""
    from store.book.kits import kits

    return (("", "none stated"), *((str(kit.id), kit.name) for kit in kits(book, pond)))


@dataclass(frozen=True, slots=True)
class OwnRecords:
    """The practice's own records, to choose one to change."""

    practice: tuple[UUID, str] | None
    people: tuple[tuple[UUID, str, str], ...]
    kits: tuple[tuple[UUID, str, str], ...]


def own_records(book: Book) -> OwnRecords:
    """The practice, its people with their roles, its kits with what they report."""
    from store.book.kits import kits
    from store.book.people import staff
    from store.book.practice import practice

    own = practice(book)
    return OwnRecords(
        None if own is None else (own.id, own.name),
        tuple((one.id, one.name, one.role) for one in staff(book)),
        tuple((one.id, one.name, f"ammonia {_AMMONIA_AS[one.ammonia_form]}") for one in kits(book)),
    )
