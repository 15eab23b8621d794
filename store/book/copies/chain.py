"""The chain through the log: what is hashed, and how.

A link's hash covers the hash of the link before it, where it stands, its line of the log and the
readings that came with it, so that a line that is altered, taken out or put in between breaks the
chain. It shows that somebody wrote past the application; it cannot stop one who reckons all hashes
anew, which is why the newest hash is worth keeping outside the book.

References
----------
FIPS PUB 180-4 (2015), Secure Hash Standard, SHA-256. RFC 8785 (2020), JSON Canonicalization Scheme:
its idea of sorted names and one way to write a number, not its every rule.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from store.book.columns import milliseconds

BEGINNING = ""
"""What stands before the first link of a copy."""
_EXACT = 1 << 53


@dataclass(frozen=True, slots=True)
class Line:
    """A line of the log as it is hashed: keys of rows as text, as the log keeps them."""

    id: UUID
    at: datetime
    by: UUID
    table_name: str
    row_id: UUID
    rev: int
    what: str
    before: Mapping[str, Any] | None
    after: Mapping[str, Any] | None
    why: str


@dataclass(frozen=True, slots=True)
class Link:
    """Where a line stands in the chain of one copy."""

    copy: UUID
    nth: int
    seen: tuple[UUID, ...]
    readings: str
    prior: str


def link_hash(line: Line, link: Link) -> str:
    """The hash of one link.

    Parameters
    ----------
    line
        Of the log.
    link
        Its place.

    Returns
    -------
    str
        SHA-256 in 64 hexadecimal digits.
    """
    return _sha256([
        link.prior, str(link.copy), link.nth, sorted(map(str, link.seen)), link.readings,
        str(line.id), milliseconds(line.at), str(line.by), line.table_name, str(line.row_id),
        line.rev, line.what, _one_way(line.before), _one_way(line.after), line.why,
    ])  # fmt: skip


def readings_hash(rows: Iterable[Sequence[Any]]) -> str:
    """The hash of the readings of one water test.

    Parameters
    ----------
    rows
        For each `parameter, value, low, high, bound, typed, unit, form`, in any order.

    Returns
    -------
    str
        SHA-256 in 64 hexadecimal digits; empty where there is no reading.
    """
    listed = sorted(
        [[_one_way(value) for value in row] for row in rows], key=lambda row: str(row[0])
    )
    return _sha256(listed) if listed else ""


READING = ("parameter", "value", "low", "high", "bound", "typed", "unit", "form")
"""The columns of a reading that are hashed, in order."""


def _sha256(value: Any) -> str:
    text = json.dumps(value, ensure_ascii=True, sort_keys=True, separators=(",", ":"))
    return hashlib.sha256(text.encode("ascii")).hexdigest()


def _one_way(value: Any) -> Any:
    """Numbers as both databases give them: 5 and 5.0 are one, as are 1e300 and its digits."""
    if value is None or isinstance(value, str | bool):
        return value
    if isinstance(value, float) and value.is_integer() and abs(value) < _EXACT:
        return int(value)
    if isinstance(value, int) and abs(value) >= _EXACT:
        return float(value)
    if isinstance(value, Mapping):
        return {str(name): _one_way(one) for name, one in value.items()}
    if isinstance(value, list | tuple):
        return [_one_way(one) for one in value]
    return value
