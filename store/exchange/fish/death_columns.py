"""What the columns of a mortality book mean, and what such a book leaves open."""

from __future__ import annotations

import re
from collections.abc import Iterator
from contextlib import suppress
from uuid import UUID

from store.errors import BadInput, NotFound
from store.exams.deaths import MOST_DEAD
from store.exams.line_words import SPECIES
from store.exchange.columns.named import (
    DAY,
    NOTE,
    WHOSE,
    NamedColumn,
    NamedRow,
    NamedSheet,
    Role,
    SheetKind,
)
from store.exchange.columns.question import Answer, Question
from store.exchange.columns.said import Said
from store.exchange.fish.lengths import LENGTH_UNITS, is_bare
from store.exchange.named.whose_row import RowPonds
from store.exchange.plain.whose import PondNames
from store.text import plain
from store.watch.stock import key_of

KIND = "mortality books"
OF, IN = "dead of ", "dead in "
"""How columns begin that hold the dead of one species, or of one pond."""
DASH = re.compile(r"[-–—]+")
LENGTHS = ("length", "length_low", "length_high")
_ROLES = {
    **WHOSE,
    **DAY,
    "number": Role(
        ("dead", "deaths", "died", "mortality", "mortalities", "morts", "mort", "losses", "lost",
         "no", "nr", "no dead", "number dead", "no of dead", "no of fish", "number of fish",
         "number of dead", "number of deaths", "dead fish", "fish dead", "fish lost", "fish died",
         "count", "qty", "quantity", "anzahl", "tote", "verluste", "nombre", "morts", "aantal",
         "dode vissen", "#", "# dead", "#dead"),
        label="number of dead fish",
    ),
    "total": Role(("sum", "gesamt", "summe", "totaal", "total dead", "all", "day total")),
    "species": Role(
        ("kind", "fish", "fish species", "kind of fish", "variety", "art", "fischart", "espèce",
         "soort", "type"), carried=True,
    ),
    "cause": Role(
        ("reason", "cause of death", "suspected cause", "probable cause", "likely cause", "why",
         "diagnosis", "ursache", "todesursache", "oorzaak"),
    ),
    "zone": Role(("area", "section", "bay", "enclosure", "part", "location", "bereich"),
                 carried=True),
    "signs": Role(("sign", "lesions", "external signs", "seen on them", "symptoms")),
    "length": Role(("size", "lengths", "sizes", "length range", "size range", "länge", "taille"),
                   LENGTH_UNITS),
    "length_low": Role(("min length", "minimum length", "smallest", "length min", "length from"),
                       LENGTH_UNITS, label="smallest length"),
    "length_high": Role(("max length", "maximum length", "largest", "length max", "length to"),
                        LENGTH_UNITS, label="largest length"),
    "by": Role(("found by", "counted by", "initials", "who", "staff", "keeper on duty")),
    **NOTE,
}  # fmt: skip
_WHOLE = re.compile(r"[0-9]{1,9}(?:\.0+)?|[0-9]{1,3}(?:[,.][0-9]{3})+")
_WITH_SPECIES = re.compile(r"([0-9]{1,6})\s*(?:x\s*)?([^\W\d_][^\d,;&+]*)")
_NONE_DEAD = frozenset(
    {"none", "nil", "no", "zero", "no dead", "no deaths", "none dead", "no mortality",
     "no mortalities", "no losses", "keine", "aucun", "geen"}
)  # fmt: skip
_NONE = Answer("none", "somebody looked, and none was dead")
_BLANK = Answer("blank", "nobody looked, or nobody wrote it down")


def deaths_kind(ponds: PondNames) -> SheetKind:
    """The roles of a mortality book; a column may be of one species, or of one pond.

    Parameters
    ----------
    ponds
        The ponds of the book, whose names may head columns.
    """

    def extra(title: str) -> str:
        if key_of(title) in SPECIES:
            return f"{OF}{key_of(title)}"
        if len(title) < 2 or title.isdigit():
            return ""
        try:
            return f"{IN}{ponds.one(title)}"
        except (NotFound, BadInput):
            return ""

    once, above = frozenset({"total", "others", "twice"}), frozenset({*WHOSE, "species"})
    return SheetKind(KIND, _ROLES, ("date",), extra, once, above)


def counted_columns(sheet: NamedSheet) -> tuple[NamedColumn, ...]:
    """The columns that hold numbers of dead fish; the total alone where there is no other.

    Parameters
    ----------
    sheet
        The book.

    Raises
    ------
    BadInput
        When there is none, or one for all fish stands beside one for some.
    """
    wide = tuple(one for one in sheet.columns if one.meaning.startswith((OF, IN)))
    numbers = sheet.columns_of("number")
    if wide and numbers:
        raise BadInput(
            f"The column “{numbers[0].title:.30}” counts dead fish and so does "
            f"“{wide[0].title:.30}”; nothing was brought in. Say of one of them that it is to be "
            "ignored.",
            field="column",
        )
    if len({one.meaning for one in wide}) < len(wide):
        raise BadInput(
            "Two columns of the file count the dead of the same fish; nothing was brought in. Say "
            "of one of them that it is to be ignored.",
            field="column",
        )
    found = wide or numbers or sheet.columns_of("total")
    if not found:
        raise BadInput(
            "The file has no column with the number of dead fish; nothing was brought in. Head it "
            "“dead”, or say which column it is.",
            field="column",
        )
    return found


def column_pond(column: NamedColumn) -> UUID | None:
    """The pond that a column of numbers is of; None where the row says it.

    Parameters
    ----------
    column
        The column.
    """
    return UUID(column.meaning.removeprefix(IN)) if column.meaning.startswith(IN) else None


def zone_is_pond(sheet: NamedSheet, ponds: RowPonds) -> bool:
    """Whether the column of zones names the ponds of the book.

    Parameters
    ----------
    sheet
        The book.
    ponds
        Of its rows.
    """
    if not sheet.has("zone") or sheet.has("pond", "code") or ponds.given is not None:
        return False
    said = sheet.said.get("zone")
    return said == "pond" if said else all(_is_pond(ponds, one) for one in _zones(sheet))


def open_in_deaths(sheet: NamedSheet, ponds: RowPonds) -> Iterator[Question]:
    """What a mortality book leaves open beside what every sheet does.

    Parameters
    ----------
    sheet
        The book.
    ponds
        Of its rows.
    """
    counted = counted_columns(sheet)
    if not zone_is_pond(sheet, ponds) and not all(map(column_pond, counted)):
        if sheet.has("zone") and not sheet.has("pond", "code") and ponds.given is None:
            if not sheet.said.get("zone"):
                zone = next(iter(_zones(sheet)), "")
                yield Question(
                    "zone",
                    f"The file has a column of zones, such as “{zone:.30}”, and none of ponds. "
                    "Are the zones ponds of the book?",
                    (
                        Answer("pond", "they are ponds"),
                        Answer("note", "they are parts of one pond; keep them in the note"),
                    ),
                )
            elif sheet.said.get("zone") == "note":
                yield from ponds.asked(sheet)
        else:
            yield from ponds.asked(sheet)
    if not sheet.said.get("dash"):
        for row in sheet.rows:
            if any(DASH.fullmatch(row.cell(one)) for one in counted):
                yield Question(
                    "dash",
                    f"“{next(row.cell(one) for one in counted if DASH.fullmatch(row.cell(one)))}” "
                    f"stands for the number of dead fish (line {row.line} first). What does it "
                    "mean?",
                    (_NONE, _BLANK),
                )
                break
    ended = sum_line(sheet)
    if ended is not None and ended.filled and not sheet.said.get("total"):
        yield Question(
            "total",
            f"Line {ended.line} holds a number alone, the sum of those above it. Is it a total?",
            (
                Answer("total", "a total: leave it out"),
                Answer("row", "dead fish of their own: save them"),
            ),
        )
    for column in (one for one in sheet.columns if one.meaning in LENGTHS):
        if column.unit or sheet.said.get("unit", column.title):
            continue
        bare = next((cell for row in sheet.rows if is_bare(cell := row.cell(column))), "")
        if bare:
            yield unit_question(column, bare)


def unit_question(column: NamedColumn, cell: str) -> Question:
    """In which unit the lengths of a column are.

    Parameters
    ----------
    column
        The column.
    cell
        One of its cells.
    """
    return Question(
        "unit",
        f"The column “{column.title:.40}” names no unit of length, as in “{cell:.20}”. In which "
        "unit are its numbers?",
        tuple(Answer(unit, unit) for unit in ("cm", "mm", "inch")),
        about=column.title,
    )


def _zones(sheet: NamedSheet) -> dict[str, None]:
    return dict.fromkeys(zone for row in sheet.rows if (zone := row.text("zone")))


def _is_pond(ponds: RowPonds, text: str) -> bool:
    try:
        ponds.names.one(text)
    except (NotFound, BadInput):
        return False
    return True


def dead_in(cell: str, said: Said) -> tuple[int | None, str]:
    """The number of dead fish in a cell, and the species that stands beside it.

    Parameters
    ----------
    cell
        The cell.
    said
        What a dash means.

    Returns
    -------
    tuple of int or None, str
        None where nobody looked.

    Raises
    ------
    BadInput
        When it is no number that was counted.

    Examples
    --------
    >>> dead_in("3 koi", Said()), dead_in("none", Said()), dead_in("", Said())
    ((3, 'koi'), (0, ''), (None, ''))
    """
    text = " ".join(plain(cell).split())
    if not text:
        return None, ""
    if DASH.fullmatch(text):
        return (0 if said.get("dash") == "none" else None), ""
    if text.casefold().rstrip(".") in _NONE_DEAD:
        return 0, ""
    kind = ""
    beside = _WITH_SPECIES.fullmatch(text)
    if beside is not None and key_of(beside[2]) in SPECIES:
        text, kind = beside[1], key_of(beside[2])
    if not _WHOLE.fullmatch(text):
        raise BadInput(
            f"“{text:.40}” is no number of fish that was counted. Write a whole number, and "
            "what else there is to say into the note."
        )
    number = int(re.sub(r"[.,]", "", re.sub(r"\.0+$", "", text)))
    if number > MOST_DEAD:
        raise BadInput(f"{number:,} is not a number of fish that can be.")
    return number, kind


def sum_line(sheet: NamedSheet) -> NamedRow | None:
    """The last row, where it holds the sum of all above it and nothing else.

    Parameters
    ----------
    sheet
        The book.
    """
    counted = counted_columns(sheet)
    if len(sheet.rows) < 3:
        return None
    last = sheet.rows[-1]
    places = {one.place for one in counted}
    held = {place for place, cell in enumerate(last.raw.cells) if cell.strip()}
    if not held or not held <= places:
        return None
    for column in counted:
        numbers: list[int] = []
        for row in sheet.rows:
            with suppress(BadInput):
                numbers.append(dead_in(row.raw.cell(column.place), sheet.said)[0] or 0)
        if last.raw.cell(column.place).strip() and sum(numbers[:-1]) != numbers[-1]:
            return None
    return last
