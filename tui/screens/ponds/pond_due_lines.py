"""What is due at a pond in words, for the lines above its chart."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date
from typing import TYPE_CHECKING

from rich.cells import cell_len
from textual.content import Content

from store.diary.desk.about import about_of
from tui.said import said_since
from tui.screens.desk.desk_lines import level_of, said_late
from tui.widgets.literal import cut, one_line

if TYPE_CHECKING:
    from store.diary.desk.due import DueLine
    from tui.screens.ponds.pond_page import PondPage

DUE_SHOWN = 3
"""Where the terminal has so many lines as `TALL_FROM`; else one."""
TALL_FROM = 36
_GUTTER_CELLS = 9
_OF_A_COURSE = ("dose", "answer", "turn")
_STYLES = {"act": "bold $level-act", "watch": "bold $level-watch"}


def due_lines(page: PondPage, width: int, most: int = 1) -> Content:
    """What is due here: what, how late or in how many days, who said so.

    What has come stands first as on the desk, then what comes by its day, then what is booked.
    Without what the lines of the courses tell.

    Parameters
    ----------
    page
        The pond.
    width
        Cells of a line.
    most
        So many lines; what stands beside them is counted.
    """
    due = sorted(
        (line for line in page.due if not _told_above(line, page)),
        key=lambda line: _order(line, page.today),
    )
    hidden = len(due) - most
    lines: list[Content] = []
    for number, line in enumerate(due[:most], 1):
        after = f"  and {hidden} more: O" if number == most and hidden > 0 else ""
        room = max(0, width - _GUTTER_CELLS - 1 - len(after))
        when = said_late(line, page.today)
        # What stands beside it goes first, then what was promised is cut; when it is due stays.
        says = cut(_says(line), max(0, room - 2 - len(when)))
        aside, left = "", room - cell_len(says) - 2 - len(when)
        for part in _aside(line, page.today):
            if cell_len(aside) + 2 + cell_len(part) <= left:
                aside += f", {part}"
        style = _STYLES.get(level_of(line, page.today), "$quiet")
        lines.append(
            Content.assemble(
                (f"{'due' if number == 1 else '':<{_GUTTER_CELLS}}", "$quiet"),
                says,
                (f"  {when}", style),
                (f"{aside}{after}", "$quiet"),
            )
        )
    return Content("\n").join(lines)


def _order(line: DueLine, today: date) -> tuple[bool, date]:
    """What has come keeps the order in which it was handed out."""
    booked = line.booked is not None and line.booked.in_window
    return booked, max(line.promised.due_on, today)


def _told_above(line: DueLine, page: PondPage) -> bool:
    """Whether the line of a course says what comes next there."""
    about, here = about_of(line.promised.about), page.courses
    if about.thing == "control":
        told = here.under_way or ((here.last,) if here.last is not None else ())
        return about.key in {one.course.id for one in told}
    return about.thing in _OF_A_COURSE


def _says(line: DueLine) -> str:
    call = "call: " if line.promised.origin == "call" else ""
    return f"{call}{one_line(line.promised.says)}"


def _aside(line: DueLine, today: date) -> Iterator[str]:
    """The day where it is not told yet, who promised it, whether it comes again."""
    own = line.promised
    booked = line.booked is not None and line.booked.in_window
    if not booked and own.due_on != today:
        yield said_since(own.due_on, today)
    if own.promised_by:
        how = "taken" if own.origin == "call" else "promised"
        yield f"{how} by {one_line(own.promised_by)}"
    if own.repeats:
        yield one_line(own.repeats)
