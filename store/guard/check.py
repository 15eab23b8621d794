"""One look at the whole book, in words."""

from __future__ import annotations

from collections.abc import Callable
from contextlib import nullcontext
from datetime import datetime
from zoneinfo import ZoneInfo

from sqlalchemy import Connection
from sqlalchemy.exc import DBAPIError, SQLAlchemyError

from store.book.book import Book
from store.book.copies.choosing import unsettled
from store.book.server.server_roles import prefix_there, roles_missing
from store.book.trouble import LIBRARY_ERRORS
from store.errors import BookTrouble, PondroundError
from store.guard.found import BACKUP, Found, Report, Told, quiet
from store.guard.links import check_links
from store.guard.measured import check_days, check_readings
from store.guard.rows import check_hashes, check_lines
from store.guard.said import Sayer
from store.guard.soundness import check_keys, check_reading, check_shape
from store.guard.values import Values, check_courses, check_readings_values
from store.record.kinds import label_of

_CANNOT_BE_READ = (
    SQLAlchemyError, PondroundError, ValueError, TypeError, KeyError, OverflowError,
)  # fmt: skip


def check(book: Book, now: datetime, *, told: Told = quiet, quick: bool = False) -> Report:
    """Whether all of a book is as it was written: one unchanging state of it is looked at.

    Parameters
    ----------
    book
        The practice's book; nothing is changed in it.
    now
        The present instant.
    told
        Is told how far it is; what it raises ends the check.
    quick
        Look at the file, the tables and the chain of the record, but not at every row and value.

    Returns
    -------
    Report
        Faults and remarks. That nothing is found does not say that what people entered is right.

    Raises
    ------
    BookTrouble
        The book cannot be asked at all.
    """
    found = Found(told)
    zone = _zone(book, found)
    with book.reading() as connection:
        looks: list[tuple[str, Callable[[], None]]] = [
            ("file", lambda: check_reading(connection, found, quick=quick)),
            ("tables", lambda: check_shape(connection, found)),
            ("keys", lambda: check_keys(connection, found)),
            ("chain of the record", lambda: check_links(connection, found)),
        ]
        sayer = Sayer(connection, zone)
        if quick:
            looks += [("record", lambda: check_hashes(connection, found, sayer=sayer))]
        else:
            values = Values(found, sayer, now)
            looks += [
                ("rows", lambda: check_lines(connection, found, values=values, sayer=sayer)),
                ("readings", lambda: check_readings(connection, found, sayer)),
                ("values of loggers", lambda: check_days(connection, found, sayer, zone)),
                ("doses", lambda: check_courses(connection, found, sayer)),
                ("measured values", lambda: check_readings_values(connection, found)),
            ]
        looks += [("roles of the server", lambda: _roles(book, found))]
        looks += [("rows that wait", lambda: _waiting(connection, book, found, sayer))]
        for what, look in looks:
            _looked(connection, found, what, look)
    return found.report()


def _zone(book: Book, found: Found) -> ZoneInfo:
    """The practice's time zone; UTC where it names none that is known, which is said."""
    try:
        return book.zone
    except BookTrouble as trouble:
        if isinstance(trouble.__cause__, LIBRARY_ERRORS):
            raise
        found.fault("damaged", BACKUP, trouble.message)
        return ZoneInfo("UTC")


def _looked(connection: Connection, found: Found, what: str, look: Callable[[], None]) -> None:
    """One look; where something cannot be read that is said, and the others go on."""
    server = connection.dialect.name != "sqlite"
    try:
        with connection.begin_nested() if server else nullcontext():
            look()
    except (
        SQLAlchemyError,
        PondroundError,
        ValueError,
        TypeError,
        KeyError,
        OverflowError,
        RecursionError,
    ) as error:
        cause = getattr(error, "orig", None) or error
        if server and isinstance(error, DBAPIError) and error.connection_invalidated:
            raise
        said = str(cause).strip().partition("\n")[0]
        found.fault(
            "damaged", BACKUP,
            f"The {what} could not be looked at to the end: something there is not what can be "
            f"kept ({said:.150}).",
        )  # fmt: skip


def _roles(book: Book, found: Found) -> None:
    """At a server where the script of the roles was run: whether they still hold."""
    prefix = prefix_there(book)
    for one in () if prefix is None else roles_missing(book, prefix):
        found.remark("roles", "Run “pondround roles” and its script as the owner of the book.", one)


def _waiting(connection: Connection, book: Book, found: Found, sayer: Sayer) -> None:
    for one in unsettled(book):
        columns = [
            label_of(one.table, name) for differing in one.differences for name in differing.columns
        ]
        found.remark(
            "waits", "Look at both sides and choose; until then the later one stands.",
            f"The {sayer.row(one.table, one.key)} was changed on both sides "
            f"({', '.join(columns)}) and waits for a choice.",
        )  # fmt: skip
