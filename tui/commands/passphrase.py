"""Passphrases on the command line: typed unseen, or in a file for scripts; never an argument."""

from __future__ import annotations

import os
import stat
import sys
import time
from pathlib import Path
from typing import TYPE_CHECKING
from uuid import UUID

from store.errors import BadInput

if TYPE_CHECKING:
    from store.book.book import Book

FILE = "PONDROUND_PASSPHRASE_FILE"
"""Names a file that holds the passphrase of whoever works, for scripts."""
TRIES = 3
_MOST_BYTES = 10_000


def prove_person(book: Book, person: UUID, name: str) -> None:
    """Ask for the passphrase of whoever works, where one is set.

    Parameters
    ----------
    book
        The practice's book.
    person, name
        Who works.

    Raises
    ------
    BadInput
        It is another one, or there is nobody to be asked.
    """
    from store.book.sign_in import asks_passphrase, pause_s, prove

    if not asks_passphrase(book, person):
        return
    kept = from_file()
    if kept is not None:
        prove(book, person, kept)
        return
    for failures in range(1, TRIES + 1):
        try:
            prove(book, person, typed(f"Passphrase of {name}:"))
        except BadInput as trouble:
            if failures == TRIES:
                raise
            print(trouble.message, file=sys.stderr)
            time.sleep(pause_s(failures))
        else:
            return


def typed(prompt: str) -> str:
    """What is typed at the terminal without being shown.

    Parameters
    ----------
    prompt
        What is asked.

    Raises
    ------
    BadInput
        There is no terminal.
    """
    from getpass import getpass

    from tui.widgets.literal import one_line

    if not sys.stdin.isatty():
        raise BadInput(
            f"A passphrase is asked for at a terminal, and there is none. For a script, name a "
            f"file that only you can read in {FILE}. Nothing was changed."
        )
    try:
        return getpass(one_line(prompt) + " ")
    except EOFError:
        raise BadInput("No passphrase was given; nothing was changed.") from None


def from_file() -> str | None:
    """The passphrase in the file that the environment names; None where it names none.

    Raises
    ------
    BadInput
        It cannot be read, or others can read it too.
    """
    place = os.environ.get(FILE, "")
    if not place:
        return None
    try:
        with Path(place).open("rb") as file:
            mode = os.fstat(file.fileno()).st_mode
            if os.name == "posix" and mode & (stat.S_IRWXG | stat.S_IRWXO):
                raise BadInput(
                    f"Others than you may read the file that {FILE} names; it was not used. Make "
                    "it yours alone with chmod 600."
                )
            said = file.read(_MOST_BYTES).decode()
    except (OSError, ValueError):
        raise BadInput(f"The file that {FILE} names cannot be read; nothing was changed.") from None
    return said.removesuffix("\n").removesuffix("\r")
