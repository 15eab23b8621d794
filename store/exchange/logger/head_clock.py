"""What the title lines and headings of a logger's file say of its clock."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from zoneinfo import ZoneInfo

from store.exchange.logger.zones import WORDS

_OFFSET = re.compile(r"(?:GMT|UTC)\s*\(?([+-−])\s?(\d{1,2})(?::?(\d{2}))?", re.I)
_OFFSET_WORDS = re.compile(r"utc|gmt|time ?zone|zeitzone|fuseau|huso", re.I)
_BARE_OFFSET = re.compile(r"([+-−]?)(\d{1,2})(?::(\d{2}))?(?: ?(?:h|hours?|std\.?))?")
_BARE_UTC = re.compile(r"(?:utc|gmt|z)", re.I)
_WORD = re.compile(rf"\b({WORDS.upper()})\b")
_ZONE_NAME = re.compile(r"\b(?:[A-Z][A-Za-z]+)/(?:[A-Z][A-Za-z_]+)(?:/[A-Z][A-Za-z_]+)?\b")


@dataclass(frozen=True, slots=True)
class ClockSaid:
    """One of these, or nothing."""

    offset_min: int | None = None
    """Minutes east of Greenwich."""
    zone: str = ""
    """The name of a time zone."""
    word: str = ""
    """The short name of a clock, in small letters."""


def clock_said(titles: Sequence[str], headings: Sequence[str]) -> ClockSaid:
    """What a file says of its clock; nothing where it says two things.

    Parameters
    ----------
    titles
        The lines before the header.
    headings
        Of the columns of day and time; they go before title lines.

    Examples
    --------
    >>> clock_said(["UTC offset;+1"], ["Time"]).offset_min, clock_said([], ["Time, CET"]).word
    (60, 'cet')
    """
    for heading in headings:
        if found := _OFFSET.search(heading):
            return ClockSaid(_minutes(found))
        if re.search(r"\b(?:utc|gmt)\b", heading, re.I):
            return ClockSaid(0)
        if word := _WORD.search(heading):
            return ClockSaid(word=word[1].casefold())
    said = {one for line in titles for one in _of_line(line)}
    return said.pop() if len(said) == 1 else ClockSaid()


def _of_line(line: str) -> set[ClockSaid]:
    if found := _OFFSET.search(line):
        return {ClockSaid(_minutes(found))}
    if not _OFFSET_WORDS.search(line):
        return set()
    if zone := _ZONE_NAME.search(line):
        return {ClockSaid(zone=zone[0])} if _is_zone(zone[0]) else set()
    if bare := _bare_offsets(line):
        return {ClockSaid(offset) for offset in bare}
    words = {one.casefold() for one in _WORD.findall(line)} - {"utc", "gmt"}
    return {ClockSaid(word=word) for word in words}


def _is_zone(name: str) -> bool:
    try:
        ZoneInfo(name)
    except (OSError, ValueError, LookupError):
        return False
    return True


def _bare_offsets(line: str) -> set[int]:
    """Offsets in a line that speaks of zones: `UTC offset;+1`."""
    offsets = set()
    for part in re.split(r"[:;,=\t](?!\d\d)", line)[1:]:
        text = part.strip(" \"'()[]")
        if bare := _BARE_OFFSET.fullmatch(text):
            offsets.add(_minutes(bare))
        elif _BARE_UTC.fullmatch(text):
            offsets.add(0)
    return offsets


def _minutes(found: re.Match[str]) -> int:
    minutes = 60 * int(found[2]) + int(found[3] or 0)
    return -minutes if found[1] in ("-", "−") else minutes
