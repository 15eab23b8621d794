"""What a replay of estimates came to, in lines for the screen and the command line."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from rich.cells import cell_len

from store.warmth.proof_words import judged
from tui.said import NOTHING
from tui.widgets.literal import cut, cut_name, one_line

if TYPE_CHECKING:
    from store.warmth.kept.verify import Verified
    from store.warmth.replay import PondScore, Score

Part = tuple[str, str]
_Columns = tuple[int, tuple[tuple[str, int], ...]]
WORST = 8
"""So many ponds are listed, worst first."""
_WIDE = (27, (("readings", 9), ("estimate", 10), ("last reading", 14), ("season", 9), ("held", 7)))
_NARROW = (21, (("readings", 9), ("estim.", 7), ("last", 6), ("season", 7), ("held", 6)))
NARROW_BELOW = 77
"""Cells below which the heads of columns are shortened."""


def proof_parts(verified: Verified, width: int = NARROW_BELOW) -> Iterator[Part]:
    """Sentences, errors by days ahead and by age, the worst ponds; each line with its style.

    Parameters
    ----------
    verified
        What was replayed.
    width
        Cells of a line; the table keeps within it, down to 56.
    """
    columns = _WIDE if width >= NARROW_BELOW else _NARROW
    for said in verified.says:
        yield one_line(said), ""
    done = verified.replayed
    if done is None:
        return
    yield "", ""
    yield "Errors in °C (root mean square); of five readings four should be held", "$quiet"
    yield from _rows("Days ahead", done.leads, columns)
    yield "", ""
    yield from _rows("Age of last reading", done.ages, columns)
    if done.ponds:
        yield "", ""
        yield _heads("The worst ponds", columns), "bold"
    for pond in done.ponds[:WORST]:
        name = one_line(verified.names.get(pond.pond, ""))
        yield _row(cut_name(name, columns[0] - 1), pond, columns), ""


def _rows(title: str, scores: Sequence[Score], columns: _Columns) -> Iterator[Part]:
    yield _heads(title, columns), "bold"
    for one in scores:
        if not one.n:
            continue  # nobody reads at such intervals
        yield _row(_days(one.days), one, columns), ""
        if remark := judged(one):
            yield f"… {remark}", "$level-watch"


def _heads(title: str, columns: _Columns) -> str:
    label, others = columns
    return f"{cut(title, label - 1):<{label}}" + "".join(f"{head:>{wide}}" for head, wide in others)


def _row(label: str, one: Score | PondScore, columns: _Columns) -> str:
    cells = (
        f"{one.n:,}", _c(one.rmse), _c(one.rmse_last_reading), _c(one.rmse_season),
        _share(one.coverage_80),
    )  # fmt: skip
    told = zip(cells, columns[1], strict=True)
    begin = label + " " * (columns[0] - cell_len(label))
    return begin + "".join(f"{cell:>{wide}}" for cell, (_, wide) in told)


def _days(days: int) -> str:
    return "1 day" if days == 1 else f"{days} days"


def _c(error_c: float | None) -> str:
    return NOTHING if error_c is None else f"{error_c:.2f}"


def _share(share: float | None) -> str:
    return NOTHING if share is None else f"{share:.0%}"
