"""Rows of a logger's file in pieces; a quoted note that runs over several lines is one row's."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np
from numpy.typing import NDArray

from store.exchange.logger.head import cells_of
from store.exchange.logger.pieces import PIECE_BYTES, Piece, Source, text_of
from store.exchange.logger.rows import How
from store.exchange.logger.stamps import read_stamp

_MOST_LINES = 20
"""Over more lines than this a quotation mark without its partner is a slip, not a note."""
_RETURN = 13


def row_pieces(
    source: Source, how: How, piece_bytes: int = PIECE_BYTES
) -> Iterator[tuple[Piece, NDArray[np.int64]]]:
    """The rows behind the header, a piece at a time, each with the line on which it begins.

    A line that opens a quotation mark in its last cell goes on in the lines behind it, up to the
    one that closes it, unless one of them is a row of its own. The ends of lines within the note
    are carriage returns, which readers take for a blank.

    Parameters
    ----------
    source
        The file.
    how
        How its rows are to be read.
    piece_bytes
        How much is read at a time [bytes].

    Yields
    ------
    Piece, array of int
        The rows, and the number of the line on which each begins.
    """
    held, held_line, done = b"", 0, 0
    for piece in source.pieces(piece_bytes):
        behind = behind_head(piece, how.head.first_line)
        done = piece.done_bytes
        line, data = (held_line, held + behind.data) if held else (behind.first_line, behind.data)
        whole, held = _joined(line, data, done, how, last=False)
        held_line = line + data.count(b"\n") - held.count(b"\n")
        yield whole
    if held:
        yield _joined(held_line, held, done, how, last=True)[0]


def behind_head(piece: Piece, first_line: int) -> Piece:
    """What of a piece stands behind the header.

    Parameters
    ----------
    piece
        Of the file.
    first_line
        On which the rows begin.
    """
    start, line = 0, piece.first_line
    while line < first_line and start < len(piece.data):
        start = piece.data.index(b"\n", start) + 1
        line += 1
    if not start:
        return piece
    return Piece(line, piece.data[start:], piece.done_bytes)


def _joined(
    line: int, data: bytes, done: int, how: How, *, last: bool
) -> tuple[tuple[Piece, NDArray[np.int64]], bytes]:
    """Rows with their notes, and the lines that may go on in the next piece."""
    if b'"' not in data:
        lines = line + np.arange(data.count(b"\n"), dtype=np.int64)
        return (Piece(line, data, done), lines), b""
    raw = np.frombuffer(data, np.uint8)
    ends = np.flatnonzero(raw == 10)
    starts = np.concatenate(([0], ends[:-1] + 1))
    quotes = np.flatnonzero(raw == 34)
    odd = np.flatnonzero(np.diff(np.searchsorted(quotes, ends), prepend=0) % 2 == 1)
    keep = np.ones(len(ends), np.bool_)
    text: bytearray | None = None
    behind = len(ends)
    place = 0
    while place < len(odd):
        opens = int(odd[place])
        place += 1
        if not _opens(data[starts[opens] : ends[opens]], how):
            continue
        if place == len(odd):
            if not last and len(ends) - 1 - opens < _MOST_LINES:
                behind = opens
            break
        closes = int(odd[place])
        if closes - opens <= _MOST_LINES and _closes(data[starts[closes] : ends[closes]], how):
            within = range(opens + 1, closes + 1)
            if not any(_is_row(data[starts[at] : ends[at]], how) for at in within):
                text = bytearray(data) if text is None else text
                for at in ends[opens:closes]:
                    text[at] = _RETURN
                keep[opens + 1 : closes + 1] = False
                place += 1
    cut = int(starts[behind]) if behind < len(ends) else len(data)
    lines = line + np.flatnonzero(keep[:behind])
    whole = data[:cut] if text is None else bytes(text[:cut])
    return (Piece(line, whole, done), lines.astype(np.int64)), data[cut:]


def _opens(line: bytes, how: How) -> bool:
    """Whether the last quotation mark of a row begins a cell."""
    before = line[: line.rfind(b'"')].rstrip(b" ")
    return (not before or before.endswith(how.head.separator.encode())) and _is_row(line, how)


def _closes(line: bytes, how: How) -> bool:
    """Whether the first quotation mark of a line ends a cell."""
    after = line[line.find(b'"') + 1 :].strip(b" \r")
    return not after or after.startswith(how.head.separator.encode())


def _is_row(line: bytes, how: How) -> bool:
    cells = [cell.strip() for cell in cells_of(text_of(line.rstrip(b"\r")), how.head.separator)]
    at = how.head.at
    if at is None or at >= len(cells):
        return False
    return not isinstance(read_stamp(cells[at], "", how.order, how.words), str)
