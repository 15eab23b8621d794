"""Which columns a line has room for, and how wide each is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal

GAP = 2
"""Cells between two columns."""


@dataclass(frozen=True, slots=True)
class Column:
    """One column of a grid.

    `width` is the number of cells, and the least that is useful where `weight` is given; what is
    left over is shared out by weight. The column with the lowest `drop_order` goes first as it
    narrows; 0 stays to the last.
    """

    key: str
    title: str
    width: int
    weight: int = 0
    align: Literal["left", "right"] = "left"
    drop_order: int = 0


@dataclass(frozen=True, slots=True)
class Placed:
    """A column that has room: its place among all columns, empty cells before it, its width."""

    place: int
    column: Column
    before: int
    width: int


def lay_out(columns: Sequence[Column], width: int) -> tuple[Placed, ...]:
    """The columns that fit into `width` cells, from left to right.

    Columns are dropped by their order until the others fit. Where even those that stay do not fit,
    the ones with a weight are made narrower, and the rest is cut at the right.

    Examples
    --------
    >>> columns = (Column("pond", "Pond", 10, weight=1), Column("age", "Age", 5, drop_order=1))
    >>> [(placed.column.key, placed.width) for placed in lay_out(columns, 30)]
    [('pond', 23), ('age', 5)]
    >>> [(placed.column.key, placed.width) for placed in lay_out(columns, 16)]
    [('pond', 16)]
    """
    kept = list(enumerate(columns))
    droppable = sorted(
        (entry for entry in kept if entry[1].drop_order), key=lambda entry: entry[1].drop_order
    )
    for entry in droppable:
        if _needed(kept) <= width:
            break
        kept.remove(entry)
    spare = width - _needed(kept)
    widths = _shared(kept, spare)
    placed = []
    for number, ((place, column), cells) in enumerate(zip(kept, widths, strict=True)):
        placed.append(Placed(place, column, GAP if number else 0, cells))
    return tuple(placed)


def _needed(kept: Sequence[tuple[int, Column]]) -> int:
    return sum(column.width for _, column in kept) + GAP * max(0, len(kept) - 1)


def _shared(kept: Sequence[tuple[int, Column]], spare: int) -> list[int]:
    weights = [column.weight for _, column in kept]
    total = sum(weights)
    widths = [column.width for _, column in kept]
    if not total:
        return widths
    given = 0
    seen = 0
    for number, weight in enumerate(weights):
        # Shares of the running sum: the cells add up to the spare ones exactly.
        seen += weight
        share = spare * seen // total - given if weight else 0
        given += share
        widths[number] = max(1, widths[number] + share)
    return widths
