"""Keys sort by the instant they were made and never come twice."""

from __future__ import annotations

import threading
from datetime import UTC, datetime, timedelta
from uuid import UUID

import pytest
from entries import NOW
from hypothesis import given
from hypothesis import strategies as st

from store.book.keys import new_key
from store.errors import BadInput

INSTANTS = st.integers(0, 7_000_000_000_000).map(
    lambda milliseconds: datetime(1970, 1, 1, tzinfo=UTC) + timedelta(milliseconds=milliseconds)
)


@given(INSTANTS, INSTANTS)
def test_a_key_tells_its_instant_and_sorts_by_it(one: datetime, other: datetime) -> None:
    keys = {at: new_key(at) for at in (one, other)}
    for at, key in keys.items():
        milliseconds = (at - datetime(1970, 1, 1, tzinfo=UTC)) // timedelta(milliseconds=1)
        assert key.int >> 80 == milliseconds
        assert (key.version, key.variant) == (7, "specified in RFC 4122")
    if abs(one - other) >= timedelta(milliseconds=1):
        assert (keys[one] < keys[other]) == (one < other)


def test_keys_of_one_instant_stay_in_order_and_differ_between_threads() -> None:
    made: list[list[UUID]] = [[] for _ in range(4)]

    def make(into: list[UUID]) -> None:
        into.extend(new_key(NOW) for _ in range(2000))

    threads = [threading.Thread(target=make, args=(into,)) for into in made]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert all(keys == sorted(keys) for keys in made)
    assert len({key for keys in made for key in keys}) == 8000


def test_keys_of_one_instant_stay_in_order_where_others_come_between() -> None:
    keys = []
    for step in range(100):  # by chance a hundred would not stay in order
        keys.append(new_key(NOW))
        new_key(NOW + timedelta(seconds=step % 7 + 1))
    assert keys == sorted(keys)


def test_instants_that_cannot_be() -> None:
    with pytest.raises(BadInput, match="time zone"):
        new_key(datetime(2026, 1, 1))  # noqa: DTZ001
    with pytest.raises(BadInput, match="after 1970"):
        new_key(datetime(1969, 12, 31, tzinfo=UTC))
