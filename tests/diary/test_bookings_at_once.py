"""Two people who book one hour, and bookings by properties."""

from __future__ import annotations

import subprocess
import sys
import threading
import time as clock
from datetime import date, time, timedelta
from itertools import pairwise
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from store.book.act import Act
from store.book.book import Book
from store.book.opening import open_book
from store.book.people import staff
from store.diary.kept.roster.days_off import add_day_off
from store.diary.kept.visits.bookings import (
    cancel_visit,
    move_visit,
    objections,
    propose,
    visit_history,
    wish_of,
    wish_of_visit,
)
from store.diary.kept.visits.diary import visiting, visits_between
from store.errors import BadInput
from tests.book.entries import NOW
from tests.diary.practice_round import (
    MONDAY,
    TEN,
    WEDNESDAY,
    Garden,
    booked,
    dose_of,
    fields_of,
    garden,
)

ROOT = Path(__file__).parents[2]


# Two people at once


def test_of_two_threads_that_book_one_hour_the_second_is_told(book_address: str) -> None:
    with open_book(book_address, now=NOW) as one, open_book(book_address, now=NOW) as other:
        act = Act(staff(one)[0].id, NOW)
        gardens = [garden(one, act, name) for name in ("Hill Farm", "Brook House")]
        both, told, kept = threading.Barrier(2), [], []

        def go(book: Book, at: Garden) -> None:
            wish = wish_of(book, pond_id=at.pond, kind="examination")
            assert objections(book, wish, WEDNESDAY, TEN, act.by, NOW) == ()
            both.wait(10)
            try:
                kept.append(booked(book, act, wish))
            except BadInput as trouble:
                told.append(trouble)

        threads = [
            threading.Thread(target=go, args=pair)
            for pair in zip((one, other), gardens, strict=True)
        ]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join(30)
        assert (len(kept), len(told)) == (1, 1)
        winner = visiting(one, kept[0])
        assert winner.client in told[0].message
        assert told[0].field == "at_time"
        assert visits_between(one, MONDAY, WEDNESDAY) == (winner,)


_BOOKER = """
import sys, time
from datetime import UTC, date, datetime, time as hour
from pathlib import Path
from uuid import UUID
from store.book.act import Act
from store.book.opening import open_book
from store.diary.kept.visits.bookings import book_visit, wish_of
from store.errors import BadInput

address, pond, who, ready, go = sys.argv[1:]
now = datetime(2026, 3, 14, 7, 30, tzinfo=UTC)
with open_book(address, now=now) as book:
    wish = wish_of(book, pond_id=UUID(pond), kind="examination")
    Path(ready).touch()
    while not Path(go).exists():
        time.sleep(0.002)
    try:
        with book.writing(Act(UUID(who), now)) as writing:
            book_visit(writing, wish, date(2026, 3, 18), hour(10), UUID(who))
            time.sleep(0.2)
        print("booked")
    except BadInput as trouble:
        print(trouble.field, trouble.message)
"""


def test_of_two_processes_that_book_one_hour_the_second_is_told(
    book_address: str, tmp_path: Path
) -> None:
    with open_book(book_address, now=NOW) as book:
        act = Act(staff(book)[0].id, NOW)
        gardens = [garden(book, act, name) for name in ("Hill Farm", "Brook House")]
    go, ready = tmp_path / "go", [tmp_path / "one", tmp_path / "two"]
    running = [
        subprocess.Popen(
            [sys.executable, "-c", _BOOKER, book_address, str(at.pond), str(act.by), str(mark), str(go)],
            cwd=ROOT, stdout=subprocess.PIPE, text=True, encoding="utf-8",
        )
        for at, mark in zip(gardens, ready, strict=True)
    ]  # fmt: skip
    patience = clock.monotonic() + 60
    while not all(mark.exists() for mark in ready) and clock.monotonic() < patience:
        clock.sleep(0.01)
    go.touch()
    said = [process.communicate(timeout=60)[0].strip() for process in running]
    assert sorted(one.partition(" ")[0] for one in said) == ["at_time", "booked"]
    winner = ("Hill Farm", "Brook House")[said.index("booked")]
    assert f"Ada Vet is at {winner}, Lower pond then, 10:00–11:00." in " ".join(said)
    with open_book(book_address, now=NOW) as book:
        assert [one.client for one in visits_between(book, MONDAY, WEDNESDAY)] == [winner]


def test_leave_that_was_entered_meanwhile_is_told(book: Book, act: Act) -> None:
    at = garden(book, act, "Brook House")
    wish = wish_of(book, pond_id=at.pond)
    slot = propose(book, wish, NOW).slots[0]
    with book.writing(act) as writing:
        add_day_off(writing, act.by, slot.on_day, slot.on_day, says="flu")
    with pytest.raises(BadInput, match=r"away on .*flu"):
        booked(book, act, wish, slot.on_day, slot.at_time)


# By properties


@settings(
    deadline=None, max_examples=8,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)  # fmt: skip
@given(st.lists(st.sampled_from(["examination", "course dose", "call"]), min_size=3, max_size=9))
def test_booking_what_is_proposed_never_meets_another_visit(
    sqlite_book: Book, act: Act, kinds: list[str]
) -> None:
    at = garden(sqlite_book, act, "Brook House", latitude=52.0, longitude=0.1)
    other = garden(sqlite_book, act, "Hill Farm", latitude=52.1, longitude=0.0)
    keys = []
    for place, kind in enumerate(kinds):
        wish = wish_of(sqlite_book, pond_id=(at, other)[place % 2].pond, kind=kind)
        slot = propose(sqlite_book, wish, NOW, count=1).slots[0]
        keys.append(booked(sqlite_book, act, wish, slot.on_day, slot.at_time, who=slot.staff_id))
    found = visits_between(sqlite_book, MONDAY, MONDAY + timedelta(days=60))
    assert set(keys) <= {one.id for one in found}
    taken: dict[date, list[tuple[int, int]]] = {}
    for one in found:
        assert one.at_time is not None
        begins = one.at_time.hour * 60 + one.at_time.minute
        taken.setdefault(one.on_day, []).append((begins, begins + one.minutes))
    for day in taken.values():
        day.sort()
        assert all(a[1] <= b[0] for a, b in pairwise(day))
    with sqlite_book.writing(act) as writing:
        for key in keys:
            cancel_visit(writing, key, 1, "the next example")


@settings(
    deadline=None, max_examples=12,
    suppress_health_check=[HealthCheck.function_scoped_fixture, HealthCheck.too_slow],
)  # fmt: skip
@given(
    st.lists(
        st.tuples(st.integers(2, 40), st.integers(0, 95), st.sampled_from([None, 20, 90])),
        min_size=1, max_size=5,
    )
)  # fmt: skip
def test_wherever_a_visit_is_moved_the_way_back_restores_it(
    sqlite_book: Book, act: Act, moves: list[tuple[int, int, int | None]]
) -> None:
    at = garden(sqlite_book, act, "Brook House")
    wish = wish_of(sqlite_book, pond_id=at.pond, kind="examination", purposes=(dose_of(at),))
    day = date(2026, 5, 13)
    key = booked(sqlite_book, act, wish, day, in_spite="agreed long ago")
    before = visiting(sqlite_book, key)
    rev = 1
    for days, quarter, minutes in moves:
        hour = time(*divmod(quarter * 15, 60))
        to = MONDAY + timedelta(days=days)
        now = wish_of_visit(visiting(sqlite_book, key))
        seen = objections(sqlite_book, now, to, hour, act.by, NOW, minutes=minutes, visit_id=key)
        if any(one.bars == "never" for one in seen):
            continue
        with sqlite_book.writing(act) as writing:
            rev = move_visit(
                writing, key, rev, to, hour, act.by, minutes=minutes, why="again",
                in_spite="agreed", answered=seen,
            )  # fmt: skip
        moved = visiting(sqlite_book, key)
        assert (moved.on_day, moved.at_time) == (to, hour)
        assert moved.minutes == (minutes or moved.minutes)
        assert moved.purposes == before.purposes, "what it is to keep goes with it"
    with sqlite_book.writing(act) as writing:
        move_visit(writing, key, rev, day, TEN, act.by, minutes=before.minutes, why="back",
                   in_spite="agreed long ago")  # fmt: skip
    after = visiting(sqlite_book, key)
    assert {**fields_of(after), "rev": 1} == fields_of(before)
    steps = [one for one in visit_history(sqlite_book, key) if "on_day" in one.after]
    days_on = [one.after["on_day"] for one in reversed(steps) if one.what == "add"][:1]
    assert days_on == ["2026-05-13"]
    assert after.rev == rev + (1 if rev > 1 and steps[0].why == "back" else 0)
    with sqlite_book.writing(act) as writing:
        cancel_visit(writing, key, after.rev, "the next example")
