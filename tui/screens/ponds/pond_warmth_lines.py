"""What a pond's page says of today's temperature by estimate, and of readings to be settled."""

from __future__ import annotations

from typing import TYPE_CHECKING

from rich.cells import cell_len
from textual.content import Content

from tui.widgets.literal import cut, one_line, wrapped

if TYPE_CHECKING:
    from store.watch.warmth_told import WarmthTold

GROUNDS_SHOWN = 3
"""Lines of an estimate where the terminal is tall; else one."""
_GUTTER_CELLS = 9
_NEXT = (
    "measure with another thermometer, correct or strike the test, or say that it is heated or "
    "indoors: d",
    "another thermometer, correct or strike the test, or say heated: d",
)
"""What to do about it, where there is room and where there is little."""


def estimate_lines(warmth: WarmthTold | None, width: int, most: int = 1) -> Content:
    """The estimate of today with what it rests on, dimmer than what was measured.

    Parameters
    ----------
    warmth
        Of the pond; None says nothing.
    width
        Cells of a line.
    most
        So many lines; what does not fit stands behind the explaining key.
    """
    if warmth is None or not (warmth.says or (warmth.why_not and not warmth.measured_today)):
        return Content("")
    said = warmth.in_short
    if most > 1:
        said = " ".join((f"{warmth.says}.", *warmth.grounds)) if warmth.says else warmth.why_not
    return _lines("today", "$quiet", one_line(said), width, most, "$quiet")


def doubt_lines(warmth: WarmthTold | None, width: int, most: int = 2) -> Content:
    """The newest thing to be settled about the readings, what to do, and how much more there is.

    Parameters
    ----------
    warmth
        Of the pond; None says nothing.
    width
        Cells of a line.
    most
        So many lines: on one alone stands what is doubted.
    """
    if warmth is None or not warmth.to_settle:
        return Content("")
    at = max(len(warmth.doubts), 1) - 1
    more = len(warmth.to_settle) - 1
    after = f"  and {more} more: e" if more else "  e" if most == 1 else ""
    room = max(most - 1, 1)
    newest = one_line(warmth.to_settle[at])
    if len(wrapped(newest, width - _GUTTER_CELLS - 1 - cell_len(after))) > room:
        newest = one_line(warmth.to_settle_short[at])
    shown = _lines("settle", "bold $level-watch", newest, width, room, "", after)
    if most == 1:
        return shown
    rest = next((said for said in _NEXT if cell_len(said) < width - _GUTTER_CELLS), _NEXT[-1])
    rest = cut(rest, max(0, width - _GUTTER_CELLS))
    return Content("\n").join((shown, Content.assemble(" " * _GUTTER_CELLS, (rest, "$quiet"))))


def _lines(
    gutter: str, gutter_style: str, said: str, width: int, most: int, style: str, after: str = ""
) -> Content:
    """A text in at most so many lines, the last one cut, beside a word in the gutter."""
    room = max(1, width - _GUTTER_CELLS - 1)
    broken = wrapped(said, room)
    if len(broken) >= most:
        last = " ".join(broken[most - 1 :])
        broken = [*broken[: most - 1], cut(last, max(1, room - len(after)))]
    parts = []
    for number, line in enumerate(broken):
        word = gutter if number == 0 else ""
        tail = after if number == len(broken) - 1 else ""
        parts.append(
            Content.assemble(
                (f"{word:<{_GUTTER_CELLS}}", gutter_style), (line, style), (tail, "$quiet")
            )
        )
    return Content("\n").join(parts)
