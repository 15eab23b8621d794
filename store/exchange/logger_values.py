"""The values of a logger's file, one by one; what is no measurement is counted and left out."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, tzinfo

from store.errors import BadInput
from store.exchange.headings import Heading, heading_of
from store.exchange.moments import Order, Skipped, read_moment
from store.exchange.planned import Columns, Gathering
from store.exchange.table import Row, Sheet
from store.text import plain
from store.water.parameters import PARAMETERS
from store.water.pieces import unit_and_form
from store.water.units import to_stored
from store.water.words import name_of

KNOWN = {
    "at": ("taken_at", "datetime", "date time", "date and time", "timestamp"),
    "date": ("day",),
    "time": ("clock", "time of day"),
    "value": ("reading", "measurement"),
}
"""The columns of a logger's file that are not headed by a parameter."""

_MOST_REFUSED = 1_000
_MISSING = frozenset(
    {"", "-", "--", "---", "----", "na", "n/a", "nan", "null", "none", "ovr", "err", "error"}
)
# What probes and programs send when nothing was measured, in the unit of the file.
_NOTHING_MEASURED = frozenset({-127.0, -999.0, -9999.0, -99999.0, 999.0, 9999.0})
_FIRST_WORD_C = 85.0
"""What a common digital probe says before its first measurement [°C]."""


@dataclass(frozen=True, slots=True)
class Value:
    """One value of a logger, in the stored unit."""

    at: datetime
    parameter: str
    value: float


@dataclass(frozen=True, slots=True)
class LoggerColumn:
    """A column of values: stored value = number × `factor` + `offset`."""

    parameter: str
    unit: str
    """As it was understood; empty where the file names none."""
    factor: float
    offset: float


@dataclass(slots=True)
class Counts:
    """How many values or rows were left out or had to be helped, by reason."""

    missing: int = 0
    nothing_measured: int = 0
    impossible: int = 0
    twice: int = 0
    backward: int = 0
    ahead: int = 0
    noon: int = 0
    skipped: int = 0
    refused: int = 0


@dataclass(frozen=True, slots=True)
class LoggerFile:
    """A logger's file with everything that is needed to read it."""

    sheet: Sheet
    named: Columns
    columns: Mapping[int, LoggerColumn]
    zone: tzinfo
    until: datetime
    order: Order = "ymd"
    shift_days: int = 0

    def values(self, counts: Counts, gathering: Gathering) -> Iterator[Value]:
        """The values in the order of the file.

        Parameters
        ----------
        counts
            Is counted up.
        gathering
            Takes the rows that cannot be read, the first thousand of them.
        """
        before: datetime | None = None
        for row in gathering.fitting(self.sheet):
            try:
                at = self._instant(row, before, counts)
            except Skipped:
                counts.skipped += 1
                continue
            except BadInput as error:
                _refuse(row, error.message, counts, gathering)
                continue
            if at > self.until:
                counts.ahead += 1
                continue
            if before is not None:
                counts.twice += at == before
                counts.backward += at < before
            before = at
            for place, column in self.columns.items():
                number = _number(row.cells[place], self.sheet.decimal_comma)
                if number is None:
                    cell = plain(row.cells[place].strip())
                    _refuse(row, f"“{cell:.40}” is no number.", counts, gathering)
                elif (value := _measured(number, column, counts)) is not None:
                    yield Value(at, column.parameter, value)

    def _instant(self, row: Row, before: datetime | None, counts: Counts) -> datetime:
        day = self.named.text(row, "at") or self.named.text(row, "date")
        clock = self.named.text(row, "time")
        if not day:
            day, clock = clock, ""
        moment = read_moment(
            day, self.zone, clock=clock, order=self.order, shift_days=self.shift_days
        )
        counts.noon += moment.told == "no time"
        if moment.told == "twice" and before is not None and before >= moment.at:
            moment = read_moment(
                day,
                self.zone,
                clock=clock,
                order=self.order,
                shift_days=self.shift_days,
                second_time=True,
            )
        return moment.at.replace(microsecond=moment.at.microsecond // 1000 * 1000)


def logger_columns(
    sheet: Sheet, named: Columns, parameter: str | None, unit: str
) -> tuple[dict[int, LoggerColumn], list[int]]:
    """Which columns hold which parameter, and the places of those that are not read.

    Parameters
    ----------
    sheet
        The file.
    named
        Its columns, by `KNOWN`.
    parameter
        The code of the parameter that is wanted; None for all that the headings name.
    unit
        The unit where a heading names none.

    Raises
    ------
    BadInput
        No such parameter, no such unit, two columns of one parameter, or no column of values.
    """
    if parameter is not None and parameter not in PARAMETERS:
        raise BadInput(
            f"“{parameter:.40}” is nothing that the book keeps; nothing was brought in. Choose "
            f"one of {', '.join(PARAMETERS)}.",
            field="parameter",
        )
    headings: dict[int, Heading] = {}
    left = []
    for place in named.rest:
        heading = heading_of(sheet.header[place])
        if heading is None or (parameter is not None and heading.parameter != parameter):
            left.append(place)
        elif any(one.parameter == heading.parameter for one in headings.values()):
            raise BadInput(
                f"Two columns of {sheet.path.name} give {PARAMETERS[heading.parameter].label}; "
                "nothing was brought in. Keep one of them."
            )
        else:
            headings[place] = heading
    if named.has("value"):
        left = [*left, *headings]
        headings = {named.places["value"]: Heading(parameter or "temperature_c", "")}
    if not headings:
        raise BadInput(
            f"{sheet.path.name} has no column of values; nothing was brought in. Head it with "
            "value, or with the name of what was measured."
        )
    return {place: _column(heading, unit) for place, heading in headings.items()}, left


def _column(heading: Heading, unit_given: str) -> LoggerColumn:
    """Unit and form of a column; words behind the unit, such as a serial number, do not matter."""
    unit, form, _, end = unit_and_form(heading.unit, 0)
    for word in (heading.unit[end:].strip(" -"), heading.name):
        said = name_of(word) if word and not form else None
        if said is not None and said.parameter == heading.parameter:
            form = said.form
    if not unit and unit_given:
        unit, given_form, _, _ = unit_and_form(unit_given, 0)
        form = form or given_form
        unit = unit or unit_given
    code = heading.parameter
    zero = to_stored(code, 0.0, unit, form or None)
    return LoggerColumn(code, unit, to_stored(code, 1.0, unit, form or None) - zero, zero)


def _measured(number: float, column: LoggerColumn, counts: Counts) -> float | None:
    """The value in the stored unit, or None where nothing was measured."""
    if math.isnan(number):
        counts.missing += 1
        return None
    value = number * column.factor + column.offset
    first_word = column.parameter == "temperature_c" and value == _FIRST_WORD_C
    if number in _NOTHING_MEASURED or first_word:
        counts.nothing_measured += 1
        return None
    parameter = PARAMETERS[column.parameter]
    if not parameter.possible_low <= value <= parameter.possible_high:
        counts.impossible += 1
        return None
    return value


def _number(cell: str, decimal_comma: bool) -> float | None:
    """The number of a cell; NaN for a missing one, None for what is no number."""
    text = cell.strip()
    if text.casefold() in _MISSING:
        return math.nan
    if "," in text and (decimal_comma or "." not in text):
        text = text.replace(",", ".")
    try:
        number = float(text)
    except ValueError:
        return None
    return number if math.isfinite(number) else math.nan


def _refuse(row: Row, reason: str, counts: Counts, gathering: Gathering) -> None:
    counts.refused += 1
    if len(gathering.refused) < _MOST_REFUSED:
        gathering.refuse(row, reason)
