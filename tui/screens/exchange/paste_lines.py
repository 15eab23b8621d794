"""What was seen in an owner's text, in words: its lines, what the strip tells, what was decided."""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import date, time
from typing import TYPE_CHECKING

from rich.text import Text

from tui.said import DAYS, said_date
from tui.widgets.columns import Column
from tui.widgets.grid import Row
from tui.widgets.literal import one_line
from tui.widgets.strip import Told

if TYPE_CHECKING:
    from store.exchange.columns import Question
    from store.exchange.told.found import Found, Looked
    from store.exchange.told.keep import KeptTold, Take

COLUMNS = (
    Column("take", "Take", 5),
    Column("becomes", "As", 22, weight=2),
    Column("day", "Day", 10),
    Column("hour", "Hour", 5),
    Column("raw", "In the text", 22, weight=2, drop_order=1),
)
_LEFT_SHOWN = 4
ASKED = "asked"
"""First part of the key of a line that asks something of the whole text."""
_OF_TEXT = {"sent": "written when?", "order": "day before month?", "year": "of which year?"}


@dataclass(frozen=True, slots=True)
class Decided:
    """What a person decided of one line: the day, the hour, which of its readings.

    Without `clock` the hour is not known. `by_hand` tells that a person typed the hour.
    """

    day: date
    clock: time | None
    choice: int
    by_hand: bool


def decided_text(taken: Mapping[str, Decided]) -> str:
    """What was decided as text, to be kept with the draft.

    Parameters
    ----------
    taken
        By the key of the line.
    """
    plain_values = {
        key: [
            str(one.day),
            "" if one.clock is None else f"{one.clock:%H:%M}",
            one.choice,
            one.by_hand,
        ]
        for key, one in taken.items()
    }
    return json.dumps(plain_values, ensure_ascii=False) if plain_values else ""


def decided_from(text: str) -> dict[str, Decided]:
    """What was decided, out of a draft; empty where it cannot be read.

    Parameters
    ----------
    text
        From `decided_text`.

    Examples
    --------
    >>> one = {"a": Decided(date(2026, 5, 2), None, 0, True)}
    >>> decided_from(decided_text(one)) == one, decided_from("x")
    (True, {})
    """
    try:
        return {
            str(key): Decided(
                date.fromisoformat(day), time.fromisoformat(clock) if clock else None,
                int(choice), bool(by_hand),
            )
            for key, (day, clock, choice, by_hand) in json.loads(text).items()
        }  # fmt: skip
    except (ValueError, TypeError, AttributeError):
        return {}


def takes_from(looked: Looked, taken: Mapping[str, Decided]) -> list[Take]:
    """What goes into the book of what was decided, in the order of the text.

    Parameters
    ----------
    looked
        The text.
    taken
        By the key of the line; keys that the text does not have any more are passed over.
    """
    from store.exchange.told.keep import Take

    takes = []
    for one in looked.found:
        decided = taken.get(one.key)
        if decided is None or not one.takeable:
            continue
        choice = min(decided.choice, len(one.choices) - 1)
        reading = one.choices[choice] if one.choices else None
        takes.append(Take(one, decided.day, decided.clock, reading, decided.by_hand))
    return takes


def rows_of(
    looked: Looked, taken: Mapping[str, Decided], answered: Sequence[Question], today: date
) -> list[Row]:
    """What is asked of the whole text first, then a line for each thing seen.

    Parameters
    ----------
    looked
        The text.
    taken
        What was decided.
    answered
        Questions that have an answer, which can be changed.
    today
        The practice's day.
    """
    rows = [_asked_row(one, "ask", "watch") for one in looked.questions]
    rows += [_asked_row(one, "said", "quiet") for one in answered]
    return [*rows, *(_row(one, taken.get(one.key), today) for one in looked.found)]


def _asked_row(one: Question, mark: str, style: str) -> Row:
    cells = (_styled(mark, style), _OF_TEXT[one.field], "", "", one_line(one.text))
    return Row((ASKED, one.field), cells)


def _row(one: Found, decided: Decided | None, today: date) -> Row:
    if not one.takeable:
        cells = ("words", one.kind if one.kind != "number" else "no value", "", "", one.raw)
        return Row(one.key, tuple(_styled(one_line(cell), "quiet") for cell in cells))
    mark = "[x]" if decided is not None else "[?]" if one.doubt else "[ ]"
    day = one.day if decided is None else decided.day
    clock = one.clock if decided is None else decided.clock
    becomes = one.becomes
    if decided is not None and len(one.choices) > 1:
        from store.water.understood import shown

        becomes = shown(one.choices[min(decided.choice, len(one.choices) - 1)])
    hour = "" if not one.needs_clock else "asked" if clock is None else f"{clock:%H:%M}"
    if decided is not None and one.needs_clock and clock is None:
        hour = "–"
    style = "watch" if one.doubt and decided is None else ""
    return Row(
        one.key,
        (
            _styled(mark, style), one_line(becomes),
            _styled("asked", "watch") if day is None else day_short(day, today),
            _styled(hour, "watch") if hour == "asked" else hour, one_line(one.raw),
        ),
    )  # fmt: skip


def day_short(day: date, today: date) -> str:
    """Weekday and date for a column.

    Parameters
    ----------
    day
        Of the line.
    today
        The practice's day.

    Examples
    --------
    >>> [day_short(date(year, 4, 25), date(2026, 4, 30)) for year in (2026, 2025)]
    ['Sat 25 Apr', '25 Apr 2025']
    """
    said = said_date(day, today)
    return f"{DAYS[day.weekday()]} {said}" if day.year == today.year else said


def _styled(text: str, style: str) -> Text:
    return Text.assemble((text, style), end="") if style else Text(text, end="")


def state_said(looked: Looked, taken: Mapping[str, Decided]) -> str:
    """What was seen and how much of it was taken, in one line.

    Parameters
    ----------
    looked
        The text.
    taken
        What was decided.
    """
    if not looked.messages:
        return "Paste or type what was told; values only by your tick."
    can = [one for one in looked.found if one.takeable]
    ticked = sum(one.key in taken for one in can)
    words = len(looked.found) - len(can)
    parts = len(looked.messages)
    said = [
        f"{parts} {'part' if parts == 1 else 'parts'}", f"{len(can)} seen", f"{ticked} ticked",
    ]  # fmt: skip
    if words:
        said.append(f"{words} stay words")
    if looked.questions:
        said.append(f"{len(looked.questions)} asked")
    return "   ".join(said)


def told(looked: Looked, key: object, decided: Decided | None) -> Told | None:
    """What the strip says of the line under the cursor.

    Parameters
    ----------
    looked
        The text.
    key
        Of the line.
    decided
        What was decided of it.
    """
    if isinstance(key, tuple) and key[0] == ASKED:
        one = next((each for each in looked.questions if each.field == key[1]), None)
        if one is None:
            return Told("This is answered.", advice="Enter changes the answer.")
        return Told(one.text, advice="Enter answers.")
    found = next((each for each in looked.found if each.key == key), None)
    if found is None:
        return None
    message = looked.of(found)
    who = f"{message.sender}: " if message.sender else ""
    head = f"{who}“{found.raw}”"
    if not found.takeable:
        return Told(head, advice=f"Stays words. {found.why}")
    doubt = found.doubt if found.doubt != found.why else ""
    why = found.why if found.why != found.when_why else ""
    advice = (
        "Space takes it, enter changes day and hour." if decided is None else "Space leaves it."
    )
    if found.doubt and decided is None:
        advice = f"{doubt or why} Space takes it all the same, with your answer."
        why = "" if not doubt else why
    return Told(head, found.when_why, f"Becomes: {found.becomes}. {why}".strip(), advice)


def line_of(looked: Looked, found: Found) -> int:
    """On which line of the text something was seen, counted from 0.

    Parameters
    ----------
    looked
        The text.
    found
        What was seen.
    """
    message = looked.of(found)
    begin = found.raw.split(" ")[0]
    place = looked.text.find(found.raw, message.start, message.end)
    if place < 0:
        place = max(looked.text.find(begin, message.start, message.end), message.start)
    return looked.text.count("\n", 0, place)


def not_ticked(looked: Looked, taken: Mapping[str, Decided]) -> str:
    """What could be taken beside what is ticked, in a sentence; empty where nothing is left.

    Parameters
    ----------
    looked
        What was seen.
    taken
        What was ticked.
    """
    left = [one.becomes for one in looked.found if one.takeable and one.key not in taken]
    if not left or not taken:
        return ""
    more = f" and {len(left) - _LEFT_SHOWN} more" if len(left) > _LEFT_SHOWN else ""
    return one_line(f"Not ticked, kept in words alone: {'; '.join(left[:_LEFT_SHOWN])}{more}.")


def saved_lines(takes: Sequence[Take], days: Sequence[date], today: date) -> str:
    """What F2 will save, a line each.

    Parameters
    ----------
    takes
        What was ticked.
    days
        Of the notes that the text fills, one each.
    today
        The practice's day.
    """
    from store.water.understood import shown

    lines = []
    for one in takes:
        becomes = one.found.becomes if one.reading is None else shown(one.reading)
        clock = "" if not one.found.needs_clock else " hour not known"
        if one.clock is not None and one.found.needs_clock:
            clock = f" {one.clock:%H:%M}"
        lines.append(f"{day_short(one.day, today)}{clock}: {becomes}")
    notes = f"one note on {day_short(days[0], today)}"
    if len(days) > 1:
        first, last = day_short(days[0], today), day_short(days[-1], today)
        notes = f"{len(days)} notes, {first} to {last}"
    lines.append(f"The whole text in words: {notes}.")
    if not takes:
        lines.append("Nothing is ticked, so nothing becomes a value.")
    return "\n".join(lines)


def done_said(done: KeptTold) -> str:
    """What was saved, for a notice.

    Parameters
    ----------
    done
        From `keep_told`.
    """
    from tui.commands.bring_told import saved_said

    return saved_said(done)
