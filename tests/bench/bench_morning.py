"""What the morning list costs beside the plain SQL that fetches the same readings, and what
estimates of the temperature add to it.

Run `python -m tests.bench.bench_morning`. Ratios are of medians of one run on one machine, in
turn, so that a machine whose speed drifts does not favour either side.
"""

from __future__ import annotations

import argparse
import sqlite3
import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from uuid import UUID

from store.book.book import Book
from store.book.opening import open_book
from store.courses.kept.morning import morning_list
from store.warmth.estimate import DAYS_AHEAD, DAYS_BACK, Ahead
from store.watch.look import look
from store.watch.morning import morning_list as watched_list
from store.water.latest import LOOK_BACK_DAYS, NEWEST_TESTS, PACKED_TESTS, caseload_statement
from tests.bench.caseload import SEASONS, make_caseload

BACK_MS = LOOK_BACK_DAYS * 86_400_000
PLAIN = f"""
SELECT p.id, t.taken_at, r.parameter, r.value FROM pond p
CROSS JOIN water_test t ON t.id IN (
    SELECT n.id FROM water_test n WHERE n.pond_id = p.id AND n.struck_at IS NULL
    ORDER BY n.taken_at DESC LIMIT {NEWEST_TESTS})
CROSS JOIN reading r ON r.test_id = t.id
WHERE p.struck_at IS NULL
"""


def _seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def measure(path: Path, rounds: int, now: datetime) -> tuple[float, float, float]:
    """Medians [s]: the list, the plain rows, and the packed query by itself."""
    book = open_book(path, now=now)
    raw = sqlite3.connect(path)
    raw.execute("PRAGMA cache_size = -64000")
    raw.execute("PRAGMA mmap_size = 268435456")
    raw.execute("PRAGMA temp_store = MEMORY")
    packed = caseload_statement(
        "sqlite", NEWEST_TESTS, PACKED_TESTS, round(1000 * now.timestamp()) - BACK_MS
    )
    jobs: list[Callable[[], object]] = [
        lambda: morning_list(book, now),
        lambda: raw.execute(PLAIN).fetchall(),
        lambda: raw.execute(packed).fetchall(),
    ]
    for job in jobs:
        job()
    taken = [[_seconds(job) for job in jobs] for _ in range(rounds)]
    listed = morning_list(book, now)
    print(
        f"  {listed.total} ponds: {listed.act} act, {listed.watch} watch, "
        f"{listed.unknown} unknown, {listed.calm} calm"
    )
    book.close()
    raw.close()
    medians = [statistics.median(column) for column in zip(*taken, strict=True)]
    return medians[0], medians[1], medians[2]


def made_up(book: Book, now: datetime) -> dict[UUID, Ahead]:
    """An estimate for every pond from its last temperatures: what was read, and on by the trend."""
    with book.reading() as connection:
        caseload = look(connection, now, book.zone)
    today, found = caseload.today.toordinal(), {}
    for pond, seen in caseload.seen.items():
        daily = seen.daily_temperatures()
        first, last = daily[-4], daily[-1]
        a_day = (last[1] - first[1]) / max(last[0] - first[0], 1)
        days = range(today - DAYS_BACK, today + DAYS_AHEAD + 1)
        found[pond] = Ahead(
            days[0],
            today,
            [max(last[1] + a_day * (day - last[0]), 0.0) for day in days],
            [0.4 + 0.08 * abs(day - last[0]) for day in days],
        )
    return found


def measure_estimated(path: Path, rounds: int, now: datetime) -> None:
    """Print what estimates add: with every pond read within the week, and with all unread."""
    book = open_book(path, now=now)
    for weeks_on in (0, 3):
        later = now + timedelta(weeks=weeks_on)
        of = {
            pond: ahead._replace(first=ahead.first + 7 * weeks_on, today=ahead.today + 7 * weeks_on)
            for pond, ahead in made_up(book, now).items()
        }
        lists = [
            lambda at=later: watched_list(book, at),
            lambda at=later, known=of: watched_list(book, at, estimated=known),
        ]
        taken = [[_seconds(one) for one in lists] for _ in range(rounds)]
        without, beside = (statistics.median(column) for column in zip(*taken, strict=True))
        listed = lists[1]()
        print(
            f"  read {weeks_on} weeks ago: list {1000 * without:.0f} ms, with estimates "
            f"{1000 * beside:.0f} ms, + {1000 * (beside - without):.0f} ms "
            f"({listed.act} act, {listed.watch} watch, {listed.unknown} unknown)"
        )
    book.close()


def main() -> None:
    """Make two books, one with twice the history, and print the ratios."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--ponds", type=int, default=3000)
    options.add_argument("--weeks", type=int, default=260)
    options.add_argument("--rounds", type=int, default=7)
    options.add_argument("--folder", type=Path, help="keep the books here and use them again")
    options.add_argument("--season", choices=SEASONS, default="spring")
    chosen = options.parse_args()
    now = SEASONS[chosen.season]
    with tempfile.TemporaryDirectory() as made:
        folder = chosen.folder or Path(made)
        folder.mkdir(parents=True, exist_ok=True)
        times = {}
        for weeks in (chosen.weeks, 2 * chosen.weeks):
            path = folder / f"{chosen.season}_{chosen.ponds}_{weeks}.pondround"
            if not path.exists():
                print(f"making {chosen.ponds} ponds × {weeks} weekly tests …")
                make_caseload(path, chosen.ponds, weeks, now)
            print(
                f"{chosen.ponds} ponds × {weeks} weekly tests, {path.stat().st_size / 1e6:.0f} MB"
            )
            listed, plain, packed = times[weeks] = measure(path, chosen.rounds, now)
            print(
                f"  morning list {1000 * listed:.0f} ms; the same readings as plain rows "
                f"{1000 * plain:.0f} ms, packed {1000 * packed:.0f} ms\n"
                f"  list ÷ plain rows = {listed / plain:.2f}; list ÷ packed = {listed / packed:.2f}"
            )
            if weeks == chosen.weeks:
                measure_estimated(path, chosen.rounds, now)
        once, twice = times[chosen.weeks][0], times[2 * chosen.weeks][0]
        print(f"twice the history: × {twice / once:.2f}")


if __name__ == "__main__":
    main()
