"""Estimates of a book: from the fit at hand and the newest readings, kept until one is new."""

from __future__ import annotations

from collections.abc import Container, Iterable
from dataclasses import dataclass, field, fields, replace
from datetime import datetime
from threading import Lock
from typing import TYPE_CHECKING
from uuid import UUID
from weakref import WeakKeyDictionary
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from store.book.book import Book
from store.book.collector import collector_waiting
from store.book.some_rows import AT_ONCE
from store.warmth.estimate import DAYS_AHEAD, RECENT_DAYS, Estimate, Estimates
from store.warmth.kept.fits import fit_at_hand
from store.warmth.kept.readings import values
from store.warmth.kept.traits import traits
from store.warmth.values import grid_of

if TYPE_CHECKING:
    from store.warmth.fit import Fit

RESTS_ON = (
    "practice", "client", "site", "pond", "water_test", "reading", "logger_day", "logger_reading",
    "air_station", "air_day",
)  # fmt: skip
"""Tables that an estimate rests on."""
_RINGS = 3
"""A pond leans on its neighbours; whether their readings are doubted is asked of their neighbours
in two passes."""


@dataclass(slots=True)
class _Remembered:
    stamp: tuple[str, int] = ("", 0)
    fitted: Fit | None = None
    found: Estimates | None = None
    lock: Lock = field(default_factory=Lock)


_KNOWN: WeakKeyDictionary[Book, _Remembered] = WeakKeyDictionary()
_KNOWN_LOCK = Lock()


def estimates(book: Book, now: datetime) -> Estimates | None:
    """Estimates of all ponds, as of now.

    Parameters
    ----------
    book
        The practice's book.
    now
        The present instant, with a time zone.

    Returns
    -------
    Estimates or None
        None where no fit is at hand. Asked again before anything was written that they rest on,
        it costs nothing.
    """
    fitted = fit_at_hand(book, now)
    if fitted is None:
        return None
    known = _remembered(book)
    with known.lock:  # a list and a page that ask at the same time: the second waits for the first
        stamp = _stamp(book, now)
        if known.found is None or known.stamp != stamp or known.fitted is not fitted:
            zone = book.zone
            with book.reading() as connection, collector_waiting():
                known.found = read_estimates(connection, fitted, zone, now)
            known.stamp, known.fitted = stamp, fitted
        return known.found


def estimates_about(book: Book, pond: UUID, now: datetime) -> Estimates | None:
    """Estimates of one pond and of those that it leans on: the same as those of all, and quicker.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    now
        The present instant, with a time zone.

    Returns
    -------
    Estimates or None
        None where no fit is at hand. Only what they say of `pond` is that of `estimates`; of the
        others less is known here.
    """
    fitted = fit_at_hand(book, now)
    if fitted is None:
        return None
    known = _remembered(book)
    found = known.found
    if found is not None and known.fitted is fitted and known.stamp == _stamp(book, now):
        return found
    zone = book.zone
    with book.reading() as connection:
        fresh = _fresh(connection, fitted, zone, now)
        return read_estimates(connection, near(fitted, pond, fresh=fresh), zone, now)


def estimates_far(
    book: Book, ponds: Iterable[UUID], now: datetime, ahead_days: int
) -> Estimates | None:
    """Estimates of some ponds further ahead than a list needs them; nothing is remembered.

    Parameters
    ----------
    book
        The practice's book.
    ponds
        Keys of the ponds; only what is said of them is that of `estimates`.
    now
        The present instant, with a time zone.
    ahead_days
        How many days after today are told; beyond two weeks it is mostly the season [d].

    Returns
    -------
    Estimates or None
        None where no fit is at hand.
    """
    fitted = fit_at_hand(book, now)
    if fitted is None:
        return None
    zone = book.zone
    with book.reading() as connection:
        fresh = _fresh(connection, fitted, zone, now)
        return read_estimates(connection, near(fitted, *ponds, fresh=fresh), zone, now, ahead_days)


def estimate_of(book: Book, pond: UUID, now: datetime) -> Estimate | None:
    """The estimate of one pond with what it rests on.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    now
        The present instant, with a time zone.

    Returns
    -------
    Estimate or None
        None where there is none; `Estimates.why_not` says why.
    """
    found = estimates_about(book, pond, now)
    return None if found is None else found.told(pond)


def read_estimates(
    connection: Connection,
    fitted: Fit,
    zone: ZoneInfo,
    now: datetime,
    ahead_days: int = DAYS_AHEAD,
) -> Estimates:
    """Estimates of the ponds of a fit, from the readings that the book holds now.

    Parameters
    ----------
    connection
        A reading connection of the book.
    fitted
        The fit.
    zone
        The practice's zone.
    now
        The present instant, with a time zone.
    ahead_days
        How many days after today are told [d].

    Returns
    -------
    Estimates
        A pond that was struck through since the fit, or merged into another, or is said to be
        heated or indoors by now, has none, and others do not lean on it.
    """
    import numpy as np

    today = now.astimezone(zone).date().toordinal()
    wanted = fitted.ponds if len(fitted.ponds) <= AT_ONCE else None
    known = traits(connection, wanted)
    follows = {
        one for one, apart in zip(fitted.ponds, fitted.apart.tolist(), strict=True)
        if not apart and one in known and not known[one].apart
    }  # fmt: skip
    found = values(connection, zone, today - RECENT_DAYS + 1, today, wanted)
    grid = grid_of(
        [one for one in found if one.pond in follows],
        fitted.ponds,
        today - RECENT_DAYS + 1,
        today,
    )
    apart = np.array([one not in follows for one in fitted.ponds], bool)
    return Estimates(replace(fitted, apart=apart), grid, today, ahead_days)


def near(fitted: Fit, *ponds: UUID, fresh: Container[UUID] | None = None) -> Fit:
    """A fit of some ponds and of all that their estimates rest on.

    Parameters
    ----------
    fitted
        A fit of all ponds.
    *ponds
        The ponds; without any of them in the fit the answer is a fit of no pond.
    fresh
        Ponds with readings that the fit has not seen: only those have to be held against their own
        neighbours. None for any.
    """
    import numpy as np

    wanted = frozenset(ponds)
    some = {at for at, one in enumerate(fitted.ponds) if one in wanted}
    edge = some
    for ring in range(_RINGS):
        asking = (
            edge if ring == 0 or fresh is None else {at for at in edge if fitted.ponds[at] in fresh}
        )
        edge = set(fitted.neighbours[sorted(asking)].ravel().tolist()) - some - {-1}
        some = some | edge
    kept = np.array(sorted(some), int)
    place = np.full(len(fitted.ponds) + 1, -1)  # the last place is that of none
    place[kept] = np.arange(len(kept))
    doubted = fitted.doubted[np.isin(fitted.doubted[:, 0], kept)].copy()
    doubted[:, 0] = place[doubted[:, 0]]
    parts = {
        one.name: getattr(fitted, one.name)[kept]
        for one in fields(fitted)
        if one.name not in ("ponds", "until", "doubted")
    }
    parts["neighbours"] = place[parts["neighbours"]]
    names = tuple(fitted.ponds[at] for at in kept.tolist())
    return replace(fitted, ponds=names, doubted=doubted, **parts)


def _fresh(connection: Connection, fitted: Fit, zone: ZoneInfo, now: datetime) -> frozenset[UUID]:
    """Ponds with readings that the fit may not have seen."""
    today = now.astimezone(zone).date().toordinal()
    return frozenset(one.pond for one in values(connection, zone, fitted.until, today))


def _stamp(book: Book, now: datetime) -> tuple[str, int]:
    return book.stamp(*RESTS_ON), book.today(now).toordinal()


def _remembered(book: Book) -> _Remembered:
    with _KNOWN_LOCK:
        return _KNOWN.setdefault(book, _Remembered())
