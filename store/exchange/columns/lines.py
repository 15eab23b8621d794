"""Lines and cells by what they look like: days, totals, marks that say as above."""

from __future__ import annotations

import re

from store.errors import BadInput
from store.exchange.columns.dates import day_cell
from store.exchange.sheets import RawRow
from store.text import plain

NUMBER = re.compile(r"[<>~]?[-+]?[0-9]*[.,]?[0-9]+")
TOTAL = re.compile(
    r"(?:(?:grand|sub|monthly|weekly|yearly|running|overall)[ -]?)?(?:totals?|cumulative|"
    r"year to date|ytd|(?:brought|carried) forward|sum|average|avg|mean|median|"
    r"min(?:imum)?|max(?:imum)?|st\.?d(?:ev)?|range|summe|gesamt|zwischensumme|mittel(?:wert)?|"
    r"durchschnitt|moyenne|promedio|gemiddelde|totaal|totale)(?![^\W_]).{0,40}",
    re.IGNORECASE,
)
DITTO = re.compile(
    r"[\"”“″〃']{1,2}|-[\"”″]-|ditto|dito|do\.|idem|same(?: as above)?|s\.?o\.?", re.I
)
ORDER_SAID = re.compile(
    r"[(\[ ]*\b(d{1,2}|m{1,2}|tt|j{2,4}|y{2,4})[./ -](d{1,2}|m{1,2})"
    r"[./ -](y{2,4}|d{1,2}|j{2,4})\b[)\] ]*",
    re.IGNORECASE,
)


def is_day(cell: str) -> bool:
    """Whether a cell names a day of a month or a year.

    Parameters
    ----------
    cell
        The cell.
    """
    if not any(letter.isdigit() for letter in cell):
        return False
    try:
        found = day_cell(cell)
    except BadInput:
        return False
    return bool(found.year or found.month)


def has_data(row: RawRow) -> bool:
    """Whether a row holds a number or a day, so that it is none of headings.

    Parameters
    ----------
    row
        The row.
    """
    return any(NUMBER.fullmatch(cell.strip()) or is_day(cell) for cell in row.cells)


def order_said(cells: tuple[str, ...]) -> str:
    """The order of day and month that headings state, as in `Date (dd/mm/yyyy)`; or nothing.

    Parameters
    ----------
    cells
        The headings.

    Examples
    --------
    >>> order_said(("Date (TT.MM.JJJJ)", "Fish"))
    'dmy'
    """
    for cell in cells:
        found = ORDER_SAID.search(cell)
        if found is not None:
            letters = "".join(part[0].lower() for part in found.groups())
            letters = letters.replace("t", "d").replace("j", "y")
            if letters in ("dmy", "mdy", "ymd"):
                return letters
    return ""


def line_text(row: RawRow) -> str:
    """A row in one line, for a person; at most 120 characters.

    Parameters
    ----------
    row
        The row.
    """
    return plain(" | ".join(cell.strip() for cell in row.cells if cell.strip()))[:120]
