"""Several processes write for PONDROUND_MINUTE seconds; 60 is usual."""

from __future__ import annotations

import time
from pathlib import Path

import pytest
from sqlalchemy import func, select

from store.book.opening import open_book
from store.book.tables import table
from tests.faults.hands import START, Hand, count_on, first_pond, number_of, whole


@pytest.mark.parametrize("hands", [2, 4])
def test_writers_lose_nothing(book_address: str, tmp_path: Path, hands: int) -> None:
    seconds = number_of("MINUTE", 60)
    with open_book(book_address, now=START) as book:
        pond = first_pond(book)
    begun = time.monotonic()
    writers = [
        Hand(count_on, tmp_path / f"notes-{nth}", book_address, pond, seconds)
        for nth in range(hands)
    ]
    assert [writer.wait(seconds + 60) for writer in writers] == [0] * hands, "an error came out"
    lasted = time.monotonic() - begun
    told = [[int(word) for word in writer.lines()[-1][1:]] for writer in writers]
    counted, added, meanwhile = (sum(column) for column in zip(*told, strict=True))
    with open_book(book_address, now=START) as book, book.reading() as connection:
        ponds, change, tests = table("pond").c, table("change").c, table("water_test").c
        row = connection.execute(select(table("pond")).where(ponds.id == pond)).one()
        assert row.volume_l == 1 + counted, "an update is lost"
        assert row.rev == 1 + counted
        log = connection.execute(
            select(change.rev, change.before, change.after)
            .where(change.row_id == pond).order_by(change.rev)
        ).all()  # fmt: skip
        assert [line.rev for line in log] == list(range(1, counted + 2)), "a gap in the revisions"
        assert [line.after["volume_l"] for line in log] == list(range(1, counted + 2))
        assert (
            connection.execute(select(func.count()).select_from(tests.id.table)).scalar() == added
        )
    assert min(one[1] for one in told) > 0, "one of them never came to its turn"
    whole(book_address, [])
    print(
        f"\n{hands} processes on {book_address.partition(':')[0][:10]} for {lasted:.0f} s: "
        f"{counted} changes of one row, {meanwhile} were told it had changed meanwhile, "
        f"{added} tests added, none lost"
    )
