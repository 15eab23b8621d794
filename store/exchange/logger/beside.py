"""What a logger's file does not bring, written beside it: refused rows, and all that was left out.

The rows themselves are fetched from the file again, by their lines, so that memory stays the same
however many there are.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable, Iterator, Sequence
from contextlib import suppress
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from uuid import uuid4

import numpy as np

from store.book.act import Act
from store.book.book import Book
from store.errors import BadInput
from store.exchange.logger.csv_file import LoggerPlan, save_logger
from store.exchange.logger.keep import instant_of
from store.exchange.logger.left import NO_TIME, REASONS, WORDS
from store.exchange.logger.notes import row_pieces
from store.exchange.logger.pieces import fingerprint
from store.exchange.logger.read import Progress, Tell, refused_row, row_said
from store.exchange.logger.rows import careful_row
from store.exchange.logger.spool import Spool
from store.exchange.plain.planned import LINE, REASON, Done, same
from store.exchange.sheets.marked import marked
from store.water.parameters import PARAMETERS

_HEADER = ("line", "why", "time (UTC)", "what it says", "row")
_AT_ONCE = 5_000


@dataclass(frozen=True, slots=True)
class Beside:
    """The files that were written beside a logger's file; None where there was nothing to write."""

    refused: Path | None
    left: Path | None
    made: tuple[Path, ...] = ()
    """Those that were not there before."""

    def undo(self) -> None:
        """Take away what was not there before, since nothing was saved."""
        for path in self.made:
            with suppress(OSError):
                path.unlink(missing_ok=True)


def save_and_list(
    book: Book, act: Act, planned: LoggerPlan, progress: Tell | None = None
) -> tuple[Done, Beside]:
    """Bring a logger's file in, with what it does not bring written beside it.

    Parameters
    ----------
    book
        The practice's book.
    act
        Who brings the file in, and when.
    planned
        From `read_logger`, with nothing left to be asked.
    progress
        Is called after every piece; what it raises stops the work.

    Returns
    -------
    Done, Beside
        What was saved, and the files beside.

    Raises
    ------
    BadInput, BookTrouble, Stopped
        Nothing was saved, and no new file stands beside.
    """
    # Beside the file first: if that cannot be written, nothing is in the book without its rest.
    beside = write_beside(planned, progress)
    try:
        return save_logger(book, act, planned, progress), beside
    except BaseException:
        beside.undo()
        raise


def write_beside(planned: LoggerPlan, progress: Tell | None = None) -> Beside:
    """Write refused rows, and the list of what was left out or doubted, beside the file.

    Parameters
    ----------
    planned
        From `read_logger`.
    progress
        Is called after every piece; what it raises stops the work.

    Returns
    -------
    Beside
        `NAME.refused.csv`, which can be corrected and brought in, and `NAME.left-out.csv`, or the
        next free names; a file that says the same already stays as it is.

    Raises
    ------
    BadInput
        The file is another one by now, or the folder may not be written; nothing stays there.
    """
    path = planned.plan.path
    wanted = [
        (kind, lines)
        for kind, n, lines in (
            ("refused", planned.tally.refused.n, _refused_lines(planned, progress)),
            ("left-out", planned.tally.listed.n, _left_lines(planned, progress)),
        )
        if n
    ]
    if not wanted:
        return Beside(None, None)
    if fingerprint(path) != planned.plan.sha256:
        raise BadInput(
            f"{path.name} is not the file any more that was looked at; nothing was saved. "
            "Look at it again."
        )
    found: dict[str, Path] = {}
    made: list[Path] = []
    try:
        for kind, lines in wanted:
            found[kind], new = _written(path, kind, lines)
            made += [found[kind]] if new else []
    except BaseException:
        Beside(None, None, tuple(made)).undo()
        raise
    return Beside(found.get("refused"), found.get("left-out"), tuple(made))


def _written(path: Path, kind: str, lines: Iterable[str]) -> tuple[Path, bool]:
    """Where the lines stand, and whether the file is new."""
    stem = path.name.removesuffix(path.suffix)
    stem = re.sub(r"\.(?:refused|left-out)(-\d+)?$", "", stem)
    beside = path.with_name(f".pondround-{uuid4().hex}")
    place = path.with_name(f"{stem}.{kind}.csv")
    try:
        beside.touch(mode=0o600)
        with beside.open("w", encoding="utf-8", newline="") as file:
            file.writelines(lines)
        number = 2
        while place.exists():
            if place != path and _same(place, beside):
                return place, False
            place = path.with_name(f"{stem}.{kind}-{number}.csv")
            number += 1
        beside.rename(place)
    except OSError as error:
        raise BadInput(
            f"What was left out cannot be written to {place} ({error.strerror or error}); nothing "
            "was saved. Copy the file to a folder that you may write."
        ) from error
    finally:
        with suppress(OSError):
            beside.unlink(missing_ok=True)
    return place, True


def _same(one: Path, other: Path) -> bool:
    if one.stat().st_size != other.stat().st_size:
        return False
    with one.open("rb") as first, other.open("rb") as second:
        while block := first.read(1_000_000):
            if block != second.read(1_000_000):
                return False
    return True


def _refused_lines(planned: LoggerPlan, tell: Tell | None) -> Iterator[str]:
    header = planned.plan.header
    keep = [at for at, title in enumerate(header) if same(title) not in ("", same(REASON), LINE)]
    # As many blank headings as the longest of the rows has cells more.
    width = len(header)
    more = max((len(one.cells) for one in planned.plan.refused), default=width) - width

    def rows() -> Iterator[Sequence[str]]:
        yield [LINE, REASON, *(header[at] for at in keep), *[""] * max(more, 0)]
        for found, line in _with_rows(planned, planned.tally.refused, tell):
            read = careful_row(line, planned.how)
            reason = "" if read is None else read.refused
            one = refused_row(int(found["at"]), reason, line, planned.how)
            yield [str(one.line), one.reason, *(one.cells[at] for at in keep), *one.cells[width:]]

    yield from _as_lines(rows(), planned.plan.separator)


def _left_lines(planned: LoggerPlan, tell: Tell | None) -> Iterator[str]:
    columns = [PARAMETERS[one.parameter] for one in planned.how.roles.columns]

    def rows() -> Iterator[Sequence[str]]:
        yield _HEADER
        for found, line in _with_rows(planned, planned.tally.listed, tell):
            reason, when, value = REASONS[found["reason"]], int(found["when"]), found["value"]
            at = "" if when == NO_TIME else f"{instant_of(when):%Y-%m-%d %H:%M:%S}"
            said = ""
            if reason == "gap":
                until = instant_of(when + int(value))
                said = f"no value up to {until:%Y-%m-%d %H:%M:%S}"
            elif found["column"] >= 0:
                of = columns[found["column"]]
                said = of.label
                if np.isfinite(value) and reason != "nothing":  # a mark, and no value
                    said = f"{said} {value / of.per_shown:.6g} {of.shown_unit}".rstrip()
            yield (
                str(int(found["at"])), WORDS[reason], at, said,
                row_said(line),
            )  # fmt: skip

    yield from _as_lines(rows(), planned.plan.separator)


def _as_lines(rows: Iterable[Sequence[str]], separator: str) -> Iterator[str]:
    text = io.StringIO()
    writer = csv.writer(text, delimiter=separator, lineterminator="\n")
    for number, row in enumerate(rows, start=1):
        writer.writerow(map(marked, row))
        if not number % _AT_ONCE:
            yield text.getvalue()
            text.seek(0)
            text.truncate()
    yield text.getvalue()


def _with_rows(planned: LoggerPlan, spool: Spool, tell: Tell | None) -> Iterator[tuple[Any, bytes]]:
    """Every row of a spool by its line, with that row as it stands in the file."""
    if not spool.n:
        return
    blocks = spool.in_order()
    block, place, done = next(blocks), 0, 0
    for piece, lines in row_pieces(planned.source, planned.how):
        if not len(lines):
            continue
        ends = np.flatnonzero(np.frombuffer(piece.data, np.uint8) == 10)
        while True:
            upto = int(np.searchsorted(block["at"], lines[-1], side="right"))
            rows = np.searchsorted(lines, block["at"][place:upto])
            for one, row in zip(block[place:upto], rows.tolist(), strict=True):
                start = int(ends[row - 1]) + 1 if row else 0
                yield one, piece.data[start : int(ends[row])]
                done += 1
                if tell is not None and not done % _AT_ONCE:
                    tell(Progress("listing", done, spool.n, done))
            place = upto
            if place < len(block):
                break
            following = next(blocks, None)
            if following is None:
                return
            block, place = following, 0
