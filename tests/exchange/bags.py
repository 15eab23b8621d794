"""A small practice with a bag: a pond on the round of the day, one that is not, and plays of both."""

from __future__ import annotations

import random
import sqlite3
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import date, timedelta
from pathlib import Path
from types import SimpleNamespace
from typing import Any
from uuid import UUID

sys.path.insert(0, str(Path(__file__).parents[1] / "book"))

import pytest
from entries import NOW
from sqlalchemy import Engine, func, select
from three_books import Writer, copied, refuses_nothing, state

from store.book import schema
from store.book.act import Act
from store.book.book import Book
from store.book.copies.choosing import unsettled
from store.book.engines import sqlite_engine
from store.book.opening import open_book
from store.book.people import staff
from store.book.tables import table
from store.exchange.bag import packing
from store.exchange.bag.packing import pack
from store.exchange.bag.unpacking import unpack
from store.exchange.bag.waiting import waiting

DAY = date(2026, 3, 16)


@contextmanager
def tables_at_hand(empty: Path) -> Iterator[None]:
    """A bag gets its tables out of an empty book, which is quicker than making them each time."""
    with open_engine(empty) as engine:
        schema.upgrade(engine)

    def upgrade(engine: Engine) -> None:
        with closing(sqlite3.connect(empty)) as source, engine.connect() as connection:
            target: Any = connection.connection.driver_connection
            connection.rollback()
            target.execute("PRAGMA query_only = OFF")
            source.backup(target)

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(packing, "schema", SimpleNamespace(upgrade=upgrade))
        yield


@contextmanager
def open_engine(path: Path) -> Iterator[Engine]:
    path.touch()
    engine = sqlite_engine(path, keep_journal=True)
    yield engine
    engine.dispose()


class Kept:
    """What a small practice has: a pond on the round of the day, one that is not."""

    def __init__(self, book: Book, act: Act) -> None:
        self.book, self.act = book, act
        with book.writing(act) as writing:
            self.client = writing.add("client", name="Alder House", phone="01632 960111")
            self.site = writing.add("site", client_id=self.client, name="Garden")
            self.pond = writing.add("pond", site_id=self.site, name="Lily pond")
            self.twin = writing.add("pond", site_id=self.site, name="Reed pond")
            other = writing.add("client", name="Brook Farm", phone="01632 960222")
            self.far_site = writing.add("site", client_id=other, name="Field")
            self.far = writing.add("pond", site_id=self.far_site, name="Trout pond")
            self.visit = writing.add(
                "visit", site_id=self.site, on_day=DAY, kind="routine", staff_id=act.by
            )

    def pack(self, path: Path, **also: Any) -> Any:
        return pack(self.book, self.act, DAY, self.act.by, path, **also)

    def unpack(self, path: Path, minutes: int = 0) -> Any:
        return unpack(self.book, Act(self.act.by, NOW + timedelta(minutes=minutes)), path)


def new_test(book: Book, act: Act, pond: UUID, minutes: int = 0) -> UUID:
    at = NOW + timedelta(minutes=minutes)
    with book.writing(Act(act.by, at)) as writing:
        test = writing.add("water_test", pond_id=pond, taken_at=at, way="line")
        reading = {"test_id": test, "parameter": "temperature", "typed": "19C", "value": 19.0}
        writing.add_many("reading", [reading | {"unit": "", "form": ""}])
    return test


def opened(path: Path) -> Book:
    return open_book(path, now=NOW)


def count(book: Book, name: Any) -> int:
    with book.reading() as connection:
        return int(connection.execute(select(func.count()).select_from(table(name))).scalar() or 0)


def _worked(book: Book, writer: Writer, steps: int) -> None:
    for _ in range(steps):
        refuses_nothing(writer.step, book)


def play_bags(begun: Path, place: Path, seed: int) -> None:
    """A book and two bags of it, worked in at random and brought back in two orders."""
    dice = random.Random(seed)
    (place / "begun.pondround").write_bytes(begun.read_bytes())
    with opened(place / "begun.pondround") as book:
        act = Act(staff(book)[0].id, NOW)
        home = Kept(book, act)
        writer = Writer(dice)
        bags = [home.pack(place / "one.pondround").path]
        _worked(book, writer, dice.randint(0, 4))
        bags.append(home.pack(place / "two.pondround", also_ponds=[home.far]).path)
        for path in bags:
            with opened(path) as bag:
                _worked(bag, writer, dice.randint(1, 6))
        _worked(book, writer, dice.randint(0, 4))
    ends = []
    for name, order in (("a", (0, 1, 0)), ("b", (1, 0, 1, 1))):
        with copied(place / "begun.pondround", place / f"{name}.pondround") as book:
            for at in order:
                unpack(book, act, bags[at])
            ends.append((state(book), unsettled(book)))
            assert waiting(book) == len(unsettled(book))
            for path in bags:
                assert unpack(book, act, path).nothing_new
    # Rows that came back to a merged place would move by actions of their own; here none is.
    assert ends[0] == ends[1]
