"""A program killed while it makes a backup, PONDROUND_KILLS / 4 times."""

from __future__ import annotations

import random
import shutil
import time
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

from store.book.backup.keeping import keep_daily
from store.book.backup.marked import is_named, verified
from store.book.opening import open_book
from store.guard.check import check
from tests.faults.hands import START, Hand, number_of

KILLS = max(1, int(number_of("KILLS", 200)) // 4)


def keep_on_and_on(tell: Callable[..., None], address: str, folder: str) -> None:
    """A backup for one day after the other."""
    with open_book(address, now=START) as book:
        tell("begun")
        for day in range(1000):
            made = keep_daily(book, Path(folder), START + timedelta(days=day)).made
            if made is not None:
                tell("made", made.path.name)


def test_what_bears_the_name_of_a_backup_is_whole(demo_file: Path, tmp_path: Path) -> None:
    path, folder = tmp_path / "practice.pondround", tmp_path / "practice.backups"
    shutil.copyfile(demo_file, path)
    dice = random.Random()
    looked_at = left_over = 0
    for nth in range(KILLS):
        hand = Hand(keep_on_and_on, tmp_path / f"notes-{nth}", str(path), str(folder))
        hand.begun()
        time.sleep(dice.uniform(0, 0.8))
        assert hand.kill()
        made = [one for one in folder.iterdir() if is_named(one)] if folder.exists() else []
        for one in made:
            verified(one)
        told = {line[1] for line in hand.lines() if line[0] == "made"}
        thinned = told - {one.name for one in made}
        assert len(thinned) < len(told) or not told  # the newest is never taken away
        looked_at += len(made)
        left_over += sum(not is_named(one) for one in folder.iterdir()) if folder.exists() else 0
        shutil.rmtree(folder, ignore_errors=True)
    with open_book(path, now=START) as book:
        assert check(book, START).clean
    print(f"\nkilled {KILLS} times: {looked_at} backups all whole, {left_over} left half made")
