"""The rows of a parasite sheet put together to fish, each fish wholly understood or refused."""

from __future__ import annotations

import re
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Any
from uuid import UUID

from store.book.book import Book
from store.book.people import person_named
from store.errors import BadInput, PondroundError
from store.exams.deaths import typed_signs
from store.exams.line_words import MAGNIFICATION, SPECIES, words
from store.exams.values import BY_EYE, PURPOSES, ExamFish, Found, LengthKind, Prep, Purpose
from store.exchange.columns.named import NamedRow, NamedSheet
from store.exchange.fish.fish_columns import IN_WORDS, LENGTHS, plain_name
from store.exchange.fish.fish_words import site_of
from store.exchange.fish.lengths import lengths_of
from store.exchange.fish.measures import Measures
from store.exchange.fish.pieces import Piece, pieces_of
from store.exchange.fish.weights import weight_g_of
from store.exchange.named.planning import refuse
from store.exchange.named.whose_row import RowPonds
from store.exchange.plain.planned import Gathering
from store.facts.signs import signs as known_signs
from store.text import plain
from store.watch.stock import key_of

_NUMBERED = re.compile(r"(?:fish|fisch|f|no\.?|nr\.?|#)?\s*\.?\s*([0-9]{1,4})(?:\.0+)?", re.I)
_WHOLE = re.compile(r"([0-9]{1,5})(?:\.0+)?(?:\s*(?:fields?|f))?", re.IGNORECASE)
_MOST = {"species": 60, "mark": 500, "place": 500, "note": 10_000}
_KINDS: dict[str, LengthKind] = {"fork_length": "fork", "total_length": "total"}

ExamKey = tuple[UUID, date, str, str, Purpose]
"""Pond, day, time as written, examiner, purpose: what makes fish those of one examination."""


@dataclass(slots=True)
class ReadFish:
    """A fish of a sheet on its way: the rows that tell of it, and what they say."""

    exam: ExamKey
    rows: list[NamedRow] = field(default_factory=list)
    values: dict[str, Any] = field(default_factory=dict)
    others: list[str] = field(default_factory=list)
    preps: dict[tuple[str, str, int | None, int | None], list[Found]] = field(default_factory=dict)
    nothing: set[tuple[str, str, int | None, int | None]] = field(default_factory=set)
    by_eye: list[Found] = field(default_factory=list)
    called: str = ""
    wrong: dict[int, str] = field(default_factory=dict)

    @property
    def line(self) -> int:
        """The line on which it begins."""
        return self.rows[0].line

    def say(self, name: str, value: Any) -> None:
        """Take a value of the fish; two that differ are refused."""
        if value in (None, ""):
            return
        if self.values.setdefault(name, value) != value:
            raise BadInput(
                f"The rows of this fish say {self.values[name]} and {value}. Correct one of them."
            )

    def fish(self, nth: int) -> ExamFish:
        """The fish, with its number within the examination.

        Parameters
        ----------
        nth
            The number, where its rows write none.
        """
        preps = tuple(
            Prep(kind, place, magnification, fields, "", tuple(found))  # type: ignore[arg-type]
            for (kind, place, magnification, fields), found in self.preps.items()
        )
        other = "; ".join(dict.fromkeys(one for one in self.others if one))
        if len(other) > _MOST["note"]:
            raise BadInput(f"The note holds {len(other)} characters; {_MOST['note']} can be kept.")
        return ExamFish(**{"nth": nth, **self.values}, other=other, preparations=preps,
                        by_eye=tuple(self.by_eye))  # fmt: skip


class FishRows:
    """How the rows of one parasite sheet are read.

    Parameters
    ----------
    book
        The practice's book.
    today
        The present day.
    sheet
        The sheet, with what was said of it.
    ponds
        Of its rows.
    """

    def __init__(self, book: Book, today: date, sheet: NamedSheet, ponds: RowPonds) -> None:
        self.book, self.today, self.sheet, self.ponds = book, today, sheet, ponds
        self.said = sheet.said
        self.gathering = Gathering()
        self._pieces = {row.line: pieces_of(sheet, row) for row in sheet.rows}
        self.measures = Measures(
            sheet, [(line, one) for line, held in self._pieces.items() for one in held]
        )
        self._people: dict[str, str] = {}
        self.empty: list[int] = []

    def fish(self) -> list[ReadFish]:
        """Every fish of the sheet that is wholly understood; the rows of the others are refused."""
        found: dict[object, ReadFish] = {}
        for row in self.sheet.rows:
            one: ReadFish | None = None
            try:
                exam = self._exam(row)
                one = found.setdefault(
                    (exam, self._which(row)), ReadFish(exam, called=self._called(row))
                )
                one.rows.append(row)
                self._row(row, one)
            except PondroundError as error:
                if one is None:
                    refuse(self.gathering, row, error.message)
                else:
                    one.wrong[row.line] = error.message
        for one in found.values():
            self._check(one)
        for one in found.values():
            if one.wrong:
                lines = ", ".join(str(line) for line in sorted(one.wrong))
                other = f"It belongs to the same fish as line {lines}, which cannot be read."
                for row in one.rows:
                    refuse(self.gathering, row, one.wrong.get(row.line, other))
        return [one for one in found.values() if not one.wrong]

    def _exam(self, row: NamedRow) -> ExamKey:
        day, cell = self.sheet.day(row)
        if day > self.today:
            raise BadInput("The day lies ahead. Correct it.")
        typed = row.text("examiner") or self.said.get("examiner")
        if typed not in self._people:
            person = person_named(self.book, typed)
            self._people[typed] = plain(typed)[:500] if person is None else person.name
        told = row.text("purpose").casefold()
        said = told if told in PURPOSES else self.said.get("purpose")
        purpose = next((one for one in PURPOSES if one == said), None)
        if purpose is None:
            raise BadInput(f"“{said:.40}” is no purpose: {', '.join(PURPOSES)}.")
        if not typed:
            raise BadInput("The row does not say who looked at the fish.")
        clock = row.text("time") or cell.clock
        return self.ponds.of(row), day, clock, self._people[typed], purpose

    def _which(self, row: NamedRow) -> object:
        """What tells the fish of an examination apart."""
        told = row.text("fish"), row.text("mark")
        if any(told):
            numbered = _NUMBERED.fullmatch(told[0])
            return (int(numbered[1]) if numbered else key_of(told[0]), "" if told[0] else told[1])
        return "" if self.said.get("fish") == "day" else row.line

    def _called(self, row: NamedRow) -> str:
        titled = row.under if self.ponds.given is None else ""
        return row.text("code") or row.text("pond") or titled

    def _row(self, row: NamedRow, fish: ReadFish) -> None:
        self._say_fish(row, fish)
        fields = self._whole(row, "fields", 10_000)
        magnification = self._magnification(row)
        pieces = self._pieces[row.line]
        for piece in pieces:
            self._take(fish, piece, magnification, fields, row)
        if not pieces:
            site = row.own("site")
            if site:
                fish.others.append(f"{site}: nothing is written in the sheet")
            self.empty.append(row.line)

    def _take(
        self, fish: ReadFish, piece: Piece, magnification: int | None, fields: int | None,
        row: NamedRow,
    ) -> None:  # fmt: skip
        kind, place = self._site(piece)
        key = (kind, place, magnification, fields)
        if magnification is None and fields is None:
            # A row that says nothing of the slide tells of the one before it.
            key = next((one for one in reversed(fish.preps) if one[:2] == (kind, place)), key)
        if piece.nothing:
            if kind != BY_EYE:
                fish.preps.setdefault(key, [])
                fish.nothing.add(key)
            return
        hazard = self.measures.hazard(piece)
        if not hazard:
            fish.others.append(f"{kind}: {piece.name} {piece.amount.text}".strip())
            return
        found = self.measures.found(piece, hazard, fields)
        if found is None:
            return
        if row.text("note") and self.sheet.has("parasite"):
            note = "; ".join(filter(None, (found.note, plain(row.text("note"), lines=True))))
            found = replace(found, note=note)
        if len(found.note) > _MOST["note"]:
            raise BadInput("The note of the finding is too long to be kept.")
        into = fish.by_eye if kind == BY_EYE else fish.preps.setdefault(key, [])
        if any(one.hazard == hazard for one in into):
            raise BadInput(f"{plain_name(hazard)} stands twice for one preparation of this fish.")
        into.append(found)

    def _check(self, fish: ReadFish) -> None:
        for key in fish.nothing:
            if any(one.present for one in fish.preps.get(key, ())):
                fish.wrong[fish.rows[-1].line] = (
                    f"Nothing was found in the {key[0]}, and something was. Correct one of them."
                )

    def _site(self, piece: Piece) -> tuple[str, str]:
        known = site_of(piece.site) if piece.site else None
        # Where a person said what a site is, its own words are kept as the place.
        kind, place = known or (self.said.get("site", piece.site), plain(piece.site))
        if not kind:
            raise BadInput("The row does not say from where the scrape is.")
        place = piece.place or place
        if len(place) > _MOST["place"]:
            raise BadInput("The site is too long to be kept.")
        return kind, place

    def _say_fish(self, row: NamedRow, fish: ReadFish) -> None:
        numbered = _NUMBERED.fullmatch(row.text("fish"))
        if numbered is not None and 1 <= int(numbered[1]) <= 10_000:
            fish.say("nth", int(numbered[1]))
        named = [row.text("mark")] + ([] if numbered is not None else [row.text("fish")])
        fish.say("mark", self._fits("mark", ", ".join(filter(None, named))))
        species = self._fits("species", plain(row.text("species")))
        fish.say("species", key_of(species) if key_of(species) in SPECIES else species)
        self._length(row, fish)
        self._weight(row, fish)
        self._condition(row, fish)
        fish.say("treated", self._fits("note", plain(row.text("treated"), lines=True)))
        told = row.text("purpose")
        if told and told.casefold() not in PURPOSES:
            fish.others.append(f"purpose: {told}")
        for column in self.sheet.columns:
            if column.meaning == IN_WORDS and (cell := row.cell(column)):
                site = f", {row.text('site')}" if row.text("site") else ""
                fish.others.append(f"{column.title} {cell}{site}")
        if not self.sheet.has("parasite") or not self._pieces[row.line]:
            fish.others.append(plain(row.text("note"), lines=True))

    def _length(self, row: NamedRow, fish: ReadFish) -> None:
        for column in (one for one in self.sheet.columns if one.meaning in LENGTHS):
            cell = row.cell(column)
            if not cell:
                continue
            unit = column.unit or self.said.get("unit", column.title)
            found = lengths_of(cell, unit)
            if found is None or found.low_cm != found.high_cm:
                fish.others.append(f"{column.title} as written: {cell}")
                continue
            fish.say("length_cm", found.low_cm)
            fish.say("length_kind", _KINDS.get(column.meaning))
            if unit.casefold() != "cm" or not cell[-1:].isdigit():
                written = f"{cell} {unit}" if cell[-1:].isdigit() else cell
                fish.others.append(f"{column.title} as written: {written}")

    def _weight(self, row: NamedRow, fish: ReadFish) -> None:
        for column in self.sheet.columns_of("weight"):
            cell = row.cell(column)
            unit = column.unit or self.said.get("unit", column.title)
            weight_g = weight_g_of(cell, unit) if cell else None
            if cell and (weight_g is None or not self.said.get("weight")):
                fish.others.append(f"{column.title} as written: {cell}")
            elif weight_g is not None:
                fish.say("weight_g", weight_g)
                fish.say("weight_how", self.said.get("weight"))

    def _condition(self, row: NamedRow, fish: ReadFish) -> None:
        if text := row.text("condition"):
            meant = [one for one in words().get(text.casefold(), ()) if one.kind == "condition"]
            if len(meant) == 1:
                fish.say("condition", meant[0].code)
            else:
                fish.others.append(f"condition: {text}")
        if text := row.text("signs"):
            try:
                codes = typed_signs(text.replace(";", ","))
            except BadInput:
                fish.others.append(f"signs as written: {text}")
                return
            for kind, name in (("sign", "signs"), ("behaviour", "behaviour")):
                fish.say(name, tuple(one for one in codes if known_signs()[one].kind == kind))

    def _whole(self, row: NamedRow, role: str, most: int) -> int | None:
        text = row.text(role)
        if not text:
            return None
        found = _WHOLE.fullmatch(text)
        if found is None or not 1 <= int(found[1]) <= most:
            raise BadInput(f"“{text:.40}” is no number of {role}.")
        return int(found[1])

    def _magnification(self, row: NamedRow) -> int | None:
        text = row.text("magnification")
        if not text:
            return None
        found = MAGNIFICATION.fullmatch(text) or re.fullmatch(r"(\d{1,4})(?:\.0+)?()", text)
        power = int(found[1] or found[2]) if found is not None else 0
        if not 1 <= power <= 5000:
            raise BadInput(f"“{text:.40}” is no magnification. Write it as 100x.")
        return power

    def _fits(self, name: str, text: str) -> str:
        if len(text) > _MOST[name]:
            raise BadInput(f"“{text:.40}” is longer than {_MOST[name]} letters.")
        return text
