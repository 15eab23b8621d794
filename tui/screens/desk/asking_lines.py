"""Whom to ask for a reading, in words: columns, rows, what the strip tells of one pond."""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING, Final

from rich.cells import cell_len
from rich.text import Text

from store.text import with_days
from tui.said import said_age, said_since
from tui.screens.desk.desk_lines import (
    LEAST_PHONE,
    MOST_PHONE,
    said_attempts,
    said_rung,
    said_where,
)
from tui.widgets.columns import Column
from tui.widgets.grid import Row
from tui.widgets.literal import one_line
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from datetime import date
    from zoneinfo import ZoneInfo

    from store.diary.desk.ask import AskLine, AskList, Undecided
    from tui.screens.water.water_saving import Saved

READING: Final = "Looking for what a reading would settle …"
NOTHING: Final = (
    "No reading would settle anything today: of every pond with an estimate the windows are "
    "settled, it was read today, or it was asked for."
)
NOT_LEARNT: Final = (
    "Nothing is known by estimate yet, so nobody is asked. What the records say of the water is "
    "learnt while Pondround is open; it takes readings of some seasons."
)


def columns_for(phones: Iterable[str]) -> tuple[Column, ...]:
    """The columns, with room for the longest of these telephone numbers."""
    longest = max((cell_len(one) for one in phones), default=LEAST_PHONE)
    return (
        Column("where", "Client and pond", 19, weight=3),
        Column("about", "By estimate, °C", 18),
        Column("settles", "Would settle", 19, weight=2),
        Column("phone", "Telephone", min(MOST_PHONE, max(LEAST_PHONE, longest))),
        Column("last", "Read", 5, align="right", drop_order=2),
        Column("ask", "Ask", 9, drop_order=3),
        Column("rung", "Last rung", 11, drop_order=1),
    )


def phone_of(line: AskLine) -> str:
    """The number to dial."""
    return one_line(line.phone).strip() or one_line(line.phone2).strip()


def said_counts(listed: AskList) -> str:
    """How many ponds are asked for, and how many were asked for today."""
    many = len(listed.lines)
    said = "1 pond" if many == 1 else f"{many} ponds"
    return f"{said}, {listed.asked} asked today" if listed.asked else said


def why_empty(listed: AskList) -> str:
    """Why nobody is asked."""
    return NOTHING if listed.learnt else NOT_LEARNT


def row_of(line: AskLine, listed: AskList, where_cells: int) -> Row:
    """One line of the grid; its key names the reading that is asked for."""
    about = f"{line.mean_c:.1f}, {line.low_c:.1f} to {line.high_c:.1f}"
    days = None if line.last_on is None else (listed.today - line.last_on).days
    return Row(
        line.about,
        (
            said_where(line.where, line.client, line.pond, where_cells),
            Text(about, style="quiet"),
            _settles(line),
            phone_of(line) or Text("no number", style="watch"),
            said_age(days),
            said_whom(line),
            said_rung(line.last_attempt, listed.now),
        ),
    )


def said_whom(line: AskLine) -> str:
    """Whom to ask in few cells: the owner, or who of the practice is there today."""
    if not line.going:
        return "owner"
    at = "" if line.going_at is None else f" {line.going_at:%H:%M}"
    return f"{one_line(line.going)}{at}"


def _settles(line: AskLine) -> str:
    if not line.undecided:
        return "a course waits"
    first = line.undecided[0]
    return f"{chance(first)} {one_line(first.name)}"


def chance(one: Undecided) -> str:
    """The chance in percent; what is reckoned is never certain."""
    return f"{100.0 * one.chance:.0f} %"


def told(line: AskLine, today: date, zone: ZoneInfo) -> Told:
    """What the reading would settle and its arithmetic, whom to ask, who was rung."""
    because = with_days(one_line(line.because), lambda day: said_since(day, today))
    return Told(
        f"{one_line(line.where)}: what is the water's temperature?",
        because,
        f"min(chance, 1 − chance) × stake: {one_line(line.weighed)}",
        f"{_ask(line)} {said_attempts(line, today, zone)} enter types what was read.",
    )


def _ask(line: AskLine) -> str:
    if not line.going:
        return "Ask the owner."
    at = "" if line.going_at is None else f" at {line.going_at:%H:%M}"
    return f"{one_line(line.going)} is to be there today{at}: ask for a reading, or the owner."


def said_saved(where: str, saved: Saved) -> str:
    """What a reading that was just saved changed in what the rules say of the pond."""
    said = f"Saved for {one_line(where)}."
    parts = []
    if saved.new:
        parts.append(f"New: {_named([one.what for one in saved.new])}.")
    if saved.gone:
        parts.append(f"Settled: {_named([one.what for one in saved.gone])}.")
    return " ".join((said, *(parts or ["Nothing else speaks there than before."])))


def _named(whats: list[str]) -> str:
    more = "" if len(whats) == 1 else f" and {len(whats) - 1} more"
    return f"{one_line(whats[0])}{more}"
