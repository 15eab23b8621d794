"""Telephone numbers out of a cell: two in one field, notes among them, digits for comparing."""

from __future__ import annotations

import re
from dataclasses import dataclass

from store.exchange.catch_up.folding import squeezed
from store.text import plain

FEWEST_DIGITS, MOST_DIGITS = 6, 15
"""Digits of a number that can be rung: local ones have six, ITU-T E.164 allows fifteen."""
_COMPARED = 7
"""Digits at the end by which numbers are looked for; the rest may be codes of country and area."""
_MOST_CODE = 4
"""Digits that a code of the country with its 00 adds in front."""

# An area code of German and Austrian writing may end with a stroke: 030/123456, 0172/1234567.
_NUMBER = re.compile(
    r"(?<![\w.])(?P<number>\+?\(?0\d{1,4}\)?\s?/\s?\d[\d\s\-]{3,}\d(?!\s*/?\d)"
    r"|\+?\(?\d(?:[\d().\-\u2013]|[ \u00a0](?=[\d(]))*\d)"
    r"(?P<inner>\s*(?:extension|extn|ext|x)\.?\s*\d{1,6}|/\d{1,2}(?!\d))?(?!\w)",
    re.IGNORECASE,
)
_POWER = re.compile(r"\d[.,]\d+[eE]\+?\d+")
_LABEL = re.compile(
    r"\b(?:t|tel|telephone|phone|ph|m|mob|mobile|cell|h|home|w|work|office|day|eve|evenings?|f)"
    r"(?:\s*(?:no|number))?\s*[.:]+|^\s*(?:tel|telephone|phone|mob|mobile|home|work)\s*$",
    re.IGNORECASE,
)
_BETWEEN = re.compile(r"^[\s/;,|&+]*(?:or|and|oder|und)?[\s/;,|&+]*$", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Telephones:
    """The numbers of a cell as typed, what else stood there, and what could not be a number."""

    numbers: tuple[str, ...]
    note: str = ""
    spoilt: str = ""
    """A number that a spreadsheet turned into a power of ten; its digits are gone."""


def telephones(text: str) -> Telephones:
    """The telephone numbers of a cell.

    Parameters
    ----------
    text
        The cell.

    Returns
    -------
    Telephones
        Every letter and figure of the cell is in a number or in the note, labels such as `mob:`
        left out.

    Examples
    --------
    >>> telephones("01632 960111 / 07700 900222 (ask for Mrs Alder)")
    Telephones(numbers=('01632 960111', '07700 900222'), note='ask for Mrs Alder', spoilt='')
    >>> telephones("030/9018200")
    Telephones(numbers=('030/9018200',), note='', spoilt='')
    """
    cell = squeezed(plain(re.sub(r"[\r\n]+", " ; ", text)))
    if _POWER.fullmatch(cell):
        return Telephones((), "", cell)
    if re.fullmatch(r"\d{6,15}\.0", cell):
        cell = cell.removesuffix(".0")
    numbers: list[str] = []
    rest: list[str] = []
    at = 0
    for found in _NUMBER.finditer(cell):
        typed = found["number"].strip(" -.")
        many = _apart(typed)
        if not all(FEWEST_DIGITS <= len(digits(one)) <= MOST_DIGITS for one in many):
            continue
        rest.append(cell[at : found.start()])
        at = found.end()
        many[-1] += found["inner"] or ""
        numbers.extend(_trimmed(one) for one in many)
    rest.append(cell[at:])
    notes = (_LABEL.sub(" ", piece) for piece in rest)
    kept = [squeezed(one).strip(" ;,/|&+()[]:-\u2013") for one in notes if not _BETWEEN.match(one)]
    return Telephones(tuple(dict.fromkeys(numbers)), "; ".join(one for one in kept if one))


def digits(number: str) -> str:
    """The digits of a number, without those of an extension.

    Parameters
    ----------
    number
        As typed.
    """
    return re.sub(r"\D", "", re.split(r"(?i)\s*(?:ext|x)|/\d{1,2}$", number, maxsplit=1)[0])


def same_number(one: str, other: str) -> bool:
    """Whether two numbers ring the same telephone, with or without code of the country and zero.

    Parameters
    ----------
    one, other
        As typed.

    Examples
    --------
    >>> same_number("+44 1632 960111", "01632 960 111"), same_number("1632960111", "01632 960112")
    (True, False)
    """
    mine, theirs = sorted((digits(one).lstrip("0"), digits(other).lstrip("0")), key=len)
    if len(mine) < FEWEST_DIGITS:
        return bool(mine) and mine == theirs
    if len(mine) < _COMPARED:
        return mine == theirs
    # What stands in front may be the code of a country, with a zero in brackets behind it.
    return theirs.endswith(mine) and len(theirs) - len(mine) <= _MOST_CODE


def looked_for_by(number: str) -> str:
    """By what a number is looked up among thousands: its last digits.

    Parameters
    ----------
    number
        As typed.
    """
    return digits(number)[-_COMPARED:].lstrip("0")


def lost_zero(numbers: tuple[str, ...]) -> tuple[str, ...]:
    """The numbers of a list that seem to have lost the zero in front.

    Spreadsheets drop it where a number was typed without blanks. Only where more than half of the
    list begin with a zero or a plus is its absence a loss.

    Parameters
    ----------
    numbers
        All of the list, as typed.

    Returns
    -------
    tuple of str
        Those of nine or ten digits that begin with neither; empty where the list has no such habit.
    """
    bare = tuple(
        one for one in numbers
        if re.fullmatch(r"[1-9]\d{8,9}", one)
    )  # fmt: skip
    whole = sum(one.lstrip("(").startswith(("0", "+")) for one in numbers)
    return bare if whole * 2 > len(numbers) else ()


def _apart(typed: str) -> list[str]:
    """Two numbers with nothing but blanks between, where together they would be too long."""
    if len(digits(typed)) <= MOST_DIGITS:
        return [typed]
    starts = [found.start() + 1 for found in re.finditer(r"[ \u00a0](?=[(+0])", typed)]
    for start in starts:
        pair = [typed[:start].strip(), typed[start:].strip()]
        if all(FEWEST_DIGITS <= len(digits(one)) <= MOST_DIGITS for one in pair):
            return pair
    return [typed]


def _trimmed(number: str) -> str:
    text = squeezed(number)
    if text.count("(") > text.count(")"):
        text = text.replace("(", "", 1)
    if text.count(")") > text.count("("):
        text = text.replace(")", "", 1)
    return text.strip()
