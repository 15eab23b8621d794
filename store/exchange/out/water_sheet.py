"""The water tests of a pond as a wide sheet for its owner: a line a test, a column a parameter.

Times are those of the practice's clock, which the last column names, values in the unit that people
know and as finely as they were typed. A value below a limit stays one (`<0.05`), a range stays a
range. What makes a test doubtful stands beside it. Tests that were struck through are left out.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time, timedelta
from pathlib import Path
from typing import BinaryIO
from uuid import UUID
from zoneinfo import ZoneInfo

from sqlalchemy import Connection

from store.book.book import Book
from store.errors import BadInput
from store.exchange.out.cells import safe
from store.exchange.out.placing import placed
from store.exchange.out.table_csv import Lines, Written
from store.text import plain
from store.water.doubtful import doubts_of
from store.water.parameters import PARAMETERS, Parameter
from store.water.understood import ReadingValue
from store.water.water_tests import WaterTest, read_tests

_PAGE = 500
_MOST_DECIMALS = 4
_NUMBER = re.compile(r"[0-9]+(?:[.,][0-9]+)?|[.,][0-9]+")


@dataclass(frozen=True, slots=True)
class Days:
    """A span of calendar days of the practice; None leaves an end open."""

    first: date | None = None
    last: date | None = None

    def __post_init__(self) -> None:
        if self.first and self.last and self.first > self.last:
            raise BadInput("The first day lies after the last one.", field="from")


def export_water(
    book: Book, pond: UUID, path: Path, *, days: Days | None = None, over: bool = False
) -> Written:
    """Write the water tests of a pond as a wide sheet, oldest first.

    Parameters
    ----------
    book
        The practice's book; it is only read.
    pond
        Key of the pond.
    path
        The file.
    days
        Which days; None for all.
    over
        Write over a file that is there.

    Returns
    -------
    Written
        One row a test.

    Raises
    ------
    BadInput
        There is such a file already.
    NotFound
        The file cannot be written.
    BookTrouble
        The book cannot be read.
    """
    zone = book.zone
    with placed(path, over=over) as file, book.reading() as connection:
        return write_water(connection, pond, zone, file, days=days)


def write_water(
    connection: Connection,
    pond: UUID,
    zone: ZoneInfo,
    file: BinaryIO,
    *,
    days: Days | None = None,
    bom: bool = True,
) -> Written:
    """Write the water tests of a pond into a file that is open.

    Parameters
    ----------
    connection
        Of a reading of the book.
    pond
        Key of the pond.
    zone
        The practice's time zone.
    file
        Open for writing bytes.
    days
        Which days; None for all.
    bom
        Begin with the mark by which spreadsheets know UTF-8.
    """
    tests = sorted(_tests(connection, pond, zone, days or Days()), key=lambda one: one.taken_at)
    measured = [one for one in PARAMETERS.values() if any(one.code in t.readings for t in tests)]
    at_depth = any(one.depth_m is not None for one in tests)
    header = ["date", "time", "place", *(["depth m"] if at_depth else []),
              *map(heading, measured), "doubtful because", "note", "by",
              "time zone"]  # fmt: skip
    lines = Lines(file, header, bom=bom)
    lines.add(_line(test, measured, zone, at_depth=at_depth) for test in tests)
    return lines.written()


def count_water(book: Book, pond: UUID, days: Days) -> int:
    """How many water tests `export_water` would write.

    Parameters
    ----------
    book
        The practice's book.
    pond
        Key of the pond.
    days
        Which days.
    """
    zone = book.zone
    with book.reading() as connection:
        return sum(1 for _ in _tests(connection, pond, zone, days))


def heading(parameter: Parameter) -> str:
    """The heading of a parameter with the unit of its cells; water import understands it.

    Parameters
    ----------
    parameter
        The parameter.

    Examples
    --------
    >>> heading(PARAMETERS["tan_mg_l"]), heading(PARAMETERS["alkalinity_mg_l"])
    ('total ammonia mg/L N', 'alkalinity dKH')
    """
    name = parameter.label.partition(" as ")[0].partition(" (")[0]
    unit = parameter.unit if parameter.per_shown == 1.0 else parameter.shown_unit
    return f"{name} {unit}".strip()


def _tests(connection: Connection, pond: UUID, zone: ZoneInfo, days: Days) -> Iterator[WaterTest]:
    """The tests of a span of days, some at a time, each once."""
    before, page = _end(days.last, zone), _PAGE
    begin = None if days.first is None else datetime.combine(days.first, time(), zone)
    seen: set[UUID] = set()
    while True:
        found = read_tests(connection, pond, page, before=before)
        new = [one for one in found if one.key not in seen]
        seen.update(one.key for one in new)
        yield from (one for one in new if begin is None or one.taken_at >= begin)
        if len(found) < page or (begin is not None and found[-1].taken_at < begin):
            return
        if not new:
            page *= 2  # more tests of one instant than a page holds
        # Those of the last instant come again: some of them may stand on the next page.
        before = found[-1].taken_at + timedelta(milliseconds=1)


def _end(last: date | None, zone: ZoneInfo) -> datetime | None:
    if last is None or last >= date(2199, 12, 31):
        return None
    return datetime.combine(last + timedelta(days=1), time(), zone)


def _line(
    test: WaterTest, measured: list[Parameter], zone: ZoneInfo, *, at_depth: bool
) -> list[str]:
    at = test.taken_at.astimezone(zone)
    depth = "" if test.depth_m is None else f"{test.depth_m:g}"
    return [
        f"{at:%Y-%m-%d}",
        f"{at:%H:%M}",
        safe(plain(test.place)),
        *([depth] if at_depth else []),
        *(_cell(test.readings.get(one.code)) for one in measured),
        safe(plain(" ".join(doubts_of(test)))),
        safe(plain(test.note, lines=True)),
        safe(plain(test.by)),
        zone.key,
    ]


def _cell(reading: ReadingValue | None) -> str:
    if reading is None:
        return ""
    if reading.bound == "<":
        return "not detected" if reading.high is None else f"<{_figures(reading, reading.high)}"
    if reading.bound == ">":
        if reading.low == 0.0 and not _NUMBER.search(reading.typed):
            return "trace"
        return f">{_figures(reading, reading.value if reading.low is None else reading.low)}"
    if reading.low is not None and reading.high is not None:
        # Not a hyphen: a spreadsheet would make a date of 1-2.
        return safe(f"{_figures(reading, reading.low)}–{_figures(reading, reading.high)}")
    number = _figures(reading, reading.value)
    return f"~{number}" if reading.bound == "~" else number


def _figures(reading: ReadingValue, value: float) -> str:
    """The number in its known unit, as it was typed where it was typed in that unit."""
    parameter = PARAMETERS[reading.parameter]
    in_unit = value / parameter.per_shown
    for typed in _NUMBER.findall(reading.typed):
        point = typed.replace(",", ".")
        if abs(abs(in_unit) - float(point)) < 1e-9:
            decimals = min(len(point.partition(".")[2]), _MOST_DECIMALS)
            return f"{in_unit:.{decimals}f}"
    decimals = parameter.decimals
    while decimals < _MOST_DECIMALS and in_unit and abs(in_unit) < 0.5 * 10**-decimals:
        decimals += 1  # a trace never goes out as nothing
    return f"{in_unit:.{decimals}f}"
