"""What stands at the head of the practice's papers: set once, and anew where something changed."""

from __future__ import annotations

from dataclasses import dataclass
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.rows import Kept, read_all
from store.book.tables import table
from store.book.writing import Writing
from store.errors import BadInput


@dataclass(frozen=True, slots=True)
class PracticeHead(Kept):
    """The head of papers; `address` and `foot` may have several lines."""

    practice: str
    address: str
    telephone: str
    email: str
    foot: str


def practice_head(book: Book) -> PracticeHead | None:
    """The head that is in force, the newest; None where none was ever set.

    Parameters
    ----------
    book
        The practice's book.
    """
    found = practice_heads(book)
    return found[0] if found else None


def practice_heads(book: Book) -> tuple[PracticeHead, ...]:
    """Every head that was set, newest first: the first is in force.

    Parameters
    ----------
    book
        The practice's book.
    """
    columns = table("letterhead").c
    order = (columns.created_at.desc(), columns.id.desc())
    return read_all(book, PracticeHead, "letterhead", order_by=order)


def set_practice_head(
    writing: Writing,
    *,
    practice: str,
    telephone: str,
    address: str = "",
    email: str = "",
    foot: str = "",
) -> UUID:
    """Set what stands at the head of papers from now on; what stood there before is kept.

    Parameters
    ----------
    writing
        The action of the person.
    practice
        Its name, as clients know it.
    telephone
        The number to ring.
    address
        On as many lines as it has.
    email
        May stay empty.
    foot
        What else is to stand at the end of a paper, such as a registration.

    Returns
    -------
    UUID
        Of the head in force; nothing is added where nothing differs.

    Raises
    ------
    BadInput
        No name or no telephone: a paper without a number to ring is of no use when fish gasp.
    """
    for field, value, what in (
        ("practice", practice, "the name of the practice"),
        ("telephone", telephone, "the number to ring"),
    ):
        if not value.strip():
            raise BadInput(f"The papers need {what}. Nothing was saved.", field=field)
    columns = table("letterhead").c
    newest = writing.connection.execute(
        select(
            columns.id, columns.practice, columns.telephone, columns.address, columns.email,
            columns.foot,
        )
        .where(columns.struck_at.is_(None))
        .order_by(columns.created_at.desc(), columns.id.desc())
        .limit(1)
    ).first()  # fmt: skip
    wanted = tuple(one.strip() for one in (practice, telephone, address, email, foot))
    if newest is not None and tuple(newest[1:]) == wanted:
        key: UUID = newest[0]
        return key
    return writing.add(
        "letterhead", practice=wanted[0], telephone=wanted[1], address=wanted[2], email=wanted[3],
        foot=wanted[4],
    )  # fmt: skip
