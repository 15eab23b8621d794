"""What others did to a row since a person had opened it."""

from __future__ import annotations

from store.book.book import Book
from store.book.told.record import Wish
from store.errors import ChangedMeanwhile, PondroundError
from store.record.told import Told, told_record

_MOST = 8
"""Lines that a person reads before going back to what is typed."""


def told_since(book: Book, trouble: ChangedMeanwhile) -> str:
    """What somebody else did to the row that a person was about to save, line by line.

    Parameters
    ----------
    book
        The practice's book.
    trouble
        As the writing raised it.

    Returns
    -------
    str
        Each line with who did it and each field before and after; empty where the trouble names no
        row, or nothing more can be told of it.
    """
    if trouble.row is None:
        return ""
    name, key, seen = trouble.row
    try:
        page = told_record(book, Wish(row=(name, key)), limit=_MOST)
    except PondroundError:  # what is known already is told in any case
        return ""
    newer = [one for one in page.lines if one.entry.rev > seen]
    return "\n".join(line for one in reversed(newer) for line in _lines(one))


def _lines(one: Told) -> list[str]:
    why = f" ({one.why})" if one.why else ""
    fields = [
        f"  {field.label}: {field.before or 'empty'} → {field.after or 'empty'}"
        for field in one.fields
    ]
    return [f"{one.by} {one.did} it{why}" + (":" if fields else "."), *fields]
