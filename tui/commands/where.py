"""Which book a command is about, who works, and what time it is."""

from __future__ import annotations

import argparse
import atexit
import os
import shutil
import tempfile
from datetime import UTC, datetime
from pathlib import Path
from typing import TYPE_CHECKING

from store.errors import BadInput, NoBookYet

if TYPE_CHECKING:
    from store.book.act import Act
    from store.book.book import Book
    from store.book.people import Role, Staff

DEMO = "demo"
"""In the place of a book: a fresh copy of the demo practice, thrown away afterwards."""

NO_BOOK = (
    "There is no book at {place} yet. “pondround” begins one; with “--book demo” it is the demo "
    "practice."
)

_NO_PASSWORD = (
    "The address given with {option} holds a password, which everybody on this machine can read "
    "there; nothing was opened. Leave it out: put it into ~/.pgpass or into a service file of "
    "PostgreSQL (postgresql://?service=NAME){or_there}. Change the password if others use "
    "this machine."
)


def now() -> datetime:
    """The present instant: the command line's only clock."""
    return datetime.now(UTC)


def place_of(args: argparse.Namespace) -> str:
    """Path or address of the book that is meant."""
    from platformdirs import user_data_path

    from store.book.address import book_url

    if args.book:
        no_password_in(args.book, "--book", ", or the whole address into PONDROUND_BOOK")
    folder = user_data_path("pondround", appauthor=False)
    return book_url(args.book, os.environ, folder)


def no_password_in(address: str, option: str, or_there: str = "") -> None:
    """Refuse an address that shows its password to everybody on the machine.

    Parameters
    ----------
    address
        As it stands on the command line.
    option
        With which it was given.
    or_there
        Where else than in files of PostgreSQL it could stand, with a comma before it.

    Raises
    ------
    BadInput
        There is a password in it.
    """
    from store.book.address import passwords_in

    if passwords_in(address):
        raise BadInput(_NO_PASSWORD.format(option=option, or_there=or_there))


def throw_away_folder() -> Path:
    """A folder of this run alone."""
    folder = Path(tempfile.mkdtemp(prefix="pondround-"))
    atexit.register(shutil.rmtree, folder, ignore_errors=True)
    return folder


def is_missing(place: str) -> bool:
    """Whether a book in a file has not been begun."""
    return "://" not in place and place != DEMO and not Path(place).exists()


def open_place(place: str, at: datetime) -> Book:
    """The book at a place, or a fresh demo."""
    if place == DEMO:
        from store.exchange.demo.practice import make_demo

        return make_demo(throw_away_folder() / "demo.pondround", at)
    from store.book.opening import open_book
    from tui.commands.warm import warmth_folder

    book = open_book(place, now=at, backups=backups_of(place) if "://" in place else None)
    book.throwaway = warmth_folder()
    return book


def book_or_none(place: str, at: datetime) -> Book | None:
    """The book at a place; None where none was begun, so that one can be."""
    if is_missing(place):
        return None
    try:
        return open_place(place, at)
    except NoBookYet:
        return None


def backups_of(place: str) -> Path | None:
    """The folder in which the backups of a book lie; None where there are to be none."""
    from platformdirs import user_data_path

    from store.book.backup.keeping import folder_of_backups

    folder = user_data_path("pondround", appauthor=False)
    return folder_of_backups(place, os.environ, folder)


def begin_place(place: str, values: dict[str, str], at: datetime) -> Book:
    """A new book for the practice of the first form."""
    from zoneinfo import available_timezones

    from store.book.opening import open_book
    from store.book.practice import begin
    from tui.commands.warm import warmth_folder

    # Asked before a file is made: a slip of the keyboard should not leave an empty book behind.
    for name, asked in (("practice", "the practice"), ("person", "the person")):
        if not values.get(name, "").strip():
            raise BadInput(f"Please give the name of {asked}.", field=name)
    zone = values.get("time_zone", "").strip()
    if zone not in available_timezones():
        raise BadInput(
            f"There is no time zone “{zone}”. Write it like Europe/London.", field="time_zone"
        )
    if "://" not in place:
        Path(place).parent.mkdir(parents=True, exist_ok=True, mode=0o700)
    book = open_book(place, now=at, create=True)
    book.throwaway = warmth_folder()
    begin(
        book,
        at,
        practice=values["practice"].strip(),
        time_zone=zone,
        person=values["person"].strip(),
        role=_role_of(values.get("role", "")),
        initials=values.get("initials", "").strip(),
    )
    return book


def acting(book: Book, name: str, at: datetime, *, anybody: bool = False) -> Act:
    """Who does what the command does.

    Parameters
    ----------
    book
        The practice's book.
    name
        A name or initials; empty where nobody was named.
    at
        The present instant.
    anybody
        Nothing will be written, so nobody has to be named or asked for a passphrase.

    Returns
    -------
    Act
        The person at that instant.

    Raises
    ------
    BadInput
        When nobody of that name is on the staff, several people are and none was named, or the
        passphrase is another one.
    """
    from store.book.act import Act
    from tui.commands.passphrase import prove_person

    who = _worker(book, name, anybody=anybody)
    if not anybody:
        prove_person(book, who.id, who.name)
    return Act(who.id, book.moment(at))


def _worker(book: Book, name: str, *, anybody: bool) -> Staff:
    from store.book.people import person_named, staff
    from store.book.sign_in import known_to_server

    people = staff(book)
    if name:
        found = person_named(book, name)
        if found is None:
            names = ", ".join(one.name for one in people) or "nobody"
            raise BadInput(f"“{name}” is not on the staff of this book ({names}).")
        return found
    by_login = known_to_server(book)
    if by_login is not None:
        return next(one for one in people if one.id == by_login)
    if len(people) == 1 or (people and anybody):
        return people[0]
    names = ", ".join(one.name for one in people)
    raise BadInput(f"Say who does this with --as NAME: {names}.")


def _role_of(typed: str) -> Role:
    from store.book.people import ROLES

    for role in ROLES:
        if role == typed:
            return role
    raise BadInput(f"A role is one of {', '.join(ROLES)}.", field="role")
