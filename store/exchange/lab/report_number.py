"""The number of a report and which version of it stands there: `26-1188`, `26-1188 v2`."""

from __future__ import annotations

import re
from functools import lru_cache
from typing import NamedTuple

from store.text import plain

_VERSION = re.compile(
    r"[ ,;/_-]*[(\[]?\b(?:v|ver|vers|version|rev|revision|issue|amendment|amended)\.?[ ]?"
    r"(?P<number>[0-9]{1,2})[)\]]?$",
    re.IGNORECASE,
)
_GLUED = re.compile(r"(?<=[0-9])[ ]?v(?P<number>[0-9]{1,2})$", re.IGNORECASE)
_AMENDED = re.compile(r"[ ,;/_-]*[(\[]?\b(?:amended|corrected|revised)\b(?: report)?[)\]]?$", re.I)
_PARTS = re.compile(r"[^\W\d_]+|\d+")
_ALONE = re.compile(r"(?:[a-z ]+)?\.?[ ]?(?P<number>[0-9]{1,2})(?:\.0)?", re.IGNORECASE)


class ReportNumber(NamedTuple):
    """A report's number and its version, 1 for the first."""

    number: str
    version: int

    @property
    def shown(self) -> str:
        """As the book keeps it; the first version goes without a word."""
        return f"{self.number} v{self.version}" if self.version > 1 else self.number

    @property
    def folded(self) -> str:
        """The number as it is compared, see `number_folded`."""
        return number_folded(self.number)


@lru_cache(maxsize=20_000)
def report_number(text: str, version: str = "") -> ReportNumber:
    """The number of a report and its version, out of one cell or two.

    Parameters
    ----------
    text
        The cell with the number, perhaps with the version behind it.
    version
        The cell with the version, where the file has one.

    Returns
    -------
    ReportNumber
        `amended` without a number is the second version.

    Examples
    --------
    >>> report_number("26-1188 (v2)"), report_number("26/1188", "amended").shown
    (ReportNumber(number='26-1188', version=2), '26/1188 v2')
    """
    shown = " ".join(plain(text).split())
    found = _VERSION.search(shown) or _GLUED.search(shown)
    said = 1
    if found is not None and found.start() > 0:
        shown, said = shown[: found.start()].strip(), int(found["number"])
    elif (amended := _AMENDED.search(shown)) is not None and amended.start() > 0:
        shown, said = shown[: amended.start()].strip(), 2
    word = " ".join(plain(version).split())
    alone = _ALONE.fullmatch(word)
    if alone is not None:
        said = max(said, int(alone["number"]))
    elif re.match(r"amended|corrected|revised", word, re.IGNORECASE):
        said = max(said, 2)
    # A version of nothing finds no report again, so it is none.
    return ReportNumber(shown, max(said, 1) if number_folded(shown) else 1)


@lru_cache(maxsize=20_000)
def number_folded(text: str) -> str:
    """A number or label as it is compared: its letters and figures, whatever parts them.

    Parameters
    ----------
    text
        As typed.

    Examples
    --------
    >>> number_folded("26/1188B"), number_folded("26 1188-b"), number_folded("261188-B")
    ('26-1188-b', '26-1188-b', '261188-b')
    """
    return "-".join(_PARTS.findall(plain(text).casefold()))
