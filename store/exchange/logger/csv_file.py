"""A logger's file, of any length, into the readings and days of one pond.

The file is read once, in pieces, into a clean series beside the memory; what is looked at is what
is saved. Rows of known shapes are read thousands at a time, the others cell by cell.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, tzinfo
from pathlib import Path
from uuid import UUID

from sqlalchemy import Connection

from store.book.act import Act
from store.book.book import Book
from store.book.columns import milliseconds
from store.errors import BadInput
from store.exchange.logger.asks import (
    Ask,
    ask_clock,
    ask_unit,
    ask_word,
    clock_seen,
    offset_said,
    order_shown,
    zone_of,
)
from store.exchange.logger.clean import Clean, Lift, clean_series
from store.exchange.logger.clock import Clock
from store.exchange.logger.columns import air_told, others_told, parameter_of, roles_of, supposed
from store.exchange.logger.days import add_days, days_between, renew_days
from store.exchange.logger.head import Head, read_head
from store.exchange.logger.keep import add_values, has_values, instant_of, only_new, values_there
from store.exchange.logger.left import LeftOut, Tally
from store.exchange.logger.pieces import PIECE_BYTES, Source, open_source
from store.exchange.logger.read import Progress, Reading, Tell
from store.exchange.logger.rows import How
from store.exchange.logger.zones import zone_words
from store.exchange.plain.moments import Order
from store.exchange.plain.planned import Done, Plan, brought_before, keep_file, unread
from store.exchange.plain.table import Sheet


@dataclass(frozen=True, slots=True)
class Series:
    """What the file holds of one parameter: how many values, from when to when, and their range."""

    parameter: str
    n: int
    first: datetime
    last: datetime
    low: float
    high: float


@dataclass(frozen=True, slots=True)
class LoggerPlan:
    """What a logger's file would bring to one pond; `plan.items` tell the series."""

    pond: UUID
    plan: Plan[Series]
    left: tuple[LeftOut, ...]
    """What was left out, helped or doubted, by reason, with the first rows of each."""
    asks: tuple[Ask, ...]
    """While these are open nothing is saved."""
    zone: tzinfo
    clean: tuple[Clean, ...]
    source: Source
    how: How
    tally: Tally

    @property
    def refused_n(self) -> int:
        """How many rows cannot be read, or only in part; `plan.refused` has the first of them."""
        return self.tally.n.get("refused", 0)


def read_logger(
    path: Path,
    book: Book,
    now: datetime,
    pond: UUID,
    *,
    parameter: str | None = None,
    unit: str = "",
    order: Order | None = None,
    shift_days: int = 0,
    clock: str = "",
    column: str = "",
    lifted: Lift = "leave",
    progress: Tell | None = None,
    piece_bytes: int = PIECE_BYTES,
    careful: bool = False,
    source: Source | None = None,
) -> LoggerPlan:
    """What a logger's file would bring; nothing is saved.

    Title lines, comments, units on a second line, sample counters and columns of status may stand
    there. A time without an offset is on the clock of the practice's zone, unless title lines or
    the header name another; days alone stand for their noon.

    Parameters
    ----------
    path
        The file.
    book
        The practice's book.
    now
        The present instant; values of a later time are left out and counted.
    pond
        Key of the pond in which the logger hangs.
    parameter
        Code of the parameter in the column `value`; temperature when left out. With a code, only
        columns of that parameter are read.
    unit
        Unit of the values, where the heading names none: `F`, `mg/L`.
    order
        In which order the file writes day and month; when left out, a day above 12 tells.
    shift_days
        Whole days by which every day of the file is moved [d].
    clock
        How the logger's clock ran, where the file does not say: `local`, an offset as `+01:00`, or
        the name of a time zone. When left out, it is seen at the changes of the clock, or asked.
    column
        Heading of the one column to be read.
    lifted
        `keep` takes the values of a logger lifted out of the water like the others.
    progress
        Is called after every piece.
    piece_bytes
        How much is read at a time [bytes].
    careful
        Read every row cell by cell, which gives the same values more slowly.
    source
        The file as it was opened already, from `still`.

    Returns
    -------
    LoggerPlan
        With the counts of what was left out, in words, and what has to be asked.

    Raises
    ------
    Unclear
        The order of day and month would have to be guessed.
    BadInput
        When the file cannot be read, or has no time or no value.
    """
    source = source or open_source(path)
    head = read_head(source)
    times = (head.at, head.clock, head.offset_at)
    taken = frozenset(place for place in times if place is not None)
    if head.at is None:
        raise BadInput(
            f"{path.name} has no column at, none of date or time either; nothing was brought in. "
            "A line above the values names the columns.",
            field="at",
        )
    roles = roles_of(
        head.header, taken, parameter=parameter, unit=unit, column=column, file_name=path.name
    )
    found = order or order_shown(source, head)
    zone, clock_told, sure = zone_of(book.zone, head, clock)
    how = How(head, roles, found, zone_words(book.zone, said=bool(clock)))
    ticks = Clock(zone, milliseconds(now), shift_days, head.descending)
    reading = Reading(source, how, ticks, now, descends=head.descending)
    reading.run(progress, piece_bytes, careful=careful)
    clean, cleaned_told = clean_series(reading, lifted, progress)
    asks = (
        *(ask_word(reading.clock, head, book.zone) if not clock else ()),
        *ask_clock(reading.clock, zone, sure=sure or bool(shift_days)),
        *ask_unit(reading),
    )
    left = tuple(reading.tally.all())
    sheet = Sheet(path, source.sha256, head.separator, head.header, source.encoding)
    order_said = {"dmy": "day before month", "mdy": "month before day"}.get(found, "")
    told = (
        *brought_before(book, sheet),
        *(source.sheet.told if source.sheet is not None else ()),
        *([_titles(head.titles)] if head.titles else ()),
        *([f"Serial number {head.serial}."] if head.serial else ()),
        *([f"Days are read with the {order_said}, as one above 12 shows."]
          if order_said and order is None else ()),
        *(["The newest row stands first."] if head.descending else ()),
        *([clock_told] if clock_told else ()),
        *clock_seen(reading.clock),
        *([said] if (said := supposed(roles.columns)) else ()),
        *(one.sentence for one in left if one.reason not in ("refused", "gap")),
        *cleaned_told,
        *air_told(head.header, roles),
        *others_told(head.header, roles),
        *unread(head.header, [
            place for place in roles.left
            if place not in roles.air and not parameter_of(head.header[place])
        ]),
    )  # fmt: skip
    plan = Plan(
        "logger", path, source.sha256, _header(head), reading.rows_read,
        tuple(Series(one.parameter, one.spool.n, instant_of(one.spool.first_at),
                     instant_of(one.spool.last_at), one.low, one.high) for one in clean),
        tuple(reading.refused), _already(book, pond, clean), told, head.separator, shift_days,
    )  # fmt: skip
    return LoggerPlan(pond, plan, left, asks, book.zone, clean, source, how, reading.tally)


def save_logger(book: Book, act: Act, planned: LoggerPlan, progress: Tell | None = None) -> Done:
    """Bring a logger's file in, and reckon its days anew, in one transaction.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the file in, and when.
    planned
        From `read_logger`.
    progress
        Is called after every piece.

    Returns
    -------
    Done
        Values added, and values of an instant that the pond has already.

    Raises
    ------
    BadInput, BookTrouble
        Nothing was saved.
    """
    plan = planned.plan
    if planned.asks:
        raise BadInput(planned.asks[0].sentence, field=planned.asks[0].field)
    if not plan.items:
        return Done(0, 0, planned.refused_n)
    added = already = done = 0
    whole = sum(one.spool.n for one in planned.clean)
    with book.writing(act) as writing:
        file = None
        for one in planned.clean:
            where = (writing.connection, planned.pond, one.parameter)
            ends = days_between(one.spool.first_at, one.spool.last_at, planned.zone)
            first_of_these = not has_values(*where, *ends)
            reached: tuple[int, int] | None = None
            for block in one.spool.blocks():
                fresh = block
                if not first_of_these:
                    there = values_there(*where, int(block["at"][0]), int(block["at"][-1]))
                    fresh, known, _ = only_new(block, there)
                    already += known
                done += len(block)
                if len(fresh):
                    file = file or keep_file(writing, plan, 0, refused=planned.refused_n)
                    add_values(writing, planned.pond, one.parameter, fresh, file)
                    added += len(fresh)
                    first, last = int(fresh["at"][0]), int(fresh["at"][-1])
                    reached = (reached[0] if reached else first, last)
                if progress is not None:
                    progress(Progress("saving", done, whole, done))
            if first_of_these:
                add_days(writing, planned.pond, one.parameter, one.spool, planned.zone)
            elif reached is not None:
                renew_days(
                    writing, planned.pond, one.parameter,
                    instant_of(reached[0]), instant_of(reached[1]), planned.zone,
                )  # fmt: skip
        if file is not None:
            writing.change("import_file", file, 1, rows_saved=added)
    return Done(added, already, planned.refused_n)


def _already(book: Book, pond: UUID, clean: tuple[Clean, ...]) -> int:
    known = 0
    with book.reading() as connection:
        for one in clean:
            known += _known(connection, pond, one)
    return known


def _known(connection: Connection, pond: UUID, one: Clean) -> int:
    where = (connection, pond, one.parameter)
    if not has_values(*where, one.spool.first_at, one.spool.last_at):
        return 0
    return sum(
        only_new(block, values_there(*where, int(block["at"][0]), int(block["at"][-1])))[1]
        for block in one.spool.blocks()
    )


def _titles(number: int) -> str:
    lines = "1 line stands" if number == 1 else f"{number} lines stand"
    return f"{lines} before the header."


def _header(head: Head) -> tuple[str, ...]:
    """The headings, with the offset that title lines named, so that refused rows keep it."""
    if head.offset_min is None or head.at is None or "UTC" in head.header[head.at].upper():
        return head.header
    named = list(head.header)
    if "GMT" not in named[head.at].upper():
        named[head.at] = f"{named[head.at]} ({offset_said(head.offset_min)})"
    return tuple(named)
