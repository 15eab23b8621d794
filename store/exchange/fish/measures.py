"""How much of a parasite a piece of a sheet says, as the book keeps it: a count or a score.

A score is never made a count, nor a count a score, and nothing is averaged. What goes over by a
person's say alone keeps the words of the sheet in its note.
"""

from __future__ import annotations

from collections.abc import Sequence

from store.errors import BadInput
from store.exams.values import Confidence, Found
from store.exchange.columns.named import NamedSheet
from store.exchange.columns.said import key_of
from store.exchange.fish.fish_columns import IN_WORDS, most_score, scale_of
from store.exchange.fish.fish_words import parasites_named
from store.exchange.fish.pieces import Piece, measure_of

_MOST_COUNT = 1_000_000


class Measures:
    """What the marks and numbers of one sheet mean.

    Parameters
    ----------
    sheet
        With what was said of it.
    pieces
        What all its rows say, with their lines.
    """

    def __init__(self, sheet: NamedSheet, pieces: Sequence[tuple[int, Piece]]) -> None:
        self.sheet, self.said = sheet, sheet.said
        self.most = most_score(sheet, list(pieces))
        self.scale = scale_of(sheet, self.most)
        self._scored = {one.column for _, one in pieces if one.amount.kind == "plus"}
        self._counted = {
            one.column for _, one in pieces if one.amount.kind in ("number", "each")
            and one.amount.number
        }  # fmt: skip

    def hazard(self, piece: Piece) -> str:
        """The code of a piece's parasite; empty where it is kept in words.

        Parameters
        ----------
        piece
            The piece.

        Raises
        ------
        BadInput
            When nobody has said what the name means.
        """
        if piece.hazard:
            return piece.hazard
        # What is said of all unknown names is not said of those that are known.
        said = self.said.answers.get(key_of("word", piece.name), "")
        meant = parasites_named(said or piece.name)
        if IN_WORDS in (said, self.said.get("word") if len(meant) != 1 else ""):
            return ""
        if len(meant) != 1:
            raise BadInput(f"“{piece.name:.40}” is no parasite that is known.")
        return meant[0].code

    def found(self, piece: Piece, hazard: str, fields: int | None) -> Found | None:
        """A finding; None where nobody looked.

        Parameters
        ----------
        piece
            What the sheet says.
        hazard
            Its code.
        fields
            Over how many fields was counted, where the sheet says so.

        Raises
        ------
        BadInput
            When it is no measure.
        """
        amount, text = piece.amount, piece.amount.text
        sure: Confidence = "suspected" if amount.suspected else "seen"
        none = self._none(piece, hazard)
        match amount.kind:
            case "none":
                return none
            case "dash" | "empty":
                said = self.said.get(amount.kind)
                if said == "present":
                    return Found(hazard)
                return none if said == "none" else None
            case "plus":
                return self._scored_as(piece, hazard, int(amount.number), sure)
            case "number" | "each":
                return self._number(piece, hazard, fields, sure)
            case "present":
                return Found(hazard, confidence=sure, note=piece.beside)
            case "inexact":
                if self.said.get("inexact") != IN_WORDS:
                    raise BadInput(f"“{text:.40}” is no number that was counted.")
                return Found(hazard, confidence=sure, note=self._note(piece, text))
            case "word":
                said = self.said.get("score", text)
                if said in ("1", "2", "3"):
                    return Found(hazard, None, int(said), "not looked", sure,
                                 self._note(piece, text))  # fmt: skip
                if said == IN_WORDS:
                    return Found(hazard, confidence=sure, note=self._note(piece, text))
                return none if said == "none" else None
        return None

    def _none(self, piece: Piece, hazard: str) -> Found:
        """Looked for and not seen, by the measure that the column has, else the sheet."""
        measure = measure_of(self.sheet, piece)
        by_column = piece.column in self._scored or (
            bool(self._scored) and piece.column not in self._counted
        )
        score = measure == "score" or (not measure and by_column)
        return Found(hazard, None, 0) if score else Found(hazard, 0)

    def _scored_as(self, piece: Piece, hazard: str, score: int, sure: Confidence) -> Found:
        text = piece.amount.text
        if self.scale is None:
            note = self._note(piece, f"{text}, of 0 to {self.most}")
            return Found(hazard, confidence=sure, note=note)
        if not self.scale:
            return Found(hazard, None, score, "not looked", sure, piece.beside)
        note = self._note(piece, f"{text}, of 0 to {self.most}")
        return Found(hazard, None, self.scale[score - 1], "not looked", sure, note)

    def _number(self, piece: Piece, hazard: str, fields: int | None, sure: Confidence) -> Found:
        number, text = piece.amount.number, piece.amount.text
        measure = "each" if piece.amount.kind == "each" else measure_of(self.sheet, piece)
        if not number:
            return self._none(piece, hazard)
        whole = number.is_integer()
        if measure == "score":
            if not whole:
                return Found(hazard, confidence=sure, note=self._note(piece, f"score {text}"))
            return self._scored_as(piece, hazard, int(number), sure)
        if measure == "each":
            # Every figure is the sheet's own: a total that is no whole number stays in words.
            total = number * (fields or 0)
            if fields is None or not total.is_integer():
                note = self._note(piece, text if "/" in text else f"{text} per field")
                return Found(hazard, confidence=sure, note=note)
            note = self._note(piece, f"{text} per field" if text[-1:].isdigit() else text)
            return Found(hazard, self._count(total, text), None, "not looked", sure, note)
        if not whole:
            raise BadInput(f"“{text:.40}” is no whole number, so it was not counted.")
        return Found(hazard, self._count(number, text), None, "not looked", sure, piece.beside)

    @staticmethod
    def _count(number: float, text: str) -> int:
        if number > _MOST_COUNT:
            raise BadInput(f"“{text:.40}” is more than can be kept as a count.")
        return int(number)

    @staticmethod
    def _note(piece: Piece, text: str) -> str:
        return ", ".join(filter(None, (f"written {text}", piece.beside)))
