"""Files of the weather as the air of a station: by the day, by the hour, grown, in a bag."""

from __future__ import annotations

import argparse
from collections.abc import Iterable
from datetime import date, datetime, timedelta
from pathlib import Path

import pytest
from bags import Kept, opened
from sheets import NOW, sheet
from sqlalchemy import select

from store.book.act import Act
from store.book.book import Book
from store.book.tables import table
from store.errors import BadInput
from store.exchange.columns.said import Said
from store.exchange.logger.air_columns import air_roles
from store.exchange.logger.air_days import DayOfAir
from store.exchange.logger.air_file import StationSaid, read_air, save_air
from store.exchange.looking.values import Asked
from store.exchange.looking.ways import look_at
from store.guard.check import check
from store.water.air import AirDay, air_days, stations
from tui.commands.bring import add_import, run_import

WHEN = (date(2026, 1, 1), date(2026, 12, 31))
DAILY = "DATE,TMAX,TMIN,PRCP\n2026-01-13,50,32,0\n2026-01-14,41,,0.1\n2026-01-15,59,41,0\n"


def days_of(book: Book) -> list[AirDay]:
    with book.reading() as connection:
        return list(air_days(connection, *WHEN))


def hourly(days: Iterable[tuple[date, range]], unit: str = "°C") -> str:
    """The air is as warm as the hour, in °C."""
    rows = (
        f"{datetime.combine(day, datetime.min.time()) + timedelta(hours=hour)},{hour}"
        for day, hours in days
        for hour in hours
    )
    return "\n".join([f"time,temperature_2m ({unit}),dew point", *(f"{row},1" for row in rows), ""])


def run(book: Book, act: Act, *words: str | Path) -> int:
    parser = argparse.ArgumentParser()
    add_import(parser.add_subparsers())
    return run_import(parser.parse_args(["import", "air", *map(str, words)]), book, act)


def test_a_file_of_days_is_asked_planned_saved_and_not_doubled(
    book: Book, act: Act, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = sheet(tmp_path, DAILY)
    where = ("--station", "Old mill", "--lat", "52.1", "--lon", "-1.2", "--elevation", "90")
    assert run(book, act, path, *where) == 1
    asked = capsys.readouterr()
    assert "--unit F or --unit C" in asked.err
    assert "Would save" in asked.out
    assert run(book, act, path, *where, "--unit", "F", "--dry-run") == 0
    said = capsys.readouterr().out
    assert "Would save 2 days of the air; nothing was saved." in said
    assert "the middle of lowest and highest is taken for it" in said
    assert "Not read, as the book keeps no such thing: “PRCP”." in said
    with book.reading() as connection:
        assert stations(connection) == ()
    assert run(book, act, path, *where, "--unit", "F") == 0
    assert "Saved 2 days of the air." in capsys.readouterr().out
    with book.reading() as connection:
        (station,) = stations(connection)
    assert (station.name, station.latitude, station.longitude, station.elevation_m) == (
        "Old mill", 52.1, -1.2, 90.0,
    )  # fmt: skip
    first, last = days_of(book)
    assert (first.day, first.n, last.day) == (date(2026, 1, 13), 1, date(2026, 1, 15))
    # (50 + 32) / 2 = 41 °F, which is 5 °C
    assert [first.mean_c, first.low_c, first.high_c] == pytest.approx([5.0, 0.0, 10.0])
    assert run(book, act, path, "--station", " old  MILL", "--unit", "F", "--lat", "52.2") == 0
    said = capsys.readouterr().out
    assert "Saved 0 days" in said
    assert "2 in the book already, passed over." in said
    assert "Its latitude was 52.1 and becomes 52.2." in said
    assert len(days_of(book)) == 2
    assert check(book, NOW).clean


def test_hours_make_days_and_a_file_that_grew_makes_them_anew(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    """A mean of hours: 0 to 23 is 11.5, 0 to 17 is 8.5; 17 hours are too few."""
    book, said = sqlite_book, StationSaid("Roof")
    one, two, three = (date(2026, 1, day) for day in (10, 11, 12))
    days = [(one, range(24)), (two, range(18)), (three, range(17))]
    planned = read_air(sheet(tmp_path, hourly(days)), book, NOW, said)
    assert planned.plan.items == (
        DayOfAir(one, 24, 11.5, 0.0, 23.0), DayOfAir(two, 18, 8.5, 0.0, 17.0),
    )  # fmt: skip
    assert any("1 day is left out, with values for less than 18 hours" in told
               for told in planned.plan.told)  # fmt: skip
    assert save_air(book, act, planned).added == 2
    days[1:] = [(two, range(24)), (three, range(24))]
    grown = read_air(sheet(tmp_path, hourly(days)), book, NOW, said)
    assert (grown.grown, grown.plan.already, len(grown.plan.items)) == (1, 1, 2)
    assert save_air(book, act, grown).added == 2
    assert [day.mean_c for day in days_of(book)] == [11.5] * 3
    with book.reading() as connection:
        files = table("import_file").c
        assert set(connection.execute(select(files.kind, files.rows_saved)).all()) == {("air", 2)}
    # Fewer values never take the place of more.
    days[0] = (one, range(6, 24))
    fewer = read_air(sheet(tmp_path, hourly(days)), book, NOW, said)
    assert (fewer.plan.items, fewer.plan.already) == ((), 3)


def test_by_keys_the_station_its_place_and_the_unit_are_asked(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    path, said = sheet(tmp_path, DAILY), Said()
    for field, answer in (("station", "Old mill"), ("place", "52,1 N; 1.2 W, 90 m"), ("unit", "F")):
        (question,) = look_at("air", path, sqlite_book, NOW, Asked(said)).needed
        assert question.field == field
        assert "--" not in question.text
        said = said.answering(question, answer)
    looked = look_at("air", path, sqlite_book, NOW, Asked(said))
    first = looked.lines[0]
    assert (first.line, first.when, first.what) == (2, "13 Jan 2026", "5.0 °C")
    assert looked.save(sqlite_book, act).added == 2
    with sqlite_book.reading() as connection:
        (station,) = stations(connection)
    assert (station.latitude, station.longitude, station.elevation_m) == (52.1, -1.2, 90.0)
    again = look_at("air", path, sqlite_book, NOW, Asked(Said({"station": "old mill"})))
    assert [one.field for one in again.needed] == ["unit"]
    with pytest.raises(BadInput, match="is no place"):
        look_at("air", path, sqlite_book, NOW, Asked(Said({"station": "x", "place": "the roof"})))


def test_an_hour_with_many_values_weighs_no_more_than_others(
    sqlite_book: Book, tmp_path: Path
) -> None:
    text = hourly([(date(2026, 1, 10), range(24))])
    often = "".join(f"2026-01-10 23:{minute:02}:00,23,1\n" for minute in range(1, 60))
    planned = read_air(sheet(tmp_path, text + often), sqlite_book, NOW, StationSaid("Roof"))
    (day,) = planned.plan.items
    assert (day.n, day.mean_c) == (83, pytest.approx(11.5))


@pytest.mark.parametrize(
    ("text", "part"),
    [
        ("time,water temp\n2026-01-01 00:00,4\n2026-01-01 01:00,4\n", "known to be of the air"),
        ("time,air C,outdoor C\n2026-01-01 00:00,4,5\n2026-01-01 01:00,4,5\n", "--column"),
        ("time,air C\n2026-01-01 00:00,4\n2026-01-01 12:00,4\n", "every 12 hours"),
        ("time,tmin C,tmax C\n2026-01-01 00:00,4,5\n2026-01-01 01:00,4,5\n", "only lowest and"),
        ("date,tavg C\n2026-01-01,4\n2026-01-01,9\n2026-01-02,4\n2026-01-02,9\n", "one station"),
    ],
)
def test_what_tells_no_air_is_refused(
    sqlite_book: Book, tmp_path: Path, text: str, part: str
) -> None:
    with pytest.raises(BadInput, match=part):
        read_air(sheet(tmp_path, text), sqlite_book, NOW, StationSaid("Roof"))


@pytest.mark.parametrize(
    ("header", "kinds", "units"),
    [
        ("date,tavg,tmin,tmax", ("mean", "low", "high"), ["", "", ""]),
        ("date,temp_max_f,temp_min_f", ("high", "low"), ["°F", "°F"]),
        ("date,temperature_2m_mean (°C),temperature_2m_max (°C),apparent_temperature_mean (°C)",
         ("mean", "high"), ["°C", "°C"]),
        ("Datum,Lufttemperatur [°C],Wassertemperatur [°C],Bodentemperatur", ("mean",), ["°C"]),
        ("date,mean temp 0.1 °C,temp at 9h", ("mean",), ["0.1 °C"]),
    ],
)  # fmt: skip
def test_headings_of_the_air(header: str, kinds: tuple[str, ...], units: list[str]) -> None:
    found = air_roles(
        tuple(header.split(",")), frozenset({0}), unit="", column="", file_name="air.csv"
    )
    assert found.kinds == kinds
    assert [one.unit for one in found.roles.columns] == units


def test_a_bag_takes_the_air_along_and_brings_it_back(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    home, said = Kept(sqlite_book, act), StationSaid("Roof")
    one, two = date(2026, 1, 10), date(2026, 1, 11)
    both = sheet(tmp_path, hourly([(one, range(20)), (two, range(24))]))
    save_air(home.book, home.act, read_air(both, home.book, NOW, said))
    packed = home.pack(tmp_path / "bag.pondround")
    with opened(packed.path) as bag:
        assert days_of(bag) == days_of(home.book)
        more = sheet(tmp_path, hourly([(one, range(24)), (two, range(22))]))
        save_air(bag, home.act, read_air(more, bag, NOW, said))
    home.unpack(packed.path)
    assert [(day.n, day.mean_c) for day in days_of(home.book)] == [(24, 11.5), (24, 11.5)]
    assert check(home.book, NOW).clean
