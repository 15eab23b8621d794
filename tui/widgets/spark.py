"""A short series as a row of blocks, drawn on the scale of its parameter."""

from __future__ import annotations

from math import isfinite
from typing import TYPE_CHECKING

from rich.style import Style
from rich.text import Text

if TYPE_CHECKING:
    from store.watch.concern import Spark

BLOCKS = "▁▂▃▄▅▆▇█"
BEYOND = "beyond"
"""Name of the style of a value beyond its limit; `LineGrid` knows its colour."""
_BOLD = Style(bold=True)


def spark(series: Spark, width: int) -> Text:
    """The newest values as blocks, one cell each, the newest at the right edge.

    A block's height is the place of the value between foot and head of the scale, so that a flat
    harmless line looks flat. A value beyond its limit is bold, carries the style `beyond` and
    stands at full height; where the limit lies at the foot (oxygen), it stands at the lowest.

    Parameters
    ----------
    series
        Values from old to new with their scale. A value that is no number leaves its cell empty.
    width
        Cells to fill; a shorter series leaves the cells before it empty.

    Returns
    -------
    Text
        Exactly `width` cells.
    """
    shown = list(zip(series.values, series.over, strict=True))[-width:] if width > 0 else []
    text = Text(" " * (width - len(shown)), no_wrap=True, end="")
    for value, over in shown:
        if not isfinite(value):
            text.append(" ")
            continue
        start = len(text)
        text.append(_block(value, series.foot, series.head, over))
        if over:
            text.stylize(_BOLD, start)
            text.stylize(BEYOND, start)
    return text


def _block(value: float, foot: float, head: float, over: bool) -> str:
    scale = head - foot
    place = (value - foot) / scale if scale else float(value > foot)
    if over:
        return BLOCKS[0] if place <= 0 else BLOCKS[-1]
    return BLOCKS[min(len(BLOCKS) - 1, int(min(1.0, max(0.0, place)) * len(BLOCKS)))]
