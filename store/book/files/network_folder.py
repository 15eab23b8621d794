"""Whether the folder of a book lies on a network, and whether locks hold there.

A book in a file is safe where two programs cannot write into it at once. That rests on locks, and
SQLite's write-ahead log beside on memory that programs of one computer share. Over a network the
memory is never shared, and the locks are, on some file systems, granted to everybody or to one
computer alone; books kept there are spoiled sooner or later.

References
----------
SQLite, "Write-Ahead Logging", section 1 (all programs must be on one computer) and "How To Corrupt
An SQLite Database File", section 2 (file systems with broken locks). proc_pid_mountinfo(5) for the
table of mounts, nfs(5) for `nolock` and `local_lock`, mount.cifs(8) for `nobrl`.
"""

from __future__ import annotations

import os
import re
import secrets
import subprocess
import sys
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path, PurePosixPath, PureWindowsPath
from typing import Final

_NETWORK: Final = frozenset(
    {"nfs", "nfs4", "cifs", "smb2", "smb3", "smbfs", "9p", "afs", "auristorfs", "coda", "ncpfs",
     "ceph", "glusterfs", "lustre", "beegfs", "gpfs", "orangefs", "pvfs2", "ocfs2", "gfs2", "davfs",
     "fuse", "virtiofs", "vboxsf", "vmhgfs", "prl_fs"}
)  # fmt: skip
_ONE_COMPUTER: Final = frozenset({"fuse.sshfs", "fuse.rclone", "davfs"})
"""Locks are not passed on to the server: every computer grants its own."""

_ONE_COMPUTER_OPTIONS: Final = frozenset({"nolock", "local_lock=all", "local_lock=posix", "nobrl"})

_AT: Final = 0x40000000
"""The byte that SQLite locks, a gibibyte from the beginning."""

_PATIENCE_S: Final = 10.0


@dataclass(frozen=True, slots=True)
class Folder:
    """Where a folder lies: `network` is None where it cannot be known."""

    network: bool | None
    kind: str = ""
    """Name of the file system, as the operating system gives it; empty when not known."""
    one_computer: bool = False
    """Locks are known to hold on this computer alone."""


def folder_of(path: Path) -> Folder:
    """Where the folder of a file lies.

    Parameters
    ----------
    path
        Of the file, which need not be there.

    Returns
    -------
    Folder
        On Linux from the table of mounts; on Windows whether the path leads to a share; elsewhere
        not known.
    """
    whole = Path(os.path.realpath(path))
    if os.name == "nt":
        return Folder(is_share(str(whole)))
    try:
        table = Path("/proc/self/mountinfo").read_text(encoding="utf-8", errors="surrogateescape")
    except OSError:
        return Folder(None)
    return found_in(table, str(whole.parent))


def found_in(table: str, folder: str) -> Folder:
    """Where a folder lies, by a table of mounts.

    Parameters
    ----------
    table
        As Linux gives it in `/proc/self/mountinfo`; lines that cannot be read are passed over.
    folder
        An absolute path without symbolic links.

    Returns
    -------
    Folder
        Not known where no mount holds the folder.
    """
    wanted = PurePosixPath(folder)
    found, deepest = Folder(None), -1
    for line in table.split("\n"):
        before, dash, after = line.partition(" - ")
        left, right = before.split(" "), after.split(" ")
        if not dash or len(left) < 6 or not right[0]:
            continue
        place = PurePosixPath(_OCTAL.sub(_letters, left[4]))
        # What was mounted later over the same place hides what was there.
        if len(place.parts) >= deepest and wanted.is_relative_to(place):
            deepest = len(place.parts)
            found = _folder(right[0], {*left[5].split(","), *(",".join(right[2:])).split(",")})
    return found


_OCTAL = re.compile(r"(?:\\[0-7]{3})+")


def _letters(escaped: re.Match[str]) -> str:
    return os.fsdecode(bytes(int(octal, 8) & 0xFF for octal in escaped[0].split("\\")[1:]))


def _folder(kind: str, options: set[str]) -> Folder:
    network = kind in _NETWORK or kind.startswith("fuse.")
    one = network and (kind in _ONE_COMPUTER or not options.isdisjoint(_ONE_COMPUTER_OPTIONS))
    return Folder(network, kind, one)


def is_share(path: str) -> bool:
    """Whether a path of Windows leads to a share of another computer.

    Parameters
    ----------
    path
        With letters of drives resolved, as `os.path.realpath` gives it.

    Returns
    -------
    bool
        False for drives of this computer.

    Examples
    --------
    >>> is_share(r"\\\\desk\\practice\\ponds.pondround"), is_share(r"C:\\ponds.pondround")
    (True, False)
    """
    drive = PureWindowsPath(path).drive
    if drive.startswith(("\\\\?\\", "\\\\.\\")):
        return drive[4:7].upper() == "UNC"
    return drive.startswith("\\\\")


def take_lock(file: int) -> None:
    """Lock the byte that SQLite locks, for this program alone, without waiting.

    Parameters
    ----------
    file
        Descriptor of a file open for writing.

    Raises
    ------
    OSError
        Another holds the lock, or the file system knows no locks.
    """
    if sys.platform == "win32":
        import msvcrt

        os.lseek(file, _AT, os.SEEK_SET)
        msvcrt.locking(file, msvcrt.LK_NBLCK, 1)
    else:
        import fcntl

        fcntl.lockf(file, fcntl.LOCK_EX | fcntl.LOCK_NB, 1, _AT)


# The other program: it says whether it got the lock. It stands by itself, so that it starts in
# a few milliseconds.
_OTHER = f"""
import os, sys
file = os.open(sys.argv[1], os.O_RDWR)
try:
    if os.name == "nt":
        import msvcrt
        os.lseek(file, {_AT}, os.SEEK_SET)
        msvcrt.locking(file, msvcrt.LK_NBLCK, 1)
    else:
        import fcntl
        fcntl.lockf(file, fcntl.LOCK_EX | fcntl.LOCK_NB, 1, {_AT})
except OSError:
    print("refused")
else:
    print("taken")
"""


def locks_work(folder: Path, take: Callable[[int], None] = take_lock) -> bool:
    """Try whether a lock that this program holds keeps another program out, and lets it in after.

    A file of its own is used and removed: to open the book's file and close it again would let go
    of the locks that SQLite holds on it.

    Parameters
    ----------
    folder
        Where the book lies, or is to lie.
    take
        How the lock is taken.

    Returns
    -------
    bool
        False as well where a lock, the file or the other program could not be had.
    """
    place = folder / f".locks-tried-{secrets.token_hex(6)}"
    try:
        file = os.open(place, os.O_RDWR | os.O_CREAT | os.O_EXCL, 0o600)
    except OSError:
        return False
    try:
        take(file)
        kept_out = _other_says(place) == "refused"
        os.close(file)
        file = -1
        return kept_out and _other_says(place) == "taken"
    except (OSError, subprocess.SubprocessError):
        return False
    finally:
        if file != -1:
            os.close(file)
        with suppress(OSError):
            place.unlink()


def _other_says(place: Path) -> str:
    ran = subprocess.run(
        [sys.executable, "-I", "-S", "-c", _OTHER, str(place)],
        stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL,
        timeout=_PATIENCE_S, check=True, text=True,
    )  # fmt: skip
    return ran.stdout.strip()


def without_locks(name: str) -> str:
    """The sentence for a book where locks do not hold.

    Parameters
    ----------
    name
        How the book is called before a person.

    Returns
    -------
    str
        What was kept and what to do.
    """
    return (
        f"The book {name} lies in a network folder where two computers could write into it at "
        "once and spoil it: it can only be read; nothing was saved. For a book that several use "
        "take PostgreSQL, or keep the file on one computer's own disk."
    )


def over_a_network(name: str) -> str:
    """The warning for a book in a network folder where locks hold.

    Parameters
    ----------
    name
        How the book is called before a person.

    Returns
    -------
    str
        What is different, and what would be better.
    """
    return (
        f"The book {name} lies in a network folder. Locks hold there, so it can be written, "
        "slower and by one person at a time. For a book that several use PostgreSQL is safer."
    )
