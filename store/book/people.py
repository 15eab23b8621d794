"""Who works with the book."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal
from uuid import UUID

from sqlalchemy import func, select

from store.book.act import Act
from store.book.book import Book
from store.book.rows import Kept, read_all, read_one
from store.book.tables import table
from store.errors import BadInput
from store.text import plain

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
    wanted = plain(text).strip().lower()
    same = (func.lower(columns.name) == wanted) | (func.lower(columns.initials) == wanted)
    found = read_all(book, Staff, "staff", same)
    return found[0] if len(found) == 1 else None


def enter(book: Book, act: Act, name: str, role: Role, initials: str = "") -> UUID:
    """Enter a person.

    Parameters
    ----------
    book
        The book.
    act
        Who, and when; a vet, or anybody while no vet is on the staff.
    name, role, initials
        Of the new person.

    Returns
    -------
    UUID
        Key of the person.

    Raises
    ------
    BadInput
        No name, another role, or somebody of that name is on the staff already.
    NotAllowed
        The person who acts is no vet.
    """
    people = table("staff").c
    with book.writing(act) as writing:
        same = select(people.id).where(
            func.lower(people.name) == plain(name).strip().lower(), people.struck_at.is_(None)
        )
        if writing.connection.execute(same).first() is not None:
            raise BadInput(
                f"{name.strip():.60} is on the staff already; nothing was saved. Write the name "
                "so that the two can be told apart.",
                field="name",
            )
        return writing.add("staff", name=name, role=role, initials=initials)


def change_role(book: Book, act: Act, person: UUID, role: Role) -> None:
    """Say what a person is.

    Parameters
    ----------
    book
        The book.
    act
        Who, and when; a vet, or anybody while no vet is on the staff.
    person
        Key of the person.
    role
        What the person is from now on.

    Raises
    ------
    BadInput
        Another role than there is.
    NotAllowed
        The person who acts is no vet; or the other has left.
    NotFound
        No such person.
    """
    people = table("staff").c
    with book.writing(act) as writing:
        rev = writing.connection.execute(select(people.rev).where(people.id == person)).scalar()
        writing.change("staff", person, rev or 1, role=role)


def left(book: Book, act: Act, person: UUID, why: str) -> None:
    """A person no longer works with the book: struck through, everything of theirs stays.

    Parameters
    ----------
    book
        The book.
    act
        Who, and when; a vet, or anybody while no vet is on the staff.
    person
        Key of the person.
    why
        The reason.

    Raises
    ------
    BadInput
        No reason.
    NotAllowed
        The person who acts is no vet, or the other has left already.
    NotFound
        No such person.
    """
    with book.writing(act) as writing:
        writing.strike("staff", person, why)
