"""Words without capitals, accents and marks, for comparing."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

_UNFOLDED = str.maketrans({"ø": "o", "ł": "l", "đ": "d", "ð": "d", "þ": "th", "æ": "ae",
                           "œ": "oe", "ı": "i", "'": None, "’": None, "ʼ": None,
                           ".": " "})  # fmt: skip
_WORD = re.compile(r"[^\W_]+")


@lru_cache(maxsize=65_536)
def words(text: str) -> tuple[str, ...]:
    """The words of a text as they are compared.

    Parameters
    ----------
    text
        A name or an address.

    Returns
    -------
    tuple of str
        In their order.

    Examples
    --------
    >>> words("O’Brien-Lützow, J.A.")
    ('obrien', 'lutzow', 'j', 'a')
    """
    apart = unicodedata.normalize("NFKD", text.casefold().translate(_UNFOLDED))
    return tuple(_WORD.findall("".join(one for one in apart if not unicodedata.combining(one))))


def squeezed(text: str) -> str:
    """The text with single blanks, none at its ends.

    Parameters
    ----------
    text
        As it stood in a cell.
    """
    return " ".join(text.split())


def choice_of(text: str) -> frozenset[str]:
    """Words and phrases that are written in one text, parted by strokes.

    Parameters
    ----------
    text
        Such as `east sussex|kent`.
    """
    return frozenset(text.split("|"))
