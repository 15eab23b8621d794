"""Hundreds of plays of three copies of a book that are written and brought together at random."""

from __future__ import annotations

import os
import sys
from pathlib import Path

import pytest

sys.path.insert(0, str(Path(__file__).parents[1] / "book"))

from entries import NOW, add_pond
from three_books import play, whose

from store.book.opening import open_book
from store.book.practice import begin

PLAYS = int(os.environ.get("PONDROUND_MERGES", "300"))


def test_every_play_ends_in_one_state(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    begun = tmp_path / "begun.pondround"
    with open_book(begun, now=NOW, create=True) as book:
        begin(book, NOW, practice="P", time_zone="Europe/London", person="Ada", role="vet")
        for name in ("Upper pond", "Lower pond"):
            add_pond(book, whose(book), name=name)
    for seed in range(PLAYS):
        place = tmp_path / str(seed)
        place.mkdir()
        play(begun, place, seed)
        for left in place.iterdir():
            left.unlink()
    with capsys.disabled():
        print(f"\n{PLAYS} plays of three copies, each ended in one state")
