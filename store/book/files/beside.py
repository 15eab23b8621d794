"""Files made beside the book and moved into their place when they are whole."""

from __future__ import annotations

import os
import secrets
from contextlib import suppress
from pathlib import Path

_SIDE_FILES = ("-wal", "-shm", "-journal")


def side_file(path: Path, ending: str) -> Path:
    """A file that SQLite keeps beside a book.

    Parameters
    ----------
    path
        Of the book.
    ending
        What it puts behind the name of the book.

    Returns
    -------
    Path
        It need not be there.
    """
    return path.with_name(path.name + ending)


def neighbour(path: Path, what: str) -> Path:
    """A new empty file in the same folder, for its owner alone.

    Parameters
    ----------
    path
        Of the book.
    what
        What it is for; part of its name, by which a person knows it should it be left over.

    Returns
    -------
    Path
        Under a name that nothing had.
    """
    place = path.with_name(f"{path.name}.{what}-{secrets.token_hex(4)}")
    os.close(os.open(place, os.O_CREAT | os.O_EXCL | os.O_WRONLY, 0o600))
    return place


def remove(path: Path) -> None:
    """Remove a neighbour with its side files, as far as it is still there.

    Parameters
    ----------
    path
        The neighbour.
    """
    for ending in ("", *_SIDE_FILES):
        with suppress(OSError):
            side_file(path, ending).unlink()


def move_into_place(beside: Path, path: Path) -> None:
    """Move a whole file to a name that nothing has yet; what is there is never written over.

    Parameters
    ----------
    beside
        The file; it may keep its old name as well, which `remove` takes away.
    path
        Its place in the same folder.

    Raises
    ------
    FileExistsError
        Something is there.
    OSError
        It could not be moved.
    """
    try:
        os.link(beside, path)
    except FileExistsError:
        raise
    except OSError:  # not every file system knows a second name
        if path.exists():
            raise FileExistsError(path) from None
        beside.rename(path)
    if os.name != "nt":
        with suppress(OSError):  # not every file system can
            folder = os.open(path.parent, os.O_RDONLY)
            try:
                os.fsync(folder)
            finally:
                os.close(folder)
