"""What a file of no headings is told by: the even steps of a machine, lines of a chat, prose."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Sequence
from itertools import pairwise

from store.exchange.logger.stamps import clock_layout, day_layout, read_stamp
from store.exchange.sheets.grid import RawRow
from store.exchange.sheets.head import FileHead

_FEW_ROWS = 8
_HOUR_MS = 3_600_000
_MOST_STEP_MS = 6 * _HOUR_MS
_CHAT = re.compile(
    r"[‎\[]*\d{1,4}[./-]\d{1,2}[./-]\d{2,4},? (?:at )?\d{1,2}[:.]\d{2}(?:[:.]\d{2})?"
    r"\s?(?:[ap]\.?m\.?)?\]?\s*[-–:]?\s*[^:,;\t]{1,40}: ",
    re.IGNORECASE,
)


def chat_lines(head: FileHead) -> int:
    """How many of the first lines are those of a chat.

    Parameters
    ----------
    head
        The beginning of a file.
    """
    return sum(_CHAT.match(line) is not None for line in head.lines)


def machine_step(rows: Sequence[RawRow]) -> str:
    """The step of a machine's series, such as `15 min`, the same from row to row; else empty.

    Parameters
    ----------
    rows
        The first rows.
    """
    columns: Counter[int] = Counter()
    for row in rows:
        for place, cell in enumerate(row.cells[:8]):
            text = cell.strip()
            if len(text) >= 6 and (day_layout(text, "dmy") or day_layout(text, "ymd")):
                columns[place] += not text.isdigit()
    if not columns:
        return ""
    place, count = columns.most_common(1)[0]
    if count < _FEW_ROWS:
        return ""
    for order in ("ymd", "dmy", "mdy"):
        stamps = []
        for row in rows:
            beside = row.cell(place + 1).strip()
            clock = beside if ":" in beside and clock_layout(beside) is not None else ""
            stamp = read_stamp(row.cell(place).strip(), clock, order)
            if not isinstance(stamp, str):
                stamps.append(stamp.wall_ms)
        if len(stamps) * 10 < count * 8:
            continue
        steps = Counter(abs(two - one) for one, two in pairwise(stamps))
        steps.pop(0, None)
        if not steps:
            continue
        step, times = steps.most_common(1)[0]
        if times * 10 >= sum(steps.values()) * 7 and step <= _MOST_STEP_MS:
            return _span(step)
    return ""


def _span(step_ms: int) -> str:
    if step_ms % _HOUR_MS == 0:
        hours = step_ms // _HOUR_MS
        return "hour" if hours == 1 else f"{hours} h"
    if step_ms % 60_000 == 0:
        return f"{step_ms // 60_000} min"
    return f"{step_ms / 1000:g} s"


def is_prose(head: FileHead) -> bool:
    """Whether it holds sentences and no cells.

    Parameters
    ----------
    head
        The beginning of a file.
    """
    lines = [line.strip() for line in head.lines if line.strip()]
    wordy = sum(len(line.split()) >= 5 and line.count(";") + line.count("\t") < 2 for line in lines)
    return bool(lines) and wordy * 2 >= len(lines)
