"""A value of the book as a cell of a file, and back again without loss.

Spreadsheets take a cell that begins with = + - @ for a formula. Before such a text an apostrophe is
set, and one before every text that begins with an apostrophe or a blank, so that taking one away
gives back exactly what stood there. The same mark stands behind a line feed, tab or semicolon
within a text where one of those signs follows, since a spreadsheet that parts cells there would
begin a new one. Blanks and quotes before the sign change nothing: some spreadsheets trim blanks,
and one that parts a line at its semicolons takes the doubled quotes away. Numbers are never marked:
a negative number stays a number.
"""

from __future__ import annotations

import json
import math
import re
from collections.abc import Callable, Sequence
from contextlib import suppress
from datetime import UTC, date, datetime, time, timedelta
from functools import lru_cache
from typing import Any
from uuid import UUID

from sqlalchemy import JSON, Boolean, Column, Double, Integer, Time

from store.book.columns import Day, Instant, Key
from store.book.kept_json import kept_json
from store.errors import BadInput
from store.text import plain, plain_json

MARK = "'"
_SIGNS = "=+\\-@＝＋－＠"
_AHEAD = rf"(?:[{MARK}\"]|[^\S\t\r\n])*+[{_SIGNS}]"
"""A sign, and what may stand before it without keeping it from being the first of a cell."""
_FIRST = re.compile(rf"\A(?:[{MARK}\s]|{_AHEAD})")
_RISKY = re.compile(rf"\A(?:[{MARK}\s]|{_AHEAD})|[;\t\r\n]{_AHEAD}")
_WITHIN = re.compile(rf"(?<=[;\t\r\n])(?={_AHEAD})")
_MARKED = re.compile(rf"(?<=[;\t\r\n]){MARK}(?={_AHEAD})")
_IN_JSON = re.compile(r"(;(?:[\"']|[^\S\t\r\n])*+)([=+\-@＝＋－＠])")
_EPOCH = datetime(1970, 1, 1, tzinfo=UTC)
_MILLISECOND = timedelta(milliseconds=1)
_DAY_MS = 86_400_000
_KEY_LENGTH = 36

Shown = Callable[[Any], Any]
Understood = Callable[[str], Any]


def safe(text: str) -> str:
    """A text that no spreadsheet takes for a formula; `unsafe` gives back what stood there.

    Parameters
    ----------
    text
        Anything.

    Examples
    --------
    >>> safe("=SUM(A1:A9)"), safe("'quoted'"), safe("koi; =1"), safe("koi;=1")
    ("'=SUM(A1:A9)", "''quoted'", "koi;' =1", "koi;'=1")
    """
    if _RISKY.search(text) is None:
        return text
    within = _WITHIN.sub(MARK, text)
    return MARK + within if _FIRST.search(text) else within


def unsafe(cell: str) -> str:
    """The text that `safe` made a cell of.

    Parameters
    ----------
    cell
        As it stands in a file.

    Examples
    --------
    >>> unsafe(safe("'=1")), unsafe("plain")
    ("'=1", 'plain')
    """
    if MARK not in cell:
        return cell
    return _MARKED.sub("", cell.removeprefix(MARK))


@lru_cache(maxsize=4096)
def key_text(raw: bytes | UUID) -> str:
    """A key as text, such as 0195…-…; from the bytes of SQLite or the type of PostgreSQL.

    Parameters
    ----------
    raw
        As the database gives it.
    """
    if isinstance(raw, UUID):
        return str(raw)
    text = raw.hex()
    return f"{text[:8]}-{text[8:12]}-{text[12:16]}-{text[16:20]}-{text[20:]}"


@lru_cache(maxsize=4096)
def instant_text(at_ms: int) -> str:
    """An instant of the book as ISO 8601 in UTC with its offset.

    Parameters
    ----------
    at_ms
        Milliseconds since 1970 [ms].

    Examples
    --------
    >>> instant_text(1_773_473_400_000), instant_text(-1)
    ('2026-03-14T07:30:00+00:00', '1969-12-31T23:59:59.999+00:00')
    """
    days, rest = divmod(at_ms, _DAY_MS)
    seconds, parts = divmod(rest, 1000)
    minutes, seconds = divmod(seconds, 60)
    hours, minutes = divmod(minutes, 60)
    fraction = f".{parts:03}" if parts else ""
    return f"{_day_text(days)}T{hours:02}:{minutes:02}:{seconds:02}{fraction}+00:00"


@lru_cache(maxsize=4096)
def _day_text(days: int) -> str:
    return (date(1970, 1, 1) + timedelta(days=days)).isoformat()


@lru_cache(maxsize=1024)
def _time_text(raw: str | time) -> str:
    at = time.fromisoformat(raw) if isinstance(raw, str) else raw
    whole_minutes = not at.second and not at.microsecond
    return at.isoformat("minutes") if whole_minutes else at.isoformat()


def _yes_no(raw: Any) -> str:
    return "yes" if raw else "no"


def _in_order(value: Any) -> Any:
    """Named values by name: PostgreSQL keeps no order of theirs, and both write the same file."""
    return json.loads(json.dumps(value, sort_keys=True))


def _json_cell(value: Any) -> str:
    text = json.dumps(value, ensure_ascii=False, allow_nan=False, sort_keys=True)
    return plain_json(_IN_JSON.sub(lambda found: f"{found[1]}\\u{ord(found[2]):04x}", text))


def _looked_at(text: str) -> str:
    return safe(plain(text, lines=True))


def cell_of(column: Column[Any], *, sqlite: bool, back: bool = True) -> Shown | None:
    """What makes a cell of a raw value of a column; None where the value can stand as it is.

    Parameters
    ----------
    column
        The column.
    sqlite
        Whether the raw values come from SQLite, which keeps JSON as text.
    back
        Whether the file comes back into a book and keeps what stood there. In one that is only
        looked at, what could drive a terminal is replaced; only a program past this one can have
        written it.
    """
    kind = column.type
    if isinstance(kind, Key):
        return key_text
    if isinstance(kind, Instant):
        return instant_text
    if isinstance(kind, Boolean):
        return _yes_no
    if isinstance(kind, Double | Integer):
        return None
    if isinstance(kind, Day):
        return None if sqlite else date.isoformat
    if isinstance(kind, Time):
        return _time_text
    if isinstance(kind, JSON):
        return (lambda raw: _json_cell(kept_json(raw))) if sqlite else _json_cell
    return safe if back else _looked_at


def value_of(column: Column[Any], *, sqlite: bool) -> Shown | None:
    """What makes a value for JSON of a raw value of a column; None where it can stand as it is.

    Parameters
    ----------
    column
        The column.
    sqlite
        Whether the raw values come from SQLite, which keeps JSON as text.
    """
    kind = column.type
    if isinstance(kind, Boolean):
        return bool
    if isinstance(kind, JSON):
        return (lambda raw: _in_order(kept_json(raw))) if sqlite else _in_order
    made = cell_of(column, sqlite=sqlite)
    return None if made is safe else made


def raw_of(column: Column[Any], *, sqlite: bool) -> Understood:
    """What makes of a cell the value as the database stores it; the inverse of `cell_of`.

    Parameters
    ----------
    column
        The column.
    sqlite
        Whether it goes into SQLite: keys are bytes there, JSON and times text of its own form.

    Returns
    -------
    Callable
        Gives None for an empty cell of a column that may be unknown, and raises `BadInput` with
        half a sentence for a cell that is no such value.
    """
    kind = column.type
    made: Understood
    if isinstance(kind, Key):
        made = _key_bytes if sqlite else _key
    elif isinstance(kind, Instant):
        made = _instant_ms
    elif isinstance(kind, Boolean):
        made = _truth_1 if sqlite else _truth
    elif isinstance(kind, Double):
        made = _number
    elif isinstance(kind, Integer):
        made = _whole
    elif isinstance(kind, Day):
        made = _day
    elif isinstance(kind, Time):
        made = _time_long if sqlite else _time
    elif isinstance(kind, JSON):
        made = _json
    else:
        return _text_or_none if column.nullable else unsafe
    return (lambda cell: made(cell) if cell else None) if column.nullable else made


def raw_cells(column: Column[Any], of: Understood, cells: Sequence[str]) -> Sequence[Any]:
    """Many cells of one column as the database stores them.

    Parameters
    ----------
    column
        The column.
    of
        What `raw_of` gave for it.
    cells
        As they stand in a file.
    """
    if column.nullable and not any(cells):
        return (None,) * len(cells)
    if of is unsafe and MARK not in "".join(cells):
        return cells
    return list(map(of, cells))


def _no(cell: str, what: str) -> BadInput:
    return BadInput(f"“{plain(cell):.60}” is {what}")


def _text_or_none(cell: str) -> str | None:
    return unsafe(cell) if cell else None


@lru_cache(maxsize=4096)
def _key_bytes(cell: str) -> bytes:
    with suppress(ValueError):
        raw = bytes.fromhex(cell.replace("-", ""))
        if len(raw) == 16 and len(cell) == _KEY_LENGTH:
            return raw
    raise _no(cell, "no key")


def _key(cell: str) -> str:
    _key_bytes(cell)
    return cell


@lru_cache(maxsize=4096)
def _instant_ms(cell: str) -> int:
    with suppress(ValueError):
        at = datetime.fromisoformat(cell)
        if at.tzinfo is not None:
            since, rest = divmod(at - _EPOCH, _MILLISECOND)
            if not rest:
                return since
    raise _no(cell, "no instant with an offset, such as 2026-03-14T07:30:00+00:00")


def _truth(cell: str) -> bool:
    if cell not in ("yes", "no"):
        raise _no(cell, "neither yes nor no")
    return cell == "yes"


def _truth_1(cell: str) -> int:
    return int(_truth(cell))


def _number(cell: str) -> float:
    try:
        number = float(cell)
    except ValueError:
        raise _no(cell, "no number") from None
    if not math.isfinite(number):
        raise _no(cell, "no number")
    return number


def _whole(cell: str) -> int:
    with suppress(ValueError):
        return int(cell)
    raise _no(cell, "no whole number")


@lru_cache(maxsize=4096)
def _day(cell: str) -> str:
    with suppress(ValueError):
        return date.fromisoformat(cell).isoformat()
    raise _no(cell, "no day, such as 2026-03-14")


@lru_cache(maxsize=1024)
def _time(cell: str) -> str:
    with suppress(ValueError):
        at = time.fromisoformat(cell)
        if at.tzinfo is None:
            return at.isoformat()
    raise _no(cell, "no time of day, such as 07:30")


def _time_long(cell: str) -> str:
    return time.fromisoformat(_time(cell)).strftime("%H:%M:%S.%f")


def _json(cell: str) -> str:
    try:
        # Written as the book writes it itself; numbers that JSON does not know are refused.
        return json.dumps(json.loads(cell), allow_nan=False)
    except (ValueError, RecursionError):
        raise _no(cell, "no JSON") from None
