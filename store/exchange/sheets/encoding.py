"""In which letters a text file is written, told where it is not certain."""

from __future__ import annotations

import codecs
from collections.abc import Iterable
from dataclasses import dataclass

from store.errors import BadInput

_MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
_NO_SHEET = (
    (b"%PDF", "is a PDF", "Copy its table into a spreadsheet and save that as CSV"),
    (b"\xd0\xcf\x11\xe0", "is a workbook of the old kind or locked with a password",
     "Open it in the spreadsheet and save it as .xlsx without a password, or as CSV"),
    (b"PK\x03\x04", "is a packed file and no workbook", "Unpack it first"),
    (b"\x1f\x8b", "is a packed file", "Unpack it first"),
    (b"{\\rtf", "is a letter, no sheet", "Copy its table into a spreadsheet and save that as CSV"),
)  # fmt: skip
_HEAD = 65_536
_REPLACEMENT = "\N{REPLACEMENT CHARACTER}".encode()
_CONTROL = frozenset(range(32)) - {9, 10, 11, 12, 13, 26, 27} - {0}


@dataclass(frozen=True, slots=True)
class Written:
    """How a text file is written: `encoding` for Python, what to do with letters that do not fit.

    `separator` stands between two cells; `remarks` tell what is not certain.
    """

    encoding: str
    errors: str = "strict"
    separator: str = ","
    remarks: tuple[str, ...] = ()


def refuse_what_is_no_text(name: str, head: bytes) -> None:
    """Refuse files that are something else altogether, by their first bytes.

    Parameters
    ----------
    name
        Of the file, for the sentence.
    head
        Its first bytes.

    Raises
    ------
    BadInput
        Saying what it is and what to do.
    """
    for mark, what, do in _NO_SHEET:
        if head.startswith(mark):
            raise BadInput(f"{name} {what} and no text; nothing was brought in. {do}.")


def encoding_of(name: str, chunks: Iterable[bytes]) -> Written:
    """The encoding of a whole file, read once in pieces.

    A mark at its beginning decides; without one, UTF-16 by its empty bytes, UTF-8 where every byte
    fits, and else Windows-1252, which is told: figures are the same in all of them.

    Parameters
    ----------
    name
        Of the file, for sentences.
    chunks
        The bytes of the file in order.

    Raises
    ------
    BadInput
        When it is no text.
    """
    decoder = codecs.getincrementaldecoder("utf-8")("replace")
    head = b""
    broken = many = empty = control = size = 0
    for chunk in chunks:
        if len(head) < _HEAD:
            head = (head + chunk)[:_HEAD]
        size += len(chunk)
        empty += chunk.count(0)
        if chunk.isascii():
            broken += decoder.decode(chunk).count("\ufffd")
        else:
            text = decoder.decode(chunk)
            wrong = max(0, text.count("\ufffd") - chunk.count(_REPLACEMENT))
            broken += wrong
            many += sum(letter > "\x7f" for letter in text) - wrong
    broken += decoder.decode(b"", final=True).count("\ufffd")
    refuse_what_is_no_text(name, head)
    for mark, encoding in _MARKS:
        if head.startswith(mark):
            wide = encoding != "utf-8-sig"
            return Written(encoding, "replace" if wide or broken else "strict", remarks=()
                           if wide or not broken else (_spoilt(name),))  # fmt: skip
    control = sum(byte in _CONTROL for byte in head)
    if control > max(4, len(head) // 50):
        raise BadInput(
            f"{name} is no text; nothing was brought in. Save the sheet as CSV (UTF-8) or .xlsx."
        )
    if empty:
        wide_encoding = _utf16_without_mark(head)
        if wide_encoding:
            said = f"{name} does not say how it is written; it was read as UTF-16."
            return Written(wide_encoding, "replace", remarks=(said,))
        if empty * 2 > size:
            raise BadInput(f"{name} is no text; nothing was brought in. Save the sheet as CSV.")
    if not broken:
        return Written("utf-8")
    if many > 2 * broken:
        return Written("utf-8", "replace", remarks=(_spoilt(name),))
    said = (
        f"{name} is not written in UTF-8; it was read as Windows-1252. Figures are certain, look "
        "at letters such as ° and é."
    )
    return Written("cp1252", "replace", remarks=(said,))


def _spoilt(name: str) -> str:
    return (
        f"Some letters of {name} are spoilt; each stands as \N{REPLACEMENT CHARACTER}, and a "
        "figure with one in it is not read."
    )


def _utf16_without_mark(head: bytes) -> str:
    """UTF-16 by where its empty bytes stand, or nothing."""
    pairs = len(head) // 2
    if pairs < 2:
        return ""
    low = head[0 : 2 * pairs : 2].count(0)
    high = head[1 : 2 * pairs : 2].count(0)
    if high > 0.6 * pairs and low < 0.05 * pairs:
        return "utf-16-le"
    if low > 0.6 * pairs and high < 0.05 * pairs:
        return "utf-16-be"
    return ""
