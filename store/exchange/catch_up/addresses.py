"""Addresses over one column or many: street, town, postcode; postcodes that lost a zero."""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass

from store.exchange.catch_up.folding import choice_of, squeezed, words
from store.text import plain

_BRITISH = r"[A-Za-z]{1,2}\d[A-Za-z\d]?\s*\d[A-Za-z]{2}"
_DUTCH = r"[1-9]\d{3}\s?[A-Z]{2}"
_CANADIAN = r"[A-Za-z]\d[A-Za-z]\s?\d[A-Za-z]\d"
_FIGURES = r"(?:[A-Z]{1,2}-)?\d{5}(?:-\d{4})?|(?:[A-Z]{1,2}-)?\d{4}"
_WHOLE = re.compile(rf"{_BRITISH}|{_CANADIAN}|{_DUTCH}|{_FIGURES}")
_AT_END = re.compile(rf"(?:^|[\s,])(?P<code>{_BRITISH}|{_CANADIAN}|{_DUTCH}|\d{{5}}(?:-\d{{4}})?)$")
_BEFORE_TOWN = re.compile(rf"(?P<code>{_DUTCH}|{_FIGURES})\s+(?P<town>[^\W\d_].*)")
_PARTS = re.compile(r"\s*[,;\n\r|]+\s*")
_STREET = choice_of(
    "street|st|road|rd|lane|ln|avenue|ave|drive|close|court|way|hill|terrace|crescent|place|row|"
    "square|gardens|green|mews|strasse|straße|str|weg|allee|platz|laan|straat|rue"
)
_COUNTRIES = choice_of(
    "uk|england|scotland|wales|northern ireland|ireland|united kingdom|great britain|germany|"
    "deutschland|usa|united states|netherlands|nederland|france|austria|switzerland|gb"
)
_COUNTIES = choice_of(
    "kent|surrey|essex|sussex|east sussex|west sussex|norfolk|suffolk|devon|dorset|cornwall|"
    "cumbria|somerset|durham|northumberland|rutland|greater london|greater manchester|merseyside|"
    "west midlands|middlesex|hants|herts|bucks|berks|beds|cambs|glos|lancs|leics|lincs|northants|"
    "notts|oxon|wilts|worcs|yorks|n yorks|w yorks|s yorks|north yorkshire|west yorkshire"
)


@dataclass(frozen=True, slots=True)
class ListedAddress:
    """An address: `street` in one line, parts parted by commas."""

    street: str = ""
    town: str = ""
    postcode: str = ""

    def __bool__(self) -> bool:
        return bool(self.street or self.town or self.postcode)

    @property
    def said(self) -> str:
        """In one line."""
        return ", ".join(part for part in (self.street, self.town, self.postcode) if part)


def listed_address(
    parts: Sequence[str], *, town: str = "", county: str = "", postcode: str = ""
) -> ListedAddress:
    """An address out of its columns.

    Parameters
    ----------
    parts
        The columns that are headed address or street, in their order; one may hold all of it, with
        commas or lines between.
    town, county, postcode
        Columns of their own; empty where there are none.

    Returns
    -------
    ListedAddress
        Every part is in one of its fields. The town is the last part that is no county and no
        country, and none where only one part is left.

    Examples
    --------
    >>> listed_address(["3 Mill Lane, Wick, Hampshire", "", "so99 9zz"])
    ListedAddress(street='3 Mill Lane, Hampshire', town='Wick', postcode='SO99 9ZZ')
    >>> listed_address(["Seestrasse 4\\n8001 Zürich"])
    ListedAddress(street='Seestrasse 4', town='Zürich', postcode='8001')
    """
    pieces = [
        piece
        for part in parts
        for one in _PARTS.split(plain(part, lines=True))
        if (piece := squeezed(one))
    ]
    town, county, code = (squeezed(plain(one)) for one in (town, county, postcode))
    if not code:
        pieces, code, found_town = _with_postcode(pieces)
        if found_town and not town:
            town = found_town
        elif found_town:
            pieces.append(found_town)
    if not town:
        town = _town(pieces)
    if county and county.casefold() != town.casefold():
        pieces.append(county)
    return ListedAddress(", ".join(dict.fromkeys(pieces)), town, written(code))


def written(postcode: str) -> str:
    """A postcode as it is written: capitals, one blank; figures as they stand.

    Parameters
    ----------
    postcode
        As typed.

    Examples
    --------
    >>> written("so999zz"), written("1234.0"), written("98101-1234")
    ('SO99 9ZZ', '1234', '98101-1234')
    """
    text = squeezed(postcode).upper()
    if re.fullmatch(r"\d{3,5}\.0", text):
        text = text.removesuffix(".0")
    if re.fullmatch(_BRITISH, text) or re.fullmatch(_CANADIAN, text):
        tight = text.replace(" ", "")
        text = f"{tight[:-3]} {tight[-3:]}"
    return text


def compared(postcode: str) -> str:
    """A postcode as it is compared: without blanks, and without a zero that may be lost.

    Parameters
    ----------
    postcode
        As typed.

    Examples
    --------
    >>> compared("01067") == compared("1067"), compared("so99 9zz")
    (True, 'SO999ZZ')
    """
    text = written(postcode).replace(" ", "")
    return text.lstrip("0") if text[:1].isdigit() and text.isdigit() else text


def lost_zero(postcodes: Sequence[str]) -> tuple[str, ...]:
    """The postcodes of a list that seem to have lost the zero in front.

    Parameters
    ----------
    postcodes
        All of the list.

    Returns
    -------
    tuple of str
        Those of four figures (and four of nine) in a list where others have five; empty where all
        have four, as in countries that write four.

    Examples
    --------
    >>> lost_zero(["10115", "1067", "80331"])
    ('1067',)
    >>> lost_zero(["8001", "3011"])
    ()
    """
    codes = [written(one) for one in postcodes if one]
    if not any(re.fullmatch(r"\d{5}(?:-\d{4})?", one) for one in codes):
        return ()
    return tuple(dict.fromkeys(one for one in codes if re.fullmatch(r"\d{4}(?:-\d{4})?", one)))


def looks_like_postcode(text: str) -> bool:
    """Whether a cell holds a postcode and nothing else.

    Parameters
    ----------
    text
        The cell.
    """
    return _WHOLE.fullmatch(squeezed(text)) is not None


def street_words(street: str) -> tuple[str, ...]:
    """The words of a street for comparing; `Road` and `Rd` are the same.

    Parameters
    ----------
    street
        With or without number and house.
    """
    short = {"rd": "road", "st": "street", "ln": "lane", "ave": "avenue", "str": "strasse",
             "dr": "drive", "ct": "court", "cl": "close", "gdns": "gardens"}  # fmt: skip
    return tuple(short.get(word, word) for word in words(street))


def _with_postcode(pieces: list[str]) -> tuple[list[str], str, str]:
    """The parts without the postcode, the postcode, and a town that stood with it."""
    for place in range(len(pieces) - 1, max(-1, len(pieces) - 4), -1):
        piece = pieces[place]
        if place and _WHOLE.fullmatch(piece):
            return pieces[:place] + pieces[place + 1 :], piece, ""
        found = _AT_END.search(piece)
        if found is not None and (place or not found["code"].isdigit()):
            before = piece[: found.start()].strip(" ,")
            town = before if place and not _is_street(before) else ""
            rest = [] if town or not before else [before]
            return pieces[:place] + rest + pieces[place + 1 :], found["code"], town
        before_town = _BEFORE_TOWN.fullmatch(piece) if place else None
        if before_town is not None and not _is_street(before_town["town"]):
            rest = pieces[:place] + pieces[place + 1 :]
            return rest, before_town["code"], before_town["town"].strip()
    return pieces, "", ""


def _town(pieces: list[str]) -> str:
    """Take the town out of the parts: the last that is neither county nor country."""
    for place in range(len(pieces) - 1, 0, -1):
        piece = pieces[place]
        name = " ".join(words(piece))
        if name in _COUNTRIES or name in _COUNTIES or name.endswith("shire"):
            continue
        if any(letter.isdigit() for letter in piece) or _is_street(piece):
            return ""
        return pieces.pop(place)
    return ""


def _is_street(text: str) -> bool:
    said = words(text)
    return bool(said) and said[-1] in _STREET and len(said) > 1
