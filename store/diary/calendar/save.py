"""Writing a calendar file: only over a file of the same diary, and whole or not at all."""

from __future__ import annotations

import os
import tempfile
from pathlib import Path

from store.diary.calendar.write import MAKER, WHOSE
from store.errors import BadInput

_HEAD_BYTES = 4096


def save_calendar(path: Path, data: bytes, *, over: bool = False) -> None:
    """Write a calendar into a file; the one that is there is replaced in one step.

    Parameters
    ----------
    path
        The file; its folder must be there.
    data
        From `store.diary.calendar.write.calendar_bytes`.
    over
        Write over whatever stands there.

    Raises
    ------
    BadInput
        A file of that name is no calendar of ours, or holds another diary; or it cannot be written.
        What was there is left as it was.
    """
    try:
        if path.exists() and not over:
            _refuse_another(path, data)
        _replace(path, data)
    except OSError as trouble:
        raise BadInput(
            f"{path} cannot be written ({trouble.strerror or trouble}). Nothing was written.",
            field="file",
        ) from trouble


def _refuse_another(path: Path, data: bytes) -> None:
    if path.is_dir():
        raise BadInput(f"{path} is a folder. Please name a file in it.", field="file")
    with path.open("rb") as file:
        there = file.read(_HEAD_BYTES)
    if not there.startswith(b"BEGIN:VCALENDAR") or f"PRODID:{MAKER}".encode() not in there:
        raise BadInput(
            f"{path} is there already and is no calendar of Pondround; it was left as it is. "
            "Please name another file.",
            field="file",
        )
    if _whose(there) != _whose(data[:_HEAD_BYTES]):
        raise BadInput(
            f"{path} holds the diary of somebody else; it was left as it is. Please name another "
            "file.",
            field="file",
        )


def _whose(head: bytes) -> bytes:
    mark = f"{WHOSE}:".encode()
    return next((line for line in head.splitlines() if line.startswith(mark)), b"")


def _replace(path: Path, data: bytes) -> None:
    handle, beside = tempfile.mkstemp(dir=path.parent, prefix=".pondround-", suffix=".ics")
    try:
        with os.fdopen(handle, "wb") as file:
            file.write(data)
        Path(beside).replace(path)
    except BaseException:
        Path(beside).unlink(missing_ok=True)
        raise
