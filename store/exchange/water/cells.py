"""Cells of readings as keepers and meters write them, before the typed line reads them."""

from __future__ import annotations

import re

from store.errors import BadInput
from store.exchange.columns.day_words import PART_OF_DAY
from store.text import plain

_NO_VALUE = re.compile(
    r"ov(?:e?r|er[ -]?range|f|l)?|o\.?r\.?|-{3,}|_{2,}|\.{3,}|\+{3,}|\*{2,}|err(?:or)?\.?|"
    r"e[0-9]{1,2}|"
    r"#?n/?a!?|#value!|#div/0!|#ref!|#num!|#null!|#name\?|nan|null|out of range|off scale|"
    r"ur|under[ -]?range|under|undr|uflo|oflo|hi|lo|ol|over ?load|over ?flow|"
    r"(?:above|below|beyond) (?:the )?range",
    re.IGNORECASE,
)
_DITTO = re.compile(r"[\"”“″〃']{1,2}|-[\"”″]-|ditto|dito|do\.|idem|same(?: as above)?", re.I)
_THOUSAND = re.compile(r"[0-9]{1,3}\.[0-9]{3}")
_COMMA = re.compile(r"[<>~]?[ ]?[0-9]+,[0-9]{1,2}")
_BARE = re.compile(r"[<>~]?\s*-?[0-9]*[.,]?[0-9]+\s*\+?")
_QUIET = frozenset({"n/a", "na", "n.a.", "-", "--"})


def is_bare(cell: str) -> bool:
    """Whether a cell is a number alone, so that its unit has to be known from elsewhere.

    Parameters
    ----------
    cell
        The cell.
    """
    return bool(_BARE.fullmatch(cell.strip()))


def is_ditto(cell: str) -> bool:
    """Whether a cell says by a mark or a word that it is as the one above.

    Parameters
    ----------
    cell
        The cell.
    """
    return bool(_DITTO.fullmatch(cell.strip()))


def has_decimal_comma(cell: str) -> bool:
    """Whether a cell is a number with a comma as its decimal mark.

    Parameters
    ----------
    cell
        The cell.
    """
    return bool(_COMMA.fullmatch(cell.strip()))


def as_reading(cell: str, *, commas: bool) -> tuple[str, str]:
    """The part of a cell that is a reading, and what is kept of it in the note.

    A meter's word for no value (`OVR`, `----`) is no reading and is kept as it stands; `7.4(morn)`
    is 7.4, with the whole kept.

    Parameters
    ----------
    cell
        The cell.
    commas
        The sheet writes decimal commas, so that `1.234` may be a thousand and more.

    Returns
    -------
    tuple of str, str
        What the typed line is to read, and the cell for the note or nothing.

    Raises
    ------
    BadInput
        When the cell says as above, or may be two numbers.

    Examples
    --------
    >>> as_reading("7.4(morn)", commas=False)
    ('7.4', '7.4(morn)')
    >>> as_reading("OVR", commas=False)
    ('', 'OVR')
    """
    text = " ".join(plain(cell, lines=True).split())
    if text.casefold() in _QUIET:
        return text, ""
    if _NO_VALUE.fullmatch(text):
        return "", text
    if is_ditto(text):
        raise BadInput(f"“{text:.40}” says as above. Write the reading itself.")
    if commas and _THOUSAND.fullmatch(text):
        whole = text.replace(".", "")
        raise BadInput(
            f"“{text}” stands in a sheet with decimal commas: {whole}, or "
            f"{text.replace('.', ',')}? Write the one that is meant."
        )
    found = PART_OF_DAY.search(text)
    if found is not None and any(letter.isdigit() for letter in text[: found.start()]):
        return text[: found.start()].strip(" ,("), text
    return text, ""
