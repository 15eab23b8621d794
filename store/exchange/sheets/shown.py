"""The value of a workbook's cell as the text that a person would have typed."""

from __future__ import annotations

import re
from datetime import date, datetime, time, timedelta
from decimal import Decimal
from typing import Any

_TEXT_IN_FORMAT = re.compile(r'"([^"]*)"|\\(.)|_.|\*.|\[[^\]]*\]')
_CLOCK = re.compile(r"h|s|am/pm", re.IGNORECASE)


def as_typed(cell: Any) -> str:
    """The text of one cell: days as 2026-05-02, times as 07:40, numbers with all their figures.

    What the format of the cell writes around a number belongs to it: 0.85 shown as 85% is `85%`,
    5 shown as <5 mg/L is `<5 mg/L`.

    Parameters
    ----------
    cell
        A cell of openpyxl.

    Returns
    -------
    str
        Empty for an empty cell.
    """
    value = cell.value
    if value is None:
        return ""
    if isinstance(value, bool):
        return "TRUE" if value else "FALSE"
    if isinstance(value, int | float):
        return _number(value, cell.number_format if cell.has_style else "General")
    if isinstance(value, datetime):
        return _moment(value, cell.number_format)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, time):
        return _clock(value)
    if isinstance(value, timedelta):
        return _span(value)
    return str(value)


def _number(value: float, shown_as: str) -> str:
    # A spreadsheet keeps 15 figures; what lies behind them comes from binary fractions.
    number = Decimal(f"{value:.15g}")
    section = shown_as.split(";", maxsplit=1)[0]
    before = after = ""
    if shown_as != "General":
        texts = [
            (found.start(), found[1] or found[2] or "")
            for found in _TEXT_IN_FORMAT.finditer(section)
        ]
        bare = _TEXT_IN_FORMAT.sub(lambda found: " " * len(found[0]), section)
        digits = [place for place, letter in enumerate(bare) if letter in "0#?"]
        if digits:
            before = "".join(text for place, text in texts if place < digits[0])
            after = "".join(text for place, text in texts if place > digits[-1])
            if "%" in bare:
                number *= 100
                after = f"%{after}"
    text = format(number, "f")
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return f"{before}{text if text != '-0' else '0'}{after}"


def _moment(value: datetime, shown_as: str) -> str:
    rounded = value + timedelta(milliseconds=500)
    rounded = rounded.replace(microsecond=0)
    clock = _clock(rounded.time())
    if clock == "00:00" and not _CLOCK.search(_TEXT_IN_FORMAT.sub("", shown_as)):
        return rounded.date().isoformat()
    return f"{rounded.date().isoformat()} {clock}"


def _clock(value: time) -> str:
    seconds = value.hour * 3600 + value.minute * 60 + value.second
    seconds += value.microsecond >= 500_000
    hours, rest = divmod(seconds % 86_400, 3600)
    minutes, seconds = divmod(rest, 60)
    return f"{hours:02}:{minutes:02}" + (f":{seconds:02}" if seconds else "")


def _span(value: timedelta) -> str:
    seconds = round(value.total_seconds())
    hours, rest = divmod(abs(seconds), 3600)
    minutes, seconds_left = divmod(rest, 60)
    sign = "-" if seconds < 0 else ""
    text = f"{sign}{hours:02}:{minutes:02}"
    return text + (f":{seconds_left:02}" if seconds_left else "")
