"""Calendars of days off and messages of owners in hostile words, brought in by the command line."""

from __future__ import annotations

import os
import shutil
import time
from datetime import date
from pathlib import Path

import pytest
from sqlalchemy import func, select

from store.book.columns import Base
from store.book.opening import open_book
from store.exchange.demo.practice import make_demo
from tests.faults.hostile import TALLY, hostile
from tests.faults.hostile_calls import Caller
from tests.faults.hostile_demo import NOW
from tests.faults.hostile_texts import calendars, huge_calendars, huge_messages, messages
from tests.faults.test_hostile_files import judge_book

QUICK_S = 30.0
"""For a file of a thousand texts or one of a megabyte, on a machine that is busy with other work."""
SHARE = int(os.environ.get("PONDROUND_HOSTILE_FILES", "1"))
GOOD_DAYS = {date(2026, 5, 4), date(2026, 5, 20)}


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("demo") / "demo.pondround"
    make_demo(path, NOW).close()
    return path


@pytest.fixture
def call(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Caller:
    return Caller(tmp_path, monkeypatch)


def test_every_property_of_a_calendar(demo: Path, call: Caller) -> None:
    texts, huge = hostile(huge=False)[::SHARE], [one for one in hostile() if one.kind == "huge"]
    book = call.work / "book.pondround"
    shutil.copyfile(demo, book)
    before = call.files()
    for what, data, count in (*calendars(texts), *huge_calendars(huge)):
        path = call.work / "off.ics"
        path.write_bytes(data)
        whose = "--everybody" if what == "UID as it is" else "--person=MB"
        begun = time.perf_counter()
        call("import", "daysoff", path, whose, "--as=MB", "--dry-run", "--book", book)
        _, said = call("import", "daysoff", path, whose, "--as=MB", "--book", book)
        took = time.perf_counter() - begun
        assert took < QUICK_S, (what, took)
        place = "texts of calendars"
        read = "read for" in said  # what could not be read in it is told by its line
        TALLY.kept[place] += count * read
        TALLY.refused[place] += count * (not read)
        assert read or what in {"the file", "the head", "a part"}, (what, said)
        path.unlink()
    assert not call.made(before)
    judge_book(book)
    assert days_off(book) >= GOOD_DAYS


def days_off(path: Path) -> set[date]:
    table = Base.metadata.tables["day_off"]
    with open_book(path, now=NOW) as book, book.reading() as connection:
        return set(connection.execute(select(table.c.first_day)).scalars())


def readings(path: Path) -> int:
    table = Base.metadata.tables["reading"]
    with open_book(path, now=NOW) as book, book.reading() as connection:
        return int(connection.execute(select(func.count()).select_from(table)).scalar_one())


def test_every_place_of_a_message(demo: Path, call: Caller) -> None:
    texts, huge = hostile(huge=False)[::SHARE], [one for one in hostile() if one.kind == "huge"]
    book = call.work / "book.pondround"
    shutil.copyfile(demo, book)
    before = call.files()
    for what, data, count in (*messages(texts), *huge_messages(huge)):
        path = call.work / "told.txt"
        path.write_bytes(data)
        words = ("import", "told", path, "--pond=PEN-1", "--as=MB", "--book", book)
        begun = time.perf_counter()
        call(*words, "--sent=2026-03-12", "--dates=dmy", "--year=2026")
        call.json(*words, "--dry-run", "--json")
        code, _ = call(*words, "--take=all", "--sent=2026-03-12", "--dates=dmy", "--year=2026",
                       "--hour=message", "--others")  # fmt: skip
        call(*words, "--take=none")
        took = time.perf_counter() - begun
        assert took < 2 * QUICK_S, (what, took)
        TALLY.kept["texts of messages"] += count * (code == 0)
        TALLY.refused["texts of messages"] += count * (code != 0)
        path.unlink()
    assert not call.made(before)
    judge_book(book)
    kept = readings(book) - readings(demo)
    TALLY.kept["readings taken from messages"] += kept
    assert kept > 100
    call("pond", "--book", book, "--", "PEN-1", codes=(0,))
    call("report", "history", "--notes", "--shape=text", "--book", book, "--", "PEN-1", codes=(0,))


def test_what_is_named_beside_a_message(demo: Path, call: Caller) -> None:
    book = call.work / "book.pondround"
    shutil.copyfile(demo, book)
    path = call.work / "told.txt"
    path.write_text("[10/03/2026, 19:02:11] Ann Reed: temp 16, pH 8.1\n")
    for one in hostile(300, huge=False):
        text = one.text.replace("\0", "")  # no argument of a process holds one
        for option in ("--take", "--sent", "--on", "--hour", "--year", "--on=1", "--hour=1"):
            code, _ = call(
                "import", "told", path, "--pond=PEN-1", "--as=MB", "--book", book, "--take=1",
                f"{option}={text}",
            )  # fmt: skip
            TALLY.kept["named beside a message"] += code == 0
            TALLY.refused["named beside a message"] += code != 0
        code, _ = call("import", "daysoff", path, f"--person={text}", "--as=MB", "--book", book)
        assert code, text
        TALLY.refused["named beside a message"] += 1
    judge_book(book)
