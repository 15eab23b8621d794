"""Programs that work with a book until they are ended, and whether the book is whole afterwards.

They are started by `multiprocessing`'s fork server, so that two hundred of them take minutes and not
an hour; each is a process of its own with its own connections.
"""

from __future__ import annotations

import multiprocessing
import os
import random
import time
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

from sqlalchemy import Connection, func, select

from store.book import schema
from store.book.act import Act
from store.book.book import Book
from store.book.columns import Base
from store.book.copies.chain import READING, Line, Link, link_hash, readings_hash
from store.book.opening import open_book
from store.book.people import staff
from store.book.tables import table
from store.book.visits import plan_visit
from store.errors import BookTrouble, ChangedMeanwhile
from store.guard.check import check
from store.water.understood import ReadingValue
from store.water.water_tests import NewTest, correct_test, save_test, strike_test

START = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)
PARAMETERS = ("temperature_c", "ph", "oxygen_mg_l")
_WHOLE = "readings were typed"


def number_of(name: str, usual: float) -> float:
    """A number of the long runs, from the environment."""
    return float(os.environ.get(f"PONDROUND_{name}", usual))


class Hand:
    """A process that does one thing to a book and writes down what was acknowledged.

    Parameters
    ----------
    does
        A function of this module, called with `tell` and the arguments.
    notes
        The file in which it writes, one line after each success and never before.
    """

    def __init__(self, does: Callable[..., None], notes: Path, *arguments: Any) -> None:
        context = multiprocessing.get_context("forkserver")
        context.set_forkserver_preload(["tests.faults.hands", "alembic.command", "psycopg"])
        self.notes = notes
        notes.touch()
        self.process = context.Process(target=_do, args=(does, notes, arguments), daemon=True)
        self.process.start()

    def lines(self) -> list[list[str]]:
        """What was acknowledged by now, word by word."""
        whole, _, _ = self.notes.read_text(encoding="utf-8").rpartition("\n")
        return [line.split() for line in whole.split("\n") if line]

    def begun(self, within_s: float = 60.0) -> None:
        """Wait until it tells for the first time."""
        until = time.monotonic() + within_s
        while not self.notes.stat().st_size:
            assert time.monotonic() < until, "it did not begin"
            assert self.process.is_alive() or self.notes.stat().st_size, "it ended before"
            time.sleep(0.001)

    def told(self, lines: int, within_s: float = 60.0) -> None:
        """Wait until it has told so often."""
        until = time.monotonic() + within_s
        while len(self.lines()) < lines:
            assert time.monotonic() < until, "it does not go on"
            time.sleep(0.001)

    def kill(self) -> bool:
        """SIGKILL; whether it was still at work."""
        alive = self.process.is_alive()
        self.process.kill()
        self.process.join()
        self.process.close()
        return alive

    def wait(self, within_s: float) -> int:
        """Its exit code."""
        self.process.join(within_s)
        code = self.process.exitcode
        assert code is not None, "it did not end"
        self.process.close()
        return code


def _do(does: Callable[..., None], notes: Path, arguments: tuple[Any, ...]) -> None:
    file = os.open(notes, os.O_WRONLY | os.O_APPEND)

    def tell(*words: object) -> None:
        os.write(file, (" ".join(map(str, words)) + "\n").encode())

    does(tell, *arguments)


# What hands do


def reading(parameter: str, value: float) -> ReadingValue:
    return ReadingValue(parameter, value, None, None, "=", f"{value:g}", "", "")


def a_test(dice: random.Random, at: datetime) -> NewTest:
    """A water test that says itself how many readings it has."""
    named = dice.sample(PARAMETERS, dice.randint(1, len(PARAMETERS)))
    readings = tuple(reading(name, round(dice.uniform(5, 9), 2)) for name in named)
    return NewTest(at, readings, note=f"{len(readings)} {_WHOLE}")


def first_pond(book: Book) -> UUID:
    """The one pond of a book, added where there is none."""
    ponds = table("pond").c
    with book.reading() as connection:
        found = connection.execute(select(ponds.id).order_by(ponds.id).limit(1)).scalar()
    if found is not None:
        return found
    with book.writing(Act(staff(book)[0].id, START)) as writing:
        client = writing.add("client", name="Brook House")
        site = writing.add("site", client_id=client, name="Garden")
        return writing.add("pond", site_id=site, name="Lower pond", volume_l=1.0)


def save_on_and_on(tell: Callable[..., None], address: str, seed: int, most: int = 10**9) -> None:
    """Save tests, visits, corrections; tell of each when it is saved."""
    dice = random.Random(seed)
    with open_book(address, now=START, patience_s=20) as book:
        by, pond = staff(book)[0].id, first_pond(book)
        tell("begun")
        standing: list[UUID] = []
        for nth in range(most):
            act = Act(by, START + timedelta(seconds=nth))
            what = dice.choice(("test", "test", "visit", "correct", "strike"))
            if what == "visit":
                with book.writing(act) as writing:
                    key = plan_visit(writing, pond, act.at.date(), note="whole")
                tell("visit", key)
            elif what == "test" or not standing:
                new = a_test(dice, act.at)
                key = save_test(book, act, pond, new)
                standing.append(key)
                tell("test", key, len(new.readings))
            elif what == "correct":
                old, new = standing.pop(), a_test(dice, act.at)
                key = correct_test(book, act, old, 1, new, "typed wrongly")
                standing.append(key)
                tell("corrected", old, key, len(new.readings))
            else:
                key = standing.pop()
                strike_test(book, act, key, 1, "taken twice")
                tell("struck", key)


def open_it(tell: Callable[..., None], address: str, create: bool) -> None:
    """Open a book, which brings an older one up to date and makes a new one."""
    tell("begun")
    open_book(address, now=START, create=create, patience_s=20).close()
    tell("opened")


def count_on(tell: Callable[..., None], address: str, pond: UUID, seconds: float) -> None:
    """Add tests, and count one up in a row that others count up as well, by the rev it had."""
    until = time.monotonic() + seconds
    ponds = table("pond").c
    counted = added = meanwhile = 0
    dice = random.Random(os.getpid())
    with open_book(address, now=START, patience_s=30) as book:
        act = Act(staff(book)[0].id, START)
        tell("begun")
        while time.monotonic() < until:
            with book.reading() as connection:
                rev, litres = connection.execute(
                    select(ponds.rev, ponds.volume_l).where(ponds.id == pond)
                ).one()
            try:
                with book.writing(act) as writing:
                    writing.change("pond", pond, rev, volume_l=litres + 1)
                counted += 1
            except ChangedMeanwhile:
                meanwhile += 1
            save_test(book, act, pond, a_test(dice, act.at))
            added += 1
    tell("counted", counted, added, meanwhile)


def hold(tell: Callable[..., None], path: str, seconds: float) -> None:
    """Another program that has the file to itself for a while."""
    import sqlite3

    connection = sqlite3.connect(path, isolation_level=None)
    connection.execute("BEGIN EXCLUSIVE")
    tell("begun")
    time.sleep(seconds)
    connection.execute("ROLLBACK")
    connection.close()


# Whether a book is whole


def whole(address: str, lines: list[list[str]]) -> int:
    """Look at a book that somebody was torn away from; how many rows were looked at."""
    with open_book(address, now=START, patience_s=20) as book:
        with book.reading() as connection:
            if connection.dialect.name == "sqlite":
                said = connection.exec_driver_sql("PRAGMA integrity_check").scalar()
                assert said == "ok", said
                dangling = connection.exec_driver_sql("PRAGMA foreign_key_check").all()
                assert dangling == [], "a line in the log that is missing, or another record"
            rows = _each_row_has_its_lines(connection)
            counts = _readings(connection)
            tests = _tests(connection, counts)
            _chain_is_whole(connection)
            visits = set(connection.execute(select(table("visit").c.id)).scalars())
        assert check(book, START).findings == ()
        _all_acknowledged(lines, tests, counts, visits)
        dice = random.Random(rows)
        save_test(book, Act(staff(book)[0].id, START), first_pond(book), a_test(dice, START))
    return rows


def _readings(connection: Connection) -> dict[UUID, int]:
    read = table("reading").c.test_id
    query = select(read, func.count()).group_by(read)
    return {one[0]: one[1] for one in connection.execute(query)}


def _tests(connection: Connection, counts: dict[UUID, int]) -> dict[UUID, Any]:
    tests = {row.id: row for row in connection.execute(select(table("water_test")))}
    assert counts.keys() <= tests.keys(), "readings without a test"
    corrected = set()
    for key, row in tests.items():
        if row.note.endswith(_WHOLE):
            assert counts.get(key, 0) == int(row.note.split()[0]), "a test without its readings"
        if row.replaces_id is not None:
            corrected.add(row.replaces_id)
            assert tests[row.replaces_id].struck_why == "typed wrongly", "half a correction"
    struck = {key for key, row in tests.items() if row.struck_why == "typed wrongly"}
    assert struck == corrected, "half a correction"
    return tests


def _each_row_has_its_lines(connection: Connection) -> int:
    change = table("change").c
    query = select(change.table_name, change.row_id, func.count(), func.max(change.rev))
    lines = {
        (name, key): (count, rev)
        for name, key, count, rev in connection.execute(
            query.group_by(change.table_name, change.row_id)
        )
    }
    rows = {}
    for name, target in Base.metadata.tables.items():
        if "rev" in target.c and "id" in target.c and name != "change":
            for key, rev in connection.execute(select(target.c.id, target.c.rev)):
                rows[name, key] = (rev, rev)
    assert lines == rows, "a row without its line in the log, or a line without its row"
    return len(rows)


def _chain_is_whole(connection: Connection) -> None:
    """Each line of the log is a link, without a gap, and each hash is what its line gives."""
    changes, links, read = table("change"), table("change_link"), table("reading")
    readings: dict[UUID, list[Any]] = {}
    for key, *values in connection.execute(select(read.c.test_id, *(read.c[c] for c in READING))):
        readings.setdefault(key, []).append(values)
    query = select(changes, links).join(links, links.c.change_id == changes.c.id)
    ends: dict[UUID, tuple[int, str]] = {}
    count = 0
    for row in connection.execute(query.order_by(links.c.copy, links.c.nth)):
        nth, prior = ends.get(row.copy, (0, ""))
        assert (row.nth, row.prior) == (nth + 1, prior), "a gap in the chain"
        line = Line(**{name: getattr(row, name) for name in Line.__dataclass_fields__})
        added = row.table_name == "water_test" and row.what == "add"
        came = readings_hash(readings.get(row.row_id, ()) if added else ())
        link = Link(row.copy, row.nth, tuple(map(UUID, map(str, row.seen))), came, prior)
        assert row.hash == link_hash(line, link), "a line is not what was hashed"
        ends[row.copy] = row.nth, row.hash
        count += 1
    assert count == connection.execute(select(func.count()).select_from(changes)).scalar()


def _all_acknowledged(
    lines: list[list[str]], tests: dict[UUID, Any], counts: dict[UUID, int], visits: set[UUID]
) -> None:
    for what, *words in lines:
        if what == "visit":
            assert UUID(words[0]) in visits, "an acknowledged visit is lost"
        elif what in ("test", "corrected"):
            key, count = UUID(words[-2]), int(words[-1])
            assert key in tests, "an acknowledged test is lost"
            assert counts.get(key) == count, "readings of an acknowledged test are lost"
        if what == "corrected":
            assert tests[UUID(words[1])].replaces_id == UUID(words[0])
        if what in ("corrected", "struck"):
            assert tests[UUID(words[0])].struck_at is not None, "an acknowledged striking is lost"


def opens_or_says_why(address: str) -> str:
    """The sentence with which a book does not open; empty when it does."""
    try:
        open_book(address, now=START, patience_s=20).close()
    except BookTrouble as trouble:
        return trouble.message
    return ""


def number_in(address: str) -> int | None:
    """The number of the tables of a book in a file, without bringing it up to date."""
    from store.book.engines import sqlite_engine

    engine = sqlite_engine(Path(address), keep_journal=True)
    with engine.connect() as connection:
        found = schema.number(connection)
    engine.dispose()
    return found
