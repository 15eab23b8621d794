"""Which lines of the morning list are shown, in which order, and how one is drawn."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Collection, Iterable
from datetime import date
from typing import TYPE_CHECKING, Final
from uuid import UUID

from rich.cells import cell_len

from tui.said import said_age, said_day, since_column
from tui.widgets.columns import Column
from tui.widgets.grid import Row
from tui.widgets.literal import cut, one_line
from tui.widgets.spark import spark

if TYPE_CHECKING:
    from store.watch.concern import MorningLine, MorningList

COLUMNS: Final = (
    Column("where", "Client and pond", 16, weight=1),
    Column("what", "What", 22, weight=3),
    Column("since", "Since", 7, drop_order=1),
    Column("spark", "Trend", 6, drop_order=2),
    Column("age", "Test", 5, align="right", drop_order=4),
    Column("visit", "Visit", 6, drop_order=3),
)
SPARK_CELLS: Final = 6
LEAST_CLIENT: Final = 7
"""Cells of the client's name that stay, whatever the length of the pond's."""

FILTERS: Final[dict[str, tuple[str, Callable[[MorningLine], bool]]]] = {
    "needing": ("all that need somebody", lambda line: line.level != "calm"),
    "act": ("act only", lambda line: line.level == "act"),
    "act_watch": ("act and watch", lambda line: line.level in {"act", "watch"}),
    "unknown": ("unknown only: too few or too old readings", lambda line: line.level == "unknown"),
    "no_visit": (
        "needing somebody, no visit planned",
        lambda line: line.level != "calm" and line.next_visit is None,
    ),
    "visit": ("with a visit planned", lambda line: line.next_visit is not None),
    "resting": ("with a concern at rest", lambda line: line.resting > 0),
    "all": ("every pond, calm ones too", lambda line: True),
}
"""What `f` offers: key to words and the lines that stay."""

_FAR: Final = date.max
_NEVER: Final = 1 << 30
SORTS: Final[dict[str, tuple[str, Callable[[MorningLine], object] | None]]] = {
    "worst": ("worst first", None),
    "client": ("by client and pond", lambda line: (line.client.casefold(), line.pond_name)),
    "age": (
        "oldest test first",
        lambda line: -(_NEVER if line.age_days is None else line.age_days),
    ),
    "visit": ("next visit first", lambda line: line.next_visit or _FAR),
}
"""What `s` offers: key to words and the order; None keeps that of the list itself."""


def chosen(
    lines: Iterable[MorningLine], show: str, sort: str, found: Collection[UUID] | None
) -> list[MorningLine]:
    """The lines to be shown, in order.

    Parameters
    ----------
    lines
        All ponds, worst first.
    show, sort
        Keys of `FILTERS` and `SORTS`.
    found
        Ponds that fit what was typed, of every level; None while nothing is searched for.
    """
    stays = FILTERS[show][1]
    kept = [line for line in lines if (stays(line) if found is None else line.pond in found)]
    order = SORTS[sort][1]
    return kept if order is None else sorted(kept, key=order)  # type: ignore[arg-type]


def alone(lines: Iterable[MorningLine]) -> frozenset[str]:
    """The clients that have one pond: their name tells which."""
    ponds = Counter(line.client for line in lines)
    return frozenset(client for client, count in ponds.items() if count == 1)


def where_in(line: MorningLine, cells: int, *, only_pond: bool = False) -> str:
    """Client and pond; where they do not fit the client is cut, as ponds of one client differ.

    The only pond of a client is cut instead: there the client's name tells which.
    """
    whole, pond = one_line(line.where), one_line(line.pond_name)
    if cell_len(whole) <= cells or only_pond or not pond or pond == one_line(line.client):
        return cut(whole, cells)
    left = max(LEAST_CLIENT, cells - cell_len(pond) - 2)
    return cut(f"{cut(one_line(line.client), left)}, {pond}", cells)


def row_of(
    line: MorningLine, today: date, where_cells: int, what_cells: int, *, only_pond: bool = False
) -> Row:
    """One line of the grid, with so many cells for the first two columns."""
    more = f" +{line.concerns - 1}" if line.concerns > 1 else ""
    at_rest = f"{line.resting} at rest" if line.resting and not line.concerns else ""
    what = cut(one_line(line.what), what_cells - len(more))
    return Row(
        line.pond,
        (
            where_in(line, where_cells, only_pond=only_pond),
            f"{what}{more}" if line.what else at_rest,
            since_column(line.since, today, or_earlier=line.or_earlier),
            spark(line.spark, SPARK_CELLS) if line.spark is not None else "",
            said_age(line.age_days),
            said_day(line.next_visit, today),
        ),
        line.level,
    )


def said_counts(
    listed: MorningList,
    shown: int,
    show: str,
    found: bool,
    *,
    sort: str = "worst",
    cells: int = 200,
) -> str:
    """The counts line: what was chosen where that is not the usual, every level, what is hidden.

    Parameters
    ----------
    listed
        Every pond.
    shown
        Lines on the screen.
    show, sort
        Keys of `FILTERS` and `SORTS`.
    found
        Whether something is searched for; then ponds of every level are looked through.
    cells
        Of the line. What does not fit is left out: half a number would be another one.
    """
    usual = show == "needing" and not found
    words = []
    if not found and show not in ("needing", "all"):
        words.append(FILTERS[show][0].partition(":")[0])
    if sort != "worst":
        words.append(SORTS[sort][0])
    ponds = f"{listed.total} {'pond' if listed.total == 1 else 'ponds'}"
    parts = [", ".join(words)] if words else []
    parts.append(ponds if usual or shown == listed.total else f"{shown} of {ponds}")
    parts += [f"{listed.act} act", f"{listed.watch} watch", f"{listed.unknown} unknown"]
    parts.append(f"{listed.calm} calm{' not shown' if usual and listed.calm else ''}")
    if listed.resting:
        parts.append(f"{listed.resting} at rest")
    line = parts[0]
    for part in parts[1:]:
        if cell_len(line) + 3 + cell_len(part) > cells:
            break
        line += f"   {part}"
    return line
