"""What a library says about the database, turned into a sentence for a person."""

from __future__ import annotations

import sqlite3

from sqlalchemy.exc import DBAPIError, IntegrityError, SQLAlchemyError

from store.book.triggers import REFUSAL
from store.errors import BadInput, BookTrouble, NotAllowed, PondroundError

# What a person reads, by its title; and parts of what SQLite and PostgreSQL say, in lower case,
# with the title they lead to. The first sign that is found counts.
_SENTENCES = {
    "The book is locked": (
        "The book {name} is locked by another program; nothing was saved. Try again in a "
        "moment, and close the other program if it stays so."
    ),
    "Not a book": (
        "{name} is not a book of Pondround, or it is damaged at its beginning; it was left as"
        " it is. Open another file, or a copy made before."
    ),
    "The book is damaged": (
        "The book {name} is damaged and was left as it is. Put it aside and go on with the "
        "newest copy of it."
    ),
    "Only for reading": (
        "The book {name} can only be read by you; nothing was saved. Ask for permission to "
        "write it, or open a copy."
    ),
    "The disk is full": (
        "The disk that holds the book {name} is full; nothing was saved. Make room and try again."
    ),
    "Cannot be opened": (
        "The book {name} cannot be opened; it was left as it is. Check that its folder exists"
        " and that you may read and write there."
    ),
    "Not let in": (
        "The database {name} refused the user name or password. Nothing was changed; check both."
    ),
    "Not there": (
        "The database, user or table asked for at {name} does not exist. Nothing was changed;"
        " check the address of the book."
    ),
    "No answer": (
        "The database {name} does not answer; what was not yet saved was not saved. Check the"
        " address and the network and try again."
    ),
}
_SIGNS = (
    ("database is locked", "The book is locked"),
    ("database table is locked", "The book is locked"),
    ("lock timeout", "The book is locked"),
    ("could not obtain lock", "The book is locked"),
    ("deadlock", "The book is locked"),
    ("file is not a database", "Not a book"),
    ("file is encrypted", "Not a book"),
    ("malformed", "The book is damaged"),
    ("disk i/o error", "The book is damaged"),
    ("database corruption", "The book is damaged"),
    ("readonly database", "Only for reading"),
    ("read-only", "Only for reading"),
    ("readonly", "Only for reading"),
    ("permission denied", "Only for reading"),
    ("must be owner", "Only for reading"),
    ("disk is full", "The disk is full"),
    ("no space left", "The disk is full"),
    ("unable to open database file", "Cannot be opened"),
    ("password authentication failed", "Not let in"),
    ("no password supplied", "Not let in"),
    ("authentication failed", "Not let in"),
    ("does not exist", "Not there"),
    ("could not translate host name", "No answer"),
    ("failed to resolve", "No answer"),
    ("connection refused", "No answer"),
    ("connection failed", "No answer"),
    ("timeout expired", "No answer"),
    ("server closed the connection", "No answer"),
    ("could not connect", "No answer"),
    ("connection is bad", "No answer"),
    ("terminating connection", "No answer"),
    ("name or service not known", "No answer"),
)


def only_for_reading(name: str) -> str:
    """The sentence for a book that may not be written.

    Parameters
    ----------
    name
        How the book is called before a person.

    Returns
    -------
    str
        What was kept and what to do.
    """
    return _SENTENCES["Only for reading"].format(name=name)


def sentence(error: BaseException, name: str) -> PondroundError:
    """The error that a person reads for one that a library raised.

    Parameters
    ----------
    error
        From SQLAlchemy, `sqlite3` or the file system.
    name
        How the book is called before a person; never holds a password.

    Returns
    -------
    PondroundError
        To be raised `from` the error. An error of our own that a library wrapped comes out again.
    """
    cause = getattr(error, "orig", None) or error
    if isinstance(cause, PondroundError):
        return cause
    said = str(cause).lower()
    if REFUSAL in said:
        return NotAllowed(
            "Readings and the log of changes are added to and never rewritten; nothing was "
            "changed. Add a correction instead.",
            title="Never rewritten",
        )
    if isinstance(error, IntegrityError):
        return _integrity(said)
    if isinstance(error, PermissionError):
        text = f"You may not read {name}; it was left as it is. Ask whoever owns the file."
        return BookTrouble(text, title="No permission")
    for sign, title in _SIGNS:
        if sign in said:
            return BookTrouble(_SENTENCES[title].format(name=name), title=title)
    first = str(cause).strip().partition("\n")[0]
    # What a driver says is shown; what SQLAlchemy adds (the statement and its values) is not.
    said_by = f" It said: {first:.200}." if isinstance(error, DBAPIError | sqlite3.Error) else ""
    return BookTrouble(
        f"The book {name} did not answer as it should, and nothing was saved.{said_by} "
        "Try again; if it stays so, go on with a copy and report it."
    )


def _integrity(said: str) -> PondroundError:
    if "foreign key" in said:
        return BadInput(
            "This belongs to a record that is not in the book, or other records still belong to "
            "it; nothing was saved. Look the record up again.",
            title="The other record is missing",
        )
    if "unique" in said or "duplicate" in said:
        return BadInput(
            "The book holds this already; nothing was saved twice.", title="Already there"
        )
    return BadInput(
        "A value lies outside what the book can hold; nothing was saved. Look at the numbers again."
    )


LIBRARY_ERRORS = (SQLAlchemyError, sqlite3.Error)
"""What is turned into a sentence wherever the database is touched."""
