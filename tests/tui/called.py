"""What the tests of the command line share."""

from __future__ import annotations

import sqlite3
import unicodedata
from collections.abc import Callable
from datetime import UTC, datetime
from pathlib import Path

NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)
Call = Callable[..., tuple[int, str, str]]

WATER = "pond,date,time,pH,NO2 mg/L\nPEN-1,2026-03-13,06:00,7.4,0.1\nVEL-1,2026-03-13,06:10,7.5,0\n"


def one_sentence(text: str) -> bool:
    """One line that begins with a capital, a name or a path, and ends with a stop."""
    return text.count("\n") == 1 and text.endswith(".\n") and not text.startswith(" ")


def harmful(text: str) -> set[str]:
    marks = {chr(code) for code in (*range(0x202A, 0x202F), *range(0x2066, 0x206A), 0x200B)}
    return {
        sign for sign in text
        if sign != "\n" and (unicodedata.category(sign) in {"Cc", "Cs", "Co"} or sign in marks)
    }  # fmt: skip


def table(path: Path, statement: str, *values: str) -> list[tuple[object, ...]]:
    connection = sqlite3.connect(path)
    try:
        with connection:
            return connection.execute(statement, values).fetchall()
    finally:
        connection.close()
