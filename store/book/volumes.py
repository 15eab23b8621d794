"""How the volume of a pond was found, which finding is in force, and where findings disagree."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Any
from uuid import UUID

from sqlalchemy import select

from store.book.book import Book
from store.book.rows import Kept, read_all
from store.book.tables import table
from store.book.writing import Writing
from store.errors import BadInput, NotAllowed, NotFound

LARGEST_DIFFERENCE_PERCENT = 20.0
"""Two methods that differ by more are shown to the person; common practice."""


@dataclass(frozen=True, slots=True)
class VolumeEstimate(Kept):
    """One finding of a pond's volume, with the numbers that were put in."""

    pond_id: UUID
    method: str
    litres: float
    low_l: float
    high_l: float
    workings: str
    inputs: dict[str, Any]
    measured_on: date


@dataclass(frozen=True, slots=True)
class Disagreement:
    """Two findings by different methods that lie too far apart."""

    one: VolumeEstimate
    other: VolumeEstimate
    percent: float
    """By how much the larger exceeds the smaller [%]."""


def record_estimate(
    writing: Writing,
    pond_id: UUID,
    *,
    method: str,
    litres: float,
    measured_on: date,
    low_l: float | None = None,
    high_l: float | None = None,
    workings: str = "",
    inputs: Mapping[str, Any] | None = None,
    pond_rev: int | None = None,
) -> UUID:
    """Enter a finding of a pond's volume, and put it in force if asked to.

    Parameters
    ----------
    writing
        The action it belongs to.
    pond_id
        Key of the pond.
    method
        Such as `rectangle`, `by salt`, `stated`.
    litres
        The volume [L].
    measured_on
        The calendar day of the finding.
    low_l
        The least it may be [L]; `litres` when left out.
    high_l
        The most it may be [L]; `litres` when left out.
    workings
        The arithmetic in words and numbers.
    inputs
        The numbers that were put in, by name with unit.
    pond_rev
        The revision of the pond that the person saw: puts the finding in force. Left out, the
        finding is kept beside the one in force.

    Returns
    -------
    UUID
        Key of the estimate.

    Raises
    ------
    BadInput
        When the bounds do not enclose the volume, or a number is impossible.
    ChangedMeanwhile, NotFound
        As for `Writing.change`.
    """
    low, high = litres if low_l is None else low_l, litres if high_l is None else high_l
    if not low <= litres <= high:
        raise BadInput(
            f"The volume of {litres:g} litres does not lie between its bounds {low:g} and "
            f"{high:g}; nothing was saved.",
            field="litres",
        )
    key = writing.add(
        "volume_estimate",
        pond_id=pond_id,
        method=method,
        litres=litres,
        low_l=low,
        high_l=high,
        workings=workings,
        inputs=dict(inputs or {}),
        measured_on=measured_on,
    )
    if pond_rev is not None:
        put_in_force(writing, pond_id, pond_rev, key)
    return key


def put_in_force(
    writing: Writing, pond_id: UUID, pond_rev: int, estimate_id: UUID, why: str = ""
) -> int:
    """Make one finding the volume that doses and lists go by.

    Parameters
    ----------
    writing
        The action it belongs to.
    pond_id
        Key of the pond.
    pond_rev
        The revision of the pond that the person saw.
    estimate_id
        Key of the finding.
    why
        The reason, for the log.

    Returns
    -------
    int
        The pond's revision afterwards.

    Raises
    ------
    NotFound
        When the finding is not one of this pond, or is struck through.
    ChangedMeanwhile
        As for `Writing.change`.
    """
    columns = table("volume_estimate").c
    query = select(columns.method, columns.litres, columns.low_l, columns.high_l).where(
        columns.id == estimate_id, columns.pond_id == pond_id, columns.struck_at.is_(None)
    )
    found = writing.connection.execute(query).one_or_none()
    if found is None:
        raise NotFound("This volume was not found for this pond; nothing was changed.")
    return writing.change(
        "pond",
        pond_id,
        pond_rev,
        why,
        volume_l=found.litres,
        volume_method=found.method,
        volume_low_l=found.low_l,
        volume_high_l=found.high_l,
        volume_estimate_id=estimate_id,
    )


def strike_estimate(writing: Writing, estimate_id: UUID, why: str) -> None:
    """Strike a finding through, unless it is the one in force.

    Parameters
    ----------
    writing
        The action it belongs to.
    estimate_id
        Key of the finding.
    why
        The reason; never empty.

    Raises
    ------
    NotAllowed
        When it is in force: another must be put in force first.
    BadInput, NotFound
        As for `Writing.strike`.
    """
    columns = table("pond").c
    query = select(columns.id).where(columns.volume_estimate_id == estimate_id)
    if writing.connection.execute(query).first() is not None:
        raise NotAllowed(
            "This volume is in force at its pond and was left as it is. "
            "Put another one in force first.",
            title="In force",
        )
    writing.strike("volume_estimate", estimate_id, why)


def estimates(book: Book, pond_id: UUID, *, struck: bool = False) -> tuple[VolumeEstimate, ...]:
    """The findings of a pond's volume, newest first.

    Parameters
    ----------
    book
        The book.
    pond_id
        Key of the pond.
    struck
        Also those that are struck through.

    Returns
    -------
    tuple of VolumeEstimate
        By the day of the finding, then of being entered.
    """
    columns = table("volume_estimate").c
    order = (columns.measured_on.desc(), columns.created_at.desc())
    of_pond = columns.pond_id == pond_id
    return read_all(book, VolumeEstimate, "volume_estimate", of_pond, order_by=order, struck=struck)


def compare(found: Iterable[VolumeEstimate]) -> tuple[Disagreement, ...]:
    """Where the newest findings of different methods lie more than 20 % apart.

    Parameters
    ----------
    found
        Findings of one pond, newest first, as `estimates` gives them.

    Returns
    -------
    tuple of Disagreement
        Widest apart first. The percentage is that of the smaller volume: the overdose if the larger
        is believed and the smaller is true.
    """
    newest: dict[str, VolumeEstimate] = {}
    for estimate in found:
        newest.setdefault(estimate.method, estimate)
    methods = list(newest.values())
    apart = []
    for place, one in enumerate(methods):
        for other in methods[place + 1 :]:
            larger, smaller = max(one.litres, other.litres), min(one.litres, other.litres)
            percent = 100.0 * (larger / smaller - 1.0)
            if percent > LARGEST_DIFFERENCE_PERCENT:
                apart.append(Disagreement(one, other, percent))
    return tuple(sorted(apart, key=lambda each: -each.percent))
