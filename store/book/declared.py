"""Whether fish of a pond may be eaten: declared by somebody who is named, never assumed.

The declaration stands on the pond; the log of its changes names who said so and who wrote it down.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.ponds import Use
from store.book.tables import table
from store.book.told.history import Change, history
from store.book.writing import Writing
from store.errors import BadInput, NotFound

DECLARES = ("ornamental", "food")
"""What can be declared; until then it is not asked."""


@dataclass(frozen=True, slots=True)
class Declared:
    """Who wrote down what the fish of a pond are, and when; `said` names who declared it."""

    use: Use
    at: datetime
    by_name: str
    said: str


def declared(book: Book, pond: UUID) -> Declared | None:
    """Who wrote down last what the fish of a pond are; None where nobody ever did.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    """
    found: Change | None = next(
        (one for one in history(book, "pond", pond) if "use" in one.after), None
    )
    if found is None or found.after["use"] == "not asked":
        return None
    return Declared(found.after["use"], found.at, found.by_name, found.why)


def declared_by(said_by: str) -> str:
    """How the log names who declared something, such as `declared by Mrs Alder`.

    Parameters
    ----------
    said_by
        The person who said so, in words; usually the owner.

    Raises
    ------
    BadInput
        Nobody is named.
    """
    name = " ".join(said_by.split())
    if not name:
        raise BadInput(
            "Please name the person who said so, such as the owner. Nothing was saved.",
            field="said_by",
        )
    return f"declared by {name}"


def declare(writing: Writing, pond: UUID, use: Use, said_by: str) -> None:
    """Write down what the fish of a pond are, and who said so.

    Parameters
    ----------
    writing
        The action of whoever was told.
    pond
        Key of the pond.
    use
        `ornamental` or `food`.
    said_by
        The person who declared it, in words; usually the owner.

    Raises
    ------
    BadInput
        Nobody is named, or the use is neither.
    NotFound
        No such pond.
    ChangedMeanwhile, NotAllowed
        As for `Writing.change`.
    """
    if use not in DECLARES:
        raise BadInput(
            "Say whether the fish may be eaten: food, or ornamental. Nothing was saved.",
            field="use",
        )
    why = declared_by(said_by)
    ponds = table("pond").c
    row = writing.connection.execute(
        select(ponds.rev, ponds.use).where(ponds.id == pond).with_for_update()
    ).one_or_none()
    if row is None:
        raise NotFound("There is no such pond in the book; nothing was saved.")
    rev = row.rev
    if row.use == use:
        # The log keeps what changed: said anew, it is taken back first and both stand there.
        rev = writing.change("pond", pond, rev, why="declared anew", use="not asked")
    writing.change("pond", pond, rev, why=why, use=use)


def declare_in_form(writing: Writing, pond: UUID, rev: int, use: Use, said_by: str) -> None:
    """What a form of a pond says of its fish: unchanged it stands, changed somebody is named.

    Parameters
    ----------
    writing
        The action.
    pond, rev
        The pond, as this action left it.
    use
        As the form has it; `not asked` takes a declaration back.
    said_by
        Who said so, in words; empty where the use is as it was.

    Raises
    ------
    BadInput
        The use is another and nobody is named, or somebody is named for nothing.
    NotFound, ChangedMeanwhile, NotAllowed
        As for `declare`.
    """
    ponds = table("pond").c
    was = writing.connection.execute(select(ponds.use).where(ponds.id == pond)).scalar()
    if was == use and not said_by.strip():
        return
    if use == "not asked" and was in DECLARES:
        why = declared_by(said_by).replace("declared", "taken back", 1)
        writing.change("pond", pond, rev, why=why, use=use)
    else:
        declare(writing, pond, use, said_by)
