"""Bags that are killed, damaged and brought back in any order, for real and often.

The numbers are those of PONDROUND_BAG_KILLS, PONDROUND_BAG_PLAYS and PONDROUND_BAG_BYTES.
"""

from __future__ import annotations

import random
import shutil
import sqlite3
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "book"))
sys.path.insert(0, str(Path(__file__).parents[1] / "exchange"))

from bags import DAY, Kept, new_test, opened, play_bags, tables_at_hand
from entries import NOW
from three_books import state

from store.book.act import Act
from store.book.people import staff
from store.errors import PondroundError
from store.exchange.bag.packing import pack
from store.exchange.bag.unpacking import unpack
from tests.faults.hands import Hand, number_of

KILLS = int(number_of("BAG_KILLS", 60))
PLAYS = int(number_of("BAG_PLAYS", 100))
BYTES = int(number_of("BAG_BYTES", 300))


@pytest.fixture(scope="module", autouse=True)
def at_hand(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    with tables_at_hand(tmp_path_factory.mktemp("empty") / "empty.pondround"):
        yield


@pytest.fixture(scope="module")
def used(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Path]:
    """A practice's book, and a bag of it with a long day's work."""
    place = tmp_path_factory.mktemp("used")
    home, bag = place / "home.pondround", place / "bag.pondround"
    home.write_bytes(sqlite_template.read_bytes())
    with opened(home) as book:
        kept = Kept(book, Act(staff(book)[0].id, NOW))
        kept.pack(bag)
    with opened(bag) as book:
        for minutes in range(120):
            new_test(book, kept.act, (kept.pond, kept.twin)[minutes % 2], minutes)
        with book.writing(Act(kept.act.by, NOW + timedelta(hours=3))) as writing:
            writing.change("visit", kept.visit, 1, state="done")
            writing.change("pond", kept.pond, 1, name="Lily basin")
    return home, bag


def bring_back(tell: Callable[..., None], home: str, bag: str) -> None:
    """Brings a bag into a book, and tells before and after."""
    with opened(Path(home)) as book:
        act = Act(staff(book)[0].id, NOW)
        tell("begun")
        unpack(book, act, Path(bag))
        tell("done")


def pack_it(tell: Callable[..., None], home: str, bag: str) -> None:
    """Packs a bag, and tells before and after."""
    with opened(Path(home)) as book:
        act = Act(staff(book)[0].id, NOW)
        tell("begun")
        pack(book, act, DAY, act.by, Path(bag))
        tell("done")


def _took(does: Callable[..., None], place: Path, home: Path, bag: Path) -> float:
    """How long it takes where nobody disturbs it [s]."""
    hand = Hand(does, place / "notes-whole", str(home), str(bag))
    hand.begun()
    began = time.monotonic()
    hand.told(2)
    hand.wait(60)
    return time.monotonic() - began


def test_killed_while_a_bag_is_brought_back_all_or_nothing_came(
    used: tuple[Path, Path], tmp_path: Path
) -> None:
    dice = random.Random(9)
    source, bag = used
    before_bag = bag.read_bytes()
    whole = tmp_path / "whole.pondround"
    shutil.copyfile(source, whole)
    with opened(whole) as book:
        before = state(book)
    took_s = _took(bring_back, tmp_path, whole, bag)
    with opened(whole) as book:
        after = state(book)
    nothing = everything = 0
    for nth in range(KILLS):
        home = tmp_path / f"home-{nth}.pondround"
        shutil.copyfile(source, home)
        hand = Hand(bring_back, tmp_path / f"notes-{nth}", str(home), str(bag))
        hand.begun()
        time.sleep(dice.uniform(0, took_s * 1.6))
        hand.kill()
        with opened(home) as book:
            found = state(book)
            assert found in (before, after)
            assert found == after or ["done"] not in hand.lines()
            nothing, everything = nothing + (found == before), everything + (found == after)
            unpack(book, Act(staff(book)[0].id, NOW), bag)
            assert state(book) == after
        for left in tmp_path.glob(f"home-{nth}*"):
            left.unlink()
    assert bag.read_bytes() == before_bag
    print(
        f"\nkilled {KILLS} times while a bag came back: {nothing} nothing, {everything} all of it"
    )


def test_killed_while_a_bag_is_packed_there_is_a_whole_one_or_none(
    used: tuple[Path, Path], tmp_path: Path
) -> None:
    dice = random.Random(10)
    home, _bag = used
    took_s = _took(pack_it, tmp_path, home, tmp_path / "whole.pondround")
    whole = 0
    for nth in range(max(1, KILLS // 3)):
        bag = tmp_path / f"bag-{nth}.pondround"
        hand = Hand(pack_it, tmp_path / f"notes-{nth}", str(home), str(bag))
        hand.begun()
        time.sleep(dice.uniform(0, took_s * 1.3))
        hand.kill()
        if bag.exists():
            whole += 1
            with opened(bag) as book, opened(home) as there:
                act = Act(staff(book)[0].id, NOW)
                assert unpack(there, act, bag).nothing_new
        else:
            assert ["done"] not in hand.lines()
    print(f"\nkilled {KILLS // 3} times while a bag was packed: {whole} whole, the rest not there")


def test_whichever_bytes_are_altered_what_comes_in_is_what_was_entered(
    used: tuple[Path, Path], tmp_path: Path
) -> None:
    dice = random.Random(11)
    source, bag = used
    with closing(sqlite3.connect(bag)) as raw:
        raw.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    data = bag.read_bytes()
    home = tmp_path / "home.pondround"
    shutil.copyfile(source, home)
    refused = unharmed = 0
    with opened(home) as book:
        act, before = Act(staff(book)[0].id, NOW), state(book)
    shutil.copyfile(source, tmp_path / "whole.pondround")
    with opened(tmp_path / "whole.pondround") as book:
        unpack(book, act, bag)
        after = state(book)
    altered = tmp_path / "altered.pondround"
    for _ in range(BYTES):
        changed = bytearray(data)
        at = dice.randrange(len(changed))
        for place in range(at, min(len(changed), at + dice.choice((1, 1, 4, 200)))):
            changed[place] = dice.randrange(256)
        altered.write_bytes(bytes(changed))
        with opened(home) as book:
            try:
                unpack(book, act, altered)
                came = True
            except PondroundError:
                came = False
            found = state(book)
        assert found in ((before, after) if came else (before,))
        refused, unharmed = refused + (not came), unharmed + came
        if found == after:
            shutil.copyfile(source, home)
    print(f"\n{BYTES} bags with altered bytes: {refused} refused, {unharmed} not harmed by them")


def test_any_order_of_bags_ends_in_one_book(sqlite_template: Path, tmp_path: Path) -> None:
    for seed in range(PLAYS):
        place = tmp_path / str(seed)
        place.mkdir()
        play_bags(sqlite_template, place, seed)
        shutil.rmtree(place)
    print(f"\n{PLAYS} plays of a book and two bags, brought back in two orders: one book each")
