"""The head of papers as the book has it, and what is asked for where it has none."""

from __future__ import annotations

from dataclasses import dataclass

from store.book.book import Book
from store.book.letterhead import practice_head
from store.book.practice import practice
from store.errors import BadInput
from store.paper.paper import Letterhead, one_line


@dataclass(frozen=True, slots=True)
class Head:
    """What stands at the head of papers; `kept` tells whether the book has it already.

    Without a letterhead the name is that of the practice, and the number to ring is empty.
    """

    practice: str
    telephone: str
    address: str = ""
    email: str = ""
    foot: str = ""
    kept: bool = False

    def to(self, client: str, pond: str, vet: str = "") -> Letterhead:
        """The head of a paper for one client.

        Raises
        ------
        BadInput
            There is no number to ring.
        """
        if not self.telephone.strip():
            raise BadInput(
                "The papers need the practice's letterhead with a number to ring. Nothing was "
                "written.",
                field="telephone",
                title="No letterhead yet",
            )
        return Letterhead(
            practice=self.practice,
            telephone=self.telephone,
            client=client,
            pond=pond or client,
            vet=vet,
            address=self.address,
            email=self.email,
        )

    @property
    def foot_lines(self) -> tuple[str, ...]:
        """What else the practice says at the end of a paper."""
        return tuple(filter(None, map(one_line, self.foot.splitlines())))


def head_of(book: Book) -> Head:
    """The head in force.

    Parameters
    ----------
    book
        The practice's book.
    """
    found = practice_head(book)
    if found is not None:
        return Head(
            found.practice, found.telephone, found.address, found.email, found.foot, kept=True
        )
    own = practice(book)
    return Head("" if own is None else own.name, "")
