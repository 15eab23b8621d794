"""Backups that make themselves: one a day, and which of them are kept."""

from __future__ import annotations

import re
import stat
from collections.abc import Callable, Iterable, Mapping
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from sqlalchemy import select

from store.book.backup.making import back_up, stem_of
from store.book.backup.marked import Backup, is_named, verified
from store.book.book import Book
from store.book.copies.log import COPY
from store.book.files.beside import remove
from store.book.tables import table
from store.errors import BookTrouble, PondroundError

VARIABLE = "PONDROUND_BACKUPS"
"""Names another folder for backups, or `none` for no backups that make themselves."""
NONE = "none"
DAYS, WEEKS, MONTHS = 7, 5, 12
"""Daily backups are kept of so many days, then one a week, then one a month."""
BAG = "bag"
"""What a book says of itself that holds only a part of another."""
_HALF_MADE = re.compile(r"backup\.being-made-[0-9a-f]{8}")
_HALF_MADE_S = 86_400.0
_SQLITE = b"SQLite format 3\0"
OLD = timedelta(days=7)
"""A newest backup older than this is said to be old."""


@dataclass(frozen=True, slots=True)
class Kept:
    """What became of the daily backup: a new one or none, those thinned out, and what is there.

    `remark` is a sentence for a person where it could not be made. `wanted` is False for a book
    that gets none by itself.
    """

    made: Backup | None
    thinned: tuple[Path, ...]
    newest: datetime | None
    remark: str = ""
    wanted: bool = True


def folder_of_backups(place: str, environment: Mapping[str, str], data: Path) -> Path | None:
    """Where the backups of a book lie.

    Parameters
    ----------
    place
        Path or address of the book.
    environment
        Of the process.
    data
        The user's own folder for data.

    Returns
    -------
    Path or None
        None where there are to be none; the folder need not be there.
    """
    named = environment.get(VARIABLE, "").strip()
    if named.casefold() == NONE:
        return None
    stem = stem_of(place)
    if named:
        return Path(named).expanduser()
    if "://" in place and not place.startswith("sqlite"):
        return data / f"{stem}.backups"
    path = Path(place.partition("://")[2].removeprefix("/") if "://" in place else place)
    return path.with_name(f"{path.stem}.backups") if path.name else None


def backups_in(folder: Path | None, of: str = "") -> tuple[Backup, ...]:
    """The backups in a folder, the newest first, by what they say of themselves.

    Parameters
    ----------
    folder
        Where they lie; None and a folder that is not there hold none.
    of
        Only those of the book of this name; empty for all.

    Returns
    -------
    tuple of Backup
        Files that are none are left out, and so are those that cannot be read.
    """
    found = []
    if folder is None or not folder.is_dir():
        return ()
    stem = f"{stem_of(of)}." if of else ""
    for path in folder.iterdir():
        if is_named(path) and path.name.startswith(stem) and not path.is_symlink():
            with suppress(PondroundError, OSError, ValueError, KeyError, TypeError):
                found.append(verified(path, whole=False))
    return tuple(sorted(found, key=lambda one: (one.at, one.path.name), reverse=True))


def days_kept(days: Iterable[date], today: date) -> frozenset[date]:
    """Which days' backups are kept.

    The last 7 days with a backup up to today; of 5 weeks (Monday to Sunday) the last one in each;
    of 12 calendar months the first one in each. A day that lies ahead, by whatever clock, is kept.

    Parameters
    ----------
    days
        On which there is a backup.
    today
        The present day.
    """
    listed = sorted(set(days))
    past = [day for day in listed if day <= today]
    kept = {day for day in listed if day > today}
    kept |= {day for day in past if (today - day).days < DAYS}
    kept.update(past[-1:])
    weeks = {day - timedelta(days=day.weekday()): day for day in past}
    kept.update(day for _week, day in sorted(weeks.items())[-WEEKS:])
    months = {(day.year, day.month): day for day in reversed(past)}
    kept.update(day for _month, day in sorted(months.items())[-MONTHS:])
    return frozenset(kept)


def keep_daily(
    book: Book, folder: Path | None, now: datetime, *, told: Callable[[str], None] = lambda _w: None
) -> Kept:
    """Make the backup of the day where there is none yet, and thin out the older ones.

    Only backups that made themselves are ever deleted, and only where the file is a backup of this
    very book and wholly as it was written.

    Parameters
    ----------
    book
        The book; one that can only be read, and a bag, get none.
    folder
        Where backups lie, see `folder_of_backups`.
    now
        The present instant.
    told
        Is told what is being done.

    Returns
    -------
    Kept
        Nothing is raised: what could not be done is told in `remark`.
    """
    if folder is None or book.only_read:
        return Kept(None, (), None, wanted=False)
    copy, bag = _said(book)
    if bag:
        return Kept(None, (), None, wanted=False)
    made: Backup | None = None
    thinned: tuple[Path, ...] = ()
    remark = ""
    there: tuple[Backup, ...] = ()
    try:
        there = tuple(one for one in backups_in(folder, book.name) if one.copy == copy)
        today = book.today(now)
        daily = {one.at.astimezone(book.zone).date() for one in there if one.why == "daily"}
        if today not in daily:
            made = back_up(book.engine, book.name, folder, now, "daily", told=told)
            there = (made, *there)
            thinned = _thin(there, book, today)
            _clear_half_made(folder, now)
    except PondroundError as error:
        remark = f"The backup of today was not made. {error.message}"
    except OSError as error:
        remark = f"The backup of today was not made: {folder} ({error.strerror or error})."
    newest = max((one.at for one in there), default=None)
    return Kept(made, thinned, newest, remark)


def _said(book: Book) -> tuple[str, bool]:
    """Which copy of a book it is, and whether it is a bag."""
    meta = table("book_meta").c
    with book.reading() as connection:
        rows = connection.execute(select(meta.key, meta.value)).all()
    said = {row.key: row.value for row in rows}
    return said.get(COPY, ""), BAG in said


def _thin(there: Iterable[Backup], book: Book, today: date) -> tuple[Path, ...]:
    daily = [one for one in there if one.why == "daily"]
    of_day = {one: one.at.astimezone(book.zone).date() for one in daily}
    kept = days_kept(of_day.values(), today)
    gone = []
    for one, day in of_day.items():
        if day not in kept and _is_ours(one, book):
            with suppress(OSError):
                one.path.unlink()
                gone.append(one.path)
    return tuple(gone)


def _clear_half_made(folder: Path, now: datetime) -> None:
    """Take away what a program that was killed left half made, a day later."""
    for path in folder.iterdir():
        with suppress(OSError):
            found = path.lstat()
            old = found.st_mtime < now.timestamp() - _HALF_MADE_S
            if _HALF_MADE.fullmatch(path.name) and stat.S_ISREG(found.st_mode) and old:
                with path.open("rb") as file:
                    begins = file.read(len(_SQLITE))
                if begins in (b"", _SQLITE):
                    remove(path)


def _is_ours(one: Backup, book: Book) -> bool:
    """Whether a file is beyond doubt what was made here of this book; it is read to its end."""
    own = Path(book.name).name if "://" not in book.name else book.name
    try:
        return one.of == own and one.why == "daily" and verified(one.path) == one
    except (BookTrouble, OSError):
        return False


def said_old(newest: datetime | None, now: datetime) -> str:
    """What is to be said where the newest backup is old; empty where it is not.

    Parameters
    ----------
    newest
        When it was made; None where there is none.
    now
        The present instant.
    """
    if newest is None:
        return "No backup yet"
    days = (now.astimezone(UTC) - newest.astimezone(UTC)).days
    return f"Newest backup {days} days old" if now - newest > OLD else ""
