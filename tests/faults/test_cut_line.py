"""The line to the database is cut again and again while somebody saves, at any moment.

Every action that was said to be saved is there, what was said not to be is not, and none stands
there twice. PONDROUND_CUTS sets how often it is cut.
"""

from __future__ import annotations

import os
import random
import threading
import time

import pytest
from sqlalchemy import text

from store.book import book as book_file
from store.book.act import Act
from store.book.opening import open_book
from store.book.people import staff
from store.book.server.asker import ASKER, Asker
from store.errors import NoAnswer
from tests.book.cut_line import Line, Moment, line_to
from tests.conftest import NOW

CUTS = int(os.environ.get("PONDROUND_CUTS", "100"))
_MOMENTS: tuple[Moment, ...] = ("before", "after", "unseen")

pytestmark = pytest.mark.postgres


def _cutting(line: Line, dice: random.Random, done: threading.Event) -> None:
    """Cut at any moment, a third of them at the order to keep something; mend soon after."""
    for _ in range(CUTS):
        if dice.random() < 1 / 3:
            before = line.commits_cut
            line.cut_at_commit(dice.choice(_MOMENTS))
            until = time.monotonic() + 5.0
            while line.commits_cut == before and time.monotonic() < until:
                time.sleep(0.001)
        else:
            time.sleep(dice.uniform(0.0, 0.05))
            line.cut()
        time.sleep(dice.uniform(0.0, 0.05))
        line.mend()
        time.sleep(dice.uniform(0.0, 0.03))
    done.set()


def test_every_action_is_saved_once_over_a_line_that_is_cut_at_any_moment(
    postgres_url: str, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(book_file, "PAUSES_S", (0.0, 0.01, 0.02))
    dice = random.Random(20261126)
    saved: list[str] = []
    refused = looked_up = unsure = 0

    def waits(trouble: NoAnswer) -> bool:
        nonlocal looked_up
        looked_up += trouble.unsure
        time.sleep(0.01)
        return True

    with line_to(postgres_url) as line, open_book(line.url, now=NOW, patience_s=0.3) as book:
        vet = Act(staff(book)[0].id, NOW)
        done = threading.Event()
        cutter = threading.Thread(target=_cutting, args=(line, dice, done))
        cutter.start()
        ASKER.set(Asker(waits))
        number = 0
        while not done.is_set():
            name = f"client {number}"
            try:
                with book.writing(vet) as writing:
                    writing.add("client", name=name)
                    writing.add("client", name=f"{name}, again")
            except NoAnswer as trouble:
                unsure += trouble.unsure
                refused += 1
                continue  # the same once more, as a form that waits does
            saved.append(name)
            number += 1
        cutter.join()
    with open_book(postgres_url, now=NOW) as book, book.reading() as connection:
        there = list(connection.execute(text("SELECT name FROM client")).scalars())
        lines = connection.execute(
            text("SELECT count(*) FROM change WHERE table_name = 'client'")
        ).scalar()
    told = [one for name in saved for one in (name, f"{name}, again")]
    assert sorted(there) == sorted(told)
    assert lines == len(told)
    assert unsure == 0  # somebody waits: it was looked up
    assert refused > CUTS // 10
    print(
        f"{CUTS} cuts, {line.commits_cut} of them at the moment of keeping; {len(saved)} actions "
        f"saved once, {refused} told as not saved, {looked_up} times waited to look it up"
    )
