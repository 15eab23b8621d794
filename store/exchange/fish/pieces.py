"""What a row of a parasite sheet says was found: one piece for each parasite, by whatever shape."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass

from store.exams.line_words import NOTHING
from store.exchange.columns.named import NamedRow, NamedSheet
from store.exchange.fish.fish_words import Amount, As, amount_of, found_heading

SLIDE = "found on the "
"""How a column begins that holds, in words, what was found at one site."""
_PARTS = re.compile(r"[,;\n]|\s&\s|\band\b|\bund\b|\bet\b", re.IGNORECASE)
_NAME_AMOUNT = re.compile(
    r"(?P<name>[^\d+~<>≈≥=:(-]*[^\d+~<>≈≥=:(\s-])\s*[:=(]?\s*(?P<rest>.*)", re.S
)
_AMOUNT_NAME = re.compile(r"(?P<rest>[0-9]+|\++)\s*x?\s+(?P<name>[^\d\W][^\d+]*)")
_ABSENT = re.compile(r"no\s+(?P<name>\S.*)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Piece:
    """One parasite of a row, or that nothing was found: before it is known what the words mean.

    `hazard` is the code where the column tells it, else `name` is as written; both are empty where
    the row says that nothing was found. `measure` is what the column says that numbers are.
    """

    amount: Amount
    hazard: str = ""
    name: str = ""
    site: str = ""
    place: str = ""
    measure: As = ""
    column: str = ""
    beside: str = ""
    """Another measure of the same finding, as written."""

    @property
    def nothing(self) -> bool:
        """Whether it says that the preparation was looked at and nothing was found in it."""
        return not self.hazard and not self.name


def pieces_of(sheet: NamedSheet, row: NamedRow) -> list[Piece]:
    """All that a row says of parasites; cells that say nothing are none.

    Parameters
    ----------
    sheet
        The sheet.
    row
        One of its rows.
    """
    return [*_wide(sheet, row), *_long(sheet, row)]


def measure_of(sheet: NamedSheet, piece: Piece) -> As:
    """What a bare number is: by its column, else as a person said; empty where nobody knows.

    Parameters
    ----------
    sheet
        With what was said.
    piece
        The piece.
    """
    said = sheet.said.get("numbers")
    return piece.measure or (said if said in ("count", "each", "score") else "")  # type: ignore[return-value]


def _wide(sheet: NamedSheet, row: NamedRow) -> Iterator[Piece]:
    site = row.text("site")
    for column in sheet.columns:
        cell = row.cell(column)
        if not cell:
            continue
        heading = found_heading(column.meaning)
        if heading is not None:
            amount = amount_of(cell)
            if amount.kind != "blank":
                yield Piece(
                    amount, heading.hazard, "", heading.site or site, "",
                    heading.measure, column.title,
                )  # fmt: skip
        elif column.meaning.startswith(SLIDE):
            kind, _, place = column.meaning.removeprefix(SLIDE).partition(", ")
            for piece in _in_words(cell):
                yield Piece(
                    piece.amount, "", piece.name, kind, place, "", column.title
                )  # fmt: skip


def _long(sheet: NamedSheet, row: NamedRow) -> Iterator[Piece]:
    if not sheet.has("parasite"):
        return
    name, site = row.text("parasite"), row.text("site")
    amounts: list[tuple[Amount, As]] = []
    for role, measure in (("amount", ""), ("score", "score"), ("count", "count"), ("each", "each")):
        text = row.text(role)
        if text:
            amounts.append((amount_of(text), measure))  # type: ignore[arg-type]
    told = [(one, measure) for one, measure in amounts if one.kind != "blank"]
    if name.casefold().strip(" .") in NOTHING:
        yield Piece(Amount("none", name), site=site)
    elif name and told:
        # A count goes before a score: a finding of the book has one measure.
        told.sort(key=lambda each: each[1] == "score")
        beside = ", ".join(f"{measure or 'also'} {one.text}" for one, measure in told[1:])
        yield Piece(told[0][0], "", name, site, "", told[0][1], "", beside)
    elif name:
        for piece in _in_words(name):
            amount = piece.amount
            if amounts and amount.kind == "present" and not amount.suspected:
                amount = Amount("empty", name)
            yield Piece(amount, "", piece.name, site)


def _in_words(cell: str) -> Iterator[Piece]:
    """The parasites that a cell names in words: `Dac ++, Tri 3`, `clean`."""
    for part in _PARTS.split(cell):
        text = " ".join(part.split()).strip(" .")
        if not text:
            continue
        if text.casefold() in NOTHING:
            yield Piece(Amount("none", text))
            continue
        absent = _ABSENT.fullmatch(text)
        if absent is not None:
            yield Piece(Amount("none", text), name=absent["name"])
            continue
        found = _AMOUNT_NAME.fullmatch(text) or _NAME_AMOUNT.fullmatch(text)
        name, rest = (text, "") if found is None else (found["name"], found["rest"].strip(" )"))
        amount = amount_of(rest)
        if amount.kind == "blank":
            amount = Amount("present", text, 0.0, text.endswith("?"))
        yield Piece(amount, name=name.rstrip("?"))
