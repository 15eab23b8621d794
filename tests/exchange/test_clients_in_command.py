"""`pondround import clients`: what a person reads, the file of answers, what the exit code says."""

from __future__ import annotations

import argparse
import csv
from pathlib import Path

import pytest
from client_lists import MESSY, write_csv, write_xlsx

from store.book.act import Act
from store.book.book import Book
from store.book.clients import clients
from store.book.ponds import cards
from store.errors import PondroundError
from tui.commands.bring import add_import, run_import


def run(book: Book, act: Act, *words: str | Path) -> int:
    parser = argparse.ArgumentParser()
    add_import(parser.add_subparsers())
    return run_import(parser.parse_args(["import", "clients", *map(str, words)]), book, act)


def answer(path: Path, answers: dict[str, str]) -> None:
    with path.open(newline="", encoding="utf-8") as file:
        rows = list(csv.reader(file))
    for row in rows[1:]:
        row[0] = answers.get(row[4], row[0])
    write_csv(path, rows, separator=";")  # as a spreadsheet with a decimal comma saves it


def test_a_list_is_brought_in_with_answers(
    sqlite_book: Book, act: Act, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = write_xlsx(tmp_path / "list.xlsx", MESSY)
    assert run(sqlite_book, act, path, "--dry-run") == 1
    said = capsys.readouterr().out
    assert "Would save 4 clients, 4 sites and 0 ponds; nothing was saved." in said
    assert "1 client waiting for an answer:\n  line 10: Alder J\n" in said
    assert "5 questions open:" in said
    assert "the telephone is the same (+44 1632 960 111)" in said
    place = tmp_path / "list.answers.csv"
    assert f"run again with --answers {place}" in said
    assert clients(sqlite_book) == ()

    answer(place, {"double line 10 = line 4": "same", "pond line 4 Koi pond": "take"})
    assert run(sqlite_book, act, path, "--answers", place) == 1
    said = capsys.readouterr().out
    assert "Saved 4 clients, 4 sites and 1 pond." in said
    assert "3 questions open:" in said
    rest = {f"pond line {line}": "leave" for line in ("4 Quarantine tank", "6 Pond 1", "6 Pond 2")}
    answer(place, rest)
    assert run(sqlite_book, act, path, "--answers", place) == 0
    assert "4 clients in the book already, passed over." in capsys.readouterr().out
    assert (len(clients(sqlite_book)), len(cards(sqlite_book))) == (4, 1)
    assert run(sqlite_book, act, path, "--answers", place) == 0
    assert (len(clients(sqlite_book)), len(cards(sqlite_book))) == (4, 1)


def test_answers_of_another_list_are_refused(
    sqlite_book: Book, act: Act, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = write_csv(tmp_path / "list.csv", MESSY)
    run(sqlite_book, act, path, "--dry-run")
    write_csv(path, [*MESSY, ["9", "Birch, Bert"]])
    capsys.readouterr()
    assert run(sqlite_book, act, path, "--answers", tmp_path / "list.answers.csv") == 1
    assert "belong to another file" in capsys.readouterr().err
    assert clients(sqlite_book) == ()
    run(sqlite_book, act, path, "--dry-run")
    assert (tmp_path / "list.answers-2.csv").exists(), "the first answers are not written over"


def test_a_column_is_corrected_by_an_answer(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    path = write_csv(
        tmp_path / "list.csv",
        [["Name", "Tel", "Box"], ["Alder, Anne", "01632 960111", "4000 l"], ["Birch", "", "3000 gal"]],
    )  # fmt: skip
    assert run(sqlite_book, act, path, "--dry-run") == 1
    place = tmp_path / "list.answers.csv"
    answer(place, {"column Box": "volume"})
    assert run(sqlite_book, act, path, "--answers", place) == 1
    answer(place, {"gallons": "us"})
    assert run(sqlite_book, act, path, "--answers", place) == 0
    # 3,000 US gallons of 3.785411784 L each: NIST SP 811.
    assert sorted(card.pond.volume_l or 0.0 for card in cards(sqlite_book)) == pytest.approx(
        [4000.0, 11_356.235], abs=0.01
    )


def test_refused_rows_lie_beside_the_list(
    sqlite_book: Book, act: Act, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    path = write_csv(tmp_path / "list.csv", [["Name", "Tel"], ["", "01632 960111"], ["Birch", ""]])
    assert run(sqlite_book, act, path) == 1
    said = capsys.readouterr().out
    assert "1 row refused:\n  line 2: The row names no client" in said
    assert "list.refused.csv; correct them there" in said
    assert run(sqlite_book, act, tmp_path / "none.csv") == 1
    assert "none.csv" in capsys.readouterr().err


def test_help_says_what_can_be_answered() -> None:
    parser = argparse.ArgumentParser()
    add_import(parser.add_subparsers())
    with pytest.raises((SystemExit, PondroundError)):
        parser.parse_args(["import", "clients"])
    from store.exchange.catch_up.asking import CHOICES
    from tui.commands.bring_clients import TELLS

    for choices in CHOICES.values():
        for choice in choices:
            assert choice in TELLS
