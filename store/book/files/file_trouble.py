"""What SQLite says about the file under a book, where its own words would mislead."""

from __future__ import annotations

import os
import sqlite3
from pathlib import Path
from typing import Final

from store.book.files.network_folder import without_locks
from store.errors import BookTrouble

_LOCKS: Final = (
    "SQLITE_PROTOCOL", "SQLITE_IOERR_SHM", "SQLITE_IOERR_LOCK", "SQLITE_IOERR_RDLOCK",
    "SQLITE_IOERR_UNLOCK", "SQLITE_IOERR_CHECKRESERVEDLOCK", "SQLITE_IOERR_BLOCKED",
)  # fmt: skip
_READING: Final = ("SQLITE_IOERR_CORRUPTFS", "SQLITE_IOERR_DATA")
_LITTLE_BYTES: Final = 1 << 20
"""With less room than this a failed write is taken for a full disk."""


def file_trouble(error: BaseException | None, path: Path) -> BookTrouble | None:
    """The sentence for a file that could not be locked, shared or written.

    SQLite says "disk I/O error" when a lock call fails, when the memory beside a book cannot be
    had, and when there is no room for it; the file is whole in all these cases.

    Parameters
    ----------
    error
        From `sqlite3`.
    path
        The file.

    Returns
    -------
    BookTrouble or None
        None where the words of the error say it already.

    References
    ----------
    SQLite, "Result and Error Codes".
    """
    code = getattr(error, "sqlite_errorname", "") if isinstance(error, sqlite3.Error) else ""
    if code.startswith(_READING) or not code.startswith(("SQLITE_IOERR", "SQLITE_PROTOCOL")):
        return None
    if code == "SQLITE_IOERR_NOMEM":
        return BookTrouble(
            f"The memory of this computer is full, and {path} could not be read or written; "
            "nothing was saved. Close other programs and try again.",
            title="No memory left",
        )
    if _room_bytes(path.parent) < _LITTLE_BYTES:
        return BookTrouble(
            f"The disk that holds the book {path} is full; nothing was saved. Make room and try "
            "again.",
            title="The disk is full",
        )
    if code.startswith(_LOCKS):
        return BookTrouble(without_locks(str(path)), title="Locks do not work there")
    return BookTrouble(
        f"The disk that holds the book {path} could not be read or written ({code}); nothing was "
        "saved, and what was saved before is kept. Check the disk, its room, what a file may hold "
        "there and the connection to it, and try again; if it stays so, go on with a copy.",
        title="The disk does not answer",
    )


def _room_bytes(folder: Path) -> float:
    """What may still be written there [bytes]; as much as can be where it is not known."""
    if not hasattr(os, "statvfs"):
        return float("inf")
    try:
        found = os.statvfs(folder)
    except OSError:
        return float("inf")
    return float(found.f_bavail * found.f_frsize)
