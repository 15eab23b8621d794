"""What people type comes out harmless, judged by an oracle of its own."""

from __future__ import annotations

import time
import unicodedata

import pytest
from hypothesis import given
from hypothesis import strategies as st

from store.text import plain
from tests.faults.hostile import MEGABYTE, MOST_MARKS, harmful, hostile, longest_pile

MARKS = "\u0301\u0323\u0335\u0344\u05b0\u0e49"


@pytest.mark.parametrize("lines", [False, True])
def test_nothing_harmful_is_left_and_it_is_done_once(lines: bool) -> None:
    for one in hostile(huge=False):
        made = plain(one.text, lines=lines)
        assert not harmful(made, lines=lines), one
        assert longest_pile(made) <= MOST_MARKS, one
        assert plain(made, lines=lines) == made, one


@given(st.text(st.sampled_from(MARKS + "ae\u1100\u1161 \u200d") | st.characters()))
def test_any_text_is_composed_and_stays_as_it_was_made(text: str) -> None:
    made = plain(text)
    assert plain(made) == made
    assert unicodedata.is_normalized("NFC", made)


def test_marks_that_people_write_stay() -> None:
    for text in ("vi\u1ec7t", "\u05e9\u05c1\u05b8\u05dc\u05d5\u05b9\u05dd", "\u0e19\u0e49\u0e33", "\U0001f469\u200d\U0001f52c", "\u0645\u06cc\u200c\u0634\u0648\u062f"):  # fmt: skip
        assert plain(text) == unicodedata.normalize("NFC", text)


def test_a_megabyte_of_marks_takes_no_time() -> None:
    """Putting marks in order takes a time that grows with the square of their number."""
    begun = time.perf_counter()
    made = plain("a" + "\u0301\u0323" * (MEGABYTE // 2))
    assert time.perf_counter() - begun < 20  # unbounded it is a quarter of an hour
    assert longest_pile(made) <= MOST_MARKS
