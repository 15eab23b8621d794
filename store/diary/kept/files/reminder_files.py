"""Reminders as files: one a client, and none is ever written over."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from uuid import UUID

from store.book.find import folded
from store.diary.kept.files.reminders import Reminder
from store.errors import BadInput

_LONGEST_NAME = 40
_MOST_SAME_NAME = 99


@dataclass(frozen=True, slots=True)
class SavedReminders:
    """The files that were written, and how many stood there with these very words."""

    written: tuple[Path, ...]
    same: int


def save_reminders(folder: Path, told: Iterable[Reminder], today: date) -> SavedReminders:
    """Write one file a client; a file that is there already is never written over.

    Parameters
    ----------
    folder
        Made where it is not there.
    told
        Reminders; those without a text are passed over.
    today
        The practice's calendar day, part of every name.

    Returns
    -------
    SavedReminders
        The file of a client who was reminded of something else that day gets a number behind its
        name.

    Raises
    ------
    BadInput
        The folder cannot be written; what was written before stays.
    """
    written, same = [], 0
    try:
        folder.mkdir(parents=True, exist_ok=True, mode=0o700)
        for one in told:
            if not one.text:
                continue
            path = _write(folder, file_name(one.client, one.client_id, today), one.text)
            if path is None:
                same += 1
            else:
                written.append(path)
    except OSError as trouble:
        raise BadInput(
            f"{folder} cannot be written ({trouble.strerror or trouble}). "
            f"{len(written)} reminders were written before.",
            field="folder",
        ) from trouble
    return SavedReminders(tuple(written), same)


def save_reminder(path: Path | None, told: Reminder, today: date) -> Path:
    """Write one reminder into a file that was not there before.

    Parameters
    ----------
    path
        The file, or a folder for it; None is the folder in which the application works.
    told
        The reminder.
    today
        The practice's calendar day.

    Returns
    -------
    Path
        The file.

    Raises
    ------
    BadInput
        There is one with other words, or it cannot be written.
    """
    name = file_name(told.client, told.client_id, today)
    place = Path(name) if path is None else path / name if path.is_dir() else path
    data = told.text.encode()
    try:
        with place.open("xb") as file:
            file.write(data)
    except FileExistsError:
        raise BadInput(
            f"{place} is there already and was left as it is. Please name another file.",
            field="file",
        ) from None
    except OSError as trouble:
        raise BadInput(
            f"{place} cannot be written ({trouble.strerror or trouble}). Nothing was written.",
            field="file",
        ) from trouble
    return place


def file_name(name: str, key: UUID, today: date) -> str:
    """What the file of a client is called, with letters that every system takes.

    Parameters
    ----------
    name
        Of the client.
    key
        Of the client; the end of it tells two of the same name apart.
    today
        The day of the reminder.

    Examples
    --------
    >>> file_name("../Château d'Öl", UUID(int=0xABC123), date(2026, 3, 14))
    'chateau-dol-abc123-2026-03-14.txt'
    """
    letters = "".join(one if one.isascii() and one.isalnum() else "-" for one in folded(name)[:200])
    said = "-".join(part for part in letters.split("-") if part)[:_LONGEST_NAME].strip("-")
    return f"{said or 'client'}-{key.hex[-6:]}-{today.isoformat()}.txt"


def _write(folder: Path, name: str, text: str) -> Path | None:
    """The new file; None where one with the same words is there."""
    data = text.encode()
    stem = name.removesuffix(".txt")
    for number in range(1, _MOST_SAME_NAME + 1):
        path = folder / (name if number == 1 else f"{stem}-{number}.txt")
        try:
            with path.open("xb") as file:
                file.write(data)
        except FileExistsError:
            if path.is_file() and path.read_bytes() == data:
                return None
            continue
        path.chmod(0o600)
        return path
    raise BadInput(
        f"{folder / name} and {_MOST_SAME_NAME - 1} more are there already and were left as they "
        "are. Please name another folder.",
        field="folder",
    )
