"""What the columns of a parasite sheet mean, and how far its scores go.

A sheet is wide, with a column for each parasite or each site, or long, with a row for each finding.
"""

from __future__ import annotations

import re
from collections.abc import Iterator

from store.errors import BadInput
from store.exchange.columns.named import (
    DAY,
    IGNORE,
    NOTE,
    WHOSE,
    NamedColumn,
    NamedSheet,
    Role,
    SheetKind,
)
from store.exchange.fish.fish_words import (
    SIDES,
    amount_of,
    found_heading,
    heading_joined,
    heading_said,
    site_of,
)
from store.exchange.fish.lengths import LENGTH_UNITS
from store.exchange.fish.pieces import SLIDE, Piece, measure_of
from store.facts.hazards import hazards

KIND = "parasite sheets"
IN_WORDS = "words"
"""The answer that keeps something in words, in a note."""
LENGTHS = ("length", "fork_length", "total_length")
_ROLES = {
    **WHOSE,
    **DAY,
    "fish": Role(
        ("fish no", "fish nr", "fish number", "fish id", "fish #", "#", "no", "nr", "no of fish in "
         "sample", "fisch", "fisch nr", "poisson", "vis", "sample fish", "specimen"), carried=True,
    ),
    "mark": Role(("name", "tag", "pattern", "chip", "fish name", "pit tag")),
    "species": Role(("kind", "variety", "art", "fischart", "espèce", "soort", "type of fish")),
    "length": Role(("size", "länge", "taille", "lengte"), LENGTH_UNITS),
    "fork_length": Role(("fl", "fork"), LENGTH_UNITS, label="fork length"),
    "total_length": Role(("tl",), LENGTH_UNITS, label="total length"),
    "weight": Role(("wt", "gewicht", "poids", "mass"), ("kg", "g", "lb", "lbs", "oz", "grams")),
    "condition": Role(("body condition", "kondition")),
    "signs": Role(("sign", "lesions", "external signs", "behaviour", "clinical signs")),
    "treated": Role(("treatment", "treated with", "dip")),
    "site": Role(
        ("scrape site", "site of scrape", "site of the scrape", "scrape", "tissue", "organ",
         "sample", "sample site", "preparation", "prep", "slide", "taken from", "where", "probe",
         "entnahme", "scraped from"), carried=True,
    ),
    "magnification": Role(("mag", "magn", "objective", "vergrößerung", "power")),
    "fields": Role(("fields counted", "no of fields", "number of fields", "no fields", "felder")),
    "parasite": Role(("parasites", "organism", "finding", "found", "parasite found", "hazard",
                      "parasit", "pathogen", "identified")),
    "amount": Role(("result", "abundance", "intensity", "level", "burden", "load", "how many",
                    "score/count", "count/score", "amount found", "infestation")),
    "score": Role(("grade", "score of", "rating")),
    "count": Role(("number", "counted", "total count", "anzahl", "n", "number counted")),
    "each": Role(("per field", "count per field", "number per field", "count/field", "n/field"),
                 label="count per field"),
    "examiner": Role(("examined by", "by", "vet", "initials", "who", "looked at by", "untersucher",
                      "microscopist"), carried=True),
    "purpose": Role(("reason", "occasion", "reason for looking")),
    "words": Role(("in words",), many=True, label="kept in words"),
    **NOTE,
}  # fmt: skip
_SCALE_SAID = re.compile(r"\b0\s*(?:-|–|to)\s*(?P<most>[1-9])\b")
_MOST_SHOWN = 40


def _extra(title: str) -> str:
    found = heading_said(title)
    if found is not None:
        return found.said
    site = site_of(title)
    if site is None or not _is_site(title):
        return ""
    return f"{SLIDE}{site[0]}" + (f", {site[1]}" if site[1] else "")


def _is_site(text: str) -> bool:
    site = site_of(text)
    return site is not None and site[1].casefold() in {"", *SIDES}


_ABOVE = frozenset({
    *WHOSE, *DAY, "examiner", "purpose", "species", "magnification", "fields"
})  # fmt: skip
_ONCE = frozenset({"examiner", "purpose", "weight", "others"})
FISH = SheetKind(KIND, _ROLES, (), _extra, _ONCE, _ABOVE, _is_site, heading_joined)


def found_columns(sheet: NamedSheet) -> tuple[NamedColumn, ...]:
    """The columns of single parasites, or of what was found at a site.

    Parameters
    ----------
    sheet
        The sheet.
    """
    return tuple(
        one
        for one in sheet.columns
        if found_heading(one.meaning) is not None or one.meaning.startswith(SLIDE)
    )


def refuse_what_is_none(sheet: NamedSheet) -> None:
    """Refuse a sheet without findings, or with two columns of the same.

    Parameters
    ----------
    sheet
        The sheet.

    Raises
    ------
    BadInput
        With `column` as its field.
    """
    wide = found_columns(sheet)
    if len({one.meaning for one in wide}) < len(wide):
        twice = next(
            one for at, one in enumerate(wide) if one.meaning in {w.meaning for w in wide[:at]}
        )
        raise BadInput(
            f"“{twice.title:.40}” means the same as a column before it; nothing was brought in. "
            "Say of one of them that it is to be ignored.",
            field="column",
        )
    if sum(sheet.has(one) for one in LENGTHS) > 1:
        raise BadInput(
            "Two columns give the length of a fish; nothing was brought in. Say of one of them "
            "that it is to be ignored.",
            field="column",
        )
    if not wide and not sheet.has("parasite") and not list(unknown_columns(sheet)):
        raise BadInput(
            "The file has no column of parasites; nothing was brought in. Head columns with their "
            "names, or one with “parasite”, or say which columns they are.",
            field="column",
        )


def most_score(sheet: NamedSheet, pieces: list[tuple[int, Piece]]) -> int:
    """The highest score that the sheet writes or states; 3 where it goes no higher.

    Parameters
    ----------
    sheet
        The sheet.
    pieces
        What its rows say, with their lines.
    """
    stated = [
        int(found["most"])
        for one in sheet.columns
        if one.meaning != IGNORE and (found := _SCALE_SAID.search(one.title)) is not None
    ]
    written = [
        int(one.amount.number)
        for _, one in pieces
        if one.amount.kind == "plus"
        or (one.amount.kind == "number" and measure_of(sheet, one) == "score")
    ]
    return max([3, *stated, *written])


def scale_of(sheet: NamedSheet, most: int) -> tuple[int, ...] | None:
    """The book's score for each score of the sheet, from 1 on; None where they stay in words.

    Parameters
    ----------
    sheet
        With what a person said of its scale.
    most
        The highest score of the sheet.

    Returns
    -------
    tuple of int or None
        Empty where the scale goes to 3 and is that of the book.
    """
    if most <= 3:
        return ()
    said = sheet.said.get("scale")
    digits = [int(one) for one in re.findall(r"[0-9]", said)]
    good = len(digits) >= most and all(1 <= one <= 3 for one in digits)
    return tuple(digits) if good and digits == sorted(digits) else None


def unknown_columns(sheet: NamedSheet) -> Iterator[tuple[NamedColumn, str]]:
    """Columns that nobody knows whose cells are amounts, with a cell of each.

    Parameters
    ----------
    sheet
        The sheet.
    """
    if sheet.has("parasite"):
        return
    for one in sheet.columns:
        if one.meaning != IGNORE or one.said or one.why != "not known":
            continue
        held = [cell for row in sheet.rows if (cell := row.cell(one))]
        amounts = [
            cell
            for cell in held
            if (kind := amount_of(cell)).kind in ("plus", "none", "dash", "each", "present")
            or (kind.kind == "number" and len(one.title) <= _MOST_SHOWN)
        ]
        if held and len(amounts) * 10 >= len(held) * 6:
            yield one, next((one for one in amounts if "+" in one), amounts[0])


def plain_name(code: str) -> str:
    """What a parasite is called.

    Parameters
    ----------
    code
        Of `store.facts.hazards`.
    """
    return hazards()[code].plain_name
