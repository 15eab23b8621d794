"""What the desk costs: a search beside the plain SQL that does the same, the list beside mornings.

Run `python -m tests.bench.bench_desk`. The book is invented: every pond with a test plan, follow-ups
by hand over a year (most once, some repeating), calls and visits. Ratios are of medians of one run
on one machine, in turn, so that a machine whose speed drifts does not favour either side.
"""

from __future__ import annotations

import argparse
import random
import sqlite3
import statistics
import tempfile
import time
from collections.abc import Callable
from datetime import datetime, timedelta
from functools import partial
from pathlib import Path
from uuid import UUID

from store.book.act import Act
from store.book.opening import open_book
from store.book.people import staff
from store.courses.kept.morning import morning_list
from store.diary.kept.due.desk import desk_list, due_of_client, sought
from store.watch.concern import MorningList
from tests.bench.caseload import SEASONS, make_caseload

FAMILIES = (
    "Abberwick", "Brisco", "Caldbeck", "Dunmallet", "Eskrigg", "Fothergill", "Garside", "Hesketh",
    "Ireby", "Jerningham", "Kirkbride", "Lazonby", "Mossop", "Netherton", "Ormathwaite", "Patterdale",
    "Quernmore", "Rydal", "Satterthwaite", "Tallentire",
)  # fmt: skip
STREETS = ("Mill Lane", "Church Row", "Orchard Way", "Low Road", "Station Street", "Beck Side")
PONDS = ("upper pond", "lower pond", "koi house", "lily pool", "quarantine vat", "carp lake")
KINDS = ("ring", "visit", "look_again", "water_test", "seasonal")
RULES = ("FREQ=WEEKLY", "FREQ=DAILY;INTERVAL=10", "FREQ=MONTHLY;BYDAY=1MO",
         "FREQ=YEARLY;BYMONTH=3,10")  # fmt: skip
TYPED = ("ry", "hes", "mill lane", "town 12", "quern upper", "0170", "01632 44", "satterthwait")
"""Two letters, three, a street, a town, client and pond, digits, a number, a name misspelt."""

PLAIN = """
SELECT f.id, f.kind, f.says, f.first_on, c.name, c.phone, c.phone2, p.name, s.name, s.town
FROM follow_up f
JOIN client c ON c.id = f.client_id
LEFT JOIN pond p ON p.id = f.pond_id
LEFT JOIN site s ON s.id = coalesce(f.site_id, p.site_id)
WHERE f.state = 'open' AND f.struck_at IS NULL AND c.struck_at IS NULL
AND p.struck_at IS NULL AND s.struck_at IS NULL AND ({words} OR {digits})
ORDER BY f.first_on
"""
WORD = """(c.name LIKE ? OR p.name LIKE ? OR s.name LIKE ? OR s.town LIKE ? OR s.address LIKE ?)"""
DIGITS = """replace(c.phone, ' ', '') LIKE ? OR replace(c.phone2, ' ', '') LIKE ?"""


def plain_search(text: str) -> tuple[str, tuple[str, ...]]:
    """The statement that finds every word of a text, or all its digits in a number."""
    words = text.split()
    digits = "".join(sign for sign in text if sign.isdecimal())
    number = f"%{digits}%" if len(digits) > 2 else "none"
    return (
        PLAIN.format(words=" AND ".join(WORD for _ in words), digits=DIGITS),
        (*(f"%{word}%" for word in words for _ in range(5)), number, number),
    )


def make_desk(path: Path, ponds: int, follow_ups: int, weeks: int, now: datetime) -> None:
    """A book of so many ponds and open follow-ups, with calls and planned visits."""
    make_caseload(path, ponds, weeks, now)
    dice = random.Random(2)
    with open_book(path, now=now) as book:
        act = Act(staff(book)[0].id, now)
        today = book.today(now)
        raw = sqlite3.connect(path)
        clients = [row[0] for row in raw.execute("SELECT id FROM client ORDER BY id")]
        sites = [row[0] for row in raw.execute("SELECT id FROM site ORDER BY id")]
        places = raw.execute(
            "SELECT p.id, s.id, s.client_id FROM pond p JOIN site s ON s.id = p.site_id ORDER BY p.id"
        ).fetchall()
        raw.executemany(
            "UPDATE client SET name = ?, phone = ?, phone2 = ? WHERE id = ?",
            [(f"{dice.choice(FAMILIES)} {number}", f"01632 {dice.randrange(10**6):06}",
              f"07700 {dice.randrange(10**6):06}", key) for number, key in enumerate(clients)],
        )  # fmt: skip
        raw.executemany(
            "UPDATE site SET address = ? WHERE id = ?",
            [(f"{dice.randrange(1, 90)} {dice.choice(STREETS)}", key) for key in sites],
        )
        raw.executemany(
            "UPDATE pond SET name = ? WHERE id = ?",
            [(f"{dice.choice(PONDS)} {number}", place[0]) for number, place in enumerate(places)],
        )
        raw.commit()
        raw.close()
        rows = []
        for _ in range(follow_ups):
            pond, site, client = (UUID(bytes=part) for part in dice.choice(places))
            rows.append(
                {
                    "client_id": client, "site_id": site, "pond_id": pond,
                    "kind": dice.choice(KINDS), "says": "look at the fins again",
                    "promised_by": act.by, "promised_on": today - timedelta(days=40),
                    "first_on": today + timedelta(days=dice.randrange(-30, 335)),
                    "early_days": 1, "late_days": 3,
                    "repeats": dice.choice(RULES) if dice.random() < 0.1 else "",
                }
            )  # fmt: skip
        calls = []
        for _ in range(follow_ups):
            outcome = dice.choice(("reached", "left word", "no answer", "ring back"))
            ring_on = today + timedelta(days=dice.randrange(9)) if outcome == "ring back" else None
            calls.append(
                {
                    "client_id": UUID(bytes=dice.choice(clients)), "outcome": outcome,
                    "at": now - timedelta(hours=dice.randrange(1, 9000)), "ring_on": ring_on,
                }
            )  # fmt: skip
        visits = []
        for _ in range(ponds // 10):
            pond, site, _client = (UUID(bytes=part) for part in dice.choice(places))
            day = today + timedelta(days=dice.randrange(30))
            visits.append({"site_id": site, "pond_id": pond, "on_day": day, "kind": "call"})
        with book.writing(act) as writing:
            keys = writing.add_many("follow_up", rows)
            writing.add_many("contact_attempt", calls)
            booked = writing.add_many("visit", visits)
            writing.add_many(
                "visit_purpose",
                [{"visit_id": visit, "about": f"hand:{keys[at].hex}:{rows[at]['first_on']}",
                  "kind": rows[at]["kind"], "says": rows[at]["says"], "due_on": rows[at]["first_on"],
                  "first_on": rows[at]["first_on"], "last_on": rows[at]["first_on"]}
                 for at, visit in enumerate(booked)],
            )  # fmt: skip
    raw = sqlite3.connect(path)
    raw.execute("ANALYZE")
    raw.commit()
    raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    raw.close()


def _seconds(work: Callable[[], object]) -> float:
    start = time.perf_counter()
    work()
    return time.perf_counter() - start


def _fetch(raw: sqlite3.Connection, statement: str, wanted: tuple[str, ...]) -> list[object]:
    return raw.execute(statement, wanted).fetchall()


def _afresh(path: Path, now: datetime, morning: MorningList) -> None:
    """The desk of a book that was just opened: nothing is remembered yet."""
    with open_book(path, now=now) as book:
        desk_list(book, now, morning=morning)


def measure(path: Path, rounds: int, now: datetime) -> None:
    """Print the medians of searching, listing, and one client's lines."""
    book = open_book(path, now=now)
    raw = sqlite3.connect(path)
    raw.execute("PRAGMA cache_size = -64000")
    raw.execute("PRAGMA mmap_size = 268435456")
    raw.execute("PRAGMA temp_store = MEMORY")
    morning = morning_list(book, now)
    listed = desk_list(book, now, morning=morning)
    every = desk_list(book, now, ahead_days=366, morning=morning)
    print(f"  desk: {len(listed.lines)} lines; a year ahead: {len(every.lines)}")
    worst = 0.0
    for text in TYPED:
        statement, wanted = plain_search(text)
        jobs: list[Callable[[], object]] = [
            partial(sought, book, listed, text),
            partial(sought, book, every, text),
            partial(_fetch, raw, statement, wanted),
        ]
        for job in jobs:
            job()
        taken = [[_seconds(job) for job in jobs] for _ in range(rounds)]
        desk, year, plain = (statistics.median(column) for column in zip(*taken, strict=True))
        worst = max(worst, desk / plain, year / plain)
        print(
            f"  “{text}”: {len(sought(book, listed, text))} of the desk {1000 * desk:.1f} ms, "
            f"{len(sought(book, every, text))} of the year {1000 * year:.1f} ms; plain SQL "
            f"{len(_fetch(raw, statement, wanted))} rows {1000 * plain:.1f} ms; "
            f"desk ÷ plain = {desk / plain:.2f}, year ÷ plain = {year / plain:.2f}"
        )
    client = every.lines[0].promised.client_id
    lists: list[Callable[[], object]] = [
        lambda: desk_list(book, now, morning=morning),
        lambda: morning_list(book, now),
        lambda: due_of_client(book, client, now),
        lambda: _afresh(path, now, morning),
    ]
    taken = [[_seconds(job) for job in lists] for _ in range(rounds)]
    desk, mornings, one, afresh = (statistics.median(column) for column in zip(*taken, strict=True))
    print(
        f"  desk list beside its morning list {1000 * desk:.0f} ms, in a book just opened "
        f"{1000 * afresh:.0f} ms; morning list {1000 * mornings:.0f} ms; one client "
        f"{1000 * one:.0f} ms\n"
        f"  desk ÷ morning = {desk / mornings:.2f}, just opened {afresh / mornings:.2f}\n"
        f"  worst search ÷ plain SQL = {worst:.2f}"
    )
    book.close()
    raw.close()


def main() -> None:
    """Make the book and print the ratios."""
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--ponds", type=int, default=3000)
    options.add_argument("--follow-ups", type=int, default=20_000)
    options.add_argument("--weeks", type=int, default=52)
    options.add_argument("--rounds", type=int, default=7)
    options.add_argument("--folder", type=Path, help="keep the book here and use it again")
    options.add_argument("--season", choices=SEASONS, default="spring")
    chosen = options.parse_args()
    now = SEASONS[chosen.season]
    with tempfile.TemporaryDirectory() as made:
        folder = chosen.folder or Path(made)
        folder.mkdir(parents=True, exist_ok=True)
        path = folder / f"desk_{chosen.season}_{chosen.ponds}_{chosen.follow_ups}.pondround"
        if not path.exists():
            print(f"making {chosen.ponds} ponds with {chosen.follow_ups} follow-ups …")
            make_desk(path, chosen.ponds, chosen.follow_ups, chosen.weeks, now)
        print(f"{chosen.ponds} ponds, {chosen.follow_ups} open follow-ups")
        measure(path, chosen.rounds, now)


if __name__ == "__main__":
    main()
