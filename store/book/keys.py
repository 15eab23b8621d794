"""Keys of rows, made where the row is written, so that two copies of a book can be merged."""

from __future__ import annotations

import secrets
import threading
from collections import OrderedDict
from datetime import UTC, datetime, timedelta
from uuid import UUID

from store.errors import BadInput

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MILLISECOND = timedelta(milliseconds=1)
_REMEMBERED = 4096
"""Instants whose order is kept, where others come between them."""


def new_key(at: datetime) -> UUID:
    """A fresh key that sorts by the instant it was made.

    A UUID of version 7: 48 bits of milliseconds since 1970, the rest random. Keys that one program
    makes for the same millisecond sort in that order, also where other instants came between:
    the rest then grows by a random step, so that rows stay in the order of being entered.

    Parameters
    ----------
    at
        The instant of writing, with a time zone, 1970 or later.

    Returns
    -------
    UUID
        Never the same twice.

    Raises
    ------
    BadInput
        If `at` has no time zone or lies before 1970.

    References
    ----------
    RFC 9562 (2024), Universally Unique IDentifiers, sections 5.7 and 6.2.

    Examples
    --------
    >>> new_key(datetime(2026, 3, 1, 7, 30, tzinfo=UTC)).version
    7
    """
    if at.tzinfo is None:
        raise BadInput("A key needs an instant with a time zone; nothing was saved.")
    milliseconds = (at - _EPOCH) // _MILLISECOND
    if not 0 <= milliseconds < 1 << 48:
        raise BadInput("A key needs an instant after 1970; nothing was saved.")
    tail = _TAILS.next_for(milliseconds)
    high = milliseconds << 16 | 0x7000 | tail >> 62
    low = 0b10 << 62 | tail & (1 << 62) - 1
    return UUID(int=high << 64 | low)


def made_at(key: UUID) -> datetime:
    """The instant for which `new_key` made a key.

    Parameters
    ----------
    key
        A UUID of version 7.

    Returns
    -------
    datetime
        In UTC, to the millisecond.
    """
    return _EPOCH + (key.int >> 80) * _MILLISECOND


class _Tails:
    """The 74 bits after an instant; they grow each time the same instant comes again."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._of: OrderedDict[int, int] = OrderedDict()

    def next_for(self, milliseconds: int) -> int:
        with self._lock:
            last = self._of.pop(milliseconds, None)
            # The highest bit stays free, so that growing never runs over.
            tail = secrets.randbits(73) if last is None else last + 1 + secrets.randbits(32)
            self._of[milliseconds] = tail
            if len(self._of) > _REMEMBERED:
                self._of.popitem(last=False)
            return tail


_TAILS = _Tails()
