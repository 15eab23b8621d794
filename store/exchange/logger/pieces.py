"""A long file of text in pieces of whole lines, each in UTF-8, whatever it was written in."""

from __future__ import annotations

import codecs
import hashlib
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from store.errors import BadInput
from store.exchange.logger.workbook import SIGN, SheetText

PIECE_BYTES = 4_000_000
_HEAD_BYTES = 400_000
_LONGEST_LINE_BYTES = 8_000_000
_MARKS = (
    (codecs.BOM_UTF8, "utf-8"), (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Piece:
    """Whole lines of a file, each ended by a line feed."""

    first_line: int
    data: bytes
    done_bytes: int
    """How far into the file the piece reaches [bytes]."""


@dataclass(frozen=True, slots=True)
class Source:
    """A file and how its text is written."""

    path: Path
    sha256: str
    size_bytes: int
    encoding: str
    mark_bytes: int
    """How long the mark of the encoding at its beginning is [bytes]."""
    returns: bool
    """Lines end in carriage returns alone."""
    sheet: SheetText | None = None
    """The rows of a workbook as a text."""

    def pieces(self, piece_bytes: int = PIECE_BYTES) -> Iterator[Piece]:
        """The file from its beginning, a piece at a time.

        Parameters
        ----------
        piece_bytes
            How much is read at a time [bytes].

        Raises
        ------
        BadInput
            When the file cannot be read to its end, or has no lines.
        """
        decoder = (
            codecs.getincrementaldecoder(self.encoding)(errors="replace")
            if self.encoding.startswith("utf-16")
            else None
        )
        line, done, rest = 1, self.mark_bytes, b""
        try:
            with (self.path if self.sheet is None else self.sheet.path).open("rb") as file:
                file.seek(self.mark_bytes)
                while True:
                    raw = file.read(piece_bytes)
                    done += len(raw)
                    data = raw
                    if decoder is not None:
                        text = decoder.decode(raw, final=not raw)
                        data = text.encode("utf-8", "replace")
                    elif b"\0" in data:
                        data = data.replace(b"\0", b"")
                    if self.returns:
                        data = data.replace(b"\r", b"\n")
                    data = rest + data
                    if not raw:
                        if data:
                            yield Piece(line, data if data.endswith(b"\n") else data + b"\n", done)
                        return
                    cut = data.rfind(b"\n") + 1
                    whole, rest = data[:cut], data[cut:]
                    if len(rest) > _LONGEST_LINE_BYTES:
                        raise BadInput(
                            f"Line {line + whole.count(10)} of {self.path.name} does not end; "
                            "nothing was brought in. Is it the file that the logger wrote?"
                        )
                    if whole:
                        yield Piece(line, whole, done)
                        line += whole.count(b"\n")
        except OSError as error:
            raise _unreadable(self.path, error) from error


def open_source(path: Path) -> Source:
    """A file with its fingerprint and its encoding.

    Parameters
    ----------
    path
        The file.

    Returns
    -------
    Source
        UTF-8, UTF-16 with or without its mark, or cp1252 where the bytes are no UTF-8; of a
        workbook its longest sheet.

    Raises
    ------
    BadInput
        When it is not there, is empty, or is no text.
    """
    try:
        with path.open("rb") as file:
            head = file.read(_HEAD_BYTES)
            file.seek(0)
            sha256 = hashlib.file_digest(file, "sha256").hexdigest()
            size = file.seek(0, 2)
    except OSError as error:
        raise _unreadable(path, error) from error
    if head.startswith(SIGN):
        sheet = SheetText(path)
        return Source(path, sha256, sheet.size_bytes, "utf-8", 0, False, sheet)
    mark, encoding = next(
        ((mark, name) for mark, name in _MARKS if head.startswith(mark)), (b"", _without_mark(head))
    )
    text = head.replace(b"\0", b"")
    if encoding == "utf-8" and head.count(b"\0") > len(head) // 20:
        raise BadInput(
            f"{path.name} is no text; nothing was brought in. Save what the logger holds as CSV."
        )
    return Source(path, sha256, size, encoding, len(mark), b"\n" not in text and b"\r" in text)


def still(path: Path, before: Source | None) -> Source:
    """A file opened, or as it was opened before, where it is the same: a workbook takes its time.

    Parameters
    ----------
    path
        The file.
    before
        As it was opened before.

    Raises
    ------
    BadInput
        As from `open_source`.
    """
    if before is not None and before.path == path and before.sha256 == fingerprint(path):
        return before
    return open_source(path)


def fingerprint(path: Path) -> str:
    """The SHA-256 of a file as it is now.

    Parameters
    ----------
    path
        The file.

    Raises
    ------
    BadInput
        When it cannot be read.
    """
    try:
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except OSError as error:
        raise _unreadable(path, error) from error


def _without_mark(head: bytes) -> str:
    half = max(1, len(head) // 2)
    if head[1::2].count(b"\0") > 0.7 * half and head[::2].count(b"\0") < 0.1 * half:
        return "utf-16-le"
    if head[::2].count(b"\0") > 0.7 * half and head[1::2].count(b"\0") < 0.1 * half:
        return "utf-16-be"
    return "utf-8"


def text_of(line: bytes) -> str:
    """A line as text: UTF-8, else what Windows programs of the west write.

    Parameters
    ----------
    line
        Without its end.
    """
    try:
        return line.decode("utf-8")
    except UnicodeDecodeError:
        return line.decode("cp1252", "replace")


def _unreadable(path: Path, error: OSError) -> BadInput:
    return BadInput(
        f"{path} cannot be read ({error.strerror or error}); nothing was brought in. "
        "Check the name and try again.",
        title="No such file",
    )
