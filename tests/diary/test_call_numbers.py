"""Numbers that are told on the telephone, however long."""

from __future__ import annotations

from store.diary.calling.typed import typed_count, typed_stock


def test_a_number_of_any_length_is_the_most_that_is_counted() -> None:
    for told in ("1" * 5000, "9" * 20, "0" * 5000 + "12345678901"):
        assert typed_count(told) == 10_000_000
        assert typed_stock(f"{told} koi") == 10_000_000
    assert typed_count("0" * 5000 + "7") == 7
