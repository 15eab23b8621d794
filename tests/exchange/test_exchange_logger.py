"""Loggers' files: values, days, sentinels, clocks, and a file that is larger than a piece."""

from __future__ import annotations

import tracemalloc
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import UUID

import pytest
from sheets import NOW, add_ponds, sheet
from sqlalchemy import select

from store.book.act import Act
from store.book.book import Book
from store.book.tables import table
from store.errors import BadInput
from store.exchange.logger.csv_file import read_logger, save_logger


def days_of(book: Book, pond: UUID) -> list[tuple[str, int, float, float, float]]:
    day = table("logger_day").c
    query = select(day.day, day.n, day.mean, day.low, day.high).where(day.pond_id == pond)
    with book.reading() as connection:
        rows = connection.execute(query.order_by(day.parameter, day.day)).all()
    return [(str(row.day), row.n, row.mean, row.low, row.high) for row in rows]


def values_of(book: Book, pond: UUID, parameter: str = "temperature_c") -> list[float]:
    reading = table("logger_reading").c
    query = select(reading.value).where(reading.pond_id == pond, reading.parameter == parameter)
    with book.reading() as connection:
        return list(connection.execute(query.order_by(reading.at)).scalars())


def test_time_and_value_on_both_databases(book: Book, act: Act, tmp_path: Path) -> None:
    (pond,) = add_ponds(book, act, "Upper pond")
    text = """Time,Temp (°F),DO mg/L,battery
2026-03-01 06:00,50,9.1,3.1
2026-03-01 18:00,53.6,,3.1
2026-03-02 06:00,51.8,9.4,3.0
2026-03-02 06:00,51.8,9.4,3.0
"""
    path = sheet(tmp_path, text)
    planned = read_logger(path, book, NOW, pond)
    assert {series.parameter: series.n for series in planned.plan.items} == {
        "temperature_c": 3, "oxygen_mg_l": 2
    }  # fmt: skip
    told = " ".join(planned.plan.told)
    assert "1 missing value" in told
    assert "1 row of the same instant" in told
    assert "“battery”" in told
    assert values_of(book, pond) == []
    assert save_logger(book, act, planned).added == 5
    assert values_of(book, pond) == pytest.approx([10.0, 12.0, 11.0])
    assert days_of(book, pond)[2:] == [
        ("2026-03-01", 2, pytest.approx(11.0), pytest.approx(10.0), pytest.approx(12.0)),
        ("2026-03-02", 1, pytest.approx(11.0), pytest.approx(11.0), pytest.approx(11.0)),
    ]
    again = save_logger(book, act, read_logger(path, book, NOW, pond))
    assert (again.added, again.already) == (0, 5)
    files = table("import_file").c
    with book.reading() as connection:
        assert connection.execute(select(files.rows_saved)).scalars().all() == [5]


def test_a_file_that_goes_on_grows_the_day(book: Book, act: Act, tmp_path: Path) -> None:
    (pond,) = add_ponds(book, act, "Upper pond")
    for place, rows in enumerate(
        ("2026-03-01 06:00,10\n", "2026-03-01 06:00,10\n2026-03-01 18:00,14\n")
    ):
        path = sheet(tmp_path, f"at,value\n{rows}", f"{place}.csv")
        save_logger(book, act, read_logger(path, book, NOW, pond))
    assert days_of(book, pond) == [("2026-03-01", 2, 12.0, 10.0, 14.0)]


def test_what_measures_nothing_is_dropped_and_counted(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    cells = ["10.5", "-127", "85.0", "NaN", "-9999", "999", "", "-", "OVR", "61", "-17.78", "11.5"]
    rows = "".join(f"2026-03-01 {hour:02}:00,{cell}\n" for hour, cell in enumerate(cells))
    planned = read_logger(
        sheet(tmp_path, f"time,value\n{rows}2026-03-01 13:00,warm\n2026-03-20 00:00,12\n"),
        sqlite_book, NOW, pond,
    )  # fmt: skip
    save_logger(sqlite_book, act, planned)
    assert values_of(sqlite_book, pond) == [10.5, 11.5]
    told = " ".join(planned.plan.told)
    assert "4 values left out that a probe sends" in told
    assert "4 missing" in told
    assert "2 values left out that water cannot have" in told
    assert "1 row left out whose time lies ahead" in told
    assert "names no unit; it was taken as temperature in °C" in told
    assert [(one.line, one.reason) for one in planned.plan.refused] == [
        (14, "“warm” is no number.")
    ]


def test_85_in_fahrenheit_is_warm_water(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, "time;value\n2026-03-01 10:00;85,0\n")
    save_logger(sqlite_book, act, read_logger(path, sqlite_book, NOW, pond, unit="F"))
    assert values_of(sqlite_book, pond) == pytest.approx([29.444], abs=0.001)


def test_ammonia_logged_as_ammonium_is_kept_as_nitrogen(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, "time,NH4 mg/L,NO2-N mg/L\n2026-03-01 10:00,1,0.1\n")
    save_logger(sqlite_book, act, read_logger(path, sqlite_book, NOW, pond))
    assert values_of(sqlite_book, pond, "tan_mg_l") == pytest.approx([0.7765], abs=0.0001)
    assert values_of(sqlite_book, pond, "nitrite_mg_l") == pytest.approx([0.3285], abs=0.0001)


def test_days_when_the_clock_changes(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    """A logger on local time: 25 hours in October, 23 in March, and the skipped hour is told."""
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    hours = [0, 1, 1, *range(2, 24)]
    autumn = "".join(
        f"2025-10-26 {hour:02}:00,{10 + place / 100}\n" for place, hour in enumerate(hours)
    )
    spring = "".join(f"2025-03-30 {hour:02}:00,8\n" for hour in range(24))
    planned = read_logger(sheet(tmp_path, f"time,value\n{spring}{autumn}"), sqlite_book, NOW, pond)
    assert any("1 row left out in the hour" in sentence for sentence in planned.plan.told)
    save_logger(sqlite_book, act, planned)
    assert [(day, n) for day, n, *_ in days_of(sqlite_book, pond)] == [
        ("2025-03-30", 23), ("2025-10-26", 25)
    ]  # fmt: skip
    assert values_of(sqlite_book, pond)[23:] == [10 + place / 100 for place in range(25)]


def test_values_with_an_offset_fall_on_the_practices_days(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, "time,value\n2025-07-01T22:30Z,20\n2025-07-01T23:30Z,22\n")
    save_logger(sqlite_book, act, read_logger(path, sqlite_book, NOW, pond))
    assert [(day, n) for day, n, *_ in days_of(sqlite_book, pond)] == [
        ("2025-07-01", 1), ("2025-07-02", 1)
    ]  # fmt: skip


def test_rows_in_any_order(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, "date,time,value\n2026-03-02,06:00,12\n2026-03-01,06:00,10\n")
    planned = read_logger(path, sqlite_book, NOW, pond)
    assert any("stepped back" in sentence for sentence in planned.plan.told)
    save_logger(sqlite_book, act, planned)
    assert values_of(sqlite_book, pond) == [10.0, 12.0]


@pytest.mark.parametrize(
    ("text", "options", "part"),
    [
        ("time,note\n", {}, "no column of values"),
        ("value\n", {}, "no column at"),
        ("time,value\n", {"parameter": "colour"}, "Choose one of"),
        ("time,value\n", {"unit": "furlong"}, "furlong"),
        ("time,temp C,temperature F\n", {}, "Two columns"),
    ],
)
def test_a_file_that_is_no_loggers_file(
    sqlite_book: Book, act: Act, tmp_path: Path, text: str, options: dict[str, str], part: str
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    with pytest.raises(BadInput, match=part):
        read_logger(sheet(tmp_path, text), sqlite_book, NOW, pond, **options)  # type: ignore[arg-type]


def test_a_long_file_takes_no_more_memory_than_a_short_one(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    peaks = []
    for rows in (6_000, 18_000):
        first = datetime(2025, 1, 1, tzinfo=UTC) + timedelta(days=rows / 100)
        text = "".join(
            f"{first + timedelta(minutes=5 * place):%Y-%m-%d %H:%M}Z,{10 + place % 100 / 50}\n"
            for place in range(rows)
        )
        path = sheet(tmp_path, f"time,value\n{text}", f"{rows}.csv")
        del text
        tracemalloc.start()
        save_logger(sqlite_book, act, read_logger(path, sqlite_book, NOW, pond))
        peaks.append(tracemalloc.get_traced_memory()[1])
        tracemalloc.stop()
    assert len(values_of(sqlite_book, pond)) == 24_000
    assert peaks[1] < 1.3 * peaks[0]
