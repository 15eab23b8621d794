"""The lines of the desk in words: columns, rows, what is counted, what the strip tells of one.

As the desk narrows the last attempt goes first, then client and what was promised are cut; how late
it is and the telephone number stay to the last. What goes stands in the strip, and on the client's
page.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from datetime import date, datetime, time
from functools import lru_cache
from typing import TYPE_CHECKING, Final
from uuid import UUID

from rich.cells import cell_len
from rich.text import Text

from store.text import day_said, with_days
from tui.said import MONTHS, said_age, said_day, said_moment, said_since
from tui.widgets.columns import Column
from tui.widgets.grid import Row
from tui.widgets.literal import cut, one_line
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from zoneinfo import ZoneInfo

    from store.diary.desk.ask import AskLine
    from store.diary.desk.due import Attempt, Booked, DeskList, DueLine, Outcome
    from store.diary.kept.due.seeking import Quiet

LATE_CELLS: Final = 11
LEAST_PHONE, MOST_PHONE = 9, 18
"""Cells of the telephone number, which is as wide as the longest shown: a cut one is none."""
LEAST_CLIENT: Final = 10
"""Cells of the client's name that stay, whatever the length of the pond's."""
_VET_ASKED: Final = {
    "answer": "d asks for the answer", "turn": "d plans it anew",
    "finding": "d opens the examination",
}  # fmt: skip
"""What the key opens where a vet is asked, by the thing that is due."""
RING_BACK: Final = "ring_back"
"""The kind of a promise to ring again; other lines of the client carry its day and hour too."""
_RUNG: Final[dict[Outcome, str]] = {
    "reached": "spoke", "left word": "word", "no answer": "nobody", "ring back": "again",
}  # fmt: skip
"""How an attempt ended, in a word that leaves room for how long ago."""

FILTERS: Final[dict[str, tuple[str, Callable[[DueLine], bool]]]] = {
    "all": ("all that is due", lambda _line: True),
    "desk": ("for the desk: to be rung, or to be booked",
             lambda line: line.promised.needs != "vet" and not _settled(line)),
    "vet": ("for a vet to decide", lambda line: line.promised.needs == "vet"),
    "booked": ("booked", lambda line: line.booked is not None),
    "ring": ("to be rung back", lambda line: line.promised.kind == RING_BACK),
}  # fmt: skip
"""What `f` offers: key to words, and which lines stay."""


def columns_for(phones: Iterable[str]) -> tuple[Column, ...]:
    """The columns, with room for the longest of these telephone numbers."""
    longest = max((cell_len(one) for one in phones), default=LEAST_PHONE)
    return (
        Column("late", "Late", LATE_CELLS),
        Column("where", "Client and pond", 15, weight=3),
        Column("what", "Promised", 14, weight=2),
        Column("phone", "Telephone", min(MOST_PHONE, max(LEAST_PHONE, longest))),
        Column("rung", "Last rung", 11, drop_order=1),
    )


def phone_of(line: DueLine) -> str:
    """The number to dial."""
    return one_line(line.phone).strip() or one_line(line.phone2).strip()


def _settled(line: DueLine) -> bool:
    return line.booked is not None and line.booked.in_window


def said_counts(listed: DeskList, shown: int, show: str, found: bool) -> str:
    """How much is late, due today, soon and booked; what was chosen, where not all is shown."""
    total = len(listed.lines)
    parts = [
        f"{listed.overdue:,} late",
        f"{listed.today_due:,} due",
        f"{listed.ahead:,} soon",
        f"{listed.booked:,} booked",
    ]
    said = ", ".join(parts)
    if found:
        return f"{shown:,} found   {said}"
    if show != "all":
        return f"{FILTERS[show][0].partition(':')[0]} {shown:,} of {total:,}   {said}"
    return said


def said_late(line: DueLine, today: date) -> str:
    """How late a line is in words, in at most eleven cells: booked, to be rung, late, or ahead.

    What is booked within its window is told by the day of the visit; else how late it is goes
    before all else, and the strip tells that it is booked all the same.
    """
    if line.booked is not None and _settled(line):
        return _said_visit(line.booked, today)
    if line.promised.kind == RING_BACK and line.ring_on == today and line.ring_at is not None:
        return f"ring {line.ring_at:%H:%M}"
    if line.late_days > 0:
        said = f"late {line.late_days} d"
        return said if len(said) <= LATE_CELLS else f"late {line.late_days // 365} y"
    if line.promised.due_on < today:
        # Its day has passed, its window has not.
        return "last day" if line.late_days == 0 else f"{-line.late_days} d left"
    if line.promised.due_on == today:
        return "today"
    return f"in {(line.promised.due_on - today).days} d"


def _said_visit(booked: Booked, today: date) -> str:
    if booked.on_day == today:
        return "visit today" if booked.at_time is None else f"visit {booked.at_time:%H:%M}"
    said = f"booked {said_day(booked.on_day, today)}"
    return said if len(said) <= LATE_CELLS else "booked"


def level_of(line: DueLine, today: date) -> str:
    """The colour of how late it is; the words say the same."""
    if _settled(line):
        return "quiet"
    if line.late_days > 0:
        return "act"
    return "watch" if line.promised.due_on <= today else ""


def said_rung(attempt: Attempt | None, now: datetime) -> str:
    """The last attempt in a narrow column: how it ended, and how long ago.

    Within the last hours these count, `nobody 5 h`; then days, `word 3 d`.
    """
    if attempt is None:
        return ""
    word = _RUNG[attempt.outcome]
    hours = int((now - attempt.at).total_seconds() // 3600)
    if hours < 1:
        return f"{word} now"
    return f"{word} {hours} h" if hours < 24 else f"{word} {said_age(hours // 24)}"


@lru_cache(maxsize=8192)
def said_where(where: str, client: str, pond: str, cells: int) -> str:
    """Client and pond; where both do not fit each is cut, so that the eye finds either.

    In very few cells the client is told alone: it is the client who is rung. The same is asked for
    each line of a client, every time the desk is read.
    """
    whole, pond, client = one_line(where), one_line(pond), one_line(client)
    if cell_len(whole) <= cells or not pond or pond == client or cells < LEAST_CLIENT + 5:
        return cut(whole, cells)
    left = max(LEAST_CLIENT, cells - cell_len(pond) - 2)
    return cut(f"{cut(client, left)}, {pond}", cells)


def row_of(line: DueLine, listed: DeskList, where_cells: int) -> Row:
    """One line of the grid, with so many cells for client and pond; its key names the promise."""
    level = level_of(line, listed.today)
    late, what = said_late(line, listed.today), line.promised.says
    where = said_where(line.where, line.client, line.pond, where_cells)
    quiet = level == "quiet"
    return Row(
        line.promised.about,
        (
            Text(late, style=level) if level else late,
            Text(where, style="quiet") if quiet else where,
            Text(one_line(what), style="quiet") if quiet else what,
            phone_of(line) or Text("no number", style="watch"),
            said_rung(line.last_attempt, listed.now),
        ),
    )


def quiet_row(one: Quiet) -> Row:
    """A client with nothing due; its key is that of the client."""
    return Row(
        one.client_id,
        (
            Text("–", style="quiet"),
            one_line(one.client),
            Text(", ".join(part for part in ("nothing due", one_line(one.town)) if part),
                 style="quiet"),
            one_line(one.phone) or Text("no number", style="watch"),
            "",
        ),
    )  # fmt: skip


def rows_of(
    lines: Iterable[DueLine], quiet: Iterable[Quiet], listed: DeskList, where_cells: int
) -> list[Row]:
    """Lines that are due, then clients with nothing due."""
    rows = [row_of(line, listed, where_cells) for line in lines]
    return [*rows, *(quiet_row(one) for one in quiet)]


def told_quiet(one: Quiet) -> Told:
    """A client that was found and has nothing due."""
    number = one_line(one.phone) or "no telephone number"
    return Told(
        f"{one_line(one.client)}: nothing is due",
        f"Found by {one_line(one.reason)}; {number}",
        "",
        "Next: enter opens the client with all ponds; p promises something, c takes a call.",
    )


def told(line: DueLine, today: date, zone: ZoneInfo) -> Told:
    """Why the line stands here: because, who promised it, its weight, its window, who was rung."""
    promised = line.promised
    return Told(
        f"{one_line(line.where)}: {one_line(promised.says)}",
        said_why(line, today),
        " · ".join(part for part in (said_window(line, today), one_line(line.weighed)) if part),
        " ".join(
            part
            for part in (
                said_attempts(line, today, zone),
                said_ring(line.ring_on, line.ring_at, today),
                said_booked(line.booked, today),
                said_next(line),
            )
            if part
        ),
    )  # fmt: skip


def said_why(line: DueLine, today: date) -> str:
    """Where it comes from, then who promised it and when, where that is not told already."""
    promised = line.promised
    because, by = one_line(promised.because).strip(), one_line(promised.promised_by)
    because = with_days(because, lambda day: said_since(day, today)).replace("on today", "today")
    if not by or by in because:
        return because
    when = "" if promised.promised_on is None else f" {said_since(promised.promised_on, today)}"
    if because and not because.endswith((".", "!", "?", "…")):
        because = f"{because}."
    return f"{because} Promised by {by}{when}.".strip()


def said_window(line: DueLine, today: date) -> str:
    """The days on which it counts as kept, and the rule by which it comes again."""
    promised = line.promised
    first, last, due = promised.first_on, promised.last_on, promised.due_on
    if first == last:
        said = f"due {said_since(due, today)}"
    else:
        best = "" if due == first else f", best {said_since(due, today)}"
        said = f"window {said_span(first, last)}{best}"
    return f"{said}, {one_line(promised.repeats)}" if promised.repeats else said


def said_span(first: date, last: date) -> str:
    """Two days with the month told once where it is the same.

    Examples
    --------
    >>> said_span(date(2026, 3, 6), date(2026, 3, 8))
    '6–8 Mar'
    >>> said_span(date(2026, 12, 30), date(2027, 1, 2))
    '30 Dec 2026 – 2 Jan 2027'
    """
    if first.year != last.year:
        return f"{day_said(first)} – {day_said(last)}"
    if first.month != last.month:
        return f"{first.day} {MONTHS[first.month - 1]} – {last.day} {MONTHS[last.month - 1]}"
    return f"{first.day}–{last.day} {MONTHS[last.month - 1]}"


def said_attempts(line: DueLine | AskLine, today: date, zone: ZoneInfo) -> str:
    """How often the client was rung since it was reached last, and how the last one ended."""
    last = line.last_attempt
    if last is None:
        return "Not rung yet."
    at = last.at.astimezone(zone)
    when = f"today {at:%H:%M}" if at.date() == today else said_moment(last.at, zone, today)
    times = f"Rung {line.attempts} times, last" if line.attempts > 1 else "Last rung"
    by = f" ({one_line(last.by)})" if last.by else ""
    note = f": {one_line(last.note).rstrip('.')}" if last.note.strip() else ""
    return f"{times} {when}, {last.outcome}{by}{note}."


def said_ring(ring_on: date | None, ring_at: time | None, today: date) -> str:
    """When the client is to be rung back."""
    if ring_on is None:
        return ""
    at = "" if ring_at is None else f" {ring_at:%H:%M}"
    return f"Ring back {said_since(ring_on, today)}{at}."


def said_booked(booked: Booked | None, today: date) -> str:
    """The visit that is to keep it, and whether its day fits."""
    if booked is None:
        return ""
    at = "" if booked.at_time is None else f" {booked.at_time:%H:%M}"
    who = f" with {one_line(booked.who)}" if booked.who else ""
    misses = "" if booked.in_window else ", outside of its window"
    return f"Booked {said_since(booked.on_day, today)}{at}{who}{misses}."


def said_next(line: DueLine) -> str:
    """The key that is likeliest to be wanted."""
    promised = line.promised
    if _settled(line):
        return "d opens what keeps it."
    if promised.needs == "vet":
        asked = _VET_ASKED.get(promised.about.partition(":")[0], "d opens it")
        return f"A vet decides: {asked}."
    return "b books it." if promised.needs == "visit" else "r once you spoke, d when it is done."


def client_of(key: object, lines: dict[str, DueLine]) -> UUID | None:
    """The client of a line by its key; the key of a client with nothing due is its own."""
    if isinstance(key, UUID):
        return key
    line = lines.get(key) if isinstance(key, str) else None
    return None if line is None else line.promised.client_id
