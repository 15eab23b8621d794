"""Keys of rows, made where the row is written, so that two copies of a book can be merged."""

from __future__ import annotations

import secrets
from datetime import UTC, datetime, timedelta
from uuid import UUID

from store.errors import BadInput

_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MILLISECOND = timedelta(milliseconds=1)


def new_key(at: datetime) -> UUID:
    """A fresh key that sorts by the instant it was made.

    A UUID of version 7: 48 bits of milliseconds since 1970, the rest random. Keys of one
    millisecond come in no particular order.

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
    RFC 9562 (2024), Universally Unique IDentifiers, section 5.7.

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
    high = milliseconds << 16 | 0x7000 | secrets.randbits(12)
    low = 0b10 << 62 | secrets.randbits(62)
    return UUID(int=high << 64 | low)
