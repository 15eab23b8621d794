"""Columns of several ponds side by side, or of several times of a day: each a block of its own."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass, replace

from store.exchange.columns.day_words import PART_ALONE, part_in
from store.exchange.columns.guess import Guess
from store.exchange.columns.headings import heading_of
from store.exchange.columns.shape import Shape
from store.exchange.columns.words import OF_MANY, ROLE_OF, mended, same
from store.exchange.sheets import Merged, RawRow
from store.text import plain
from store.water.pieces import unit_and_form
from store.water.words import name_of

_OWN = frozenset({"reading", "date", "taken_at", "time", "note", "place", "by", "pond"})


@dataclass(frozen=True, slots=True)
class Block:
    """One pond's columns; the name stands above them or in each heading, or is empty.

    `part` is the time of day that the headings name (`am`), where a sheet has columns for several
    tests of one day, and empty for those of its columns that name none; without a name such a
    block is of the pond of its row. None where blocks are ponds alone.
    """

    number: int
    name: str
    columns: tuple[int, ...]
    part: str | None = None

    @property
    def of_row(self) -> bool:
        """Whether row, sheet or file say the pond, not the block."""
        return self.part is not None and not self.name

    @property
    def label(self) -> str:
        """What the file calls it; empty where it has no name."""
        return " ".join(filter(None, (self.name, self.part)))

    @property
    def keys(self) -> tuple[str, ...]:
        """By what a person may speak of it: name, time of day, number counted from 1."""
        names = (self.name, self.name.casefold(), self.label, self.label.casefold())
        return tuple(dict.fromkeys(filter(None, (*names, str(self.number + 1)))))


def blocks_of(
    guesses: Sequence[Guess], above: Sequence[RawRow], merged: Sequence[Merged]
) -> tuple[tuple[Block, ...], list[Guess]]:
    """The blocks of a sheet, and its columns each with the block it belongs to.

    Blocks are found where two readings at least come again; a line with the ponds' names above the
    headings parts them, else the order in which they come again.

    Parameters
    ----------
    guesses
        The columns.
    above
        The lines above the headings.
    merged
        Cells that are shown as one.

    Returns
    -------
    tuple of Block, list of Guess
        No blocks where the columns are of one pond.
    """
    keys = Counter(_key(one) for one in guesses if one.meaning == "reading")
    again = [key for key, number in keys.items() if number > 1]
    names = _names_above(above, len(guesses))
    if not again or (len(again) < 2 and len(names[1]) < 2):
        return (), list(guesses)
    if len(names[1]) >= 2:
        starts = _starts_by_names(guesses, names, merged)
    else:
        first = next(_key(one) for one in guesses if _key(one) in again)
        places = [one.column for one in guesses if _key(one) == first]
        starts = {place: (number, "") for number, place in enumerate(places)}
    return _parted(guesses, starts, names[0], merged)


def by_their_names(guesses: list[Guess], shape: Shape) -> tuple[tuple[Block, ...], list[Guess]]:
    """Columns whose headings carry more: the pond (`Upper pH`, `pH pond 2`), a time (`pH am`).

    Parameters
    ----------
    guesses
        The columns.
    shape
        What a person said; such columns are left alone.

    Returns
    -------
    tuple of Block, list of Guess
        Changed only where the same reading is headed with two names at least, or with a time. Then
        readings without a time are a test of their own, as nobody said when they were taken.
    """
    split: dict[int, tuple[str, str, Guess]] = {}
    for one in guesses:
        if one.sure == "said" or shape.said(one.title, one.column) is not None:
            continue
        found = _name_part_and_reading(one)
        if found is not None:
            split[one.column] = found
    timed = any(part for _, part, guess in split.values() if guess.meaning == "reading")
    per_reading: dict[tuple[str, str], set[str]] = {}
    for name, _, guess in split.values():
        per_reading.setdefault(_key(guess), set()).add(name.casefold())
    if not timed and not any(len(names) > 1 for names in per_reading.values()):
        return (), guesses
    blocks: dict[tuple[str, str], Block] = {}
    changed = []
    for one in guesses:
        own = split.get(one.column)
        if own is None and timed and one.meaning == "reading":
            own = ("", "", one)
        if own is None or (own[1] and not timed):
            changed.append(one)
            continue
        name, part, guess = own
        key = (name.casefold(), part.casefold())
        new = Block(len(blocks), name, (), part if timed else None)
        block = blocks.setdefault(key, new)
        blocks[key] = replace(block, columns=(*block.columns, one.column))
        why = f"“{block.label}” and its reading" if block.label else guess.why
        changed.append(replace(guess, block=block.number, why=why))
    return tuple(blocks.values()), changed


def _name_part_and_reading(guess: Guess) -> tuple[str, str, Guess] | None:
    """Pond, time of day and reading in one heading; nothing where it names neither of the two."""
    words = mended(guess.title).replace("_", " ").split()
    if guess.meaning not in ("ignore", "reading") or any(map(OF_MANY.fullmatch, words)):
        return None
    part, rest = part_in(mended(guess.title))
    if not part:
        named = _name_and_reading(guess)
        return None if named is None else (named[0], "", named[1])
    heading = heading_of(rest)
    if heading is not None and not _odd(heading.unit):
        return "", part, replace(guess, meaning="reading", heading=heading, sure="likely")
    role = ROLE_OF.get(same(rest))
    if role in ("time", "note", "place", "by"):
        return "", part, replace(guess, meaning=role, heading=None, sure="likely")
    bare = replace(guess, title=rest, meaning="reading" if heading is not None else "ignore")
    named = _name_and_reading(replace(bare, heading=heading))
    return None if named is None else (named[0], part, replace(named[1], title=guess.title))


def _name_and_reading(guess: Guess) -> tuple[str, Guess] | None:
    """The pond's name and the reading in one heading, or nothing."""
    words = re.split(r"[ _]+|(?<=\w)[-:](?=\s)", mended(guess.title))
    if guess.meaning == "ignore":
        for place in range(1, len(words)):
            heading = heading_of(" ".join(words[place:]))
            if heading is not None and not _odd(heading.unit):
                name = " ".join(words[:place]).strip(" -:,")
                if name_of(name) is not None:
                    continue  # “Air temp °C” is no pond called “Air temp”
                known = replace(guess, meaning="reading", heading=heading, sure="likely")
                return (name, known) if name else None
        return None
    if guess.heading is None or not _odd(guess.heading.unit):
        return None
    for place in range(1, len(words)):
        heading = heading_of(" ".join(words[:place]))
        if heading is not None and not _odd(heading.unit):
            name = " ".join(words[place:]).strip(" -:,")
            return name, replace(guess, heading=heading, sure="likely")
    return None


def _odd(unit: str) -> bool:
    """Whether what stands behind the name is no unit."""
    if not unit:
        return False
    found, form, _, _ = unit_and_form(unit, 0)
    return not found and not form and not unit.casefold().startswith("as ")


def _key(guess: Guess) -> tuple[str, str]:
    parameter = guess.heading.parameter if guess.heading is not None else ""
    return guess.meaning, parameter


def _names_above(above: Sequence[RawRow], width: int) -> tuple[int, dict[int, str]]:
    """The line above the headings that names ponds, and its cells by place."""
    for row in reversed(above):
        held = {
            place: plain(" ".join(cell.split()))
            for place, cell in enumerate(row.cells)
            if cell.strip() and place < width
        }
        if len(held) >= 2:
            return row.line, held
    return 0, {}


def _starts_by_names(
    guesses: Sequence[Guess], names: tuple[int, dict[int, str]], merged: Sequence[Merged]
) -> dict[int, tuple[int, str]]:
    """The names that stand above readings; one above other columns alone is none of a pond."""
    line, cells = names
    places = sorted(cells)
    starts: dict[int, tuple[int, str]] = {}
    for at, place in enumerate(places):
        end = places[at + 1] if at + 1 < len(places) else len(guesses)
        end = _end_of(line, place, end, merged)
        if any(one.meaning == "reading" and place <= one.column < end for one in guesses):
            starts[place] = (len(starts), cells[place])
    return starts


def _end_of(line: int, place: int, end: int, merged: Sequence[Merged]) -> int:
    for one in merged:
        if one.first_line <= line <= one.last_line and one.first_column == place:
            return min(end, one.last_column + 1)
    return end


def _parted(
    guesses: Sequence[Guess],
    starts: dict[int, tuple[int, str]],
    line: int,
    merged: Sequence[Merged],
) -> tuple[tuple[Block, ...], list[Guess]]:
    """Give each column to the block it stands in; what is there once belongs to all."""
    roles = Counter(one.meaning for one in guesses)
    places = sorted(starts)
    first_date = [one.column for one in guesses if one.meaning in ("date", "taken_at")]
    own_dates = len(first_date) > 1
    if own_dates and places and first_date[0] < places[0] and not line:
        # Without names a block begins at its own day, not at its first reading.
        moved = {}
        for place in places:
            before = [day for day in first_date if day <= place]
            moved[max(before) if before else place] = starts[place]
        starts, places = moved, sorted(moved)
    changed: list[Guess] = []
    columns: dict[int, list[int]] = {number: [] for number, _ in starts.values()}
    for one in guesses:
        block = None
        if one.meaning == "reading" or (one.meaning in _OWN and roles[one.meaning] > 1):
            begun = [place for place in places if place <= one.column]
            if begun:
                start = begun[-1]
                after = [place for place in places if place > start]
                end = _end_of(line, start, after[0] if after else len(guesses), merged)
                if one.column < end:
                    block = starts[start][0]
        if block is not None:
            columns[block].append(one.column)
        changed.append(replace(one, block=block))
    if all(PART_ALONE.fullmatch(name.strip(" :")) for _, name in starts.values()):
        return _of_one_day(starts, columns, changed)
    blocks = tuple(
        Block(number, name, tuple(columns[number])) for number, name in sorted(starts.values())
    )
    return blocks, changed


def _of_one_day(
    starts: dict[int, tuple[int, str]], columns: dict[int, list[int]], guesses: list[Guess]
) -> tuple[tuple[Block, ...], list[Guess]]:
    """Blocks under `Morning` and `Evening`: tests of one day, and one of what stands beside."""
    blocks = [
        Block(number, "", tuple(columns[number]), name.strip(" :"))
        for number, name in sorted(starts.values())
    ]
    beside = [one.column for one in guesses if one.meaning == "reading" and one.block is None]
    if beside:
        blocks.append(Block(len(blocks), "", tuple(beside), ""))
        last = len(blocks) - 1
        guesses = [replace(one, block=last) if one.column in beside else one for one in guesses]
    return tuple(blocks), guesses
