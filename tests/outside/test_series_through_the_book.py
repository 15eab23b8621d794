"""The measured years once more, this time brought into a book by `import` and read back from it.

Each site is a pond with a logger. The figures beside them were made with pandas, numpy and scipy
from the same file, without this project; see `data/README.md` for where the series come from.
"""

from __future__ import annotations

import csv
from collections.abc import Iterator
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from uuid import UUID

import pytest
from sqlalchemy import select
from test_measured_series import (
    DEGREE_DAYS,
    EVENTS,
    FILE,
    FIRST_DAYS,
    LARGEST_CHANGES,
    SERIES,
    SLOPES,
    YEARS,
)

from store.book.act import Act
from store.book.book import Book
from store.book.opening import open_book
from store.book.practice import begin
from store.book.tables import table
from store.exchange.logger.csv_file import read_logger, save_logger
from store.exchange.plain.ponds_csv import read_ponds, save_ponds
from store.exchange.plain.whose import PondNames
from store.watch.morning import morning_list
from store.watch.track import first_day_at_least
from store.watch.windows import window_events
from store.water.trends import degree_days, largest_change_24h, theil_sen

NOW = datetime(2023, 1, 1, 12, tzinfo=UTC)
ZONE = "Etc/UTC"  # a day of the series is a UTC day

Daily = dict[date, float]


@pytest.fixture(scope="module")
def book(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Book]:
    folder = tmp_path_factory.mktemp("series")
    with open_book(folder / "series.pondround", now=NOW, create=True) as opened:
        act = begin(
            opened, NOW, practice="Measured waters", time_zone=ZONE, person="Nobody", role="vet"
        )
        ponds = folder / "ponds.csv"
        ponds.write_text(
            "client,site,pond,code\n" + "".join(f"NEON,{site},{site},{site}\n" for site in YEARS),
            encoding="utf-8",
        )
        assert save_ponds(opened, act, read_ponds(ponds, opened, NOW)).added == len(YEARS)
        for site in YEARS:
            _bring(opened, act, folder, site)
        yield opened


def _bring(book: Book, act: Act, folder: Path, site: str) -> None:
    """The rows of one site as they stand in the file, into the pond of that code."""
    with FILE.open(encoding="utf-8", newline="") as lines:
        rows = [row for row in csv.reader(lines) if row[0] in ("site", site)]
    path = folder / f"{site}.csv"
    with path.open("w", encoding="utf-8", newline="") as file:
        csv.writer(file).writerows(rows)
    planned = read_logger(path, book, NOW, PondNames(book).one(site))
    assert planned.plan.refused == ()
    assert save_logger(book, act, planned).added == len(SERIES[site])
    assert save_logger(book, act, planned).added == 0


def _daily(book: Book, site: str) -> Daily:
    pond: UUID = PondNames(book).one(site)
    day = table("logger_day").c
    query = select(day.day, day.mean, day.low, day.high, day.n).where(
        day.pond_id == pond, day.parameter == "temperature_c"
    )
    with book.reading() as connection:
        rows = connection.execute(query.order_by(day.day)).all()
    assert all((row.n, row.low, row.high) == (1, row.mean, row.mean) for row in rows)
    return {row.day: row.mean for row in rows}


def _day(site: str, month_day: str) -> date:
    return date.fromisoformat(f"{YEARS[site]}-{month_day}")


@pytest.mark.parametrize("site", YEARS)
def test_the_book_holds_the_series_as_it_was_measured(book: Book, site: str) -> None:
    assert _daily(book, site) == SERIES[site]


@pytest.mark.parametrize("site", YEARS)
def test_first_days_and_window_events(book: Book, site: str) -> None:
    daily = _daily(book, site)
    days, temps = list(daily), list(daily.values())
    for at_least_c, (single, run) in FIRST_DAYS[site].items():
        assert first_day_at_least(days, temps, at_least_c) == _day(site, single)
        assert first_day_at_least(days, temps, at_least_c, run_days=3) == _day(site, run)
    said = ", ".join(
        f"{'E' if event.what == 'enters' else 'L'} {event.day:%m-%d} {event.temp_c:.2f}"
        for event in window_events(days, temps, 10.0, 20.0, 1.0)
    )
    assert said == EVENTS[site]


@pytest.mark.parametrize("site", YEARS)
def test_degree_days_change_and_slope(book: Book, site: str) -> None:
    daily = _daily(book, site)
    month, expected = DEGREE_DAYS[site]
    warmth = degree_days([temp for day, temp in daily.items() if day.month == month], 0.0)
    assert warmth == pytest.approx(expected, abs=0.005)

    times = [datetime(day.year, day.month, day.day, tzinfo=UTC) for day in daily]
    change = largest_change_24h(times, list(daily.values()))
    size, to_day = LARGEST_CHANGES[site]
    assert change is not None
    assert change.size == pytest.approx(size, abs=0.005)
    assert change.to_time.date() == _day(site, to_day)

    month_day, per_day = SLOPES[site]
    until = _day(site, month_day)
    days = [day for day in daily if until - timedelta(days=14) <= day < until]
    slope = theil_sen([day.toordinal() for day in days], [daily[day] for day in days])
    assert slope is not None
    assert slope.per_day == pytest.approx(per_day, abs=5e-6)


@pytest.mark.parametrize(
    ("site", "month_day", "inside"),
    [
        ("PRPO", "05-14", False),  # the day before the first of 15 °C
        ("PRPO", "05-15", True),
        ("HOPB", "05-18", False),
        ("HOPB", "05-19", True),
    ],
)
def test_the_watch_speaks_on_the_day_the_water_enters_a_window(
    book: Book, site: str, month_day: str, inside: bool
) -> None:
    """Gill flukes from 15 °C: the rule counts the pond inside from the first measured day on."""
    from store.watch.morning import watch_pond

    day = _day(site, month_day)
    now = datetime(day.year, day.month, day.day, 18, tzinfo=UTC)
    told = watch_pond(book, PondNames(book).one(site), now)
    window = [one for one in (*told.concerns, *told.notes) if one.rule == "window_gill_flukes"]
    entered = [one for one in window if one.since == day and "nearing" not in one.what]
    assert bool(entered) == inside


def test_every_site_is_on_the_morning_list(book: Book) -> None:
    lines = morning_list(book, datetime(2022, 6, 1, 6, tzinfo=UTC)).lines
    assert {line.pond_name for line in lines} == set(YEARS)
