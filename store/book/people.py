"""Who works with the book."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal
from uuid import UUID

from sqlalchemy import func

from store.book.book import Book
from store.book.rows import Kept, read_all, read_one
from store.book.tables import table

Role = Literal["vet", "receptionist", "travelling vet"]
ROLES: tuple[Role, ...] = ("vet", "receptionist", "travelling vet")


@dataclass(frozen=True, slots=True)
class Staff(Kept):
    """A person with a role in the practice."""

    name: str
    role: Role
    initials: str

    @property
    def is_vet(self) -> bool:
        """Whether the person is entered as a vet, travelling or not."""
        return self.role != "receptionist"


def staff(book: Book, *, struck: bool = False) -> tuple[Staff, ...]:
    """Everybody who works with the book, in the order of being entered.

    Parameters
    ----------
    book
        The book.
    struck
        Also those who have left.

    Returns
    -------
    tuple of Staff
        The first is who began the book, unless struck through.
    """
    return read_all(book, Staff, "staff", order_by=(table("staff").c.created_at,), struck=struck)


def person(book: Book, key: UUID) -> Staff:
    """One member of staff, also one who has left.

    Parameters
    ----------
    book
        The book.
    key
        Of the person.

    Returns
    -------
    Staff
        As entered.

    Raises
    ------
    NotFound
        When there is no such person.
    """
    return read_one(book, Staff, "staff", key)


def person_named(book: Book, text: str) -> Staff | None:
    """The one person of that name or those initials.

    Parameters
    ----------
    book
        The book.
    text
        A name or initials; capitals do not matter.

    Returns
    -------
    Staff or None
        None when nobody or more than one matches.
    """
    columns = table("staff").c
    wanted = text.strip().lower()
    same = (func.lower(columns.name) == wanted) | (func.lower(columns.initials) == wanted)
    found = read_all(book, Staff, "staff", same)
    return found[0] if len(found) == 1 else None
