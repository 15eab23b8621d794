"""Which column of a client list means what: by its heading, else by what stands in it."""

from __future__ import annotations

import hashlib
import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass

from store.errors import BadInput
from store.exchange.catch_up.addresses import looks_like_postcode
from store.exchange.catch_up.folding import words
from store.exchange.catch_up.list_words import BY_HEADING, MANY, MEANINGS, Meaning
from store.exchange.catch_up.pond_remarks import proposed_ponds
from store.exchange.catch_up.telephones import telephones
from store.text import plain

_BY = "by its heading"
_UNIT = re.compile(
    r"\b(us gal(?:lon)?s?|uk gal(?:lon)?s?|imp(?:erial)? gal(?:lon)?s?|gal(?:lon)?s?|lit(?:re|er)s?"
    r"|ltrs?|l|m3|m³|cm|ft|feet|m|metres?|meters?|in)\b",
    re.IGNORECASE,
)
_MAIL = re.compile(r"[^\s@]+@[^\s@]+\.[^\s@]+")
NAMING = ("name", "surname", "firm")
"""Meanings of which one column at least holds the names."""
_LOOKED_AT = 15
"""Rows at the top among which the heading is looked for."""
_MOST_ASKED = 8
"""Columns at the most of which it is asked whether they hold the names."""
_FEWEST_HEADINGS = 2
_FEWEST = 0.6
"""Share of the filled cells that must be of a kind for a column without a heading to mean it."""


@dataclass(frozen=True, slots=True)
class ListColumn:
    """A column: its place counted from 0, its heading, what it means, and why in words."""

    place: int
    heading: str
    meaning: Meaning
    why: str
    unit: str = ""


@dataclass(frozen=True, slots=True)
class ListShape:
    """How a client list is laid out.

    `header_at` is the place of the heading among the rows, -1 where there is none.
    """

    header_at: int
    columns: tuple[ListColumn, ...]
    names_among: tuple[ListColumn, ...] = ()
    """Columns of words of which one may hold the names, where nothing says which."""
    headings_asked: tuple[str, ...] = ()
    """The cells of the first row, where nothing says whether they are headings."""

    @property
    def named(self) -> bool:
        """Whether it is known which column holds the names."""
        return not self.names_among and not self.headings_asked

    def places(self, meaning: Meaning) -> tuple[int, ...]:
        """The columns of a meaning, from left to right."""
        return tuple(one.place for one in self.columns if one.meaning == meaning)

    def unit(self, meaning: Meaning) -> str:
        """The unit that the heading of a column names; empty where it names none."""
        return next((one.unit for one in self.columns if one.meaning == meaning), "")

    @property
    def known(self) -> int:
        """How many columns are known by their heading."""
        return sum(one.why.startswith(_BY) for one in self.columns)

    @property
    def unknown(self) -> tuple[ListColumn, ...]:
        """Columns that were not understood."""
        return tuple(one for one in self.columns if one.meaning == "unknown")


def list_shape(
    rows: Sequence[Sequence[str]],
    said: Mapping[str, str] | None = None,
    header_at: int | None = None,
) -> ListShape:
    """What the columns of a client list mean.

    Parameters
    ----------
    rows
        The cells of all rows, title lines among them.
    said
        What a person said of columns: heading, or letter of the column where it has none, to
        meaning. It goes before every guess.
    header_at
        The place of the headings, -1 for none; None to find them.

    Returns
    -------
    ListShape
        With a reason for every column. Where no column is known to hold names, with those that may
        (`names_among`), and with the first row where it may be headings (`headings_asked`).

    Raises
    ------
    BadInput
        No column can hold names, or a person's meaning is none.

    Examples
    --------
    >>> shape = list_shape([["Clients 2025"], ["Surname", "Tel", "Pond size (litres)"],
    ...                     ["Alder", "01632 960111", "4000"]])
    >>> [(one.meaning, one.unit) for one in shape.columns], shape.header_at
    ([('surname', ''), ('phone', ''), ('volume', 'litres')], 1)
    """
    corrections = {_heading(name): meaning for name, meaning in (said or {}).items()}
    asked = header_at is None
    if header_at is None:
        header_at = _header_at(rows, corrections)
    header = [plain(cell).strip() for cell in rows[header_at]] if header_at >= 0 else []
    width = max((len(row) for row in rows), default=0)
    headings = frozenset(map(_heading, header))
    body = rows[header_at + 1 :]
    columns = []
    for place in range(width):
        heading = header[place] if place < len(header) else ""
        cells = [cell for row in body if place < len(row) and (cell := row[place].strip())]
        if not heading and not cells:
            continue
        columns.append(_column(place, heading, cells, corrections, headings))
    _once(columns)
    named = any(one.meaning in NAMING for one in columns)
    return ListShape(
        header_at,
        tuple(columns),
        () if named else _may_name(columns, body),
        _may_head(rows) if asked and header_at < 0 else (),
    )


def letter(place: int) -> str:
    """The letter by which spreadsheets call a column.

    Parameters
    ----------
    place
        Counted from 0.

    Examples
    --------
    >>> letter(0), letter(27)
    ('A', 'AB')
    """
    name = ""
    place += 1
    while place:
        place, rest = divmod(place - 1, 26)
        name = chr(ord("A") + rest) + name
    return name


def called(column: ListColumn) -> str:
    """By what a person calls a column: its heading, else its letter.

    Parameters
    ----------
    column
        The column.
    """
    return column.heading or letter(column.place)


def column_named(shape: ListShape, column: ListColumn) -> str:
    """By what a correction names a column: its heading where that is its own, else its letter.

    Parameters
    ----------
    shape
        Of the list.
    column
        One of its columns.
    """
    alike = [one for one in shape.columns if _heading(one.heading) == _heading(column.heading)]
    return column.heading if _heading(column.heading) and len(alike) == 1 else letter(column.place)


def is_heading(cells: Sequence[str], shape: ListShape) -> bool:
    """Whether a row is the heading once more, as at the top of every printed page.

    Parameters
    ----------
    cells
        The row.
    shape
        Of the list.
    """
    titles = [one for one in shape.columns if one.heading and one.place < len(cells)]
    return len(titles) > 1 and all(
        _heading(one.heading) == _heading(cells[one.place]) for one in titles
    )


def _header_at(rows: Sequence[Sequence[str]], said: Mapping[str, str]) -> int:
    """The row of headings: the one with most that are known; -1 where there is none.

    One known heading is enough in the first row that has several cells and no figure in them.
    """
    best, at = 1, -1
    several = False
    for place, row in enumerate(rows[:_LOOKED_AT]):
        filled = [cell for cell in row if cell.strip()]
        known = sum(_heading(cell) in said or _by_heading(cell)[0] is not None for cell in filled)
        words_only = not any(map(str.isdigit, "".join(filled)))
        alone = len(filled) == 1 and place == 0 and len(rows) > 1
        first = len(filled) > 1 and not several and words_only
        if known > best or (known == 1 and at < 0 and (alone or first)):
            best, at = known, place
        several = several or len(filled) > 1
    return at


def _column(
    place: int,
    heading: str,
    cells: Sequence[str],
    said: Mapping[str, str],
    headings: frozenset[str],
) -> ListColumn:
    by_letter = letter(place).casefold()  # unless a column is headed like that
    for name in (_heading(heading), "" if by_letter in headings else by_letter):
        if name and name in said:
            meaning = next((one for one in MEANINGS if one == said[name].strip()), None)
            if meaning is None:
                raise BadInput(
                    f"A column cannot mean “{plain(said[name]):.40}”. It may be one of: "
                    f"{', '.join(MEANINGS)}.",
                    field="columns",
                )
            return ListColumn(place, heading, meaning, "as a person said", _unit(heading))
    by_heading, unit = _by_heading(heading)
    if by_heading is not None:
        return ListColumn(place, heading, by_heading, f"{_BY} “{heading:.40}”", unit)
    meaning, why = _by_content(cells)
    return ListColumn(place, heading, meaning, why, unit)


def _by_heading(text: str) -> tuple[Meaning | None, str]:
    name = _heading(text)
    if not name or len(name) > 60:
        return None, ""
    unit = _unit(text)
    if name in BY_HEADING:
        meaning = BY_HEADING[name]
        return meaning, (unit or name if meaning in ("volume", "depth") and unit else "")
    bare = " ".join(_heading(_UNIT.sub(" ", re.sub(r"[()\[\]]", " ", text))).split())
    if unit and BY_HEADING.get(bare) in ("volume", "depth"):
        return BY_HEADING[bare], unit
    without = re.sub(r"\s*\d+$|^(?:client|customer|owner)s?\s+|\s+(?:s|es)$", "", name).strip()
    return BY_HEADING.get(without), ""


def _unit(text: str) -> str:
    found = _UNIT.search(text)
    return found[0] if found else ""


def _heading(text: str) -> str:
    return " ".join(words(plain(text)))


def _by_content(cells: Sequence[str]) -> tuple[Meaning, str]:
    if not cells:
        return "unknown", "empty"
    share = {
        "email": _share(cells, lambda cell: _MAIL.search(cell) is not None),
        "postcode": _share(cells, looks_like_postcode),
        "phone": _share(cells, lambda cell: bool(telephones(cell).numbers)),
        "remarks": _share(cells, lambda cell: bool(proposed_ponds(cell))),
    }
    for meaning, said in (
        ("email", "mail addresses"), ("postcode", "postcodes"), ("phone", "telephone numbers"),
        ("remarks", "ponds in words"),
    ):  # fmt: skip
        if share[meaning] >= _FEWEST:
            kind = next(one for one in MEANINGS if one == meaning)
            return kind, f"by what stands in it: {said}"
    return "unknown", "neither its heading nor what stands in it says what it means"


def _share(cells: Sequence[str], holds: Callable[[str], bool]) -> float:
    return sum(bool(holds(cell)) for cell in cells) / len(cells)


def _may_name(
    columns: Sequence[ListColumn], body: Sequence[Sequence[str]]
) -> tuple[ListColumn, ...]:
    """The columns of words that mean nothing yet: one of them holds the names."""
    found = []
    for one in columns:
        if one.meaning != "unknown":
            continue
        cells = [row[one.place] for row in body if one.place < len(row) and row[one.place].strip()]
        letters = [cell for cell in cells if len(words(cell)) >= 1 and not cell.strip().isdigit()]
        if cells and len(letters) >= _FEWEST * len(cells):
            found.append(one)
    if not found:
        raise BadInput(
            "No column of the file holds the clients' names; nothing was brought in. Head one of "
            "them “Name”, or “Surname”.",
            field="columns",
        )
    return tuple(found[:_MOST_ASKED])


def _may_head(rows: Sequence[Sequence[str]]) -> tuple[str, ...]:
    """The first row that holds something, where it may be headings: words only, rows below it."""
    for place, row in enumerate(rows[:_LOOKED_AT]):
        filled = [cell.strip() for cell in row if cell.strip()]
        if not filled:
            continue
        text = "".join(filled)
        if place + 1 < len(rows) and not any(map(str.isdigit, text)) and "@" not in text:
            return tuple(plain(cell) for cell in filled)
        return ()
    return ()


def first_row(rows: Sequence[Sequence[str]]) -> int:
    """The place of the first row that holds something; -1 where none does.

    Parameters
    ----------
    rows
        The cells of all rows.
    """
    return next((at for at, row in enumerate(rows) if any(cell.strip() for cell in row)), -1)


def source_of(cells: Sequence[str]) -> str:
    """What tells lists of one source apart from others: their headings, in any order.

    Parameters
    ----------
    cells
        The row of headings.

    Returns
    -------
    str
        A hash in 64 letters; empty for fewer than two headings.
    """
    titles = {_heading(cell) for cell in cells} - {"", "line", "why refused"}
    if len(titles) < _FEWEST_HEADINGS:
        return ""
    return hashlib.sha256("\n".join(sorted(titles)).encode()).hexdigest()


def _once(columns: list[ListColumn]) -> None:
    """Where two columns mean the same and only one may, the second of them is told."""
    taken: dict[Meaning, int] = {}
    for at, one in enumerate(columns):
        if one.meaning in MANY:
            continue
        if one.meaning in taken:
            first = columns[taken[one.meaning]]
            if one.why == "as a person said" and first.why != one.why:
                columns[taken[one.meaning]] = _left(first, one)
                taken[one.meaning] = at
            else:
                columns[at] = _left(one, first)
        else:
            taken[one.meaning] = at


def _left(one: ListColumn, other: ListColumn) -> ListColumn:
    why = f"“{called(other):.40}” means the same"
    return ListColumn(one.place, one.heading, "unknown", why, one.unit)
