"""However three copies of a book are written and brought together, they end in the same state."""

from __future__ import annotations

import random
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from entries import NOW, add_pond, log_of, row_of
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import insert, select
from three_books import Writer, bring, copied, play, state, whose

from store.book.act import Act
from store.book.book import Book
from store.book.columns import Base
from store.book.copies.choosing import choose, unsettled
from store.book.copies.log import new_copy
from store.book.opening import open_book
from store.book.ponds import ponds
from store.book.practice import begin
from store.book.tables import table
from store.errors import BadInput, ChangedMeanwhile


@pytest.fixture(scope="module")
def begun(sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A book with two ponds."""
    path = tmp_path_factory.mktemp("begun") / "begun.pondround"
    path.write_bytes(sqlite_template.read_bytes())
    with open_book(path, now=NOW) as book:
        for name in ("Upper pond", "Lower pond"):
            add_pond(book, whose(book), name=name)
    return path


@settings(max_examples=8)
@given(seed=st.integers(0, 2**32))
def test_any_order_of_writing_and_bringing_together_ends_in_one_state(
    begun: Path, tmp_path_factory: pytest.TempPathFactory, seed: int
) -> None:
    play(begun, tmp_path_factory.mktemp("three"), seed)


@pytest.fixture
def two(begun: Path, tmp_path: Path) -> Iterator[tuple[Book, Book]]:
    with (
        copied(begun, tmp_path / "home.pondround") as home,
        copied(begun, tmp_path / "away.pondround") as away,
    ):
        yield home, away


def _first(book: Book) -> Any:
    return ponds(book)[0]


def _set(book: Book, key: UUID, minutes: int = 0, **values: Any) -> None:
    at = NOW + timedelta(minutes=minutes)
    with book.writing(whose(book, at)) as writing:
        writing.change("pond", key, row_of(book, "pond", key).rev, **values)


def test_different_columns_of_one_row_are_both_kept(two: tuple[Book, Book]) -> None:
    home, away = two
    pond = _first(home).id
    _set(home, pond, name="Koi house")
    _set(away, pond, filter="beads")
    for into, out in (two, two[::-1]):
        found = bring(into, out)
        assert (found.lines, found.changed) == (1, {"pond": [pond]})
        row = row_of(into, "pond", pond)
        assert (row.name, row.filter, row.rev) == ("Koi house", "beads", 3)
        assert unsettled(into) == ()
    assert state(home) == state(away)


def test_the_same_column_waits_for_a_choice_and_nothing_is_overwritten_unseen(
    two: tuple[Book, Book],
) -> None:
    home, away = two
    pond = _first(home).id
    _set(home, pond, minutes=1, name="Koi house")
    _set(away, pond, minutes=-60, name="Lily pond")  # its clock was set back
    stale = row_of(home, "pond", pond).rev
    bring(home, away)
    with home.writing(whose(home)) as writing, pytest.raises(ChangedMeanwhile):
        writing.change("pond", pond, stale, name="Third")  # whoever had the form open sees it
    (one,) = unsettled(home)
    (difference,) = one.differences
    assert difference.columns == ("name",)
    assert difference.before == {"name": _before(home, pond)}
    assert [side.values["name"] for side in difference.sides] == ["Lily pond", "Koi house"]
    assert row_of(home, "pond", pond).name == "Koi house"  # the later stands until then
    choose(home, whose(home), "pond", pond, one.rev, {"name": "Lily pond"}, "as on its sign")
    assert row_of(home, "pond", pond).name == "Lily pond"
    assert unsettled(home) == ()
    bring(away, home)
    assert row_of(away, "pond", pond).name == "Lily pond"
    assert unsettled(away) == ()
    assert bring(home, away).lines == 0


def _before(book: Book, pond: UUID) -> str:
    return next(one.after["name"] for one in log_of(book, pond) if one.what == "add")


def test_two_choices_apart_are_asked_about_again(two: tuple[Book, Book]) -> None:
    home, away = two
    pond = _first(home).id
    _set(home, pond, name="Koi house")
    _set(away, pond, name="Lily pond")
    bring(home, away)
    bring(away, home)
    for book, name in ((home, "Koi house"), (away, "Lily pond")):
        (one,) = unsettled(book)
        choose(book, whose(book), "pond", pond, one.rev, {"name": name}, "I was there")
    bring(home, away)
    (one,) = unsettled(home)
    assert {side.values["name"] for side in one.differences[0].sides} == {"Koi house", "Lily pond"}


def test_the_same_change_on_both_sides_is_no_difference(two: tuple[Book, Book]) -> None:
    for book in two:
        _set(book, _first(book).id, depth_m=1.4)
    bring(*two)
    assert unsettled(two[0]) == ()


def test_what_belongs_together_comes_from_one_side(two: tuple[Book, Book]) -> None:
    home, away = two
    pond = _first(home).id
    for book, litres in ((home, 900.0), (away, 90_000.0)):
        _set(book, pond, volume_l=litres, volume_low_l=litres - 1, volume_high_l=litres + 1)
    found = bring(home, away)
    ((name, key, (difference,)),) = found.differing
    assert (name, key) == ("pond", pond)
    assert {"volume_l", "volume_low_l", "volume_high_l"} < set(difference.columns)
    row = row_of(home, "pond", pond)
    assert row.volume_high_l - row.volume_low_l == 2
    (one,) = unsettled(home)
    with pytest.raises(BadInput, match="one side"):
        choose(home, whose(home), "pond", pond, one.rev, {"volume_l": 900.0}, "half of it")


def test_one_side_struck_what_the_other_changed(two: tuple[Book, Book]) -> None:
    home, away = two
    pond = _first(home).id
    with home.writing(whose(home)) as writing:
        writing.strike("pond", pond, "filled in")
    _set(away, pond, name="Lily pond")
    found = bring(home, away)
    assert found.struck == [("pond", pond)]
    row = row_of(home, "pond", pond)
    assert (row.name, row.struck_why) == ("Lily pond", "filled in")


def test_rows_of_both_sides_are_kept_with_their_readings(two: tuple[Book, Book]) -> None:
    home, away = two
    pond = _first(home).id
    for book, typed in ((home, "19C"), (away, "20C")):
        with book.writing(whose(book)) as writing:
            test = writing.add("water_test", pond_id=pond, taken_at=NOW, way="line")
            reading = {"test_id": test, "parameter": "temperature", "typed": typed, "value": 19.0}
            writing.add_many("reading", [reading | {"unit": "", "form": ""}])
    found = bring(home, away)
    assert (len(found.added["water_test"]), found.changed) == (1, {})
    with home.reading() as connection:
        typed = connection.execute(select(table("reading").c.typed)).scalars()
        assert sorted(typed) == ["19C", "20C"]
    assert bring(home, away).lines == 0


def test_other_practices_and_altered_logs_are_refused(
    two: tuple[Book, Book], tmp_path: Path
) -> None:
    home, away = two
    with open_book(tmp_path / "other.pondround", now=NOW, create=True) as other:
        begin(other, NOW, practice="Another", time_zone="UTC", person="Bo", role="vet")
        with pytest.raises(BadInput, match="not two copies") as told:
            bring(home, other)
        assert "Another" in told.value.message
    _set(away, _first(away).id, name="Lily pond")
    with away.engine.connect().execution_options(pondround_writes=True) as connection:
        for statement in (
            "DROP TRIGGER tr_change_no_update", "UPDATE change SET why = 'x' WHERE what = 'change'",
        ):  # fmt: skip
            connection.exec_driver_sql(statement)
        connection.commit()
    before = state(home)
    with pytest.raises(BadInput, match="not as it was written"):
        bring(home, away)
    assert state(home) == before


def test_a_copy_comes_into_a_book_on_a_server(book: Book, act: Act, tmp_path: Path) -> None:
    """Also what points in a ring: a pond and its estimate, people who entered each other."""
    pond = add_pond(book, act)
    if book.engine.dialect.name == "sqlite":
        away = copied(Path(book.name), tmp_path / "away.pondround")
    else:
        away = open_book(tmp_path / "away.pondround", now=NOW, create=True)
        _verbatim(book, away)
    dice = random.Random(5)
    with away:
        writer = Writer(dice)
        for step in ("person", "volume", "test", "logger", "visit", "move", "rename", "place"):
            getattr(writer, step)(away)
        _set(book, pond, name="Third")
        found = bring(book, away)
        assert found.logger_values == 3
        bring(away, book)
        assert state(book) == state(away)


def _verbatim(source: Book, empty: Book) -> None:
    with (
        source.reading() as there,
        empty.engine.connect().execution_options(pondround_writes=True) as here,
        here.begin(),
    ):
        here.exec_driver_sql("PRAGMA defer_foreign_keys = ON")
        for one in Base.metadata.sorted_tables:
            rows = [dict(row) for row in there.execute(select(one)).mappings()]
            if rows and one.name != "book_meta":
                here.execute(insert(one), rows)
        new_copy(here)
