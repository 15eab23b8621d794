"""What a person said of a client list's columns is remembered; who is named where is asked."""

from __future__ import annotations

from pathlib import Path

import pytest
from client_lists import bring, write_csv

from store.book.act import Act
from store.book.book import Book
from store.book.clients import clients
from store.book.ponds import cards
from store.errors import BadInput
from store.exchange.catch_up.answers_file import read_answers, write_answers
from store.exchange.catch_up.asking import Question
from store.exchange.catch_up.read_clients import read_clients
from store.exchange.catch_up.save_clients import save_clients
from store.exchange.out.rows import Progress
from tui.commands.bring_clients import telling

FIRST = [["Name", "Tel", "Box"], ["Alder, Anne", "01632 960111", "4000 l"]]
SECOND = [["Tel", "Box", "Name"], ["01632 960222", "9000 l", "Birch, Bert"]]


def test_what_was_said_of_columns_holds_for_the_next_list_of_that_source(
    book: Book, act: Act, tmp_path: Path
) -> None:
    said = {"column Box": "volume"}
    looked_at, _ = bring(book, act, write_csv(tmp_path / "march.csv", FIRST), said)
    assert looked_at.remembers is not None
    second = write_csv(tmp_path / "april.csv", SECOND)
    again, done = bring(book, act, second)
    assert (done.added, again.remembers) == (1, None)
    assert again.remembered == (
        "Columns as was said on 14 Mar 2026 for march.csv, a list with the same "
        "headings: “Box” is volume."
    )
    assert again.plan.told[0] == again.remembered
    assert sorted(card.pond.volume_l or 0.0 for card in cards(book)) == [4000.0, 9000.0]
    other = write_csv(tmp_path / "other.csv", [["Name", "Box"], ["Rowan, Iris", "4000 l"]])
    assert read_clients(other, book).remembered == "", "other headings are another source"


def test_columns_can_be_taken_afresh_and_what_was_said_forgotten(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    bring(sqlite_book, act, write_csv(tmp_path / "a.csv", FIRST), {"column Box": "volume"})
    second = write_csv(tmp_path / "b.csv", SECOND)
    remembered = read_clients(second, sqlite_book)
    place = write_answers(remembered, {})
    assert remembered.remembered.replace("“", "") in place.read_text("utf-8").replace("“", "")
    looked_at = read_clients(second, sqlite_book, answers={"columns": "afresh"})
    assert looked_at.remembered == ""
    assert {one.heading: one.why for one in looked_at.shape.columns}["Box"] != "as a person said"
    place = write_answers(looked_at, {"columns": "afresh"})
    assert read_answers(place, second) == {"columns": "afresh"}
    save_clients(sqlite_book, act, looked_at)
    assert read_clients(second, sqlite_book).remembered == "", "forgotten with the next saving"
    with pytest.raises(BadInput, match="no answer to “columns”"):
        read_clients(second, sqlite_book, answers={"columns": "fresh"})


def _asked(questions: tuple[Question, ...]) -> dict[str, tuple[str, ...]]:
    return {one.key: one.choices for one in questions}


def test_where_no_heading_says_it_the_names_are_asked_for_and_never_guessed(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    rows = [
        ["Lot", "Who", "Where"], ["1", "Alder, Anne", "Wick"], ["2", "Birch, Bert", "Tarn"],
    ]  # fmt: skip
    path = write_csv(tmp_path / "list.csv", rows)
    looked_at = read_clients(path, sqlite_book)
    assert (looked_at.clients, looked_at.plan.items) == ((), ())
    assert _asked(looked_at.open_questions) == {
        "heading": ("yes", "no", "open"), "names": ("B", "C", "open"),
    }  # fmt: skip
    names = looked_at.questions[1]
    assert names.means("B") == "column B: Who, Alder, Anne, Birch, Bert"
    assert save_clients(sqlite_book, act, looked_at).added == 0
    one = read_clients(path, sqlite_book, answers={"names": "B"})
    assert _asked(one.open_questions) == {"heading": ("yes", "no", "open")}
    both = {"names": "B", "heading": "yes", "column Where": "town"}
    bring(sqlite_book, act, path, both)
    assert [one.name for one in clients(sqlite_book)] == ["Anne Alder", "Bert Birch"]
    # The next list of that source asks nothing: “Who” are the names there.
    rows[1:] = [["3", "Rowan, Iris", "Wick"]]
    bring(sqlite_book, act, write_csv(tmp_path / "next.csv", rows))
    assert len(clients(sqlite_book)) == 3


def test_a_list_without_headings_is_asked_for_its_names_alone(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    rows = [["Alder, Anne", "01632 960111"], ["Birch, Bert", "01632 960222"]]
    path = write_csv(tmp_path / "list.csv", rows)
    assert _asked(read_clients(path, sqlite_book).open_questions) == {"names": ("A", "open")}
    looked_at, done = bring(sqlite_book, act, path, {"names": "a"})
    assert (done.added, looked_at.remembers) == (2, None), "without headings there is no source"


def test_only_a_heading_that_stands_once_is_remembered(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    """Of two columns with one heading the letter tells, which may be another in the next list."""
    rows = [["Client", "Box", "Box", "B"], ["Alder, Anne", "4000 l", "blue", "Wick"]]
    said = {"column C": "ignore", "column B": "town"}
    path = write_csv(tmp_path / "list.csv", rows)
    looked_at, _ = bring(sqlite_book, act, path, said)
    assert [one.meaning for one in looked_at.shape.columns] == ["name", "remarks", "ignore", "town"]
    assert looked_at.remembers is not None
    assert looked_at.remembers[1] == {"B": "town"}, "the column headed B, not the second one"
    again = read_clients(path, sqlite_book)
    assert again.shape.columns[3].meaning == "town"
    assert again.plan.items == ()


def test_how_far_a_long_list_is_is_told(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    rows = [["Name", "Tel"], *([f"Alder {at}", f"01632 {960000 + at}"] for at in range(30))]
    told: list[Progress] = []
    path = write_csv(tmp_path / "list.csv", rows)
    looked_at = read_clients(path, sqlite_book, told=told.append)
    save_clients(sqlite_book, act, looked_at, told=told.append)
    said = [telling(one) for one in told]
    assert said[0] == "comparing 0 of 30 clients"
    assert "reading 0 of 30 clients" in said
    assert said[-1] == f"saving {len(looked_at.plan.items)} of {len(looked_at.plan.items)} clients"
