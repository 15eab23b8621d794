"""A change of the clock in the middle of a file: the offset said, seen in the rows, or asked."""

from __future__ import annotations

from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import pytest
from sheets import NOW, add_ponds
from test_logger_shapes import kept

from store.book.act import Act
from store.book.book import Book
from store.errors import BadInput
from store.exchange.logger.csv_file import read_logger, save_logger

LONDON = ZoneInfo("Europe/London")
SPRING = datetime(2025, 3, 29, 12, tzinfo=UTC)
AUTUMN = datetime(2025, 10, 25, 12, tzinfo=UTC)


def written(
    first: datetime, minutes: int, zone: Any, *, down: bool = False, hours: int = 36
) -> str:
    """A logger's file from a day before the change to a day behind it, on a clock of its own."""
    rows = [
        f"{(first + timedelta(minutes=minutes * n)).astimezone(zone):%Y-%m-%d %H:%M},{5 + n / 1000:.3f}\n"
        for n in range(hours * 60 // minutes)
    ]
    return "time,temp C\n" + "".join(reversed(rows) if down else rows)


def expected(first: datetime, minutes: int, hours: int = 36) -> list[tuple[datetime, float]]:
    return [
        (first + timedelta(minutes=minutes * n), round(5 + n / 1000, 3))
        for n in range(hours * 60 // minutes)
    ]


@pytest.mark.parametrize("first", [SPRING, AUTUMN], ids=["spring", "autumn"])
@pytest.mark.parametrize("minutes", [1, 10, 15, 30, 60])
@pytest.mark.parametrize("down", [False, True])
def test_a_clock_that_followed_is_seen(
    sqlite_book: Book, act: Act, tmp_path: Path, first: datetime, minutes: int, down: bool
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    path = tmp_path / "l.csv"
    path.write_text(written(first, minutes, LONDON, down=down))
    planned = read_logger(path, sqlite_book, NOW, pond)
    assert planned.asks == ()
    assert any("followed the change of local time" in told for told in planned.plan.told)
    save_logger(sqlite_book, act, planned)
    assert kept(sqlite_book, pond) == expected(first, minutes)


@pytest.mark.parametrize(
    ("first", "offset"), [(SPRING, 0), (SPRING, 60), (AUTUMN, 0), (AUTUMN, 60)]
)
def test_a_clock_that_did_not_is_asked(
    sqlite_book: Book, act: Act, tmp_path: Path, first: datetime, offset: int
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    from datetime import timezone

    path = tmp_path / "l.csv"
    path.write_text(written(first, 15, timezone(timedelta(minutes=offset))))
    planned = read_logger(path, sqlite_book, NOW, pond)
    (ask,) = planned.asks
    assert (ask.field, ask.choices) == ("clock", ("+00:00", "+01:00", "local"))
    with pytest.raises(BadInput, match="--clock"):
        save_logger(sqlite_book, act, planned)
    said = read_logger(path, sqlite_book, NOW, pond, clock=f"+{offset // 60:02}:00")
    assert said.asks == ()
    save_logger(sqlite_book, act, said)
    assert kept(sqlite_book, pond) == expected(first, 15)


def test_few_rows_tell_nothing_and_are_asked(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    path = tmp_path / "l.csv"
    path.write_text("time,temp C\n2025-03-29 10:00,5\n2025-03-31 10:00,6\n")
    assert [ask.field for ask in read_logger(path, sqlite_book, NOW, pond).asks] == ["clock"]
    said = read_logger(path, sqlite_book, NOW, pond, clock="local")
    assert said.asks == ()
    for text in (
        "time,temp C\n2025-03-29 10:00+00:00,5\n2025-03-31 10:00+01:00,6\n",  # each its own
        "date,temp C\n2025-03-29,5\n2025-03-31,6\n",  # a day is no time
        "time (UTC),temp C\n2025-03-29 10:00,5\n2025-03-31 10:00,6\n",
        "time,temp C\n2025-04-01 10:00,5\n2025-07-31 10:00,6\n",  # nothing changed between
    ):
        path.write_text(text)
        assert read_logger(path, sqlite_book, NOW, pond).asks == ()


@pytest.mark.parametrize(
    ("clock", "hour"), [("+02:00", 8), ("-05:30", 15), ("UTC", 10), ("America/New_York", 14)]
)
def test_a_clock_that_is_said(
    sqlite_book: Book, act: Act, tmp_path: Path, clock: str, hour: int
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    path = tmp_path / "l.csv"
    path.write_text("time,temp C\n2025-07-29 10:00,5\n")
    planned = read_logger(path, sqlite_book, NOW, pond, clock=clock)
    assert planned.plan.items[0].first.hour == hour
    with pytest.raises(BadInput, match="no clock"):
        read_logger(path, sqlite_book, NOW, pond, clock="noon")


@pytest.mark.parametrize(
    ("title", "hour"),
    [
        ("UTC offset;+2", 8), ("UTC offset: -5", 15), ("Time zone: UTC", 10),
        ("Time zone;GMT+01:00", 9), ("Zeitzone: UTC+02:00", 8),
        ("Time zone,Europe/Berlin", 8), ("Offset: 0.2", 9),
    ],
)  # fmt: skip
def test_title_lines_name_the_clock(
    sqlite_book: Book, act: Act, tmp_path: Path, title: str, hour: int
) -> None:
    """An offset of the calibration is none of the clock."""
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    path = tmp_path / "l.csv"
    path.write_text(f"{title}\ntime,temp C\n2025-07-29 10:00,5\n")
    assert read_logger(path, sqlite_book, NOW, pond).plan.items[0].first.hour == hour
