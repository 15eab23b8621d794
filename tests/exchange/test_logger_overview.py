"""What a person sees of a logger's file before it is saved."""

from __future__ import annotations

import math
import statistics
from datetime import datetime, timedelta
from pathlib import Path

import numpy as np
from hypothesis import given, settings
from hypothesis import strategies as st
from sheets import NOW, add_ponds
from test_logger_shapes import FIRST

from store.book.act import Act
from store.book.book import Book
from store.exchange.logger.about import about_file
from store.exchange.logger.clean import Clean
from store.exchange.logger.csv_file import read_logger
from store.exchange.logger.overview import median_of, series_seen
from store.exchange.logger.spool import VALUE, Spool


@settings(max_examples=25, deadline=None)
@given(
    st.lists(
        st.one_of(st.floats(-2, 50), st.sampled_from([5.0, 5.1, 12.5])), min_size=1, max_size=60
    )
)
def test_the_median_is_that_of_all_values(numbers: list[float]) -> None:
    """Against `statistics.median` of Python."""
    spool = Spool()
    table = np.zeros(len(numbers), VALUE)
    table["at"], table["value"] = np.arange(len(numbers)), numbers
    for start in range(0, len(numbers), 7):
        spool.append(table[start : start + 7])
    clean = Clean("temperature_c", spool, min(numbers), max(numbers))
    assert median_of(clean) == statistics.median(numbers)


def test_a_series_as_it_is_looked_at(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    """Ten days, every ten minutes; a day missing, a morning out of the water, a broken probe."""
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    lines = []
    for n in range(1440):
        at = FIRST + timedelta(minutes=10 * n)
        value = f"{12 + math.sin(n / 23):.2f}"
        if 400 <= n < 544:
            continue
        if 900 <= n < 912:
            value = "22.5"
        if 1100 <= n < 1110:
            value = "-127"
        lines.append(f"{at:%Y-%m-%d %H:%M},{value}")
    path = tmp_path / "l.csv"
    path.write_text("Serial: A-7\nUTC offset;+0\ntime,temp C\n" + "\n".join(lines) + "\n")
    planned = read_logger(path, sqlite_book, NOW, pond)
    seen = series_seen(planned, 0)
    assert (seen.n, seen.step_s, seen.unit) == (1440 - 144 - 12 - 10, 600.0, "°C")
    assert (seen.low, seen.high) == (11.0, 13.0)
    assert 11.5 < seen.median < 12.5
    assert {one.word: one.n for one in seen.gone} == {"gap": 1, "lifted out": 12, "no probe": 10}
    assert {value for _, value in seen.doubted} == {22.5}
    assert len(seen.points) <= 320
    assert max(value for _, value in seen.points) == 13.0
    assert seen.first == datetime(2026, 1, 20, 11, 30)  # noqa: DTZ001 - the practice's clock
    assert (seen.start, seen.end) == (seen.first, seen.last)
    kept = series_seen(read_logger(path, sqlite_book, NOW, pond, lifted="keep"), 0)
    assert (kept.n, kept.high) == (seen.n + 12, 22.5)


def test_a_logger_carried_to_the_pond_is_drawn_from_the_office_on(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    path = tmp_path / "l.csv"
    path.write_text(
        "time,temp C\n"
        + "".join(
            f"{FIRST + timedelta(minutes=10 * n):%Y-%m-%d %H:%M},{19.5 if n < 9 else 6.0}\n"
            for n in range(200)
        )
    )
    seen = series_seen(read_logger(path, sqlite_book, NOW, pond), 0)
    assert (seen.n, seen.high) == (191, 6.0)
    assert seen.first - seen.start == timedelta(minutes=90)
    assert [(one.word, one.n, one.at) for one in seen.gone] == [("lifted out", 9, seen.start)]


def test_what_a_file_says_of_itself(tmp_path: Path) -> None:
    path = tmp_path / "l.csv"
    path.write_text(
        "Mill pond\nSerial number;A-4711\nUTC offset;+1\n"
        "Nr;Datum;Uhrzeit;Temperatur;Lufttemperatur;Batterie;Status\n;;;°F;°C;V;\n"
        "1;20.01.2026;10:00;41,0;3,1;2,9;ok\n2;20.01.2026;10:10;41,2;3,1;2,9;ok\n"
    )
    said = about_file(path)
    assert (said.serial, said.clock, said.separator, said.titles) == (
        "A-4711", "UTC+01:00", "semicolons", 3
    )  # fmt: skip
    assert [(one.heading, one.taken_for) for one in said.columns] == [
        ("Nr", "a count"), ("Datum", "day"), ("Uhrzeit", "time of day"),
        ("Temperatur (°F)", "temperature, °F"), ("Lufttemperatur (°C)", "of the air, not read"),
        ("Batterie (V)", "not read"), ("Status", "the logger's own word"),
    ]  # fmt: skip
    assert [one.heading for one in said.columns if one.numbers] == [
        "Nr", "Temperatur (°F)", "Lufttemperatur (°C)", "Batterie (V)"
    ]  # fmt: skip
