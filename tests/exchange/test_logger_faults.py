"""Faults of loggers' files: what is not certain is asked or refused, and all of it stands beside."""

from __future__ import annotations

import csv
from datetime import UTC, datetime
from pathlib import Path

import pytest
from openpyxl import Workbook
from sheets import NOW, add_ponds
from test_logger_shapes import brought, kept

from store.book.act import Act
from store.book.book import Book
from store.errors import BadInput
from store.exchange.logger import read
from store.exchange.logger.beside import save_and_list, write_beside
from store.exchange.logger.csv_file import read_logger, save_logger


def _rows(path: Path | None) -> list[list[str]]:
    assert path is not None
    with path.open(encoding="utf-8", newline="") as file:
        return list(csv.reader(file))


def test_the_end_of_a_day_may_be_24_00(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    """24:00 is the instant at the end of a day (ISO 8601-1:2019)."""
    text = "date,time,temp C\n20.01.2026,23:00,5\n20.01.2026,24:00,5.5\n20.01.2026,24:01,6\n"
    pond, planned = brought(sqlite_book, act, tmp_path, text)
    assert kept(sqlite_book, pond) == [
        (datetime(2026, 1, 20, 23, tzinfo=UTC), 5.0), (datetime(2026, 1, 21, tzinfo=UTC), 5.5)
    ]  # fmt: skip
    assert [one.reason for one in planned.plan.refused] == ["“24:01” is no time of day."]


def test_a_short_name_of_several_clocks(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    text = "time,temp C\n2025-07-20 12:00 BST,5\n2025-07-20 12:00 EST,6\n"
    pond, planned = brought(sqlite_book, act, tmp_path, text)
    # The practice is in London, where BST is an hour ahead of UTC.
    assert kept(sqlite_book, pond) == [(datetime(2025, 7, 20, 11, tzinfo=UTC), 5.0)]
    (refused,) = planned.plan.refused
    assert "“EST” in “2025-07-20 12:00 EST” is the name of more than one clock" in refused.reason
    said = read_logger(planned.plan.path, sqlite_book, NOW, pond, clock="-05:00")
    assert [one.n for one in said.plan.items] == [2]
    assert said.plan.items[0].last == datetime(2025, 7, 20, 17, tzinfo=UTC)


@pytest.mark.parametrize(
    ("heading", "days", "asked"),
    [
        ("Time, EST", ("2025-01-20", "2025-07-20"), "EST is the name of more than one clock"),
        ("Time (BST)", ("2025-01-20", "2025-07-20"), "local time in it is BST and GMT"),
        ("Time (BST)", ("2025-07-20", "2025-07-21"), ""),
        ("Time (CET)", ("2025-01-20", "2025-07-20"), ""),
    ],
)
def test_a_short_name_over_the_column_is_asked_where_local_time_changed(
    sqlite_book: Book, act: Act, tmp_path: Path, heading: str, days: tuple[str, str], asked: str
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    path = tmp_path / "l.csv"
    path.write_text(f'"{heading}",temp C\n{days[0]} 12:00,5\n{days[1]} 12:00,6\n')
    planned = read_logger(path, sqlite_book, NOW, pond)
    assert bool(planned.asks) == bool(asked)
    assert asked in " ".join(ask.sentence for ask in planned.asks)
    # The clock that a person says is the one that counts.
    local = read_logger(path, sqlite_book, NOW, pond, clock="local")
    assert local.asks == ()
    assert local.plan.items[0].last.hour == 11


def test_all_refused_rows_are_written_and_memory_holds_few(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(read, "MOST_REFUSED", 20)
    n = 150
    text = "time,temp C,note\n" + "".join(
        f"2026-01-{1 + place // 1440:02} {place // 60 % 24:02}:{place % 60:02},warm {place},\n"
        for place in range(n)
    )
    pond, planned = brought(sqlite_book, act, tmp_path, f"{text}2026-01-28 00:00,5,\n")
    assert (planned.refused_n, len(planned.plan.refused)) == (n, 20)
    rows = _rows(write_beside(planned).refused)
    assert rows[0] == ["line", "why refused", "time", "temp C", "note"]
    assert rows[1][:2] == ["2", "“warm 0” is no number."]
    assert rows[-1] == [
        str(n + 1), f"“warm {n - 1}” is no number.", "2026-01-01 02:29", f"warm {n - 1}", ""
    ]  # fmt: skip
    assert len(rows) == n + 1
    assert len(kept(sqlite_book, pond)) == 1


def test_no_spreadsheet_runs_what_is_written_beside(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    text = "time,temp C,note\n2026-01-01 00:00,5,\n2026-01-01 00:10,=1+1,\nnever,5,=1\n"
    _, planned = brought(sqlite_book, act, tmp_path, text)
    cells = [cell for row in _rows(write_beside(planned).refused) for cell in row]
    assert {"'=1+1", "'=1"} <= set(cells)
    assert not any(cell.startswith("=") for cell in cells)


def test_every_row_that_was_left_out_is_listed(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    text = (
        "time,temp C,note\n2026-01-01 00:00,5,\n2026-01-01 00:10,-127,\n2026-01-01 00:20,5.1,\n"
        '2026-01-01 00:20,5.2,"twice,\nsays he"\n2026-01-01 00:30,,Logged\n2026-01-01 00:40,5,\n'
        "2026-01-02 00:40,5.5,\n"
    )
    _, planned = brought(sqlite_book, act, tmp_path, text)
    beside = write_beside(planned)
    assert beside.refused is None
    assert beside.left == tmp_path / "logger.left-out.csv"
    assert _rows(beside.left) == [
        ["line", "why", "time (UTC)", "what it says", "row"],
        ["3", "a probe that measures nothing", "2026-01-01 00:10:00", "temperature",
         "2026-01-01 00:10,-127,"],
        ["5", "the instant of the row before", "2026-01-01 00:20:00", "",
         '2026-01-01 00:20,5.2,"twice, says he"'],
        ["5", "the same instant, another value", "2026-01-01 00:20:00", "",
         '2026-01-01 00:20,5.2,"twice, says he"'],
        ["7", "what happened to the logger", "", "", "2026-01-01 00:30,,Logged"],
        ["9", "a gap before this row", "2026-01-01 00:40:00", "no value up to 2026-01-02 00:40:00",
         "2026-01-02 00:40,5.5,"],
    ]  # fmt: skip
    assert write_beside(planned) == type(beside)(None, beside.left, ())
    planned.plan.path.write_text(text + "2026-01-02 00:50,5.5,\n")
    with pytest.raises(BadInput, match="not the file any more"):
        write_beside(planned)


def test_a_weather_stations_air_is_told_and_not_taken(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    path = tmp_path / "2026-01.txt"
    path.write_text(
        "# station: the roof; height: 3 m\n# one file a month\n"
        "date;time;outdoor temp °C;dew point °C;rain mm\n"
        "01.01.2026;00:00;4,2;1,0;0,0\n01.01.2026;00:10;99,9;1,0;0,2\n"
    )
    with pytest.raises(BadInput, match="“outdoor temp °C” is of the air") as refused:
        read_logger(path, sqlite_book, NOW, pond)
    assert refused.value.field == "column"
    planned = read_logger(path, sqlite_book, NOW, pond, column="outdoor temp °C", order="dmy")
    assert [one.n for one in planned.plan.items] == [1]
    assert [one.reason for one in planned.left] == ["impossible"]
    told = " ".join(planned.plan.told)
    assert "“outdoor temp °C” was named, and goes in as what the pond had" in told
    assert "Not read, as the book keeps no such thing: “dew point °C”, “rain mm”" in told


def test_what_stands_beside_the_column_that_was_named_is_told(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    text = "time,temp top C,temp deep C,pH,lux\n2026-01-01 00:00,5,4,7.9,3\n"
    with pytest.raises(BadInput, match="Two columns"):
        brought(sqlite_book, act, tmp_path, text)
    _, planned = brought(sqlite_book, act, tmp_path, text, column="temp deep C")
    told = " ".join(planned.plan.told)
    assert "as another column was named: “temp top C”, “pH”." in told
    assert "as the book keeps no such thing: “lux”." in told


def test_a_workbook_is_read_by_its_longest_sheet(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    """Dates and numbers of the workbook's own kind; lines are the rows of its sheet."""
    book = Workbook()
    book.create_sheet("about").append(["about", "the logger"])
    rows = book.create_sheet("log")
    rows.append(["Serial number", "A-4711"])
    rows.append([])
    rows.append(["Date Time, GMT+01:00", "Temp, °F", "note"])
    for minute, value in ((0, 41.0), (10, 41.9), (20, -9999), (30, "warm")):
        rows.append([datetime(2026, 1, 20, 11, minute), value, "a, b\nc"])  # noqa: DTZ001
    path = tmp_path / "l.xlsx"
    book.save(path)
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    planned = read_logger(path, sqlite_book, NOW, pond)
    assert "Of 3 sheets the longest was read: “log”." in planned.plan.told
    assert "Serial number A-4711." in planned.plan.told
    done, beside = save_and_list(sqlite_book, act, planned)
    assert done.added == 2
    assert kept(sqlite_book, pond) == [
        (datetime(2026, 1, 20, 10, tzinfo=UTC), 5.0), (datetime(2026, 1, 20, 10, 10, tzinfo=UTC), 5.5)
    ]  # fmt: skip
    assert _rows(beside.refused)[1][:2] == ["7", "“warm” is no number."]
    assert _rows(beside.left)[1][0] == "6"
    assert save_and_list(sqlite_book, act, read_logger(path, sqlite_book, NOW, pond))[0].added == 0


def test_events_are_told_and_no_values_are_lost(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    text = (
        "time,temp C,EC µS/cm\n2026-01-01 00:00,Host connected,\n2026-01-01 00:10,5,300\n"
        "2026-01-01 00:20,Stopped,310\nEnd of file\n"
    )
    pond, planned = brought(sqlite_book, act, tmp_path, text)
    assert {one.reason: one.n for one in planned.left} == {"event": 2, "missing": 1}
    assert [value for _, value in kept(sqlite_book, pond, "conductivity_us_cm")] == [300.0, 310.0]
    assert planned.plan.refused == ()


def test_a_quotation_mark_without_partner_swallows_no_row(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    text = (
        'time,temp C,note\n2026-01-01 00:00,5,"leaf\n2026-01-01 00:10,5.1,"\n2026-01-01 00:20,6,\n'
    )
    pond, planned = brought(sqlite_book, act, tmp_path, text)
    assert len(kept(sqlite_book, pond)) == 3
    assert planned.plan.rows_read == 3


def test_stopped_while_it_saves_nothing_is_saved(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    path = tmp_path / "l.csv"
    path.write_text("time,temp C\n2026-01-01 00:00,5\n2026-01-01 00:10,5\n")
    planned = read_logger(path, sqlite_book, NOW, pond)

    def stop(_: object) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        save_logger(sqlite_book, act, planned, stop)
    assert kept(sqlite_book, pond) == []
    assert save_logger(sqlite_book, act, planned).added == 2
