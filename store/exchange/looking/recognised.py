"""What a file probably is, found by its headings and the shape of its first rows.

A proposal for a person, never a decision: whoever brings the file in says what it is. Only the
beginning of the file is looked at.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from store.errors import BadInput
from store.exchange.bag.opened import looks_like_book
from store.exchange.catch_up.list_columns import list_shape
from store.exchange.columns import day_cell
from store.exchange.columns.headings import heading_of
from store.exchange.columns.words import ROLE_OF, mended, same
from store.exchange.looking.telling_words import FOLDED, OWN_PONDS, Words
from store.exchange.looking.without_headings import chat_lines, is_prose, machine_step
from store.exchange.sheets.grid import RawRow
from store.exchange.sheets.head import FileHead, head_of
from store.text import plain

SURE = 6
_HEADINGS_AMONG = 40
"""Rows at the top among which headings are looked for."""
_NAMED = 4
_IN_BRACKETS = re.compile(r"[(\[].*")


@dataclass(frozen=True, slots=True)
class Recognised:
    """The kind that a file looks like, by name (empty where it looks like none), and why."""

    kind: str
    why: str
    weight: int = 0
    """How much speaks for it: below `SURE` it is no more than a guess."""
    names_ponds: bool = False
    """A column says which pond each row is of."""

    @property
    def sure(self) -> bool:
        """Whether enough speaks for it to say so against a person's choice."""
        return self.weight >= SURE


def recognise(path: Path) -> Recognised:
    """What a file probably is.

    Parameters
    ----------
    path
        The file.

    Returns
    -------
    Recognised
        With the reason in half a sentence.

    Raises
    ------
    BadInput
        There is no such file, or nothing in it that can be read.
    """
    try:
        return recognised(head_of(path))
    except BadInput:
        if looks_like_book(path):
            return Recognised("bag", "it begins as books of Pondround do", 20)
        raise


def recognised(head: FileHead) -> Recognised:
    """What a file probably is, by its beginning.

    Parameters
    ----------
    head
        From `head_of`.
    """
    chats = chat_lines(head)
    if chats >= 2:
        return Recognised("messages", f"{chats} of its first lines are those of a chat", 9)
    found: list[Recognised] = []
    for sheet in head.sheets:
        found.extend(_of_rows(sheet.rows))
    best = max(found, key=lambda one: one.weight, default=None)
    if best is not None:
        return best
    if is_prose(head):
        return Recognised("messages", "it is running text and no table", 4)
    return Recognised("", "its headings tell of no kind that is known here")


def _of_rows(rows: Sequence[RawRow]) -> Iterator[Recognised]:
    step = machine_step(rows)
    if step:
        said = f"its rows come every {step}, as a machine writes them"
        yield Recognised("logger", said, 14)
    yield from (one for one in (_clients(rows), _ponds(rows)) if one is not None)
    for row in rows[:_HEADINGS_AMONG]:
        titles = {
            same(_IN_BRACKETS.sub("", cell)): plain(cell).strip()
            for cell in row.cells
            if cell.strip()
        }
        if len(titles) < 2:
            continue
        water = _water(row, rows)
        if water is not None:
            yield water
        for kind, words in FOLDED.items():
            one = _by_words(kind, words, titles)
            if one is not None:
                yield one


def _by_words(kind: str, words: Words, titles: Mapping[str, str]) -> Recognised | None:
    hits: dict[str, str] = {}
    for meaning, (_, names) in words.meanings.items():
        known = names.split("|")
        title = next((title for folded, title in titles.items() if folded in known), None)
        if title is not None:
            hits[meaning] = title
    if not all(any(one in hits for one in group) for group in words.needed):
        return None
    weight = sum(words.meanings[one][0] for one in hits)
    strongest = sorted(hits, key=lambda one: -words.meanings[one][0])
    return Recognised(
        kind,
        _headings([hits[one] for one in strongest]),
        weight,
        bool({"pond", "client"} & set(hits)),
    )


def _clients(rows: Sequence[RawRow]) -> Recognised | None:
    """A list of people: names with telephones, addresses or postcodes."""
    try:
        shape = list_shape([row.cells for row in rows])
    except (BadInput, IndexError):
        return None
    weights = {
        "surname": 3, "given": 2, "title": 1, "name": 2, "firm": 2, "phone": 3, "email": 3,
        "address": 2, "town": 2, "county": 1, "postcode": 3, "volume": 1, "pond": 1, "species": 1,
    }  # fmt: skip
    known = {
        one.meaning: one.heading
        for one in reversed(shape.columns)
        if one.why.startswith("by its heading") and one.heading
    }
    by_cells = {one.meaning for one in shape.columns} - {"unknown", "ignore", "remarks", "number"}
    named = {"name", "surname", "firm"} & (set(known) | by_cells)
    reached = {"phone", "email", "address", "postcode", "town"} & (set(known) | by_cells)
    if not named or not reached:
        return None
    weight = sum(weights.get(one, 0) for one in known)
    weight += sum(2 for one in by_cells - set(known) if one in ("phone", "postcode", "email"))
    if not known:
        said = ", ".join(sorted(by_cells & {"phone", "postcode", "email"}))
        return Recognised("clients", f"its columns hold names and {said}", weight) if said else None
    telling = sorted(known, key=lambda one: -weights.get(one, 0))
    return Recognised("clients", _headings([known[one] for one in telling]), weight)


def _ponds(rows: Sequence[RawRow]) -> Recognised | None:
    """Our own shape of ponds: its first line names client and pond in our words."""
    if not rows:
        return None
    titles = [plain(cell).strip().casefold() for cell in rows[0].cells if cell.strip()]
    own = [one for one in titles if one in OWN_PONDS]
    if not {"client", "pond"} <= set(own) or len(own) * 10 < len(titles) * 8:
        return None
    marked = [one for one in own if "_" in one]
    return Recognised("ponds", _headings([*marked, *own]), 4 + len(own) + 3 * len(marked),
                      names_ponds=True)  # fmt: skip


def _water(row: RawRow, rows: Sequence[RawRow]) -> Recognised | None:
    """Tests of water: a day and readings, each in a column or each in a row."""
    day = pond = ""
    readings: dict[str, str] = {}
    places: dict[str, int] = {}
    for place, cell in enumerate(row.cells):
        title = plain(cell).strip()
        if not title or any(map(str.isdigit, title[:1])):
            continue
        role = ROLE_OF.get(same(title))
        if role in ("date", "taken_at"):
            day = day or title
        elif role in ("pond", "client"):
            pond = pond or title
        elif role is not None:
            places.setdefault(role, place)
        elif len(title) < 60 and (heading := heading_of(mended(title))) is not None:
            readings.setdefault(heading.parameter, title)
    below = [one for one in rows if one.line > row.line]
    if "parameter" in places and "value" in places and day:
        cells = [one.cell(places["parameter"]).strip() for one in below if one.cells]
        held = [cell for cell in cells if cell][:30]
        known = sum(heading_of(mended(cell)) is not None for cell in held)
        if held and known * 2 >= len(held):
            said = "its rows name readings, such as " + ", ".join(
                f"“{plain(cell):.20}”" for cell in list(dict.fromkeys(held))[:_NAMED]
            )
            return Recognised("water", said, 10, names_ponds=bool(pond))
    if not readings or not (day or _days_below(below)):
        return None
    chemistry = [one for one in readings if one != "temperature_c"]
    weight = 2 + 3 * min(4, len(chemistry)) + ("temperature_c" in readings) + bool(day)
    return Recognised("water", _headings([*readings.values(), day]), weight, names_ponds=bool(pond))


def _days_below(rows: Sequence[RawRow]) -> bool:
    for row in rows[:5]:
        for cell in row.cells[:3]:
            if any(map(str.isdigit, cell)) and not cell.strip().replace(".", "").isdigit():
                try:
                    found = day_cell(cell)
                except BadInput:
                    continue
                if found.year or found.month:
                    return True
    return False


def _headings(titles: Sequence[str]) -> str:
    few = list(dict.fromkeys(f"“{one:.24}”" for one in titles if one))[:_NAMED]
    return f"its headings {', '.join(few)}"
