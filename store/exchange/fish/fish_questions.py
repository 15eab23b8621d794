"""What a parasite sheet leaves open, asked once for the whole file."""

from __future__ import annotations

from collections.abc import Iterator

from store.errors import BadInput
from store.exams.values import PREP_KINDS, PURPOSES, SCORES
from store.exchange.columns.named import IGNORE, NamedSheet
from store.exchange.columns.question import Answer, Question
from store.exchange.fish.death_columns import unit_question
from store.exchange.fish.fish_columns import (
    IN_WORDS,
    LENGTHS,
    most_score,
    scale_of,
    unknown_columns,
)
from store.exchange.fish.fish_words import (
    Amount,
    all_parasites,
    heading_parts,
    parasites_like,
    parasites_named,
    site_of,
)
from store.exchange.fish.lengths import is_bare
from store.exchange.fish.pieces import Piece, measure_of, pieces_of
from store.exchange.named.whose_row import RowPonds
from store.text import plain


def open_in_fish(sheet: NamedSheet, ponds: RowPonds) -> Iterator[Question]:
    """What a parasite sheet leaves open beside what every sheet does.

    Parameters
    ----------
    sheet
        The sheet.
    ponds
        Of its rows.
    """
    yield from ponds.asked(sheet)
    yield from _columns_asked(sheet)
    pieces = [(row.line, one) for row in sheet.rows for one in pieces_of(sheet, row)]
    yield from _names_asked(sheet, pieces)
    yield from _sites_asked(sheet, pieces)
    yield from _amounts_asked(sheet, pieces)
    yield from _fish_asked(sheet)
    yield from _units_asked(sheet)
    if not sheet.said.get("examiner") and not all(row.text("examiner") for row in sheet.rows):
        yield Question("examiner", "Who looked at the fish? Type the name or the initials.")
    told = {row.text("purpose").casefold() for row in sheet.rows}
    if not sheet.said.get("purpose") and not told <= set(PURPOSES):
        yield Question(
            "purpose",
            "For what were the fish looked at?",
            tuple(Answer(one, one) for one in PURPOSES),
        )


def _columns_asked(sheet: NamedSheet) -> Iterator[Question]:
    for column, cell in unknown_columns(sheet):
        yield Question(
            "column",
            f"Which parasite is “{column.title:.40}”, with cells such as “{cell:.20}”?",
            _parasites_for(
                heading_parts(column.title)[0], Answer(IGNORE, "do not read this column")
            ),
            about=column.title,
        )


def _names_asked(sheet: NamedSheet, pieces: list[tuple[int, Piece]]) -> Iterator[Question]:
    """Names and short forms of parasites within cells that are not known."""
    for name, line in _once((one.name, line) for line, one in pieces if one.name):
        if sheet.said.get("word", name):
            if not _answers_word(sheet.said.get("word", name)):
                raise BadInput(
                    f"“{plain(sheet.said.get('word', name)):.40}” is no parasite of the list. Name "
                    "one of them, or say “words”.",
                    field="word",
                )
            continue
        if len(parasites_named(name)) == 1:
            continue
        yield Question(
            "word",
            f"Which parasite is “{plain(name):.40}” (line {line} first)?",
            _parasites_for(name),
            about=name,
        )


def _parasites_for(name: str, *more: Answer) -> tuple[Answer, ...]:
    """What a name may be, the nearest first; without any that is near, to keep it in words."""
    like = parasites_named(name) or parasites_like(name)
    others = [one for one in all_parasites() if one not in like]
    return (
        *(Answer(one.plain, one.plain) for one in like),
        Answer(IN_WORDS, "no parasite of the list: keep it in words"),
        *more,
        *(Answer(one.plain, one.plain) for one in others),
    )


def _answers_word(said: str) -> bool:
    return said == IN_WORDS or len(parasites_named(said)) == 1


def _sites_asked(sheet: NamedSheet, pieces: list[tuple[int, Piece]]) -> Iterator[Question]:
    """Sites that are not known, and the site of a sheet that names none."""
    kinds = tuple(Answer(one, one) for one in PREP_KINDS)
    if not sheet.has("site"):
        if any(not one.site for _, one in pieces) and not sheet.said.get("site"):
            yield Question("site", "The file does not say from where the scrapes are.", kinds)
        return
    for name, line in _once((one.site, line) for line, one in pieces if one.site):
        if site_of(name) is None and not sheet.said.get("site", name):
            yield Question(
                "site",
                f"Which preparation is “{plain(name):.40}” (line {line} first)?",
                kinds,
                about=name,
            )


def _amounts_asked(sheet: NamedSheet, pieces: list[tuple[int, Piece]]) -> Iterator[Question]:
    said = sheet.said
    by_kind: dict[str, list[tuple[int, Amount]]] = {}
    for at, piece in pieces:
        by_kind.setdefault(piece.amount.kind, []).append((at, piece.amount))
    if "dash" in by_kind and not said.get("dash"):
        line, one = by_kind["dash"][0]
        yield Question(
            "dash",
            f"What does “{one.text}” mean (line {line} first)?",
            (
                Answer("none", "looked, none seen"),
                Answer("blank", "not looked"),
            ),
        )
    if "empty" in by_kind and not said.get("empty"):
        line, one = by_kind["empty"][0]
        yield Question(
            "empty",
            f"Line {line} names a parasite and says nothing of how much ({len(by_kind['empty'])} "
            "in all). What does that mean?",
            (
                Answer("present", "it was found"),
                Answer("blank", "not looked"),
                Answer("none", "looked, none seen"),
            ),
        )
    bare = [
        (at, piece.amount)
        for at, piece in pieces
        if piece.amount.kind == "number" and piece.amount.number and not measure_of(sheet, piece)
    ]
    if bare:
        line, one = bare[0]
        yield Question(
            "numbers",
            f"What are numbers such as “{one.text:.20}” (line {line} first)?",
            (
                Answer("count", "counted over all the fields that were looked at"),
                Answer("each", "counted per field"),
                Answer("score", "a score"),
            ),
        )
    most = most_score(sheet, pieces)
    if most > 3 and said.get("scale") != IN_WORDS and scale_of(sheet, most) is None:
        yield _scale_question(most)
    if "inexact" in by_kind and not said.get("inexact"):
        line, one = by_kind["inexact"][0]
        yield Question(
            "inexact",
            f"“{one.text:.20}” is no number that was counted (line {line} first, "
            f"{len(by_kind['inexact'])} in all). How is such a cell kept?",
            (
                Answer(IN_WORDS, "as found, with the words in its note"),
                Answer("refuse", "not at all: leave those fish out"),
            ),
        )
    for text, line in _once((one.text, line) for line, one in by_kind.get("word", [])):
        if not said.get("score", text):
            yield Question(
                "score",
                f"How much is “{plain(text):.40}” (line {line} first)?",
                (
                    Answer("1", "a score of +"),
                    Answer("2", "a score of ++"),
                    Answer("3", "a score of +++"),
                    Answer(IN_WORDS, "found: keep the word in the note"),
                    Answer("none", "looked, none seen"),
                    Answer("blank", "not looked"),
                ),
                about=text,
            )


def _scale_question(most: int) -> Question:
    capped = [min(score, 3) for score in range(1, most + 1)]
    spread = [max(1, 3 * score // most) for score in range(1, most + 1)]
    answers = []
    for scale in (capped, spread):
        told = ", ".join(
            f"{'+' * score if most < 6 else score} as {SCORES[kept]}"
            for score, kept in enumerate(scale, start=1)
        )
        answers.append(Answer("".join(map(str, scale)), told))
    return Question(
        "scale",
        f"The scores of the file go to {most}, those of the book to 3 (+++). How do they go over? "
        "What the file says stays in the note either way.",
        (*answers, Answer(IN_WORDS, "not at all: keep the scores in words")),
    )


def _fish_asked(sheet: NamedSheet) -> Iterator[Question]:
    """Without a column of fish, whether each row is one."""
    if sheet.has("fish", "mark") or sheet.said.get("fish"):
        return
    if sheet.has("parasite", "site") and len(sheet.rows) > 1:
        yield Question(
            "fish",
            "The file has no column that tells the fish apart. Is each row a fish of its own?",
            (
                Answer("row", "each row is a fish"),
                Answer("day", "all rows of a pond and day are one fish"),
            ),
        )


def _units_asked(sheet: NamedSheet) -> Iterator[Question]:
    for column in sheet.columns:
        if column.meaning in LENGTHS and not column.unit:
            bare = next((cell for row in sheet.rows if is_bare(cell := row.cell(column))), "")
            if bare and not sheet.said.get("unit", column.title):
                yield unit_question(column, bare)
        if column.meaning == "weight" and any(row.cell(column) for row in sheet.rows):
            bare = next((c for row in sheet.rows if (c := row.cell(column))[-1:].isdigit()), "")
            if bare and not column.unit and not sheet.said.get("unit", column.title):
                yield Question(
                    "unit",
                    f"In which unit are the weights of “{column.title:.40}”, such as “{bare:.20}”?",
                    tuple(Answer(unit, unit) for unit in ("g", "kg", "lb", "oz")),
                    about=column.title,
                )
            if not sheet.said.get("weight"):
                yield Question(
                    "weight",
                    "Were the fish weighed, or were the weights reckoned?",
                    (Answer("weighed", "weighed"), Answer("reckoned", "reckoned from lengths")),
                )


def _once(found: Iterator[tuple[str, int]]) -> list[tuple[str, int]]:
    """Words each once, with the line on which they stand first."""
    kept: dict[str, tuple[str, int]] = {}
    for word, line in found:
        kept.setdefault(" ".join(word.casefold().split()), (word, line))
    return list(kept.values())
