"""A fault of the application itself: one sentence for the person, the particulars in a file."""

from __future__ import annotations

import os
import sys
from contextlib import suppress
from pathlib import Path

from store.book.address import without_passwords


def log_path() -> Path:
    """Where faults are written, in the user's own folder."""
    from platformdirs import user_log_path

    return user_log_path("pondround", appauthor=False) / "faults.log"


def keep_fault(path: Path | None, particulars: str) -> str:
    """Write a fault into the file and give the sentence that names it; it holds no password.

    Parameters
    ----------
    path
        The file; None where nothing is to be written.
    particulars
        What happened, with the places in the code.
    """
    particulars = without_passwords(particulars, *_addresses())
    kept = "Its particulars could not be written down."
    if path is not None:
        with suppress(OSError):
            path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            with path.open("a", encoding="utf-8", errors="replace") as file:
                file.write(particulars + "\n")
            kept = f"Its particulars are in {path}."
    return (
        "Pondround met a fault of its own and had to stop. What was saved is in the book; what "
        f"was typed is kept as a draft. {kept}"
    )


def note(path: Path | None, sentence: str) -> None:
    """Write a sentence into the file of faults: something that was done without, no fault.

    Parameters
    ----------
    path
        The file; None where nothing is to be written. One that cannot be written is done without.
    sentence
        In words, without names of people.
    """
    if path is not None:
        with suppress(OSError):
            path.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
            with path.open("a", encoding="utf-8", errors="replace") as file:
                file.write(without_passwords(sentence, *_addresses()) + "\n")


def _addresses() -> list[str]:
    return [os.environ.get("PONDROUND_BOOK", ""), *sys.argv[1:]]
