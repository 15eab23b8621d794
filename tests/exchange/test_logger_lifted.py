"""A logger lifted out of the water: doubted, listed, and used only where a person says so."""

from __future__ import annotations

import math
from datetime import UTC, datetime, timedelta
from pathlib import Path

import numpy as np
import pytest
from sheets import NOW, add_ponds
from test_logger_shapes import kept

from store.book.act import Act
from store.book.book import Book
from store.book.tables import table
from store.exchange.logger.csv_file import read_logger, save_logger
from store.exchange.logger.lifted import find_lifted
from store.exchange.logger.spool import VALUE

FIRST = datetime(2025, 6, 1, tzinfo=UTC)


def water(minute: float) -> float:
    """A pond in early summer: 16 to 19 °C within a day."""
    return 17.5 - 1.5 * math.cos(2 * math.pi * (minute / 1440 - 0.1))


def series(
    minutes: int, days: int, out: tuple[int, int] | None, air: float, lag_min: float = 0.0
) -> np.ndarray:
    """Values every so many minutes; from `out` on the probe nears the air, and then the water."""
    rows = np.empty(days * 1440 // minutes, VALUE)
    for n in range(len(rows)):
        at = n * minutes
        value = water(at)
        if out is not None and out[0] <= at < out[1]:
            value = air - (air - value) * (
                math.exp(-(at - out[0] + minutes) / lag_min) if lag_min else 0
            )
        elif out is not None and at >= out[1] and lag_min:
            value += (air - value) * math.exp(-(at - out[1] + minutes) / lag_min)
        rows[n] = (at * 60_000, n, value)
    return rows


def doubted(rows: np.ndarray, block: int = 10_000) -> np.ndarray:
    blocks = [rows[start : start + block] for start in range(0, len(rows), block)]
    found = find_lifted(blocks, int(rows["at"][0]), int(rows["at"][-1]))
    return np.flatnonzero(found.within(rows["at"]))


@pytest.mark.parametrize("minutes", [1, 5, 15, 30, 60])
@pytest.mark.parametrize("air", [30.0, 4.0])
@pytest.mark.parametrize("hours_out", [2, 10, 30])
def test_a_jump_and_back_is_doubted_and_nothing_else(
    minutes: int, air: float, hours_out: int
) -> None:
    out = (4000 // minutes * minutes, 4000 // minutes * minutes + hours_out * 60)
    rows = series(minutes, 7, out, air)
    at = rows["at"] // 60_000
    assert doubted(rows).tolist() == np.flatnonzero((at >= out[0]) & (at < out[1])).tolist()


@pytest.mark.parametrize("minutes", [1, 5, 15])
def test_a_probe_that_is_slow_is_doubted_until_it_is_at_the_water_again(minutes: int) -> None:
    out = (4005, 4305)
    rows = series(minutes, 7, out, 30.0, lag_min=6.0)
    at = rows["at"] // 60_000
    found = doubted(rows)
    inside = np.flatnonzero((at >= out[0] + 2) & (at < out[1]))
    assert set(inside) <= set(found)
    assert len(found) <= len(inside) + 35 // minutes + 2
    error = np.abs(rows["value"] - [water(float(one)) for one in at])
    assert error[np.setdiff1d(np.arange(len(rows)), found)].max() < 1.0


@pytest.mark.parametrize("minutes", [1, 10, 60])
def test_a_pond_alone_is_never_doubted(minutes: int) -> None:
    assert not len(doubted(series(minutes, 30, None, 0.0)))


def test_a_spike_of_one_row() -> None:
    rows = series(10, 3, None, 0.0)
    rows["value"][200] = 29.0
    assert doubted(rows).tolist() == [200]


def test_the_way_to_the_pond_and_home_again() -> None:
    rows = series(10, 6, None, 0.0)
    rows["value"][:12] = 26.0
    rows["value"][-9:] = 27.0
    assert doubted(rows).tolist() == [*range(12), *range(len(rows) - 9, len(rows))]


@pytest.mark.parametrize("block", [7, 50, 333, 4096])
def test_the_pieces_in_which_it_comes_do_not_matter(block: int) -> None:
    rows = series(5, 7, (3000, 3200), 31.0, lag_min=4.0)
    rows["value"][1500] = 2.0
    rows["value"][-20:] = 30.0
    assert doubted(rows, block).tolist() == doubted(rows).tolist()


def test_a_change_that_stays_is_told_and_kept() -> None:
    rows = series(10, 20, None, 0.0)
    rows["value"][1400:] -= 6.0
    found = find_lifted([rows], int(rows["at"][0]), int(rows["at"][-1]))
    assert len(found.first_ms) == 0
    assert found.jumps == (int(rows["at"][1400]),)


def test_doubted_values_are_in_no_day_unless_said(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    rows = series(10, 4, (3000, 3100), 33.0)
    path = tmp_path / "l.csv"
    path.write_text(
        "time,temp C,DO mg/L\n"
        + "".join(
            f"{FIRST + timedelta(milliseconds=int(row['at'])):%Y-%m-%dT%H:%MZ},{row['value']:.2f},8.5\n"
            for row in rows
        )
    )
    planned = read_logger(path, sqlite_book, NOW, pond)
    (left,) = [one for one in planned.left if one.reason == "lifted"]
    assert left.n == 20  # ten of the temperature, ten of the oxygen beside it
    assert left.first[0].line == 302
    assert left.first[0].text == "2025-06-03 02:00:00 UTC, 33.0 °C"
    save_logger(sqlite_book, act, planned)
    day = table("logger_day").c
    with sqlite_book.reading() as connection:
        highest = max(
            connection.execute(
                day.high.table.select()
                .with_only_columns(day.high)
                .where(day.parameter == "temperature_c")
            ).scalars()
        )
    assert highest < 20
    assert len(kept(sqlite_book, pond)) == len(rows) - 10
    done = save_logger(sqlite_book, act, read_logger(path, sqlite_book, NOW, pond, lifted="keep"))
    assert done.added == 20
    with sqlite_book.reading() as connection:
        assert (
            33.0
            in connection.execute(day.high.table.select().with_only_columns(day.high))
            .scalars()
            .all()
        )
