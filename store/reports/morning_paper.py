"""The morning list for the wall: which ponds need somebody, worst first, with a box to tick.

It is read from a metre: few columns and large print, and no pond is torn apart
by the end of a page.
"""

from __future__ import annotations

from collections.abc import Sequence
from datetime import date

from store.paper.paper import BOX, Paper, Part, date_in_words, one_line
from store.paper.table import Table
from store.text import day_said
from store.watch.concern import MorningLine, MorningList
from store.watch.levels import Level

TITLE = "Who needs somebody today"
NOBODY = "No pond needs anybody today."
ON_THE_WALL = (
    "It carries names of clients: it hangs where only the practice sees it. The list was true when "
    "it was printed."
)
_NEAR_DAYS = 180
SHOWN: tuple[Level, ...] = ("act", "watch", "unknown")


def morning_paper(listed: MorningList, printed_on: date, *, calm: bool = False) -> Paper:
    """The morning list as a sheet.

    Parameters
    ----------
    listed
        The list.
    printed_on
        The practice's calendar day.
    calm
        Whether calm ponds stand on it too.
    """
    levels: tuple[Level, ...] = (*SHOWN, "calm") if calm else SHOWN
    parts = []
    for level in levels:
        lines = [one for one in listed.lines if one.level == level]
        if lines:
            parts.append(_part(level, lines, printed_on))
    if not parts:
        parts.append(Part("Nobody", (NOBODY,), "words"))
    parts.append(Part("", (ON_THE_WALL,), "words"))
    counts = ", ".join(
        f"{getattr(listed, level)} {level}" for level in ("act", "watch", "unknown", "calm")
    )
    head = [("Practice", one_line(listed.practice) or "–"), ("Day", date_in_words(printed_on))]
    ponds = "1 pond" if listed.total == 1 else f"{listed.total} ponds"
    head.append(("Ponds", f"{ponds}: {counts}"))
    if listed.resting:
        head.append(("At rest", f"{listed.resting} of the calm ones, as somebody said"))
    return Paper(
        title=TITLE,
        head=tuple(head),
        parts=tuple(parts),
        foot=f"Morning list, {date_in_words(printed_on)}",
        written_on=printed_on,
        wall=True,
    )


def _part(level: Level, lines: Sequence[MorningLine], today: date) -> Part:
    columns = ("", "Client and pond", "What, since when, last tested", "Next visit")
    table = Table(columns, tuple(_row(one, today) for one in lines))
    return Part(f"{level.capitalize()} ({len(lines)})", (), "table", table=table)


def _row(one: MorningLine, today: date) -> tuple[str, ...]:
    what = [one.what + (f" (and {one.concerns - 1} more)" if one.concerns > 1 else "")]
    if one.since is not None:
        what.append(f"since {_near(one.since, today)}{' or earlier' if one.or_earlier else ''}")
    if "no test for" not in one.what and "never tested" not in one.what:
        what.append(_tested(one.age_days))
    visit = "none" if one.next_visit is None else _near(one.next_visit, today)
    return tuple(map(one_line, (BOX, one.where, "; ".join(filter(None, what)), visit)))


def _tested(age_days: int | None) -> str:
    if age_days is None:
        return "never tested"
    return {0: "tested today", 1: "tested yesterday"}.get(age_days, f"tested {age_days} days ago")


def _near(day: date, today: date) -> str:
    """A day of this half year without its year; further away with it."""
    said = day_said(day)
    return said.rpartition(" ")[0] if abs((day - today).days) < _NEAR_DAYS else said
