"""Records that two sides changed, on the screen: a line for what is taken together, all of it
below.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date, tzinfo
from typing import TYPE_CHECKING, Final
from uuid import UUID

from textual.content import Content

from tui.said import said_moment
from tui.widgets.columns import Column
from tui.widgets.grid import Row
from tui.widgets.literal import one_line

if TYPE_CHECKING:
    from store.record.sides import DifferingTold, GroupTold, SideTold

HERE: Final = "here"
EMPTY: Final = "empty"
COLUMNS = (
    Column("take", "Take", 5),
    Column("what", "What", 22, weight=4),
    Column("before", "Before", 10, weight=2, drop_order=1),
    Column("here", "Here", 12, weight=3),
    Column("bag", "Bag", 12, weight=3),
)


@dataclass(frozen=True, slots=True)
class GroupKey:
    """A line of the list: one row of the book, and which of its groups."""

    table: str
    key: UUID
    nth: int


def lines_of(waiting: Iterable[DifferingTold]) -> Iterator[tuple[GroupKey, DifferingTold, int]]:
    """A line for each group of columns.

    Parameters
    ----------
    waiting
        From `store.record.sides`.
    """
    for row in waiting:
        for nth in range(len(row.groups)):
            yield GroupKey(row.table, row.key, nth), row, nth


def sides_of(group: GroupTold) -> tuple[int | None, tuple[int, ...]]:
    """Which side was written here, and which elsewhere, by their places.

    Parameters
    ----------
    group
        Of a row.

    Returns
    -------
    tuple
        The newest of this copy (None for none), and the others, the newest first.
    """
    own = [nth for nth, side in enumerate(group.sides) if side.where == HERE]
    here = own[-1] if own else None
    return here, tuple(nth for nth in reversed(range(len(group.sides))) if nth != here)


def row_of(key: GroupKey, row: DifferingTold, taken: int | None) -> Row:
    """One line of the list.

    Parameters
    ----------
    key
        Of the line.
    row
        The row of the book.
    taken
        Which side is taken; None while nobody chose.
    """
    group = row.groups[key.nth]
    here, others = sides_of(group)
    cells = (
        _taken_said(group, taken),
        one_line(f"{_named(group)}, {row.what}"),
        _values(group.before),
        "–" if here is None else _values(group.sides[here].said),
        "–" if not others else _values(_shown(group, taken, others).said),
    )
    return Row(key, cells)


def _named(group: GroupTold) -> str:
    return group.labels[0] + (" and more" if len(group.labels) > 1 else "")


def _taken_said(group: GroupTold, taken: int | None) -> str:
    if taken is None:
        return "?"
    return "here" if group.sides[taken].where == HERE else "bag"


def _shown(group: GroupTold, taken: int | None, others: tuple[int, ...]) -> SideTold:
    return group.sides[taken if taken in others else others[0]]


def _values(said: Sequence[str]) -> str:
    return one_line("; ".join(one or EMPTY for one in said)) if any(said) else EMPTY


def told(row: DifferingTold, nth: int, taken: int | None, zone: tzinfo, today: date) -> Content:
    """Everything about one group of a row: before, and each side with who, when and why.

    Parameters
    ----------
    row
        The row of the book.
    nth
        Which of its groups.
    taken
        Which side is taken.
    zone, today
        Of the practice.
    """
    group = row.groups[nth]
    whose = f"; {one_line(row.whose)}" if row.whose else ""
    lines = [Content.styled(f"{one_line(row.what)}{whose}", "bold")]
    lines.append(Content(_side_said("before", group, group.before)))
    for place, side in enumerate(group.sides):
        where = side.where if side.where == HERE else one_line(side.where)
        mark = "› " if place == taken else "  "
        stands = ", stands now" if place == len(group.sides) - 1 else ""
        at = said_moment(side.at, zone, today)
        lines.append(Content(mark + _side_said(where, group, side.said)))
        why = f"; why: {one_line(side.why)}" if side.why else ""
        quiet = f"    {one_line(side.by)}, {at}{stands}{why}"
        lines.append(Content.styled(quiet, "$quiet"))
    if len(row.groups) > 1:
        lines.append(Content.styled(
            f"{len(row.groups)} lines of this record differ; it is saved when all are taken.",
            "$quiet",
        ))  # fmt: skip
    return Content("\n").join(lines)


def _side_said(where: str, group: GroupTold, said: Sequence[str]) -> str:
    if not any(said):
        return f"{where}: {EMPTY}"
    parts = (
        f"{label} {one_line(value) or EMPTY}"
        for label, value in zip(group.labels, said, strict=True)
    )
    return f"{where}: {'; '.join(parts)}"
