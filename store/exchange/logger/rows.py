"""The rows of a piece of a logger's file, one by one and with care."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from store.exchange.logger.columns import Roles
from store.exchange.logger.head import Head, cells_of
from store.exchange.logger.pieces import text_of
from store.exchange.logger.stamps import clock_layout, day_layout, read_stamp
from store.exchange.logger.zones import NO_OFFSET, offset_of
from store.exchange.plain.moments import Order
from store.text import plain
from store.water.parameters import PARAMETERS
from store.water.pieces import unit_and_form

_MISSING = frozenset(
    {"", "-", "--", "---", "----", "–", "—", "na", "n/a", "#n/a", "nan", "null", "none", "ovr",
     "err", "error", "nd", "n.a.", "*", "m", "?", "missing", "fault", "open", "short", "inf",
     "-inf", "+inf", "infinity"}
)  # fmt: skip
_NUMBER = re.compile(r"[+-]?(?:\d+(?:[.,]\d*)?|[.,]\d+)(?:[eE][+-]?\d{1,3})?", re.ASCII)
_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2}[.,]\d{3}", re.ASCII)
_WITH_UNIT = re.compile(r"(?P<number>[+-]?[\d.,]*\d) ?(?P<unit>[^\d\s.,+-].{0,11})", re.ASCII)
_BAD = re.compile(
    r"err|fault|fail|bad|invalid|suspect|doubt|reject|overrange|over range|ovr|out of range|"
    r"fehler|ungültig|defect|defekt|mauvais|malo|missing|uncal", re.I
)  # fmt: skip
_EVENT = re.compile(
    r"\bhost\b|connected|stopped|started|launched|logged|button|coupler|end of (?:file|data)|"
    r"attached|detached|deployed|retrieved|downloaded|power (?:on|off)|\breset\b|new interval", re.I
)  # fmt: skip
_REMARK = re.compile(r"#|//|!")
_FACTS = re.compile(r"[\s\d.,:;/+-]*")


@dataclass(frozen=True, slots=True)
class How:
    """How the rows of a file are to be read."""

    head: Head
    roles: Roles
    order: Order
    words: Mapping[str, int] = field(default_factory=dict)
    """Short names of clocks with their offsets from UTC [min]."""

    def offset_of(self, cell: str) -> int | None:
        """The offset in a cell of the column of offsets [min], or None where it is none.

        Parameters
        ----------
        cell
            Without blanks at its ends.
        """
        return offset_of(cell, self.head.offset_per, self.words)

    @property
    def mark(self) -> str:
        """The decimal mark, or nothing where it is not known."""
        if self.head.decimal:
            return self.head.decimal
        # Thousands of degrees are not meant.
        if all(PARAMETERS[one.parameter].possible_high < 1000 for one in self.roles.columns):
            return ","
        return ""


@dataclass(slots=True)
class CarefulRow:
    """One row: its instant on its own clock and a number for each column of values."""

    wall_ms: int = 0
    offset_min: int = NO_OFFSET
    has_clock: bool = True
    values: list[float] = field(default_factory=list)
    """In the unit of the file; not a number where none stands."""
    marked: bool = False
    """The logger itself says that the row is bad."""
    event: str = ""
    refused: str = ""
    """Why the row, or a cell of it, cannot be read."""
    whole: bool = True
    """The instant is known, so that the other values count."""


def is_bad(text: str) -> bool:
    """Whether a logger's own word on a row says that its value is no good.

    Parameters
    ----------
    text
        The cell of a column of status.
    """
    return _BAD.search(text) is not None


def number_of(cell: str, mark: str) -> float | str:
    """The number of a cell, NaN for a missing one, or the reason why it is none.

    Parameters
    ----------
    cell
        Without blanks at its ends.
    mark
        The decimal mark of the file, or nothing where it is not known.

    Examples
    --------
    >>> number_of("12,5", ","), number_of("1e1", "."), number_of("OVR", ".")
    (12.5, 10.0, nan)
    >>> number_of("1,234", "")
    '“1,234” may be a thousand or a decimal.'
    """
    if cell.casefold() in _MISSING:
        return math.nan
    text = cell.replace("\N{MINUS SIGN}", "-")
    if _NUMBER.fullmatch(text) is None:
        return f"“{plain(cell):.40}” is no number."
    other = {".": ",", ",": "."}.get(mark, ",")
    if other in text and _THOUSANDS.fullmatch(text):
        return f"“{plain(cell):.40}” may be a thousand or a decimal."
    number = float(text.replace(",", "."))
    return number if math.isfinite(number) else math.nan


def careful_row(line: bytes, how: How) -> CarefulRow | None:
    """One line, read cell by cell; None where it holds nothing.

    Parameters
    ----------
    line
        Of the file, in UTF-8, without its end.
    how
        How the rows of the file are to be read.
    """
    cells = [cell.strip() for cell in cells_of(text_of(line.rstrip(b"\r")), how.head.separator)]
    if not any(cells):
        return None
    head = how.head
    row = CarefulRow(values=[math.nan] * len(how.roles.columns))
    if any(cells[len(head.header) :]):
        row.refused, row.whole = (
            "The row has more cells than the header, so none is certain.",
            False,
        )
        return row
    cells += [""] * (len(head.header) - len(cells))
    at = cells[head.at] if head.at is not None else ""
    clock = cells[head.clock] if head.clock is not None else ""
    if clock and at:
        # A clock of "00:00" beside a column of its own is how spreadsheets write a bare day.
        at = re.sub(r"[T ]0?0:00(?::00)?(?: ?[ap]m)?$", "", at)
    stamp = read_stamp(at, clock, how.order, how.words)
    if isinstance(stamp, str) and _REMARK.match(cells[0]):
        row.event = cells[0]
        return row
    if isinstance(stamp, str) and _tells_event(cells, how):
        row.event = " ".join(cell for cell in cells if cell)
        return row
    if isinstance(stamp, str):
        row.refused, row.whole = stamp, False
        return row
    if head.twelve_hours and stamp.has_clock and not _names_half(at, clock, how.order):
        row.refused, row.whole = "The time does not say which half of the day is meant.", False
        return row
    row.wall_ms, row.has_clock = stamp.wall_ms, stamp.has_clock
    row.offset_min = NO_OFFSET if stamp.offset_min is None else stamp.offset_min
    _read_values(row, cells, how)
    if head.offset_at is not None and stamp.offset_min is None and not row.event:
        offset = how.offset_of(cells[head.offset_at])
        if offset is None:
            row.refused, row.whole = (
                f"“{plain(cells[head.offset_at]):.40}” is no offset from UTC.", False
            )  # fmt: skip
            return row
        row.offset_min = offset
    return row


def _tells_event(cells: Sequence[str], how: How) -> bool:
    """Whether a row without a time says what happened to the logger, and holds no number."""
    values = [cells[one.place] for one in how.roles.columns]
    return any(_EVENT.search(cell) for cell in cells) and not any(
        isinstance(number_of(cell, how.mark), float) for cell in values if cell
    )


def _names_half(at: str, clock: str, order: Order) -> bool:
    layout = day_layout(at, order)
    if layout is not None and not layout.has_clock:
        layout = clock_layout(clock)
    return layout is not None and bool(layout.half)


def _read_values(row: CarefulRow, cells: Sequence[str], how: How) -> None:
    events: list[str] = []
    for place, column in enumerate(how.roles.columns):
        cell = cells[column.place]
        number = number_of(cell, how.mark)
        if isinstance(number, str) and (parted := _WITH_UNIT.fullmatch(cell)):
            unit = unit_and_form(parted["unit"], 0)[0]
            known = (
                unit_and_form(column.unit, 0)[0] if column.unit else unit_of_none(column.parameter)
            )
            if unit and unit == known:
                number = number_of(parted["number"], how.mark)
        if isinstance(number, str) and _EVENT.search(cell):
            events.append(cell)
            number = math.nan
        if isinstance(number, str):
            row.refused, row.values[place] = number, math.inf  # neither missing nor a value
        else:
            row.values[place] = number
    words = [cells[place] for place in how.roles.status if cells[place]]
    row.marked = any(map(is_bad, words))
    if not row.refused and all(map(math.isnan, row.values)):
        others = [
            *events,
            *words,
            *(cells[at] for at in how.roles.left if _FACTS.fullmatch(cells[at]) is None),
        ]  # fmt: skip
        blank = all(cells[one.place] in ("", *events) for one in how.roles.columns)
        row.event = next((word for word in others if word), "") if blank else ""


def unit_of_none(parameter: str) -> str:
    """The unit in which a column without one is taken.

    Parameters
    ----------
    parameter
        Code of the parameter.
    """
    return unit_and_form(PARAMETERS[parameter].shown_unit, 0)[0]
