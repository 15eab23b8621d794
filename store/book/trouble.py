"""What a library says about the database, turned into a sentence for a person."""

from __future__ import annotations

import re
import sqlite3

from sqlalchemy.exc import DBAPIError, IntegrityError, OperationalError, SQLAlchemyError

from store.book.allowed import FREE, FREE_SAID, VETS_ALONE
from store.book.triggers import REFUSAL
from store.errors import BadInput, BookTrouble, NoAnswer, NotAllowed, PondroundError

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
    "An older book": (
        "The book {name} is of an older version, and only its owner at the server may bring it up "
        "to date; it was left as it is. Ask the owner to open it with this version first."
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
    "The line is not safe": (
        "The line to the database {name} could not be made safe as its address asks for "
        "(sslmode, sslrootcert); nothing was sent. Check the certificate of the server, its name "
        "in the address, and the file of sslrootcert."
    ),
    "Too many at once": (
        "The database {name} takes no more connections now; nothing was saved. Try again in a "
        "moment, or let more people in on the server (max_connections)."
    ),
}
_NO_ANSWER = (
    "could not translate host name",
    "failed to resolve",
    "name or service not known",
    "connection refused",
    "connection failed",
    "connection reset",
    "connection timed out",
    "timeout expired",
    "could not connect",
    "could not receive data",
    "could not send data",
    "consuming input failed",
    "server closed the connection",
    "connection has been closed unexpectedly",
    "ssl syscall",
    "connection is bad",
    "the connection is lost",
    "the connection is closed",
    "terminating connection",
    "broken pipe",
    "no route to host",
    "network is unreachable",
    "the database system is",  # starting up, shutting down, in recovery
)
_STATES = ("08", "57P01", "57P02", "57P03")
"""How states of PostgreSQL begin that tell of a lost connection or a server that goes away."""
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
    ("permission denied for database", "Not let in"),
    ("permission denied for schema", "An older book"),
    ("must be owner", "An older book"),
    ("permission denied", "Only for reading"),
    ("disk is full", "The disk is full"),
    ("no space left", "The disk is full"),
    ("unable to open database file", "Cannot be opened"),
    ("certificate authentication failed", "Not let in"),
    ("certificate", "The line is not safe"),
    ("server does not support ssl", "The line is not safe"),
    ("sslmode value", "The line is not safe"),
    ("too many clients", "Too many at once"),
    ("too many connections", "Too many at once"),
    ("connection slots are reserved", "Too many at once"),
    ("pool limit", "Too many at once"),
    ("no pg_hba.conf entry", "Not let in"),
    ("password authentication failed", "Not let in"),
    ("no password supplied", "Not let in"),
    ("authentication failed", "Not let in"),
    ("does not exist", "Not there"),
    *((sign, "No answer") for sign in _NO_ANSWER),
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
    if getattr(cause, "sqlstate", None) == "42501" and (refused := _by_a_role(said)):
        return refused
    if isinstance(error, IntegrityError):
        return _integrity(said)
    if isinstance(error, PermissionError):
        text = f"You may not read {name}; it was left as it is. Ask whoever owns the file."
        return BookTrouble(text, title="No permission")
    state = getattr(cause, "sqlstate", None)
    answered = state is not None and not str(state).startswith(_STATES)
    for sign, title in _SIGNS:
        # A server that answers may quote what a person typed, whatever that says.
        if sign in said and not (answered and title == NoAnswer.title):
            return _trouble(title, name)
    if not answered and _is_lost(error, cause):
        return _trouble(NoAnswer.title, name)
    first = str(cause).strip().partition("\n")[0]
    # What a driver says is shown; what SQLAlchemy adds (the statement and its values) is not.
    said_by = f" It said: {first:.200}." if isinstance(error, DBAPIError | sqlite3.Error) else ""
    return BookTrouble(
        f"The book {name} did not answer as it should, and nothing was saved.{said_by} "
        "Try again; if it stays so, go on with a copy and report it."
    )


NOT_YOUR_NAME = "written in another person"
"""Part of what a server with roles says where a row names somebody else than the login is."""
_TABLE = re.compile(r"permission denied for table (\w+)(: for a vet)?")


def _by_a_role(said: str) -> NotAllowed | None:
    """What the roles of a server refuse a person who may write other things."""
    if NOT_YOUR_NAME in said:
        return NotAllowed(
            "The server knows you by your login, and nothing is written there in another person's "
            "name; nothing was saved. Whoever works opens the book with their own login.",
            title="Another person's login",
        )
    found = _TABLE.search(said)
    if found is None:
        return None
    name = found[1]
    if name == "staff":
        what = "enter people or change what they are"
    elif name in VETS_ALONE:
        what = VETS_ALONE[name].change  # type: ignore[index]
    elif name in FREE and found[2]:
        what = FREE_SAID[name].add  # type: ignore[index]
    else:
        return None
    return NotAllowed(
        f"Only a vet can {what}; the server does not know your login as one. Nothing was changed.",
        title="For a vet",
    )


def _trouble(title: str, name: str) -> BookTrouble:
    kind = NoAnswer if title == NoAnswer.title else BookTrouble
    return kind(_SENTENCES[title].format(name=name), title=title)


def _is_lost(error: BaseException, cause: BaseException) -> bool:
    """Whether the connection is gone, by its kind where the words are in another language."""
    if isinstance(cause, sqlite3.Error):
        return False
    return (
        getattr(cause, "sqlstate", None) is not None
        or isinstance(error, OperationalError)
        or (isinstance(error, DBAPIError) and error.connection_invalidated)
    )


def said_no_answer(name: str) -> NoAnswer:
    """The error of something that was to be saved where the database does not answer.

    Parameters
    ----------
    name
        How the book is called before a person.

    Returns
    -------
    NoAnswer
        Nothing was saved.
    """
    return NoAnswer(
        f"The database {name} does not answer; nothing was saved. Check the network and try again.",
        saving=True,
    )


def said_unsure(name: str) -> NoAnswer:
    """The error where nobody knows whether an action was kept.

    Parameters
    ----------
    name
        How the book is called before a person.

    Returns
    -------
    NoAnswer
        With `unsure`.
    """
    return NoAnswer(
        f"The line to the database {name} broke while this was being saved, and it is not known "
        "yet whether it was kept. It is looked up before anything else is saved, so that nothing "
        "stands in the book twice.",
        title="Saved or not?",
        saving=True,
        unsure=True,
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
