"""Any text is a series or a sentence; the fast reader and the careful one never differ.

`PONDROUND_FUZZ=10000` reads so many files made of good rows with anything in them, from the one
that `PONDROUND_FUZZ_FROM` names.
"""

from __future__ import annotations

import csv
import math
import os
import random
import signal
import subprocess
import sys
import textwrap
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sheets import NOW, add_ponds
from sqlalchemy import func, select
from test_logger_shapes import kept

from store.book.act import Act
from store.book.book import Book
from store.book.opening import open_book
from store.book.tables import table
from store.errors import PondroundError
from store.exchange.logger.beside import write_beside
from store.exchange.logger.csv_file import LoggerPlan, Progress, read_logger, save_logger
from store.exchange.logger.rows import number_of

TIMES = (
    "%Y-%m-%d %H:%M", "%Y-%m-%dT%H:%M:%SZ", "%d.%m.%Y %H:%M:%S", "%m/%d/%y %I:%M:%S %p",
    "%d %b %Y %H:%M", "%Y%m%d %H:%M", "%Y-%m-%d %H:%M:%S.250", "%Y-%m-%dT%H:%M+01:00",
    "%Y-%m-%d %H:%M GMT", "unix", "unix ms",
)  # fmt: skip
ODD = (
    "", "-", "NaN", "-9999", "85.0", "-127", "999", "OVR", "1e1", "+7.5", ".5", "5.", "1,5", "1_0",
    "0x10", "٣", "１２", '"', '"5', '5"', '"5"', '"5,5"', '1""2', '"1""2"', "5 °C", "5.0 F", "\u22125",
    "12345678901234567890", "0.1234567890123456789", "5\r", "5\0", "\x1b[2J", "=1+1", "inf", "#REF!",
    "1.234", "1,234", "1.2.3", '"a\nb"', '"5\n"', '"a\n', '\nb"', "Host connected", "+01:00", "  5  ", "\xa05", "\x0b5", "5;5", "Logged", "2026-01-01", "1" * 60,
)  # fmt: skip
ODD_TIMES = (
    "", "2026-02-30 10:00", "2026-13-01 10:00", "2025-03-30 01:30", "2025-10-26 01:30", "10:00",
    "2026-01-01", "2026-01-01 24:00", "2026-01-01 9:05", "1/2/2026 9:05", "2099-01-01 00:00",
    "0000-00-00 00:00", "2026-01-01 00:00 Uhr", "2026-01-01T10:00+25:00", "2026-01-01 12:61", "ΜΜ",
    "2026-01-01 10:00 CET", "2026-01-01 10:00 IST", "2026-07-01 10:00 BST", "1767225600.5",
    "1767225600", "1767225600123", "9999999999", "2026-01-01 24:00:01", "2026-01-01 10:00+1",
    "2026-01-01 10:00:00,5", "2024-02-29 10:00", "2023-02-29 10:00", "2026-01-01 13:00 PM", "# a",
    "２０２６-01-01 10:00", "2026-01-01 1:00 µµ", "9999-12-31 23:59", '"2026-01-01 10:00"',
)  # fmt: skip


def made(dice: random.Random) -> bytes:
    """A file of good rows with odd cells, odd lines and odd bytes in it."""
    separator = dice.choice(",,,;\t")
    form = dice.choice(TIMES)
    first = datetime(
        2025, dice.choice((1, 3, 6, 10)), dice.randint(1, 28), dice.randint(0, 23), tzinfo=UTC
    )
    header = dice.choice((["time", "temp C"], ["#", "time", "temp (°F)", "status"], ["temp C", "time"],
                          ["time", "temp C", "EC"], ["time", "value"],
                          ["time", "utc offset", "temp C"], ["time", "temp C", "note"]))  # fmt: skip
    odd = dice.choice((0.0, 0.02, 0.3))
    quoted = dice.random() < 0.25
    lines = [f"title {n}: {dice.choice(ODD)}" for n in range(dice.choice((0, 0, 2, 9)))]
    lines.append(separator.join(header))
    for n in range(dice.randint(0, 60)):
        at = first + timedelta(minutes=n * dice.choice((1, 15, 15, 15)))
        cells = []
        for name in header:
            if name == "time":
                cell = dice.choice(ODD_TIMES) if dice.random() < odd else _written(at, form)
            elif name == "note":
                cell = dice.choice(("", "", '"two\nlines"', "a"))
            elif name == "utc offset" and dice.random() >= odd:
                cell = dice.choice(("+00:00", "+01:00", "Z"))
            elif dice.random() < odd:
                cell = dice.choice(ODD)
            else:
                cell = f"{10 + 5 * math.sin(n / 9):.{dice.randint(0, 3)}f}"
            cells.append(f'"{cell}"' if quoted and '"' not in cell else cell)
        if dice.random() < odd / 3:
            cells = cells[: dice.randint(0, len(cells))] + dice.choices(ODD, k=dice.randint(0, 2))
        lines.append(separator.join(cells))
    text = dice.choice(("\n", "\r\n")).join(lines)
    data = text.encode(dice.choice(("utf-8", "utf-8", "utf-16", "utf-8-sig")), "replace")
    if dice.random() < odd:
        place = dice.randrange(len(data) + 1)
        data = data[:place] + dice.randbytes(dice.randint(1, 9)) + data[place:]
    return data


def _written(at: datetime, form: str) -> str:
    if form.startswith("unix"):
        return str(round(at.timestamp()) * (1000 if form == "unix ms" else 1))
    return at.strftime(form)


def read(path: Path, book: Book, pond: object, **options: object) -> LoggerPlan | str:
    try:
        return read_logger(path, book, NOW, pond, **options)  # type: ignore[arg-type]
    except PondroundError as error:
        return error.message


def values(planned: LoggerPlan) -> list[tuple[str, list[tuple[int, int, float]]]]:
    return [
        (one.parameter, [row for block in one.spool.blocks() for row in block.tolist()])
        for one in planned.clean
    ]


def test_any_file_is_a_series_or_a_sentence(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    """Read fast, cell by cell and in small pieces: the same values, counts and refusals."""
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    path = tmp_path / "l.csv"
    understood = 0
    found_before = (33, 1953)
    begin = int(os.environ.get("PONDROUND_FUZZ_FROM", "0"))
    end = begin + int(os.environ.get("PONDROUND_FUZZ", "60"))
    for seed in (*found_before, *range(begin, end)):
        path.write_bytes(made(random.Random(seed)))
        options = {"order": "dmy"} if seed % 3 == 0 else {}
        fast = read(path, sqlite_book, pond, **options)
        careful = read(path, sqlite_book, pond, careful=True, **options)
        pieces = read(path, sqlite_book, pond, piece_bytes=300, **options)
        if isinstance(fast, str):
            assert fast.endswith("."), seed
            assert (careful, pieces) == (fast, fast), seed
            continue
        understood += bool(fast.plan.items)
        for other in (careful, pieces):
            assert not isinstance(other, str), seed
            assert values(other) == values(fast), seed
            assert (other.plan, other.left, other.asks) == (fast.plan, fast.left, fast.asks), seed
        if seed % 10 == 0:
            _all_stands_beside(fast)
        if seed % 25 == 0 and not fast.asks:
            before = _count(sqlite_book)
            done = save_logger(sqlite_book, act, fast)
            assert _count(sqlite_book) == before + done.added
            assert save_logger(sqlite_book, act, fast).added == 0
    assert understood > 10


def _all_stands_beside(planned: LoggerPlan) -> None:
    """Every row that is not saved stands in a file beside, or every fault of it."""
    beside = write_beside(planned)
    for path, n in ((beside.refused, planned.refused_n), (beside.left, planned.tally.listed.n)):
        assert (path is None) == (n == 0)
        if path is not None:
            with path.open(encoding="utf-8", newline="") as file:
                written = list(csv.reader(file, delimiter=planned.plan.separator))
            assert len(written) == n + 1
            assert all(row[1] for row in written)
            assert [int(row[0]) for row in written[1:]] == sorted(
                int(row[0]) for row in written[1:]
            )
    if beside.refused is not None and len(planned.plan.refused) == planned.refused_n:
        with beside.refused.open(encoding="utf-8", newline="") as file:
            reasons = [row[:2] for row in csv.reader(file, delimiter=planned.plan.separator)][1:]
        assert reasons == [[str(one.line), one.reason] for one in planned.plan.refused]
    assert write_beside(planned).made == ()
    beside.undo()


def _count(book: Book) -> int:
    reading = table("logger_reading")
    with book.reading() as connection:
        return int(connection.execute(select(func.count()).select_from(reading)).scalar_one())


@settings(max_examples=200, deadline=None)
@given(
    numbers=st.lists(
        st.tuples(st.integers(-(10**14), 10**14), st.integers(0, 12)), min_size=1, max_size=20
    )
)
def test_figures_are_read_as_python_reads_them(numbers: list[tuple[int, int]]) -> None:
    """At most 15 figures over a power of ten is the nearest float (IEEE 754)."""
    for whole, decimals in numbers:
        text = f"{'-' if whole < 0 else ''}{abs(whole):0{decimals + 1}d}"
        text = f"{text[:-decimals]}.{text[-decimals:]}" if decimals else text
        assert abs(whole) / 10**decimals == abs(float(text))
        assert number_of(text, ".") == float(text)


def rows(n: int, first: datetime = datetime(2024, 1, 1, tzinfo=UTC), step_s: int = 60) -> str:
    return "".join(
        f"{first + timedelta(seconds=step_s * place):%Y-%m-%dT%H:%M:%SZ},"
        f"{12 + 3 * math.sin(place / 229):.2f}\n"
        for place in range(n)
    )


def test_a_long_file_on_both_databases(book: Book, act: Act, tmp_path: Path) -> None:
    """More than a block, then the same, then a longer one with rows out of order."""
    (pond,) = add_ponds(book, act, "Upper pond")
    path = tmp_path / "l.csv"
    path.write_text("time,temp C\n" + rows(120_000))
    done = save_logger(book, act, read_logger(path, book, NOW, pond))
    assert (done.added, done.already) == (120_000, 0)
    again = read_logger(path, book, NOW, pond)
    assert again.plan.already == 120_000
    assert save_logger(book, act, again).added == 0
    lines = rows(121_000).splitlines(keepends=True)
    random.Random(1).shuffle(lines)
    path.write_text("time,temp C\n" + "".join(lines))
    longer = read_logger(path, book, NOW, pond)
    assert (longer.plan.items[0].n, longer.plan.already) == (121_000, 120_000)
    done = save_logger(book, act, longer)
    assert (done.added, done.already) == (1_000, 120_000)
    day = table("logger_day").c
    with book.reading() as connection:
        found = connection.execute(select(day.day, day.n, day.mean).order_by(day.day)).all()
    assert [row.n for row in found] == [1440] * 84 + [40]
    expected = [round(12 + 3 * math.sin(place / 229), 2) for place in range(1440 * 83, 1440 * 84)]
    assert found[83].mean == math.fsum(expected) / 1440


def test_progress_is_told_and_runs_to_the_end(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    path = tmp_path / "l.csv"
    path.write_text("time,temp C\n" + rows(5_000))
    told: list[Progress] = []
    planned = read_logger(path, sqlite_book, NOW, pond, progress=told.append, piece_bytes=20_000)
    save_logger(sqlite_book, act, planned, told.append)
    assert len(told) > 5
    assert [one.stage for one in told] == sorted(
        (one.stage for one in told), key=["reading", "ordering", "saving"].index
    )
    for stage in ("reading", "ordering", "saving"):
        last = [one for one in told if one.stage == stage][-1]
        assert (last.done, last.rows) == (last.whole, 5_000)


KILLED = """
import os, signal, sys
from datetime import UTC, datetime
from pathlib import Path
from uuid import UUID
from store.book.act import Act
from store.book.opening import open_book
from store.exchange.logger.csv_file import read_logger, save_logger
book_path, path, by, pond = sys.argv[1:]
now = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)
def die(progress):
    if progress.stage == "saving" and progress.done >= 100_000:
        os.kill(os.getpid(), signal.SIGKILL)
book = open_book(Path(book_path), now=now)
planned = read_logger(Path(path), book, now, UUID(pond))
save_logger(book, Act(UUID(by), now), planned, die)
"""


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="no such signal here")
def test_killed_in_the_middle_nothing_is_half_saved(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    path = tmp_path / "l.csv"
    path.write_text("time,temp C\n" + rows(150_000))
    done = subprocess.run(
        [sys.executable, "-c", textwrap.dedent(KILLED), sqlite_book.name, str(path), str(act.by),
         str(pond)],
        cwd=Path(__file__).parents[2], check=False,
    )  # fmt: skip
    assert done.returncode == -signal.SIGKILL
    with open_book(Path(sqlite_book.name), now=NOW) as book:
        assert _count(book) == 0
        with book.reading() as connection:
            days, files = table("logger_day"), table("import_file")
            assert connection.execute(select(days)).all() == []
            assert connection.execute(select(files)).all() == []
        assert save_logger(book, act, read_logger(path, book, NOW, pond)).added == 150_000
        assert len(kept(book, pond)) == 150_000
