"""The fit of a book: made from its readings, kept in memory and in a file that may be thrown away.

Nothing of it goes into the book. The file lies in a folder that the caller names
(`Book.throwaway`), is called by the key of the copy that the book is, holds keys of ponds and
numbers and no names, and is written whole or not at all. A file that is damaged, of another shape
or of another book is no fit.
"""

from __future__ import annotations

import hashlib
import os
import time
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from uuid import UUID
from weakref import WeakKeyDictionary

from sqlalchemy import Connection, func, select

from store.book.book import Book
from store.book.collector import collector_waiting
from store.book.copies.log import COPY
from store.book.files.beside import neighbour, remove
from store.book.tables import table
from store.errors import BookTrouble
from store.warmth.fit import Fit, fit
from store.warmth.keeping import from_bytes, to_bytes
from store.warmth.kept.readings import values
from store.warmth.kept.traits import traits
from store.warmth.values import grid_of, traits_in_order
from store.warmth.widths import widths

FIT_DAYS = 6 * 366
"""Readings of so many days are looked at: those before would count for less than a third."""
OLD_DAYS = 7
"""A fit is made anew after so many days [d]."""
MANY_SHARE, MANY_LEAST = 0.05, 50
"""Or when so many tests and logger days were added, as a share of those there were and at least;
common practice of this project, as is the next."""
PONDS_SHARE = 0.05
"""Or when this share of the ponds came, went, or is heated now; fewer wait until the next day."""
LEFT_OVER_DAYS = 60
"""Files of books that were not fitted for so long are removed [d]."""
_ENDING, _MAKING = ".warmth", "being-made"
_HEAD = b"pondround warmth 1"
_LONGEST_HEAD = 300

Progress = Callable[[float], None]
Halt = Callable[[], bool]


@dataclass(frozen=True, slots=True)
class _Held:
    """A fit with what the book held when it was made; None where nothing could be learnt."""

    fitted: Fit | None
    day: int
    tests: int
    logged: int
    file: tuple[int, int] | None = None
    """By what its file is told from a newer one; None where it lies in none."""


_HELD: WeakKeyDictionary[Book, _Held] = WeakKeyDictionary()
_COPIES: WeakKeyDictionary[Book, UUID] = WeakKeyDictionary()
_UNKEPT: WeakKeyDictionary[Book, str] = WeakKeyDictionary()


class _Halted(Exception):
    """Whoever wanted the fit has left."""


def fit_at_hand(book: Book, now: datetime) -> Fit | None:
    """The newest fit of a book that was made here or by another program of this machine.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant, with a time zone. A fit of a later day, made while a clock was wrong,
        has looked at what is not known yet and is passed over.

    Returns
    -------
    Fit or None
        None where none was made. It costs next to nothing where it is known already.
    """
    held = _held(book)
    if held is None or held.fitted is None or held.day > book.today(now).toordinal():
        return None
    return held.fitted


def fit_is_old(book: Book, now: datetime) -> bool:
    """Whether a fit should be made anew: none, an old one, or much is new since.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant, with a time zone.

    Returns
    -------
    bool
        Also where there is no fit. False where one was tried today, nothing could be learnt and
        little has come since.
    """
    held, today = _held(book), book.today(now).toordinal()
    if held is None or not held.day <= today <= held.day + OLD_DAYS:
        return True
    with book.reading() as connection:
        tests, logged = _tests_and_days(connection)
        known = traits(connection)
    before, after = held.tests + held.logged, tests + logged
    if abs(after - before) > max(MANY_LEAST, MANY_SHARE * before):
        return True
    if held.fitted is None:
        return today > held.day and after != before
    was = dict(zip(held.fitted.ponds, held.fitted.apart.tolist(), strict=True))
    differs = len(was.keys() ^ known.keys())
    differs += sum(bool(known[one].apart) != apart for one, apart in was.items() if one in known)
    return bool(differs) and (today > held.day or differs > PONDS_SHARE * len(was))


def make_fit(
    book: Book, now: datetime, progress: Progress | None = None, halt: Halt | None = None
) -> Fit | None:
    """Make a fit of the book as it stands, and keep it in memory and, where it may be, in a file.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant, with a time zone.
    progress
        Called with the share that is done, 0 to 1.
    halt
        Asked now and then whether to stop; then what was at hand before stays.

    Returns
    -------
    Fit or None
        None where nothing could be learnt, or it was stopped.

    Raises
    ------
    BookTrouble
        The book could not be read, or the machine has too little memory.
    """

    def done(share: float) -> None:
        if halt is not None and halt():
            raise _Halted
        if progress is not None:
            progress(share)

    today, zone = book.today(now).toordinal(), book.zone
    try:
        done(0.0)
        with book.reading() as connection, collector_waiting():
            known = traits(connection)
            tests, logged = _tests_and_days(connection)
            found = values(connection, zone, today - FIT_DAYS + 1, today)
        done(0.1)
        fitted = None
        if found:
            grid = grid_of(found, tuple(known), min(one.day for one in found), today)
            del found
            about = traits_in_order(grid.ponds, known)
            wide = widths(grid, about, progress=lambda share: done(0.1 + 0.4 * share))
            done(0.5)
            fitted = fit(grid, about, width=wide, progress=lambda share: done(0.5 + 0.45 * share))
        done(0.95)
    except _Halted:
        return None
    except MemoryError as error:
        raise BookTrouble(
            "This machine has too little memory to learn the temperatures of all ponds; estimates "
            "are left out. Nothing in the book was changed."
        ) from error
    held = _Held(fitted, today, tests, logged)
    _HELD[book] = _into_file(book, held) if fitted is not None else held
    if progress is not None:
        progress(1.0)
    return fitted


def said_unkept(book: Book) -> str:
    """Why the fit lies in memory only, where it should lie in a file; empty where it does.

    Parameters
    ----------
    book
        The practice's book.
    """
    return _UNKEPT.get(book, "")


def counted(book: Book) -> tuple[int, int]:
    """How large a book is, before it is decided whether to wait for a fit.

    Parameters
    ----------
    book
        The practice's book.

    Returns
    -------
    tuple of int
        Ponds, and water tests with logger days; struck ones too.
    """
    with book.reading() as connection:
        ponds = connection.execute(select(func.count()).select_from(table("pond"))).scalar_one()
        return ponds, sum(_tests_and_days(connection))


def _tests_and_days(connection: Connection) -> tuple[int, int]:
    """How many tests and logger days the book has, struck ones too: they are counted in no time."""
    tests, days = table("water_test"), table("logger_day")
    return (
        connection.execute(select(func.count()).select_from(tests)).scalar_one(),
        connection.execute(select(func.count()).select_from(days)).scalar_one(),
    )


def _place(book: Book) -> Path | None:
    if book.throwaway is None:
        return None
    copy = _COPIES.get(book)
    if copy is None:
        meta = table("book_meta").c
        with book.reading() as connection:
            said = connection.execute(select(meta.value).where(meta.key == COPY)).scalar()
        if said is None:
            return None
        try:
            _COPIES[book] = copy = UUID(said)
        except ValueError:
            return None
    return book.throwaway / f"{copy}{_ENDING}"


def _held(book: Book) -> _Held | None:
    """From memory, else from the file; a file that is newer than what is known is read."""
    held, place = _HELD.get(book), _place(book)
    if place is None:
        return held
    try:
        found = place.stat()
    except OSError:
        return held
    which = found.st_mtime_ns, found.st_size
    if held is not None and held.file == which:
        return held
    read = _from_file(place)
    # What was made here a moment ago is not given up for what another program had begun before.
    if read is not None and (held is None or (read.day, read.tests) >= (held.day, held.tests)):
        held = read
    if held is not None:
        held = replace(held, file=which)
        _HELD[book] = held
    return held


def _from_file(place: Path) -> _Held | None:
    try:
        kept = place.read_bytes()
    except (OSError, MemoryError):
        return None
    head, _, payload = kept[:_LONGEST_HEAD].partition(b"\n")
    payload = kept[len(head) + 1 :]
    parts = head.removeprefix(_HEAD).split()
    if not head.startswith(_HEAD) or len(parts) != 3:
        return None
    said, tests, logged = parts
    if hashlib.sha256(payload).hexdigest().encode() != said or not (tests + logged).isdigit():
        return None
    fitted = from_bytes(payload)
    return None if fitted is None else _Held(fitted, fitted.until, int(tests), int(logged))


def _into_file(book: Book, held: _Held) -> _Held:
    place = _place(book)
    if place is None or held.fitted is None:
        return held
    payload = to_bytes(held.fitted)
    said = hashlib.sha256(payload).hexdigest().encode()
    head = b"%s %s %d %d\n" % (_HEAD, said, held.tests, held.logged)
    try:
        place.parent.mkdir(parents=True, exist_ok=True, mode=0o700)
        beside = neighbour(place, _MAKING)
        try:
            beside.write_bytes(head + payload)
            found = beside.stat()
            beside.replace(place)
        finally:
            remove(beside)
    except OSError as error:
        _UNKEPT[book] = (
            f"What was learnt of the temperatures of ponds could not be kept in {place.parent} "
            f"({error.strerror or error}); it is learnt anew the next time."
        )
        return held
    _UNKEPT.pop(book, None)
    _remove_left_over(place.parent)
    return replace(held, file=(found.st_mtime_ns, found.st_size))


def _remove_left_over(folder: Path) -> None:
    """Fits of bags and books that are gone, and files of programs that were ended while writing."""
    with suppress(OSError):
        for one in folder.iterdir():
            if _ENDING in one.name and _age_days(one) > LEFT_OVER_DAYS:
                one.unlink()


def _age_days(one: Path) -> float:
    # The machine's own clock, as the file's time is: neither has to do with what is in the book.
    return (time.time() - os.stat(one).st_mtime) / 86_400  # noqa: PTH116
