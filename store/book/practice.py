"""The practice itself, and beginning a book for it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from store.book.act import Act
from store.book.book import Book
from store.book.keys import new_key
from store.book.people import Role
from store.book.rows import Kept, read_all
from store.errors import NotAllowed


@dataclass(frozen=True, slots=True)
class Practice(Kept):
    """Whose book it is, its time zone, and the kit its people carry."""

    name: str
    time_zone: str
    country: str
    kit_id: UUID | None


def practice(book: Book) -> Practice | None:
    """The practice whose book it is.

    Parameters
    ----------
    book
        The book.

    Returns
    -------
    Practice or None
        None in a book that was made and not yet begun.
    """
    found = read_all(book, Practice, "practice")
    return found[0] if found else None


def begin(
    book: Book,
    now: datetime,
    *,
    practice: str,
    time_zone: str,
    person: str,
    role: Role,
    country: str = "",
    initials: str = "",
) -> Act:
    """Enter the practice and its first person, who makes these first entries.

    Parameters
    ----------
    book
        A book without a practice.
    now
        The instant, with a time zone.
    practice
        Its name.
    time_zone
        Such as `Europe/London`.
    person
        Name of the first person.
    role
        What the person is.
    country
        In words; may stay empty.
    initials
        Of the person; may stay empty.

    Returns
    -------
    Act
        Of the first person at this instant, for further entries.

    Raises
    ------
    NotAllowed
        When the book has a practice already.
    BadInput
        When a name is empty or the time zone unknown.
    """
    act = Act(new_key(now), now)
    with book.writing(act) as writing:
        if writing.has("practice"):
            raise NotAllowed("This book has its practice already; nothing was changed.")
        writing.add("staff", key=act.by, name=person, role=role, initials=initials)
        writing.add("practice", name=practice, time_zone=time_zone, country=country)
    return act
