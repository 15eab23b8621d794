"""Programs are killed at a random moment, as often as PONDROUND_KILLS says; 200 is usual."""

from __future__ import annotations

import random
import shutil
import time
from pathlib import Path

import pytest
from sqlalchemy import URL, text

from store.book import schema
from store.book.opening import open_book
from store.book.people import staff
from store.book.practice import begin
from tests.faults.hands import (
    START,
    Hand,
    number_in,
    number_of,
    open_it,
    opens_or_says_why,
    save_on_and_on,
    whole,
)
from tests.faults.older_books import OLDER, a_source, columns_then, make_older, rows_in

KILLS = int(number_of("KILLS", 200))


def test_killed_while_saving(book_address: str, tmp_path: Path) -> None:
    seed = random.SystemRandom().randrange(10**6)
    dice = random.Random(seed)
    lines: list[list[str]] = []
    at_work = looked_at = 0
    for nth in range(KILLS):
        hand = Hand(save_on_and_on, tmp_path / f"notes-{nth}", book_address, seed + nth)
        hand.begun()
        hand.told(dice.randint(1, 20))
        time.sleep(dice.uniform(0, 0.02))
        at_work += hand.kill()
        lines += hand.lines()
        looked_at = whole(book_address, hand.lines())
    looked_at = whole(book_address, lines)
    assert at_work == KILLS
    print(
        f"\nseed {seed}: killed {at_work} times on {book_address.partition(':')[0][:10]}, "
        f"{len(lines) - KILLS} acknowledged savings all there, {looked_at} rows looked at"
    )


def _seconds(path: Path, notes: Path, *, create: bool) -> float:
    """How long it takes where nobody disturbs it, on this machine and now [s]."""
    hand = Hand(open_it, notes / f"notes-{create}", str(path), create)
    hand.begun()
    began = time.monotonic()
    assert hand.wait(60) == 0
    return time.monotonic() - began


def test_killed_while_an_older_book_is_brought_up_to_date(
    sqlite_template: Path, tmp_path: Path
) -> None:
    dice = random.Random()
    source = a_source(tmp_path, sqlite_template)
    older = {}
    for number in OLDER:
        path = tmp_path / f"older-{number}.pondround"
        older[number] = path, make_older(str(path), number, source)
    whole_one = tmp_path / "whole.pondround"
    shutil.copyfile(older[1][0], whole_one)
    takes_s = _seconds(whole_one, tmp_path, create=False)
    upgraded = before = 0
    for nth in range(max(1, KILLS // 4)):
        number = dice.choice(OLDER)
        folder = tmp_path / f"killed-{nth}"
        folder.mkdir()
        path = folder / "practice.pondround"
        shutil.copyfile(older[number][0], path)
        hand = Hand(open_it, folder / "notes", str(path), False)
        hand.begun()
        time.sleep(dice.uniform(0, 1.2 * takes_s))
        hand.kill()
        found = number_in(str(path))
        assert found in (number, schema.HEAD), "half a migration"
        copies = [one for one in folder.glob("*before-upgrade*") if one.suffix == ".pondround"]
        upgraded += found == schema.HEAD
        before += found == number
        if found == schema.HEAD:
            assert copies, "no copy from before"
        for copy in copies:  # what bears the name of a copy is a whole one
            assert number_in(str(copy)) == number
            assert rows_in(str(copy)) == older[number][1]
        assert opens_or_says_why(str(path)) == ""
        assert rows_in(str(path), columns_then(str(older[number][0]))) == older[number][1]
        shutil.rmtree(folder)
    print(f"\nkilled {upgraded + before} times: {before} before the change, {upgraded} after it")


def test_killed_while_a_new_book_is_made(tmp_path: Path) -> None:
    dice = random.Random()
    made = 0
    kills = max(1, KILLS // 4)
    takes_s = _seconds(tmp_path / "whole.pondround", tmp_path, create=True)
    for nth in range(kills):
        path = tmp_path / f"{nth}" / "new.pondround"
        path.parent.mkdir()
        hand = Hand(open_it, path.with_name("notes"), str(path), True)
        hand.begun()
        time.sleep(dice.uniform(0, 1.2 * takes_s))
        hand.kill()
        made += path.exists()
        with open_book(path, now=START, create=not path.exists()) as book:
            begin(book, START, practice="P", time_zone="UTC", person="Ada", role="vet")
            assert [one.name for one in staff(book)] == ["Ada"]
        assert number_in(str(path)) == schema.HEAD
        shutil.rmtree(path.parent)
    print(f"\nkilled {kills} times while a book was made: {made} were whole, the others not there")


@pytest.mark.postgres
def test_killed_while_a_book_on_a_server_is_brought_up_to_date(
    postgres_server: URL, sqlite_template: Path, tmp_path: Path
) -> None:
    from tests.conftest import _run, _text

    source = a_source(tmp_path, sqlite_template)
    dice = random.Random()
    for nth in range(max(1, KILLS // 20)):
        name, number = f"pondround_killed_{nth}", dice.choice(OLDER)
        _run(postgres_server, f"CREATE DATABASE {name}")
        address = _text(postgres_server.set(database=name))
        rows = make_older(address, number, source)
        columns = columns_then(address)
        hand = Hand(open_it, tmp_path / f"notes-{nth}", address, False)
        hand.begun()
        time.sleep(dice.uniform(0, 0.6))
        hand.kill()
        with open_book(address, now=START, patience_s=20) as book, book.reading() as connection:
            assert schema.number(connection) == schema.HEAD
            assert connection.execute(text("SELECT count(*) FROM staff")).scalar()
        assert rows_in(address, columns) == rows
        _run(postgres_server, f"DROP DATABASE {name} WITH (FORCE)")
