"""Promises month by month as bars: on time at the bottom, what was late and not kept on top.

plotext draws the bars on a bare canvas; months, counts and the scale are set around them, so that
everything can be read without colour.
"""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from textual.content import Content

from tui.said import MONTHS
from tui.widgets.literal import cut, fit

if TYPE_CHECKING:
    from store.diary.desk.kept_on_time import Month, Tally

ON_TIME, LATE, NOT_KEPT = "█", "▒", "░"
LEGEND = f"{ON_TIME} on time  {LATE} late  {NOT_KEPT} not kept"
AXIS_CELLS = 6
_WORDS = 2
"""Rows below the bars: the months, and the counts."""
_STYLES = {ON_TIME: "$level-calm", LATE: "$level-watch", NOT_KEPT: "$level-act"}
_COLOURS = re.compile("\x1b\\[[0-9;]*m")
_SAME = re.compile("(.)\\1*")


def promises_chart(
    name: str, months: Sequence[Month], tallies: Sequence[Tally], width: int, height: int
) -> Content:
    """The chart in lines: its name with the legend, bars, months, how many of how many.

    Parameters
    ----------
    name
        What is shown.
    months, tallies
        From old to new, one tally a month.
    width, height
        The place there is [cells].
    """
    head = f"{fit(cut(name, max(1, width - len(LEGEND) - 2)), width - len(LEGEND) - 2)}  {LEGEND}"
    cells = max(1, (width - AXIS_CELLS) // max(1, len(months)))
    rows = max(1, height - 1 - _WORDS)
    most = max((one.counted for one in tallies), default=0)
    lines = [_coloured(head)]
    drawn = _bars(tallies, cells, rows, most) if most else [""] * rows
    for place, bar in enumerate(drawn):
        tick = str(most) if place == 0 and most else "0" if place == rows - 1 else ""
        axis = f"{tick:>{AXIS_CELLS - 2}}{'┤' if tick else '│'} "
        lines.append(Content.assemble((axis, "$quiet"), _coloured(bar)))
    named = "".join(_middle(_month(month, cells), cells) for month in months)
    counted = "".join(_middle(_count(one, cells), cells) for one in tallies)
    lines.append(Content(" " * AXIS_CELLS + named.rstrip()))
    lines.append(Content.styled(" " * AXIS_CELLS + counted.rstrip(), "$quiet"))
    return Content("\n").join(lines)


def _month(month: Month, cells: int) -> str:
    """Its name; January carries the year where there is room."""
    name = MONTHS[month.month - 1]
    return f"{name}'{month.year % 100:02}" if month.month == 1 and cells > 6 else name[:cells]


def _count(one: Tally, cells: int) -> str:
    if not one.counted:
        return "·"
    both = f"{one.on_time}/{one.counted}"
    return both if len(both) < cells else str(one.counted)


def _middle(text: str, cells: int) -> str:
    # Text is set where the middle of the bar is: the odd cell stands at the right.
    return text[:cells].center(cells) if (cells - len(text)) % 2 == 0 else f"{text:^{cells}}"


def _bars(tallies: Sequence[Tally], cells: int, rows: int, most: int) -> list[str]:
    """The bars, one text a row; what is not kept is never hidden by rounding."""
    # 135 ms to import: only where a chart is drawn.
    import plotext

    width, wide = cells * len(tallies), max(1, cells - 2)
    plotext.terminal.limit(False, False)
    figure = plotext.figure
    figure.clear()
    figure.plot_size(width, rows)
    figure.axes(False)
    figure.legend(False)
    bars = figure.bar(
        list(range(len(tallies))),
        [[one.on_time for one in tallies], [one.late for one in tallies],
         [one.not_kept for one in tallies]],
        marker=[ON_TIME, LATE, NOT_KEPT], width=(wide - 1) / cells, stacked=True,
    )  # fmt: skip
    figure.draw(bars)
    # The middle of each bar falls on the middle of its cells, the top of the highest on the top.
    begins = -(cells - 1) / (2.0 * cells)
    figure.ruler("x", "lower").lim(begins, begins + (width - 1) / cells).ticks([])
    figure.ruler("y", "left").lim(0.0, float(most)).ticks([])
    text = _COLOURS.sub("", str(figure.build()))
    return [line.rstrip() for line in text.splitlines()[:rows]]


def _coloured(line: str) -> Content:
    runs = (found[0] for found in _SAME.finditer(line))
    return Content.assemble(*((run, _STYLES.get(run[0], "")) for run in runs))
