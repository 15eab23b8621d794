"""Short names of clocks and columns of offsets: how far from UTC a row of a logger's file is."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from datetime import datetime, tzinfo
from types import MappingProxyType
from typing import Literal

Per = Literal["h", "min", "s"]

NO_OFFSET = -100_000
"""Stands for the offset of a row that names none [min]."""
_SURE_MIN = {
    "z": 0, "utc": 0, "gmt": 0, "cet": 60, "cest": 120, "mez": 60, "mesz": 120, "eet": 120,
    "eest": 180, "nzst": 720, "nzdt": 780, "aest": 600, "aedt": 660, "acst": 570, "acdt": 630,
    "awst": 480, "akst": -540, "akdt": -480, "hst": -600, "jst": 540, "kst": 540, "sast": 120,
}  # fmt: skip
"""Names that one clock alone goes by [min east of Greenwich] (IANA time zone database)."""
_SEVERAL = (
    "bst", "ist", "wet", "west", "msk", "est", "edt", "cst", "cdt", "mst", "mdt", "pst", "pdt",
    "ast", "adt", "nst", "ndt", "sst", "gst", "hkt", "pht", "wib", "cat", "eat", "wat", "pkt",
)  # fmt: skip
"""Names of more than one clock, or of few: they count where the practice's own zone has them."""
WORDS = "|".join(sorted((*_SURE_MIN, *_SEVERAL), key=len, reverse=True))
ANY_WORD: Mapping[str, int] = MappingProxyType(dict.fromkeys((*_SURE_MIN, *_SEVERAL), 0))
"""Every name, where it matters that there is one and not which."""
_YEARS = (2000, 2010, 2020, 2026)
_HEADING = re.compile(
    r"(?:(?P<zone>utc|gmt|time ?zone|tz|zone|zeitzone|clock)[ _-]?)?"
    r"(?P<offset>offset|diff(?:erence)?)?"
    r"(?:[ ,_]*[(\[]?(?P<per>h|hours?|hrs?|min|minutes|s|sec|seconds)[)\]]?)?",
    re.I,
)
_HOURS = re.compile(r"(?:UTC|GMT)?(?P<sign>[+-]?)(?P<h>\d{1,2})(?::?(?P<m>\d{2}))?", re.I)
_WHOLE = re.compile(r"(?P<sign>[+-]?)(?P<n>\d{1,5})")


def zone_words(zone: tzinfo, *, said: bool = False) -> Mapping[str, int]:
    """Short names of clocks and their offsets from UTC, as a practice means them.

    Parameters
    ----------
    zone
        The practice's time zone; a name that it uses has its offset there.
    said
        A person said how the clock ran: names of more than one clock then say nothing.

    Returns
    -------
    mapping
        Names in small letters to minutes east of Greenwich [min], or to `NO_OFFSET` where the
        clock that was said counts. A name that means more than one clock is missing.

    Examples
    --------
    >>> from zoneinfo import ZoneInfo
    >>> zone_words(ZoneInfo("Europe/London"))["bst"], zone_words(ZoneInfo("Europe/Rome")).get("bst")
    (60, None)
    """
    own: dict[str, set[int]] = {}
    for year in _YEARS:
        for month in range(1, 13):
            at = datetime(year, month, 15, 12, tzinfo=zone)
            name, offset = at.tzname(), at.utcoffset()
            if name and offset is not None and name.casefold() in _SEVERAL:
                own.setdefault(name.casefold(), set()).add(round(offset.total_seconds() / 60))
    words = dict.fromkeys(_SEVERAL, NO_OFFSET) if said else {}
    words |= {name: offsets.pop() for name, offsets in own.items() if len(offsets) == 1}
    return MappingProxyType(words | _SURE_MIN)


def offset_of(cell: str, per: Per, words: Mapping[str, int]) -> int | None:
    """The offset from UTC in a cell that holds nothing else [min], or None where it is none.

    Parameters
    ----------
    cell
        Without blanks at its ends.
    per
        In what a bare number counts.
    words
        From `zone_words`.

    Examples
    --------
    >>> offset_of("+05:30", "h", {}), offset_of("-60", "min", {}), offset_of("CET", "h",
    ...     {"cet": 60})
    (330, -60, 60)
    """
    text = cell.replace("\N{MINUS SIGN}", "-")
    if text.casefold() in words:
        return words[text.casefold()]
    if per != "h":
        whole = _WHOLE.fullmatch(text)
        if whole is not None:
            minutes, rest = divmod(int(whole["n"]), 1 if per == "min" else 60)
            if rest:
                return None
            return _signed(minutes, whole["sign"])
    found = _HOURS.fullmatch(text)
    if found is None or int(found["m"] or 0) > 59:
        return None
    return _signed(60 * int(found["h"]) + int(found["m"] or 0), found["sign"])


def _signed(minutes: int, sign: str) -> int | None:
    if minutes > 14 * 60:
        return None
    return -minutes if sign == "-" else minutes


def offset_column(
    named: Sequence[str], sample: Sequence[Sequence[str]], taken: set[int | None]
) -> tuple[int, Per] | None:
    """The column in which every row names its offset from UTC, and in what its numbers count.

    Parameters
    ----------
    named
        Headings.
    sample
        Some rows.
    taken
        Places of the columns of time.
    """
    for column, title in enumerate(named):
        heading = _HEADING.fullmatch(title.strip())
        if column in taken or heading is None or not (heading["zone"] or heading["offset"]):
            continue
        cells = [row[column] for row in sample if column < len(row) and row[column]]
        said = (heading["per"] or "h")[0].casefold()
        per: Per = {"m": "min", "s": "s"}.get(said, "h")  # type: ignore[assignment]
        signed = heading["zone"] or all(re.search(r"[+-]", cell) for cell in cells)
        if cells and signed and all(offset_of(cell, per, ANY_WORD) is not None for cell in cells):
            return column, per
    return None
