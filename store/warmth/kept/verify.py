"""Whether estimates can be believed, by the book's own past: replayed as if each day were today."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from types import MappingProxyType
from typing import TYPE_CHECKING, NamedTuple
from uuid import UUID

from sqlalchemy import Connection, func, select

from store.book.book import Book
from store.book.ponds import cards
from store.book.tables import table
from store.errors import BookTrouble
from store.warmth.kept.fits import FIT_DAYS
from store.warmth.kept.readings import values
from store.warmth.kept.traits import traits
from store.warmth.proof_words import Proven, proof_says
from store.warmth.replay import Replayed, replay
from store.warmth.values import grid_of, traits_in_order

if TYPE_CHECKING:
    from store.warmth.values import Grid, Marks

MOST_DAYS = 1096
"""So much of the past is replayed at most: three years [d]."""
LARGE_DAYS = 365
"""And of a large practice [d]."""
LEARN_DAYS = 365
"""So much lies before it, so that seasons can be learnt [d]; of a shorter record its first half."""
LEAST_LEARN_DAYS = 90
"""And that much at least."""
ENOUGH_PONDS = 3
"""And of so many ponds, or of all where there are fewer."""
OFTEN_DAYS, SELDOM_DAYS = 30, 365
"""How often it is learnt anew at most and at least [d]."""
MOST_CELLS = 6_000_000
"""Ponds x days, summed over all times it is learnt anew: some minutes on a machine of this decade,
as is the next; common practice of this project."""
MOST_READINGS = 60_000
"""So many readings are held against estimates at most; of more each pond's second, or third."""
_EARLIEST = date(1990, 1, 1)

Progress = Callable[[float], None]
Halt = Callable[[], bool]


class Span(NamedTuple):
    """Days of a pond whose readings are known to be bad, both ends included."""

    pond: UUID
    first: date
    last: date


@dataclass(frozen=True, slots=True)
class Verified:
    """How far off estimates would have been in the past of a book."""

    made_at: datetime
    ponds: int
    """How many ponds have readings in the days that were looked at."""
    first: date | None
    """First and last day that were estimated; None where the record is too short."""
    last: date | None
    every_days: int
    """How often it was learnt anew [d]."""
    nth: int
    """Each pond's so many-th reading was held against its estimate; 1 for all of them."""
    share: float
    """How much of it was done, 0 to 1; less than 1 where it was stopped."""
    replayed: Replayed | None
    """None where nothing could be estimated."""
    names: Mapping[UUID, str]
    """Client and pond of those that the replay tells of."""
    says: tuple[str, ...]
    """What it comes to, in sentences."""


def verify(
    book: Book,
    now: datetime,
    progress: Progress | None = None,
    halt: Halt | None = None,
    not_scored: Sequence[Span] | None = None,
) -> Verified:
    """Replay the past of a book and say how far off the estimates would have been.

    Parameters
    ----------
    book
        The practice's book; nothing is written.
    now
        The present instant, with a time zone.
    progress
        Called with the share that is done, 0 to 1.
    halt
        Asked now and then whether to stop; what is done until then is told.
    not_scored
        Readings known to be bad: others' estimates meet them as they would have been met, but they
        are not held against anybody.

    Returns
    -------
    Verified
        Of the three years before the newest reading at most, of the last year where the practice
        is large, beginning one year after the first reading of three ponds; of a record of less
        than two years its second half.

    Raises
    ------
    BookTrouble
        The book could not be read, or the machine has too little memory.
    """
    try:
        return _verified(book, now, progress, halt, tuple(not_scored or ()))
    except MemoryError as error:
        raise BookTrouble(
            "This machine has too little memory to replay the temperatures of all ponds; nothing "
            "in the book was changed."
        ) from error


def _verified(
    book: Book,
    now: datetime,
    progress: Progress | None,
    halt: Halt | None,
    not_scored: tuple[Span, ...],
) -> Verified:
    today = book.today(now)
    with book.reading() as connection:
        newest = _newest(connection, now, today)
        first_read = newest.toordinal() - FIT_DAYS - MOST_DAYS + 1
        known = traits(connection)
        found = values(connection, book.zone, first_read, newest.toordinal())
    found = [one for one in found if one.pond in known]
    water = [one for one in found if not known[one.pond].air]
    begun: dict[UUID, int] = {}
    for one in water:
        begun[one.pond] = min(one.day, begun.get(one.pond, one.day))
    if not begun:
        return _of_nothing(now, 0, None)
    enough = sorted(begun.values())[min(ENOUGH_PONDS, len(begun)) - 1]
    last = max(one.day for one in water)
    start = min(one.day for one in found)
    long = MOST_DAYS if len(begun) * (last - start + 1) <= MOST_CELLS // 3 else LARGE_DAYS
    learn = min(LEARN_DAYS, max((last - enough + 1) // 2, LEAST_LEARN_DAYS))
    first = max(enough + learn, last - long + 1)
    if first > last:
        return _of_nothing(now, len(begun), date.fromordinal(enough + LEAST_LEARN_DAYS))
    grid = grid_of(found, tuple({one.pond for one in found}), start, last)
    del found, water
    marks, nth = _not_scored(grid, first, not_scored)
    every_days = how_often(len(grid.ponds), grid.days, last - first + 1)
    share = 0.0

    def done(so_far: float) -> None:
        nonlocal share
        share = so_far
        if progress is not None:
            progress(so_far)

    replayed = replay(
        grid, traits_in_order(grid.ponds, known), first, every_days=every_days, not_scored=marks,
        progress=done, halt=halt,
    )  # fmt: skip
    names = _names(book, () if replayed is None else [one.pond for one in replayed.ponds])
    first_on, last_on = date.fromordinal(first), date.fromordinal(last)
    proven = Proven(
        len(begun), first_on, last_on, every_days, nth, share, replayed, names, first - enough
    )
    return Verified(
        now, len(begun), first_on, last_on, every_days, nth, share, replayed, names,
        proof_says(proven),
    )  # fmt: skip


def how_often(ponds: int, days: int, replayed_days: int) -> int:
    """How often a replay learns anew, so that it ends within minutes.

    Parameters
    ----------
    ponds, days
        How large the record is.
    replayed_days
        How many days are replayed.

    Returns
    -------
    int
        [d]; every 30 days in a small practice, seldomer the larger it is, once a year at least.

    Examples
    --------
    >>> how_often(32, 2400, 1096), how_often(300, 2000, 1096), how_often(3000, 2000, 1096)
    (30, 110, 365)
    """
    times = max(MOST_CELLS / max(ponds * days, 1), 1.0)
    return min(max(OFTEN_DAYS, math.ceil(replayed_days / times)), SELDOM_DAYS)


def _of_nothing(now: datetime, ponds: int, from_on: date | None) -> Verified:
    proven = Proven(ponds, from_on, None, OFTEN_DAYS, 1, 1.0, None, {})
    return Verified(
        now, ponds, None, None, OFTEN_DAYS, 1, 1.0, None, MappingProxyType({}), proof_says(proven)
    )


def _newest(connection: Connection, now: datetime, today: date) -> date:
    """A day behind the newest temperature, or today: a record may have ended long ago."""
    tests, logged, reading = table("water_test").c, table("logger_day").c, table("reading").c
    tested = connection.execute(
        select(func.max(tests.taken_at))
        .join_from(table("water_test"), table("reading"), reading.test_id == tests.id)
        .where(
            reading.parameter == "temperature_c", tests.struck_at.is_(None), tests.taken_at <= now
        )
    ).scalar()
    day = connection.execute(
        select(func.max(logged.day)).where(logged.parameter == "temperature_c", logged.day <= today)
    ).scalar()
    found: list[date] = [_EARLIEST, *([day] if day else []), *([tested.date()] if tested else [])]
    return min(max(found) + timedelta(days=1), today)


def _not_scored(grid: Grid, first: int, spans: Sequence[Span]) -> tuple[Marks, int]:
    """What is known to be bad, and where there is much, most of the readings."""
    import numpy as np

    marks = np.zeros(grid.temp_c.shape, bool)
    place = {pond: at for at, pond in enumerate(grid.ponds)}
    for pond, since, until in spans:
        if pond in place:
            begin = max(since.toordinal() - grid.first_day, 0)
            marks[place[pond], begin : max(until.toordinal() - grid.first_day + 1, 0)] = True
    known = ~np.isnan(grid.temp_c)
    known[:, : max(first - grid.first_day, 0)] = False
    nth = math.ceil(int(known.sum()) / MOST_READINGS) or 1
    if nth > 1:
        turn = np.cumsum(known, 1) + np.arange(len(known))[:, None]
        marks |= known & (turn % nth != 0)
    return marks, nth


def _names(book: Book, ponds: Sequence[UUID]) -> Mapping[UUID, str]:
    wanted = set(ponds)
    return MappingProxyType(
        {
            card.pond.id: f"{card.client.name}, {card.pond.name}"
            for card in (cards(book) if wanted else ())
            if card.pond.id in wanted
        }
    )
