"""A logger's file read from its first row to its last into values in order of time."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from datetime import datetime

import numpy as np

from store.book.columns import milliseconds
from store.errors import PondroundError
from store.exchange.logger.clock import Clock
from store.exchange.logger.columns import LoggerColumn
from store.exchange.logger.fast import Cut, Floats, Ints, Marks, fast_rows
from store.exchange.logger.head import cells_of
from store.exchange.logger.left import LISTED, NO_TIME, Tally
from store.exchange.logger.notes import behind_head, row_pieces
from store.exchange.logger.pieces import PIECE_BYTES, Piece, Source, text_of
from store.exchange.logger.rows import How, careful_row
from store.exchange.logger.spool import VALUE, Spool
from store.exchange.plain.planned import Refused
from store.text import plain
from store.water.parameters import PARAMETERS

MOST_REFUSED = 1_000
"""So many refused rows are held in memory to be shown; all of them go into the file."""
_TELL_EVERY = 5_000
# What probes and programs send when nothing was measured, in the unit of the file.
_NEVER = np.array([-127.0, -196.6, -999.0, -999.9, -9999.0, -9999.9, -99999.0, -6999.0, -7999.0])
_SELDOM = np.array([999.0, 999.9, 9999.0, 99999.0])
_FIRST_WORD_C = 85.0
"""What a common digital probe says before its first measurement [°C]."""


@dataclass(frozen=True, slots=True)
class Progress:
    """How far long work has come."""

    stage: str
    """`reading`, `ordering`, `listing` or `saving`."""
    done: int
    whole: int
    """Bytes of the file while it is read, else values."""
    rows: int


Tell = Callable[[Progress], None]


class Stopped(PondroundError):
    """A person stopped long work while it told of itself; nothing was saved."""

    title = "Stopped"


@dataclass(slots=True)
class Reading:
    """What was read of a file so far."""

    source: Source
    how: How
    clock: Clock
    until: datetime
    tally: Tally = field(default_factory=Tally)
    refused: list[Refused] = field(default_factory=list)
    rows_read: int = 0
    spools: list[Spool] = field(default_factory=list)
    level: dict[int, tuple[int, float]] = field(default_factory=dict)
    """How many numbers of a column were no sentinels, and their sum [stored unit]."""
    descends: bool = False
    _odd_lines: dict[str, list[int]] = field(default_factory=dict)
    _before_at: int | None = None
    _before_values: Floats | None = None

    def run(
        self, tell: Tell | None = None, piece_bytes: int = PIECE_BYTES, *, careful: bool = False
    ) -> None:
        """Read the file to its end.

        Parameters
        ----------
        tell
            Is called after every piece.
        piece_bytes
            How much is read at a time [bytes].
        careful
            Read every row cell by cell.
        """
        self.spools = [Spool() for _ in self.how.roles.columns]
        for piece, lines in row_pieces(self.source, self.how, piece_bytes):
            self._take(piece, lines, tell, careful=careful)
            if tell is not None:
                done = min(piece.done_bytes, self.source.size_bytes)
                tell(Progress("reading", done, self.source.size_bytes, self.rows_read))

    def _take(self, piece: Piece, lines: Ints, tell: Tell | None, *, careful: bool) -> None:
        if not piece.data:
            return
        cut = fast_rows(piece.data, lines, self.how)
        if careful:
            cut.odd[:] = True
            cut.rows.values[:] = np.nan
            cut.rows.marked[:] = False
        keep = np.ones(len(cut.odd), np.bool_)
        filled = len(cut.odd)
        for number, row in enumerate(np.flatnonzero(cut.odd), start=1):
            if tell is not None and not number % _TELL_EVERY:
                # A piece of nothing but odd rows takes seconds.
                done = piece.done_bytes - len(piece.data) + int(cut.starts[row])
                size = self.source.size_bytes
                tell(Progress("reading", min(max(done, 0), size), size, self.rows_read + int(row)))
            kept = self._carefully(piece.data, cut, int(row))
            keep[row] = bool(kept)
            filled -= kept is None
        for reason, numbers in self._odd_lines.items():
            self.tally.keep(reason, numbers)
        self._odd_lines.clear()
        self.rows_read += filled
        index = np.flatnonzero(keep)
        self._resolve(piece.data, cut, index)

    def _carefully(self, data: bytes, cut: Cut, row: int) -> bool | None:
        """Read one row; whether its values count, or None where it holds nothing."""
        line = data[cut.starts[row] : cut.ends[row]]
        read = careful_row(line, self.how)
        if read is None:
            return None
        number = int(cut.rows.line[row])
        if read.refused:
            self._refuse(number, line, read.refused)
            if not read.whole:
                return False
        if read.event:
            self.tally.add("event", 1, [number], [_text(line)])
            self._odd_lines.setdefault("event", []).append(number)
            return False
        rows = cut.rows
        rows.wall_ms[row], rows.offset_min[row] = read.wall_ms, read.offset_min
        rows.has_clock[row], rows.marked[row] = read.has_clock, read.marked
        rows.values[row] = read.values
        return True

    def _refuse(self, number: int, line: bytes, reason: str) -> None:
        self.tally.add("refused", 1, [number], [reason])
        self._odd_lines.setdefault("refused", []).append(number)
        if len(self.refused) >= MOST_REFUSED:
            return
        self.refused.append(refused_row(number, reason, line, self.how))

    def _resolve(self, data: bytes, cut: Cut, index: Ints) -> None:
        """From clocks to instants; what is in no hour that was or lies ahead goes."""
        rows = cut.rows
        resolved = self.clock.resolve(
            rows.wall_ms[index], rows.offset_min[index], rows.has_clock[index]
        )

        def count(reason: str, which: Marks, at: Ints | None = None) -> None:
            self._count(reason, data, cut, index[which], when=None if at is None else at[which])

        count("skipped", resolved.skipped)
        ahead = (resolved.at_ms > milliseconds(self.until)) & ~resolved.skipped
        count("ahead", ahead, resolved.at_ms)
        fine = ~resolved.skipped & ~ahead
        index, at, doubled = index[fine], resolved.at_ms[fine], resolved.doubled[fine]
        count("noon", ~rows.has_clock[index])
        count("doubled", doubled, at)
        if not len(index):
            return
        values = rows.values[index]
        before_at = np.concatenate(
            ([at[0] - 1 if self._before_at is None else self._before_at], at[:-1])
        )
        if self._before_at is None and self.descends:
            before_at[0] = at[0] + 1
        first = values[:1] * np.nan if self._before_values is None else self._before_values
        before = np.concatenate((first, values[:-1]))
        twice = at == before_at
        both = twice[:, None] & np.isfinite(values) & np.isfinite(before)
        count("twice", twice, at)
        count("other", (both & (values != before)).any(axis=1), at)
        count("backward", (at > before_at) if self.descends else (at < before_at), at)
        self._before_at, self._before_values = int(at[-1]), values[-1:].copy()
        marked = rows.marked[index]
        values = np.where(both, np.inf, values)  # said already
        for place, column in enumerate(self.how.roles.columns):
            self._measured(place, column, at, values[:, place], marked, data, cut, index)

    def _measured(
        self, place: int, column: LoggerColumn, at: Ints, numbers: Floats, marked: Marks,
        data: bytes, cut: Cut, index: Ints,
    ) -> None:  # fmt: skip
        """From numbers of the file to values of water."""
        parameter = PARAMETERS[column.parameter]
        value = numbers * column.factor + column.offset
        there = np.isfinite(numbers)

        def count(reason: str, which: Marks) -> None:
            self._count(reason, data, cut, index[which], place, at[which], value[which])

        count("missing", np.isnan(numbers))
        bad = there & marked
        usual = (value >= parameter.usual_low) & (value <= parameter.usual_high)
        nothing = np.isin(numbers, _NEVER) | (np.isin(numbers, _SELDOM) & ~usual)
        if column.parameter == "temperature_c":
            nothing |= np.abs(value - _FIRST_WORD_C) < 1e-6
        nothing &= there & ~bad
        least, most = column.possible or (parameter.possible_low, parameter.possible_high)
        possible = (value >= least) & (value <= most)
        impossible = there & ~bad & ~nothing & ~possible
        count("marked", bad)
        count("nothing", nothing)
        count("impossible", impossible)
        counted = there & ~bad & ~nothing
        n, total = self.level.get(place, (0, 0.0))
        self.level[place] = (n + int(counted.sum()), total + float(value[counted].sum()))
        good = counted & possible
        table = np.empty(int(good.sum()), VALUE)
        table["at"], table["line"] = at[good], cut.rows.line[index[good]]
        table["value"] = value[good]
        self.spools[place].append(table)

    def _count(
        self, reason: str, data: bytes, cut: Cut, which: Ints, place: int = -1,
        when: Ints | None = None, value: Floats | None = None,
    ) -> None:  # fmt: skip
        if not len(which):
            return
        self.tally.keep(
            reason, cut.rows.line[which], column=place, when=NO_TIME if when is None else when,
            value=np.nan if value is None else value,
        )  # fmt: skip
        listed = which[:LISTED]
        self.tally.add(
            reason, len(which), [int(cut.rows.line[row]) for row in listed],
            [_text(data[cut.starts[row] : cut.ends[row]]) for row in listed],
        )  # fmt: skip


def _text(line: bytes) -> str:
    return row_said(line)[:200]


def row_said(line: bytes) -> str:
    """A row as it stands in the file, on one line.

    Parameters
    ----------
    line
        Without its end.
    """
    return plain(text_of(line.rstrip(b"\r")).replace("\r", " "))


def refused_row(number: int, reason: str, line: bytes, how: How) -> Refused:
    """A row that cannot be read, with its cells as they stand.

    Parameters
    ----------
    number
        The line on which it begins.
    reason
        One sentence.
    line
        The row without its end.
    how
        How the rows of the file are to be read.
    """
    cells = [plain(cell) for cell in cells_of(text_of(line.rstrip(b"\r")), how.head.separator)]
    cells += [""] * (len(how.head.header) - len(cells))
    return Refused(number, plain(reason), tuple(cells))


def day_texts(
    source: Source, how_head: Sequence[int], separator: str, first_line: int
) -> list[str]:
    """The different texts of a column from its beginning to its end, without what follows a blank.

    Parameters
    ----------
    source
        The file.
    how_head
        The place of the column, alone in a list.
    separator
        Between two cells.
    first_line
        The line on which the rows begin.
    """
    (place,) = how_head
    seen: set[str] = set()
    for piece in source.pieces():
        for line in behind_head(piece, first_line).data.split(b"\n"):
            cells = cells_of(text_of(line), separator)
            if place < len(cells):
                seen.add(cells[place].strip()[:10])
        if len(seen) > 50_000:
            break
    return sorted(seen)
