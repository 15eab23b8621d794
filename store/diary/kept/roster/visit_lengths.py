"""How long a visit of each kind takes: common practice, or the practice's own say."""

from __future__ import annotations

from collections.abc import Mapping

from sqlalchemy import select

from store.book.tables import table
from store.book.writing import Writing
from store.diary.kept.roster.source import Source, reading
from store.errors import BadInput
from store.facts.follow_ups import visit_kinds
from store.text import plain

COMMON = "common practice"
OTHER_KIND = "call"
"""The kind whose length stands in for a visit of a kind that nobody has stated."""


def visit_lengths(book: Source) -> Mapping[str, tuple[int, str]]:
    """Minutes of every kind of visit, and why [min].

    Parameters
    ----------
    book
        The practice's book, or a connection to it.

    Returns
    -------
    Mapping
        Kind to minutes and the reason in words, `common practice` where the practice has none of
        its own; first the kinds that everybody has, then those that the practice added.
    """
    found = {name: (kind.minutes, COMMON) for name, kind in visit_kinds().items()}
    lengths = table("visit_length").c
    query = (
        select(lengths.kind, lengths.minutes, lengths.why)
        .where(lengths.struck_at.is_(None))
        .order_by(lengths.created_at, lengths.id)
    )
    with reading(book) as connection:
        for kind, minutes, why in connection.execute(query):
            found[kind] = minutes, why
    return found


def length_of(lengths: Mapping[str, tuple[int, str]], kind: str) -> tuple[int, str]:
    """Minutes of a kind of visit, and why; those of `OTHER_KIND` where it is not known [min].

    Parameters
    ----------
    lengths
        From `visit_lengths`.
    kind
        As it is entered; capitals do not matter.
    """
    wanted = " ".join(kind.casefold().split())
    if wanted in lengths:
        return lengths[wanted]
    minutes, _why = lengths[OTHER_KIND]
    return minutes, f"the length of a {OTHER_KIND}, since this kind has none of its own"


def set_visit_length(writing: Writing, kind: str, minutes: int, why: str) -> None:
    """State how long a kind of visit takes in this practice; what stood before stays readable.

    Parameters
    ----------
    writing
        The action it belongs to.
    kind
        Known or new, in a word or two.
    minutes
        From 5 to 1440 beside the pond, without the drive [min].
    why
        The reason; never empty.

    Raises
    ------
    BadInput
        No kind, no reason, or a length outside its bounds.
    """
    named = " ".join(plain(kind).casefold().split())
    if not named:
        raise BadInput("Of which kind of visit? Nothing was saved.", field="kind")
    writing.add("visit_length", kind=named, minutes=minutes, why=why)
