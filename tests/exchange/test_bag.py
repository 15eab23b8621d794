"""The offline bag: what comes into it, what comes back, and what is never brought in."""

from __future__ import annotations

import os
import random
import shutil
import sqlite3
import stat
from collections.abc import Iterator
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest
from any_book import fill_any
from bags import DAY, Kept, count, new_test, opened, play_bags, tables_at_hand
from entries import NOW, log_of, row_of
from hypothesis import given, settings
from hypothesis import strategies as st
from sqlalchemy import insert, select
from three_books import copied, state

from store.book.act import Act
from store.book.book import Book
from store.book.copies.choosing import choose
from store.book.merging.merge_ponds import merge_ponds
from store.book.merging.merge_sites import merge_sites
from store.book.people import staff
from store.book.practice import practice
from store.book.tables import table
from store.book.told.hanging import tables_in_order
from store.errors import BadInput, NotAllowed
from store.exchange.bag.kept_rows import BESIDE
from store.exchange.bag.marks import bag_of, said_age
from store.exchange.bag.packing import CLOSED, pack
from store.exchange.bag.unpacking import look_into, unpack
from store.record.brought import told_brought
from store.record.sides import told_differing


@pytest.fixture(scope="module", autouse=True)
def at_hand(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    with tables_at_hand(tmp_path_factory.mktemp("empty") / "empty.pondround"):
        yield


@pytest.fixture
def home(book: Book, act: Act) -> Kept:
    return Kept(book, act)


@pytest.fixture
def sqlite_home(sqlite_book: Book, sqlite_act: Act) -> Kept:
    return Kept(sqlite_book, sqlite_act)


@pytest.fixture
def sqlite_act(sqlite_book: Book) -> Act:
    return Act(staff(sqlite_book)[0].id, NOW)


# Packing


def test_a_bag_holds_the_round_and_nothing_of_other_clients(home: Kept, tmp_path: Path) -> None:
    near, far = (new_test(home.book, home.act, pond) for pond in (home.pond, home.far))
    packed = home.pack(tmp_path / "bag.pondround")
    assert (packed.visits, packed.sites, packed.others) == (1, 1, ())
    if os.name != "nt":
        assert stat.S_IMODE(packed.path.stat().st_mode) == 0o600
    assert [one.name for one in tmp_path.iterdir()].count("bag.pondround") == 1
    text = packed.path.read_bytes()
    for theirs in (b"Brook Farm", b"01632 960222"):
        assert theirs not in text
    assert far.bytes not in text
    with opened(packed.path) as bag:
        said = bag_of(bag)
        assert said is not None
        assert said.ponds == {home.pond, home.twin}
        assert (said.day, said.vet, said.by) == (DAY, "Ada Vet", "Ada Vet")
        assert said.copy != said.from_copy
        assert said_age(said, NOW + timedelta(hours=5)) == "5 h ago"
        assert row_of(bag, "water_test", near).pond_id == home.pond
        assert len(log_of(bag, near)) == 1
        assert count(bag, "reading") == 1
        assert count(bag, "change") == count(bag, "change_link")
        new_test(bag, home.act, home.pond)  # a book like any other
        with pytest.raises(NotAllowed, match="a bag itself"):
            pack(bag, home.act, DAY, home.act.by, tmp_path / "again.pondround")
    with pytest.raises(BadInput, match="something at"):
        home.pack(packed.path)
    assert sorted(tmp_path.glob("*being*")) == []


def test_where_nothing_is_booked_that_is_said_and_others_can_be_named(
    sqlite_home: Kept, tmp_path: Path
) -> None:
    home, path = sqlite_home, tmp_path / "bag.pondround"
    other_day = DAY + timedelta(days=1)
    with pytest.raises(BadInput, match="No visit of Ada Vet is booked on 17 Mar 2026"):
        pack(home.book, home.act, other_day, home.act.by, path)
    assert not path.exists()
    packed = pack(home.book, home.act, other_day, home.act.by, path, also_ponds=[home.far])
    assert packed.bag.ponds == {home.far}
    with opened(path) as bag:
        assert count(bag, "visit") == 0


@settings(max_examples=2)
@given(seed=st.integers(0, 2**32))
def test_every_table_comes_by_what_its_rows_point_at(
    sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory, seed: int
) -> None:
    """Any rows in every table: the bag opens whole, and what is left out is somebody else's."""
    place = tmp_path_factory.mktemp("any")
    (place / "home.pondround").write_bytes(sqlite_template.read_bytes())
    with opened(place / "home.pondround") as book:
        fill_any(book, random.Random(seed), most=4)
        with book.reading() as connection:
            ponds = connection.execute(select(table("pond").c.id)).scalars().all()
        act = Act(staff(book, struck=True)[0].id, NOW)
        whole = state(book)
        packed = pack(
            book, act, DAY, act.by, place / "bag.pondround", also_ponds=list(ponds),
        )  # fmt: skip
        with opened(packed.path) as bag, closing(sqlite3.connect(packed.path)) as raw:
            assert raw.execute("PRAGMA foreign_key_check").fetchall() == []
            found = state(bag)
            for one in tables_in_order():
                if one.name in BESIDE:
                    continue
                # With every pond, all comes but what hangs on clients or sites without one, and
                # files and calls of nobody that nothing points at.
                missing = set(map(repr, whole[one.name])) - set(map(repr, found[one.name]))
                assert not set(map(repr, found[one.name])) - set(map(repr, whole[one.name]))
                if one.name not in MAY_BE_LEFT:
                    assert missing == set(), one.name


MAY_BE_LEFT = {
    "client", "site", "sheet_shape", "visit", "follow_up", "contact_attempt", "call_note", "import_file",
    "drive_time", "booking", "visit_purpose", "follow_up_day", "visit_terms", "kit", "lab_sample",
    "examination", "examined_fish", "preparation", "exam_finding",
}  # fmt: skip
"""Tables whose rows may hang on a client or site that has no pond in the bag."""


def test_passphrases_of_others_stay_at_home(sqlite_home: Kept, tmp_path: Path) -> None:
    home = sqlite_home
    with home.book.writing(home.act) as writing:
        bo = writing.add("staff", name="Bo", role="receptionist")
        writing.connection.execute(insert(table("sign_in")), [
            {"staff_id": key, "passphrase": f"hash of {key}", "login": "", "changed_at": NOW,
             "changed_by": home.act.by}
            for key in (bo, home.act.by)
        ])  # fmt: skip
    packed = home.pack(tmp_path / "bag.pondround")
    assert f"hash of {bo}".encode() not in packed.path.read_bytes()
    with opened(packed.path) as bag, bag.reading() as connection:
        sign_in = table("sign_in").c
        rows = connection.execute(select(sign_in.staff_id, sign_in.passphrase)).all()
        assert {key: said for key, said in rows} == {  # noqa: C416
            bo: CLOSED, home.act.by: f"hash of {home.act.by}"
        }  # fmt: skip


# Unpacking


def test_the_day_comes_back_and_once_more_changes_nothing(home: Kept, tmp_path: Path) -> None:
    packed = home.pack(tmp_path / "bag.pondround")
    with opened(packed.path) as bag:
        test = new_test(bag, home.act, home.pond)
        with bag.writing(home.act) as writing:
            writing.change("visit", home.visit, 1, state="done")
    looked = look_into(home.book, packed.path, NOW)
    assert (looked.entered, looked.changed) == ({"water_test": 1}, {"visit": 1})
    found = home.unpack(packed.path)
    assert found.joined.added == {"water_test": [test]}
    assert row_of(home.book, "visit", home.visit).state == "done"
    told = told_brought(home.book, found)
    assert told.head == (
        "Brought back from the bag for 16 Mar 2026, Ada Vet: 1 record entered, 1 changed."
    )
    assert told.places == (
        ("Alder House, Garden", "changed: 1 visit"),
        ("Alder House, Lily pond", "1 water test"),
    )
    before, stamp = state(home.book), home.book.stamp()
    again = home.unpack(packed.path, minutes=5)
    assert again.nothing_new
    assert "Nothing new" in told_brought(home.book, again).head
    assert (state(home.book), home.book.stamp()) == (before, stamp)
    assert packed.path.exists()


def test_the_one_file_holds_all_of_it_while_it_is_open(home: Kept, tmp_path: Path) -> None:
    """Whoever carries the file home leaves nothing behind in files beside it."""
    packed, carried = home.pack(tmp_path / "bag.pondround"), tmp_path / "carried.pondround"
    with opened(packed.path) as bag, opened(packed.path) as beside, beside.reading():
        assert practice(beside) is not None
        test = new_test(bag, home.act, home.pond)
        shutil.copyfile(packed.path, carried)
        assert [one.name for one in tmp_path.glob("bag*")] == [packed.path.name]
    assert home.unpack(carried).joined.added == {"water_test": [test]}


def test_a_file_in_which_nothing_was_entered_may_be_the_wrong_one(
    sqlite_home: Kept, tmp_path: Path
) -> None:
    found = sqlite_home.unpack(sqlite_home.pack(tmp_path / "bag.pondround").path)
    told = told_brought(sqlite_home.book, found)
    assert "nothing was entered in this file" in told.head
    assert "delete nothing" in told.file


def test_what_both_sides_changed_stands_side_by_side_until_somebody_chooses(
    sqlite_home: Kept, tmp_path: Path
) -> None:
    home = sqlite_home
    packed = home.pack(tmp_path / "bag.pondround")
    with opened(packed.path) as bag, bag.writing(home.act) as writing:
        writing.change("pond", home.pond, 1, depth_m=1.4, name="Lily basin")
    later = Act(home.act.by, NOW + timedelta(hours=2))
    with home.book.writing(later) as writing:
        writing.change("pond", home.pond, 1, depth_m=1.6)
    found = home.unpack(packed.path)
    (one,) = told_brought(home.book, found).differing
    assert one.what == "pond Lily basin"
    (group,) = one.groups
    assert (group.labels, group.before) == (("depth",), ("",))
    assert [(side.where, side.by, side.said) for side in group.sides] == [
        ("bag for 16 Mar 2026, Ada Vet", "Ada Vet", ("1.4 m",)),
        ("here", "Ada Vet", ("1.6 m",)),
    ]
    assert told_differing(home.book) == (one,)
    choose(home.book, later, "pond", home.pond, one.rev, group.sides[0].values, "as measured")
    assert row_of(home.book, "pond", home.pond).depth_m == 1.4
    assert told_differing(home.book) == ()


def test_what_may_be_the_same_twice_is_told(sqlite_home: Kept, tmp_path: Path) -> None:
    home = sqlite_home
    with home.book.writing(home.act) as writing:
        course = writing.add(
            "course", pond_id=home.pond, reason="flukes", volume_l=9000.0, volume_low_l=8000.0,
            volume_high_l=10_000.0, use="ornamental", state="running",
        )  # fmt: skip
        step = writing.add(
            "course_step", course_id=course, place=1, agent="salt", route="bath", dose=3.0,
            unit="g/L", strength_percent=100.0, strength_basis="w/w", volume_l=9000.0,
            standing="common practice",
        )  # fmt: skip
        dose = writing.add(
            "course_dose", step_id=step, nth=1, due_on=DAY, dose=3.0, amount=27_000.0,
            amount_unit="g",
        )  # fmt: skip
    packed = home.pack(tmp_path / "bag.pondround")
    with opened(packed.path) as bag:
        for minutes, book in ((0, bag), (40, home.book)):
            new_test(book, home.act, home.pond, minutes)
            at = NOW + timedelta(minutes=minutes)
            with book.writing(Act(home.act.by, at)) as writing:
                writing.add(
                    "dose_given", dose_id=dose, given_at=at, dose=3.0, amount=27_000.0,
                    amount_unit="g", given_by="Ada",
                )  # fmt: skip
                writing.change("course_dose", dose, 1, state="given")
    found = home.unpack(packed.path)
    assert [one.what for one in found.beside] == ["dose", "test"]
    assert found.joined.differing == []  # both say that it was given
    told = told_brought(home.book, found)
    assert "27,000 g, 14 Mar 2026 07:30, Ada (brought back)" in told.look[0]
    assert "27,000 g, 14 Mar 2026 08:10, Ada (here)" in told.look[0]
    assert "within an hour" in told.look[1]


def test_what_comes_back_to_a_pond_that_was_merged_moves_on(
    sqlite_home: Kept, tmp_path: Path
) -> None:
    home = sqlite_home
    packed = home.pack(tmp_path / "bag.pondround")
    with opened(packed.path) as bag:
        test = new_test(bag, home.act, home.pond)
        with bag.writing(home.act) as writing:
            file = writing.add(
                "import_file", name="l.csv", sha256="0" * 64, kind="logger", rows_read=1,
                rows_saved=1, rows_refused=0,
            )  # fmt: skip
            writing.add_many("logger_reading", [{
                "pond_id": home.pond, "parameter": "temperature", "at": NOW, "value": 19.0,
                "import_file_id": file,
            }])  # fmt: skip
    merge_ponds(home.book, home.act, home.twin, home.pond, "one liner under both")
    found = home.unpack(packed.path)
    assert row_of(home.book, "water_test", test).pond_id == home.twin
    assert [(one.emptied, one.kept) for one in found.moved] == [(home.pond, home.twin)]
    assert found.on_struck == ()
    line = log_of(home.book, test)[-1]
    assert (line.what, line.by) == ("change", home.act.by)
    with home.book.reading() as connection:
        for name in ("logger_reading", "logger_day"):
            series = table(name)  # type: ignore[arg-type]
            assert connection.execute(select(series.c.pond_id)).scalars().all() == [home.twin]
    (look,) = told_brought(home.book, found).look
    assert look == (
        "Lily pond was merged into Reed pond meanwhile. What came back to it moved on: 1 water "
        "test, 1 value of loggers."
    )
    assert home.unpack(packed.path, minutes=5).nothing_new


def test_what_comes_back_to_a_site_that_was_merged_or_a_pond_that_was_struck(
    sqlite_home: Kept, tmp_path: Path
) -> None:
    home = sqlite_home
    with home.book.writing(home.act) as writing:
        stays = writing.add("site", client_id=home.client, name="Garden, back")
    packed = home.pack(tmp_path / "bag.pondround")
    with opened(packed.path) as bag:
        test = new_test(bag, home.act, home.pond)
        with bag.writing(home.act) as writing:
            new = writing.add("pond", site_id=home.site, name="Bog pond")
    merge_sites(home.book, home.act, stays, home.site, "the same gate")
    with home.book.writing(home.act) as writing:
        writing.strike("pond", home.pond, "filled in")
    found = home.unpack(packed.path)
    assert row_of(home.book, "pond", new).site_id == stays
    assert row_of(home.book, "water_test", test).pond_id == home.pond
    told = told_brought(home.book, found)
    assert told.look == (
        "Garden was merged into Garden, back meanwhile. What came back to it moved on: 1 pond.",
        "Pond Lily pond is struck through (filled in). What came back to it (1 water test) is "
        "kept, and is seen again once the pond is restored.",
    )


# What is never brought in


@pytest.fixture
def used(sqlite_home: Kept, tmp_path: Path) -> Iterator[tuple[Kept, Path]]:
    """A bag in which somebody worked, and the book as it was before it comes back."""
    packed = sqlite_home.pack(tmp_path / "bag.pondround")
    with opened(packed.path) as bag:
        new_test(bag, sqlite_home.act, sqlite_home.pond)
    before = state(sqlite_home.book)
    yield sqlite_home, packed.path
    assert state(sqlite_home.book) == before


def _altered(path: Path, *statements: str) -> None:
    with closing(sqlite3.connect(path, isolation_level=None)) as raw:
        for one in statements:
            raw.execute(one)


@pytest.mark.parametrize(
    "statements",
    [
        ("UPDATE pond SET name = 'Other pond' WHERE name = 'Lily pond'",),
        ("DROP TRIGGER tr_reading_no_update", "UPDATE reading SET value = 4.0"),
        ("DROP TRIGGER tr_change_no_update", "UPDATE change SET why = 'x' WHERE rowid > 0"),
        ("UPDATE water_test SET taken_at = taken_at - 86400000",),
    ],
)
def test_an_altered_bag_is_refused(used: tuple[Kept, Path], statements: tuple[str, ...]) -> None:
    home, path = used
    _altered(path, *statements)
    with pytest.raises(BadInput, match=r"altered outside|not as it was written"):
        home.unpack(path)


@pytest.mark.parametrize("share", [0.02, 0.4, 0.97])
def test_a_bag_that_is_cut_off_is_refused(used: tuple[Kept, Path], share: float) -> None:
    home, path = used
    whole = path.read_bytes()
    path.write_bytes(whole[: int(len(whole) * share)])
    with pytest.raises(BadInput, match=r"cut off.*Nothing was brought in"):
        home.unpack(path)


def test_what_is_no_bag_of_this_practice_is_refused(used: tuple[Kept, Path]) -> None:
    home, path = used
    _altered(path, "UPDATE alembic_version SET version_num = '0999'")
    with pytest.raises(BadInput, match="newer Pondround"):
        home.unpack(path)
    path.with_name("note.txt").write_text("no bag", "utf-8")
    with pytest.raises(BadInput, match="no bag and no copy"):
        home.unpack(path.with_name("note.txt"))
    other = path.with_name("other.db")
    _altered(other, "CREATE TABLE a (b)")
    with pytest.raises(BadInput, match="a database, but no bag"):
        home.unpack(other)
    with pytest.raises(BadInput, match="no file at"):
        home.unpack(path.with_name("gone"))


# Any order


@settings(max_examples=3)
@given(seed=st.integers(0, 2**32))
def test_in_whatever_order_bags_come_back_the_book_ends_the_same(
    sqlite_template: Path, tmp_path_factory: pytest.TempPathFactory, seed: int
) -> None:
    play_bags(sqlite_template, tmp_path_factory.mktemp("bags"), seed)


def test_a_whole_copy_of_the_book_is_taken_too(sqlite_home: Kept, tmp_path: Path) -> None:
    home = sqlite_home
    with copied(Path(home.book.name), tmp_path / "copy.pondround") as copy:
        test = new_test(copy, home.act, home.far)
    found = home.unpack(tmp_path / "copy.pondround")
    assert (found.bag, found.joined.added) == (None, {"water_test": [test]})
    assert "deleted" not in told_brought(home.book, found).file
    with pytest.raises(BadInput, match="is the book that is open"):
        home.unpack(Path(home.book.name))
    bag = home.pack(tmp_path / "bag.pondround")
    with opened(bag.path) as inside, pytest.raises(NotAllowed, match="bag itself"):
        unpack(inside, home.act, tmp_path / "copy.pondround")
