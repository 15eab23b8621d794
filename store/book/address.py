"""Which book is meant, told before the database is loaded, and how no password of it is shown."""

from __future__ import annotations

import re
from collections.abc import Mapping
from pathlib import Path
from urllib.parse import quote, quote_plus, unquote, unquote_plus

FILE_NAME = "practice.pondround"
_HIDDEN = "***"
_SECRETS = r"(?!passfile\b)\w*(?:pass|pwd|secret)\w*"
# In an address; what stands before the last @ may hold an @ of its own where it was not encoded.
_IN_ADDRESS = re.compile(
    r"(?P<before>[a-z][\w+.-]*://[^\s/?#:@]*:)(?P<secret>[^\s/?#]*)(?=@)", re.IGNORECASE
)
_IN_QUERY = re.compile(rf"(?P<before>[?&]{_SECRETS}=)(?P<secret>[^&\s#'\"]*)", re.IGNORECASE)
_IN_WORDS = re.compile(
    rf"(?P<before>\b{_SECRETS}['\"]?\s*[=:]\s*)(?P<secret>'[^']*'|\"[^\"]*\"|[^\s,;&)}}'\"]+)",
    re.IGNORECASE,
)
_PLACES = (_IN_ADDRESS, _IN_QUERY, _IN_WORDS)


def book_url(given: str | None, environ: Mapping[str, str], data_dir: Path) -> str:
    """Which book is meant: the one given, else `PONDROUND_BOOK`, else the file in `data_dir`.

    Parameters
    ----------
    given
        A path or database address, or None.
    environ
        The environment.
    data_dir
        The user's data folder.

    Returns
    -------
    str
        A path, or an address as SQLAlchemy writes it. It may hold a password: show `Book.name`.

    Examples
    --------
    >>> book_url(None, {"PONDROUND_BOOK": "ponds.pondround"}, Path("data"))
    'ponds.pondround'
    """
    return given or environ.get("PONDROUND_BOOK") or str(data_dir / FILE_NAME)


def passwords_in(address: str) -> tuple[str, ...]:
    """The passwords that an address holds, as they are written there.

    Parameters
    ----------
    address
        A path or the address of a database.

    Returns
    -------
    tuple of str
        Empty for a path.

    Examples
    --------
    >>> passwords_in("postgresql://ada:pond%40night@db/ponds?sslmode=require&password=x")
    ('pond%40night', 'x')
    """
    if "://" not in address:
        return ()
    return tuple(
        found["secret"]
        for place in (_IN_ADDRESS, _IN_QUERY)
        for found in place.finditer(address)
        if found["secret"]
    )


def without_passwords(text: str, *addresses: str) -> str:
    """A text in which no password can be read, whatever it tells of.

    Parameters
    ----------
    text
        A sentence, an address, or the particulars of a fault.
    *addresses
        Those whose passwords are left out wherever they stand, encoded or not.

    Returns
    -------
    str
        With `***` in their places.

    Examples
    --------
    >>> without_passwords("no answer: postgresql://ada:pond%40night@db/ponds?password=x")
    'no answer: postgresql://ada:***@db/ponds?password=***'
    >>> without_passwords("he typed pond@night", "postgresql://ada:pond%40night@db/ponds")
    'he typed ***'
    """
    for place in _PLACES:
        text = place.sub(lambda found: found["before"] + _HIDDEN, text)
    known = {one for address in addresses for one in passwords_in(address)}
    plainly = {unquote(one) for one in known} | {unquote_plus(one) for one in known}
    encoded = {quote_plus(one) for one in plainly} | {quote(one, safe="") for one in plainly}
    for secret in sorted(known | plainly | encoded, key=len, reverse=True):
        text = text.replace(secret, _HIDDEN)
    return text
