"""Cells that say a day, whichever way people write one; what is not certain stays open.

Order of day and month: a day above 12, or a weekday that fits one reading alone, shows it; what no
cell shows is asked once for the file.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Literal

from store.errors import BadInput
from store.exchange.columns.day_words import (
    CLOCK,
    MONTH,
    PART_ALONE,
    PART_OF_DAY,
    WEEKDAY,
    month_of,
    part_of_day,
    weekday_of,
)
from store.exchange.columns.question import Answer, Question
from store.text import day_said, plain

Order = Literal["", "ymd", "dmy", "mdy", "each"]
_MARK = r"[ ]?[./\-,’' ][ ]?"
_YEAR_FIRST = re.compile(r"([0-9]{4})[ ]?([-/. ])[ ]?([0-9]{1,2})[ ]?\2[ ]?([0-9]{1,2})\.?")
_PACKED = re.compile(r"((?:19|20)[0-9]{2})([01][0-9])([0-3][0-9])")
_FIGURES = re.compile(
    r"([0-9]{1,2})[ ]?([./\-])[ ]?([0-9]{1,2})(?:\.|[ ]?[./\-][ ]?(’?[0-9]{4}|’?[0-9]{2}))?"
)
_DAY_FIRST = re.compile(
    rf"([0-9]{{1,2}})(?:st|nd|rd|th|er|\.)?[ ]?(?:of |de )?[-/. ]?({MONTH})\.?"
    r"(?:[ ]?[-/., ]+[ ]?(?:de )?['’]?([0-9]{4}|[0-9]{2}))?",
    re.IGNORECASE,
)
_MONTH_FIRST = re.compile(
    rf"({MONTH})\.?[ ]?[-/. ]?([0-9]{{1,2}})(?:st|nd|rd|th)?"
    r"(?:[ ]?[-/., ]+[ ]?['’]?([0-9]{4}|[0-9]{2}))?",
    re.IGNORECASE,
)
_TWO = re.compile(r"[0-9].*(?:&|\+|\band\b|\bto\b|\bund\b|\bbis\b|\bet\b|[-–]).*[0-9]", re.I | re.S)
_CENTURY_TURNS = 70
NO_DAY = "“{cell:.40}” is no day. Write it as 2026-05-02."


@dataclass(frozen=True, slots=True)
class DayCell:
    """A day as typed: with `month` its month is certain, else `figures` may be read in two ways.

    `year` is 0 where none was typed. `two_figures` tells that the year was typed as 26 and might
    stand in front. `clock` is the time as typed, `part` a word such as `am`, with `part_clock` the
    hour that stands for it.
    """

    cell: str
    year: int = 0
    month: int = 0
    day: int = 0
    figures: tuple[int, ...] = ()
    two_figures: bool = False
    weekday: int | None = None
    clock: str = ""
    part: str = ""
    part_clock: str = ""

    @property
    def certain(self) -> bool:
        """Whether no order of day and month has to be known."""
        return bool(self.month)


@dataclass(frozen=True, slots=True)
class OrderFound:
    """The order of a file, the sentence that tells how it is known, or the question."""

    order: Order
    told: str = ""
    question: Question | None = None


def day_cell(text: str) -> DayCell:
    """A cell that says a day, with or without weekday, year and time.

    Parameters
    ----------
    text
        The cell.

    Raises
    ------
    BadInput
        When it is no day, or more than one.

    Examples
    --------
    >>> day_cell("Sat 2 May 26, 7.40 am").clock
    '7:40 am'
    >>> day_cell("Sat am")
    Traceback (most recent call last):
        ...
    store.errors.BadInput: “Sat am” names a weekday and no day. Write it as 2026-05-02.
    """
    cell = plain(text, lines=True).strip()
    rest = " ".join(cell.replace("\n", " & ").replace("\u00a0", " ").split())
    rest, weekday = _weekday(rest)
    rest, clock = _clock(rest)
    rest, part = _part(rest)
    if part and not clock:
        rest, clock = _clock(rest)
    if weekday is None:
        rest, weekday = _weekday(rest)
    rest = rest.strip(" ,;:@()")
    if not cell:
        raise BadInput("The row has no day. Fill in when the sample was taken.")
    if not rest:
        if weekday is not None:
            raise BadInput(f"“{cell:.40}” names a weekday and no day. Write it as 2026-05-02.")
        raise BadInput(f"“{cell:.40}” is a time and no day. Write it as 2026-05-02 07:40.")
    found = _day(rest)
    if found is None:
        numbers = len(re.findall("[0-9]+", rest))
        if numbers > 3 or (numbers > 1 and _TWO.search(rest)):
            raise BadInput(
                f"“{cell:.40}” seems to name two days. Write one row for each day, or the day that "
                "is meant."
            )
        raise BadInput(NO_DAY.format(cell=cell))
    year, month, day, figures, short = found
    said = part_of_day(part) if part else ""
    return DayCell(cell, year, month, day, figures, short, weekday, clock, part, said)


def resolved(found: DayCell, order: Order, year: int | None = None) -> date:
    """The calendar day of a cell.

    Parameters
    ----------
    found
        The cell.
    order
        Of day and month in the file; `each` takes only what can be read in one way alone.
    year
        Where the cell has none.

    Raises
    ------
    BadInput
        When the cell is no day of the calendar, its order is open, its weekday is another one, or
        its year is not known.
    """
    cell = found.cell
    if not found.year and year is None and not (found.two_figures and order == "ymd"):
        raise BadInput(f"“{cell:.40}” has no year. Write it as 2026-05-02, or say the year.")
    if found.certain:
        ways = [_made(found.year or year or 0, found.month, found.day)]
    elif order in ("dmy", "mdy") or (order == "ymd" and found.two_figures):
        ways = [_by(found, order, year)]
    else:
        ways = [_by(found, one, year) for one in ("dmy", "mdy")]
    days = {one for one in ways if one is not None and _fits(one, found)}
    if len(days) == 1:
        return days.pop()
    if len(days) > 1:
        raise BadInput(
            f"“{cell:.40}” may be day and month in either order. Write it as 2026-05-02, or say "
            "--dates dmy or --dates mdy."
        )
    known = [one for one in ways if one is not None]
    if known and found.weekday is not None:
        raise BadInput(
            f"“{cell:.40}”: {day_said(known[0])} was another day of the week. Correct one of them."
        )
    raise BadInput(f"“{cell:.40}” is no day of the calendar{_in_order(order)}.")


def order_of(cells: Sequence[DayCell], said: str = "") -> OrderFound:
    """In which order a file writes day and month.

    Parameters
    ----------
    cells
        Every day of the file.
    said
        What a person said; it is not doubted.

    Returns
    -------
    OrderFound
        With a question where the cells leave it open, or speak for both.
    """
    open_ones = [one for one in cells if not one.certain]
    if said or not open_ones:
        return OrderFound(said or "")  # type: ignore[arg-type]
    ways = _ways(open_ones)
    only: dict[str, list[DayCell]] = {way: [] for way in ways}
    unlike: list[DayCell] = []
    for one in open_ones:
        days = {way: day for way in ways if (day := _good(one, way)) is not None}
        if len(days) == 1:
            only[next(iter(days))].append(one)
        elif len(set(days.values())) > 1:
            unlike.append(one)
    spoken = [way for way in ways if only[way]]
    if len(spoken) == 1:
        way = spoken[0]
        shown = plain(only[way][0].cell)
        return OrderFound(way, f"Days are written {_NAMES[way]}, as “{shown:.30}” shows.")  # type: ignore[arg-type]
    if not unlike:
        return OrderFound("each")
    return OrderFound("", question=_ask(unlike, only, spoken, ways))


def _month_of(found: DayCell, order: Order) -> int:
    """The month; 0 where none is certain, such as in 00/00/2026."""
    if found.month or len(found.figures) < 2:
        return found.month
    return found.figures[1] if order == "dmy" else found.figures[0]


class YearRun:
    """The year of days that are written without one: it turns where the months start anew.

    Parameters
    ----------
    year
        Of the first day.
    """

    def __init__(self, year: int | None) -> None:
        self.year = year
        self._month = 0

    def of(self, found: DayCell, order: Order) -> int | None:
        """The year of the next cell down the file; None while nobody has said one.

        Parameters
        ----------
        found
            The cell.
        order
            Of day and month.
        """
        if found.year:
            if self.year is not None:
                self.year = found.year
                self._month = _month_of(found, order)
            return found.year
        if self.year is None:
            return None
        month = _month_of(found, order) if order in ("dmy", "mdy") else found.month
        if month and self._month:
            if self._month - month > 6:
                self.year += 1
            elif month - self._month > 6:
                self.year -= 1
        self._month = month or self._month
        return self.year


_NAMES = {
    "dmy": "day before month", "mdy": "month before day", "ymd": "with the year in front",
}  # fmt: skip


def _ask(
    unlike: Sequence[DayCell],
    only: dict[str, list[DayCell]],
    spoken: Sequence[str],
    ways: Sequence[str],
) -> Question:
    shown = unlike[0]
    answers = []
    for way in ways:
        day = _good(shown, way)
        said = "" if day is None else day_said(day)
        if not shown.year:
            said = said.rpartition(" ")[0]  # a year was needed to look, and nobody wrote it
        label = f"“{shown.cell:.30}” is {said}" if said else ""
        answers.append(Answer(way, f"{_NAMES[way]}: {label}" if label else _NAMES[way]))
    if spoken:
        here, there = (only[way][0].cell for way in spoken[:2])
        text = (
            f"Days of the file are written both ways (“{here:.30}”, “{there:.30}”): which is meant "
            f"by “{shown.cell:.30}”?"
        )
    else:
        text = (
            f"“{shown.cell:.30}” may be day and month in either order, and no day of the file "
            "shows which. How are its days written?"
        )
    answers.append(Answer("each", "read only days that can be read in one way, refuse the others"))
    return Question("order", text, tuple(answers))


def _ways(cells: Sequence[DayCell]) -> list[str]:
    """The orders that come into question; a year of two figures may also stand in front."""
    ways = ["dmy", "mdy"]
    short = [one.figures for one in cells if one.two_figures]
    if short:
        first, last = len({one[0] for one in short}), len({one[2] for one in short})
        if first <= last:
            ways.append("ymd")  # years change less often than days
        if last > first and len(short) > 3:
            ways = ["ymd"]
    return ways


def _good(found: DayCell, way: str) -> date | None:
    day = _by(found, way, 2024 if not found.year else None)
    return day if day is not None and (not found.year or _fits(day, found)) else None


def _by(found: DayCell, way: str, year: int | None) -> date | None:
    """The day in one order, or nothing where the calendar has none."""
    if not found.figures:
        return None  # written in one order only, and no day of the calendar: 0000-00-00
    first, second = found.figures[:2]
    if way == "ymd":
        if not found.two_figures:
            return None
        return _made(_full_year(first), second, found.figures[2])
    whole = found.year or year or 0
    return _made(whole, second, first) if way == "dmy" else _made(whole, first, second)


def _made(year: int, month: int, day: int) -> date | None:
    try:
        return date(year, month, day)
    except (ValueError, OverflowError):
        return None


def _fits(day: date, found: DayCell) -> bool:
    return found.weekday is None or day.weekday() == found.weekday


def _full_year(short: int) -> int:
    return short + (2000 if short < _CENTURY_TURNS else 1900)


def _year(text: str | None) -> tuple[int, bool]:
    figures = (text or "").lstrip("’'")
    if len(figures) == 2:
        return _full_year(int(figures)), True
    return int(figures or 0), False


def _day(text: str) -> tuple[int, int, int, tuple[int, ...], bool] | None:
    """Year, month, day, open figures, and whether the year was typed in two figures."""
    if found := _YEAR_FIRST.fullmatch(text):
        return int(found[1]), int(found[3]), int(found[4]), (), False
    if found := _PACKED.fullmatch(text):
        return int(found[1]), int(found[2]), int(found[3]), (), False
    if found := _FIGURES.fullmatch(text):
        year, short = _year(found[4])
        figures = (int(found[1]), int(found[3]), *((int(found[4].lstrip("’")),) if short else ()))
        return year, 0, 0, figures, short
    if found := _DAY_FIRST.fullmatch(text):
        year, _ = _year(found[3])
        return year, month_of(found[2]), int(found[1]), (), False
    if found := _MONTH_FIRST.fullmatch(text):
        year, _ = _year(found[3])
        return year, month_of(found[1]), int(found[2]), (), False
    return None


def _weekday(text: str) -> tuple[str, int | None]:
    found = WEEKDAY.match(text)
    if found is not None:
        return text[found.end() :].strip(" ,."), weekday_of(found["day"])
    found = re.search(rf"[ (,]+{WEEKDAY.pattern}\)?$", text, re.IGNORECASE)
    if found is not None:
        return text[: found.start()].strip(" ,."), weekday_of(found["day"])
    return text, None


def _part(text: str) -> tuple[str, str]:
    found = PART_OF_DAY.search(text)
    return (text, "") if found is None else (text[: found.start()].strip(" ,("), found["part"])


def clock_said(text: str) -> tuple[str, str, str]:
    """What a cell of the clock says: a time, or a word such as `am` and the hour it stands for.

    Parameters
    ----------
    text
        The cell.

    Returns
    -------
    tuple of str, str, str
        Time as typed with a colon, word, and the hour for the word [HH:MM]. What is neither comes
        back as the time.

    Examples
    --------
    >>> clock_said("7.40 pm"), clock_said("Morning")
    (('7:40 pm', '', ''), ('', 'Morning', '09:00'))
    """
    shown = " ".join(text.split())
    word = PART_ALONE.fullmatch(shown)
    if word is not None:
        return "", word["part"], part_of_day(word["part"])
    rest, clock = _clock(shown)
    return (clock if clock and not rest else shown), "", ""


def _clock(text: str) -> tuple[str, str]:
    found = CLOCK.search(text)
    if found is None:
        return text, ""
    clock = found["clock"].strip()
    clock = re.sub(r"(?<=[0-9])[.h](?=[0-9]{2}(?![0-9]))", ":", clock, count=1)
    return text[: found.start()].strip(" ,"), clock


def _in_order(order: Order) -> str:
    return f" written {_NAMES[order]}" if order in _NAMES else ""
