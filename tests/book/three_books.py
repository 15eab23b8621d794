"""Three copies of one book, written and brought together in any order."""

from __future__ import annotations

import random
import sqlite3
from contextlib import ExitStack, closing
from datetime import date, datetime, timedelta
from itertools import permutations
from pathlib import Path
from typing import Any
from uuid import UUID

from entries import NOW
from sqlalchemy import insert, select

from store.book.act import Act
from store.book.book import Book
from store.book.columns import Base
from store.book.copies.choosing import choose, unsettled
from store.book.copies.joining import Joined, join
from store.book.copies.log import new_copy
from store.book.opening import open_book
from store.book.people import staff
from store.book.tables import table
from store.errors import NotAllowed


def state(book: Book) -> dict[str, list[tuple[Any, ...]]]:
    """Everything but what a copy says of itself."""
    with book.reading() as connection:
        return {
            name: sorted((tuple(row) for row in connection.execute(select(one))), key=repr)
            for name, one in Base.metadata.tables.items()
            if name not in ("book_meta", "sign_in")
        }


def copied(source: Path, path: Path) -> Book:
    """A copy of a book that goes its own way from now on."""
    with closing(sqlite3.connect(source)) as one, closing(sqlite3.connect(path)) as two:
        one.backup(two)
    copy = open_book(path, now=NOW)
    with copy.writing(whose(copy)) as writing:
        new_copy(writing.connection)
    return copy


def whose(book: Book, at: datetime = NOW) -> Act:
    return Act(staff(book)[0].id, at)


def bring(into: Book, out: Book) -> Joined:
    """What the one holds beyond the other."""
    with out.reading() as there, into.writing(whose(into)) as writing:
        return join(writing, there)


class Writer:
    """Does this and that to a book, as a person might; the same dice do the same."""

    def __init__(self, dice: random.Random) -> None:
        self.dice = dice

    def _act(self, book: Book) -> Act:
        # A clock may be wrong by hours, and two may write in the same millisecond.
        return whose(book, NOW + timedelta(minutes=self.dice.choice((0, 0, 5, -60, 90))))

    def _any(self, book: Book, name: Any) -> Any:
        target = table(name)
        with book.reading() as connection:
            rows = connection.execute(select(target).order_by(target.c.id)).all()
        return self.dice.choice(rows)

    def step(self, book: Book) -> None:
        """One action."""
        kinds = (
            self.rename, self.rename, self.volume, self.place, self.test, self.visit, self.move,
            self.strike, self.settle, self.logger, self.person, self.client,
        )  # fmt: skip
        self.dice.choice(kinds)(book)

    def _change(self, book: Book, name: Any, row: Any, /, **values: Any) -> None:
        with book.writing(self._act(book)) as writing:
            if row.struck_at is None:
                writing.change(name, row.id, row.rev, **values)

    def rename(self, book: Book) -> None:
        word = self.dice.choice(("Lily pond", "Koi house", "Lower pond"))
        column = self.dice.choice(("name", "code", "filter"))
        self._change(book, "pond", self._any(book, "pond"), **{column: word})

    def volume(self, book: Book) -> None:
        pond, litres = self._any(book, "pond"), float(self.dice.choice((5000, 8000, 20_000)))
        if pond.struck_at is not None:
            return
        with book.writing(self._act(book)) as writing:
            estimate = writing.add(
                "volume_estimate", pond_id=pond.id, method="meter", litres=litres,
                low_l=litres - 100, high_l=litres + 100, measured_on=date(2026, 3, 14),
            )  # fmt: skip
            writing.change(
                "pond", pond.id, pond.rev, volume_l=litres, volume_low_l=litres - 100,
                volume_high_l=litres + 100, volume_method="meter", volume_estimate_id=estimate,
            )  # fmt: skip

    def place(self, book: Book) -> None:
        site = self._any(book, "site")
        at = self.dice.choice(((51.5, -0.1), (48.8, 2.3)))
        self._change(book, "site", site, latitude=at[0], longitude=at[1])

    def test(self, book: Book) -> None:
        pond = self._any(book, "pond")
        if pond.struck_at is not None:
            return
        with book.writing(self._act(book)) as writing:
            test = writing.add("water_test", pond_id=pond.id, taken_at=NOW, way="line")
            writing.add_many("reading", [
                {"test_id": test, "parameter": name, "value": self.dice.random() * 30,
                 "typed": "x", "unit": "", "form": ""}
                for name in ("temperature", "ph")
            ])  # fmt: skip

    def visit(self, book: Book) -> None:
        site = self._any(book, "site")
        if site.struck_at is None:
            with book.writing(self._act(book)) as writing:
                writing.add("visit", site_id=site.id, on_day=date(2026, 3, 16), kind="routine")

    def move(self, book: Book) -> None:
        with book.writing(self._act(book)) as writing:
            if not writing.has("visit"):
                return
        day = date(2026, 3, 16) + timedelta(days=self.dice.randint(0, 3))
        state = self.dice.choice(("planned", "done", "cancelled"))
        self._change(book, "visit", self._any(book, "visit"), on_day=day, state=state)

    def strike(self, book: Book) -> None:
        name = self.dice.choice(("pond", "visit", "client"))
        with book.writing(self._act(book)) as writing:
            if name == "visit" and not writing.has("visit"):
                return
        row = self._any(book, name)
        with book.writing(self._act(book)) as writing:
            if row.struck_at is None:
                writing.strike(name, row.id, "entered twice")
            else:
                writing.restore(name, row.id, "it is another")

    def settle(self, book: Book) -> None:
        for one in unsettled(book)[:1]:
            values: dict[str, Any] = {}
            for difference in one.differences:
                values |= self.dice.choice(difference.sides).values
            choose(book, self._act(book), one.table, one.key, one.rev, values, "as measured")

    def logger(self, book: Book) -> None:
        pond = self._any(book, "pond")
        if pond.struck_at is not None:
            return
        with book.writing(self._act(book)) as writing:
            file = writing.add(
                "import_file", name="l.csv", sha256="0" * 64, kind="logger", rows_read=3,
                rows_saved=3, rows_refused=0,
            )  # fmt: skip
            there = table("logger_reading").c
            for hour in range(3):
                at = NOW + timedelta(hours=hour)
                old = select(there.at).where(
                    there.pond_id == pond.id, there.parameter == "temperature", there.at == at
                )
                if writing.connection.execute(old).first() is None:
                    writing.connection.execute(insert(table("logger_reading")), [{
                        "pond_id": pond.id, "parameter": "temperature", "at": at,
                        "value": self.dice.random() * 30, "import_file_id": file,
                    }])  # fmt: skip

    def person(self, book: Book) -> None:
        with book.writing(self._act(book)) as writing:
            new = writing.add("staff", name=self.dice.choice(("Bo", "Cy")), role="vet")
        with book.writing(Act(new, NOW)) as writing:  # who enters a client at once
            writing.add("client", name="Alder House")

    def client(self, book: Book) -> None:
        row = self._any(book, "client")
        self._change(book, "client", row, phone=self.dice.choice(("1", "2", "3")))


def refuses_nothing(action: Any, *given: Any) -> None:
    """What a person is refused is refused in words, and changes nothing."""
    try:
        action(*given)
    except NotAllowed:
        return


def keys(found: Joined) -> set[UUID]:
    return {key for rows in (*found.added.values(), *found.changed.values()) for key in rows}


def play(begun: Path, place: Path, seed: int) -> None:
    """One play: written and brought together at random, then all to all; all must be one."""
    dice = random.Random(seed)
    with ExitStack() as open_books:
        books = [
            open_books.enter_context(copied(begun, place / f"{name}.pondround")) for name in "abc"
        ]
        writer = Writer(dice)
        for _ in range(dice.randint(3, 25)):
            if dice.random() < 0.25:
                bring(*dice.sample(books, 2))
            else:
                refuses_nothing(writer.step, dice.choice(books))
        ways = list(permutations(range(3), 2))
        dice.shuffle(ways)
        for into, out in ways * 2:  # what one got by way of another comes in the second time
            bring(books[into], books[out])
        first, second, third = map(state, books)
        assert first == second == third
        for into, out in ways:
            assert bring(books[into], books[out]).lines == 0
        assert unsettled(books[0]) == unsettled(books[1]) == unsettled(books[2])
        while waiting := unsettled(books[0]):
            one = waiting[0]
            values = {}
            for difference in one.differences:
                values |= difference.sides[0].values
            choose(books[0], whose(books[0]), one.table, one.key, one.rev, values, "looked at")
        bring(books[1], books[0])
        assert unsettled(books[1]) == ()
        assert state(books[1]) == state(books[0])
