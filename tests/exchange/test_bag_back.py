"""What came back with a bag, where things went on at home meanwhile."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest
from bags import DAY, Kept, count, new_test, opened, tables_at_hand
from entries import NOW, row_of
from three_books import state

from store.book import schema
from store.book.act import Act
from store.book.book import Book
from store.book.engines import sqlite_engine
from store.book.merging.merge_clients import merge_clients
from store.book.merging.merge_ponds import merge_ponds
from store.book.people import staff
from store.book.told.hanging import PLACES, tables_in_order
from store.errors import BadInput, ChangedMeanwhile, NotAllowed
from store.exchange.bag.kept_rows import BESIDE, ONLY_POINTED_AT, anchors
from store.exchange.bag.settled import Choice, settle_all
from store.exchange.bag.unpacking import unpack
from store.record.brought import told_brought
from store.record.sides import told_differing


@pytest.fixture(scope="module", autouse=True)
def at_hand(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    with tables_at_hand(tmp_path_factory.mktemp("empty") / "empty.pondround"):
        yield


@pytest.fixture
def home(sqlite_book: Book) -> Kept:
    return Kept(sqlite_book, Act(staff(sqlite_book)[0].id, NOW))


def test_calls_and_promises_move_on_with_a_client_that_was_merged(
    home: Kept, tmp_path: Path
) -> None:
    with home.book.writing(home.act) as writing:
        stays = writing.add("client", name="Alder, Anne")
        site = writing.add("site", client_id=stays, name="Yard")
        writing.add("pond", site_id=site, name="Yard pond")
    packed = home.pack(tmp_path / "bag.pondround")
    with opened(packed.path) as bag, bag.writing(home.act) as writing:
        rung = writing.add(
            "contact_attempt", client_id=home.client, at=NOW, outcome="ring back", ring_on=DAY,
            about=f"ring:{home.client.hex}",
        )  # fmt: skip
    merge_clients(home.book, home.act, stays, home.client, "one telephone")
    found = home.unpack(packed.path)
    row = row_of(home.book, "contact_attempt", rung)
    assert (row.client_id, row.about) == (stays, f"ring:{stays.hex}")
    (look,) = told_brought(home.book, found).look
    assert "moved on: 1 attempt to ring" in look


def test_a_place_that_was_merged_twice_leads_to_the_last(home: Kept, tmp_path: Path) -> None:
    with home.book.writing(home.act) as writing:
        last = writing.add("pond", site_id=home.site, name="Reed pond, lower")
    packed = home.pack(tmp_path / "bag.pondround")
    with opened(packed.path) as bag:
        test = new_test(bag, home.act, home.pond)
    merge_ponds(home.book, home.act, home.twin, home.pond, "one water")
    with home.book.writing(Act(home.act.by, NOW + timedelta(minutes=1))) as writing:
        twin = row_of(home.book, "pond", home.twin)
        writing.change("pond", home.twin, twin.rev, name="Reeds")
    merge_ponds(home.book, home.act, last, home.twin, "one water as well")
    home.unpack(packed.path)
    assert row_of(home.book, "water_test", test).pond_id == last


def test_struck_on_one_side_and_changed_on_the_other_is_told(home: Kept, tmp_path: Path) -> None:
    packed = home.pack(tmp_path / "bag.pondround")
    with opened(packed.path) as bag, bag.writing(home.act) as writing:
        writing.change("visit", home.visit, 1, note="gate was shut")
    with home.book.writing(home.act) as writing:
        writing.strike("visit", home.visit, "rang off")
    found = home.unpack(packed.path)
    (look,) = told_brought(home.book, found).look
    assert look == (
        "Visit at Garden, 16 Mar 2026 was struck through on one side and changed on the other; it "
        "stands struck through now. Look at both in the record of changes."
    )
    row = row_of(home.book, "visit", home.visit)
    assert (row.note, row.struck_why) == ("gate was shut", "rang off")


def test_two_visits_of_one_person_at_one_hour_are_told(home: Kept, tmp_path: Path) -> None:
    from datetime import time

    packed = home.pack(tmp_path / "bag.pondround")
    with opened(packed.path) as bag:
        for book, site in ((bag, home.site), (home.book, home.far_site)):
            with book.writing(home.act) as writing:
                writing.add(
                    "visit", site_id=site, on_day=DAY, at_time=time(9), staff_id=home.act.by,
                    kind="routine",
                )  # fmt: skip
    found = home.unpack(packed.path)
    assert [one.what for one in found.beside] == ["booked"]
    assert "another one at that hour" in told_brought(home.book, found).look[0]


def test_choices_are_saved_all_or_none_and_by_whoever_may(home: Kept, tmp_path: Path) -> None:
    packed = home.pack(tmp_path / "bag.pondround")
    later = Act(home.act.by, NOW + timedelta(hours=1))
    with opened(packed.path) as bag:
        for book, act, depth in ((bag, home.act, 1.2), (home.book, later, 1.4)):
            for pond in (home.pond, home.twin):
                with book.writing(act) as writing:
                    writing.change("pond", pond, 1, depth_m=depth)
    home.unpack(packed.path)
    waiting = told_differing(home.book)
    choices = [
        Choice(one.table, one.key, one.rev, one.groups[0].sides[0].values) for one in waiting
    ]
    with pytest.raises(BadInput, match="say why"):
        settle_all(home.book, later, choices, " ")
    stale = [choices[0], Choice("pond", choices[1].key, 1, choices[1].values)]
    with pytest.raises(ChangedMeanwhile):
        settle_all(home.book, later, stale, "by a stick")
    assert told_differing(home.book) == waiting
    assert settle_all(home.book, later, choices, "by a stick") == 2
    assert row_of(home.book, "pond", home.pond).depth_m == 1.2
    assert told_differing(home.book) == ()


def test_an_older_file_is_brought_up_to_date_as_a_copy_alone(home: Kept, tmp_path: Path) -> None:
    path = tmp_path / "older.pondround"
    path.touch()
    engine = sqlite_engine(path, keep_journal=True)
    schema.upgrade(engine, schema.HEAD - 1)
    engine.dispose()
    before = path.read_bytes()
    with pytest.raises(BadInput, match="a book without a practice"):
        home.unpack(path)
    assert path.read_bytes() == before
    assert [one.name for one in tmp_path.iterdir() if one.name.startswith("older")] == [path.name]


def test_a_receptionist_brings_back_what_a_vet_prescribed_there(home: Kept, tmp_path: Path) -> None:
    with home.book.writing(home.act) as writing:
        bo = writing.add("staff", name="Bo", role="receptionist")
    packed = home.pack(tmp_path / "bag.pondround")
    values = {
        "reason": "flukes", "volume_l": 9000.0, "volume_low_l": 8000.0,
        "volume_high_l": 10_000.0, "use": "ornamental",
    }  # fmt: skip
    with opened(packed.path) as bag, bag.writing(home.act) as writing:
        course = writing.add("course", pond_id=home.pond, **values)
    with home.book.writing(Act(bo, NOW)) as writing, pytest.raises(NotAllowed):
        writing.add("course", pond_id=home.pond, **values)
    unpack(home.book, Act(bo, NOW), packed.path)
    assert row_of(home.book, "course", course).created_by == home.act.by


def test_a_course_of_a_pond_that_was_merged_is_brought_back_by_a_vet(
    home: Kept, tmp_path: Path
) -> None:
    with home.book.writing(home.act) as writing:
        bo = writing.add("staff", name="Bo", role="receptionist")
    packed = home.pack(tmp_path / "bag.pondround")
    with opened(packed.path) as bag, bag.writing(home.act) as writing:
        course = writing.add(
            "course", pond_id=home.pond, reason="flukes", volume_l=9000.0, volume_low_l=8000.0,
            volume_high_l=10_000.0, use="ornamental",
        )  # fmt: skip
    merge_ponds(home.book, home.act, home.twin, home.pond, "one pond")
    before = state(home.book)
    with pytest.raises(NotAllowed, match="let a vet bring it in"):
        unpack(home.book, Act(bo, NOW), packed.path)
    assert state(home.book) == before
    home.unpack(packed.path)
    assert row_of(home.book, "course", course).pond_id == home.twin


def test_which_tables_come_whole_was_decided_of_each() -> None:
    """A new table that points at no client comes whole: does it hold nothing of other clients?"""
    free = {
        one.name
        for one in tables_in_order()
        if one.name not in BESIDE | PLACES and not anchors(one)
    }
    assert free - ONLY_POINTED_AT == {
        "practice", "staff", "own_agent", "own_dose", "product", "letterhead",
        "visit_length", "working_hours", "air_station", "day_off", "holiday_region", "way_home",
    }  # fmt: skip
    assert {
        one.name
        for one in tables_in_order()
        if anchors(one) and all(column.nullable for column, _name in anchors(one))
    } - ONLY_POINTED_AT - PLACES == {"kit", "rule_change", "drive_time"}
    assert set(ONLY_POINTED_AT) == {"import_file", "sheet_shape", "call_note"}


def test_values_of_a_logger_that_come_back_to_a_struck_pond_have_their_days(
    home: Kept, tmp_path: Path
) -> None:
    packed = home.pack(tmp_path / "bag.pondround")
    with opened(packed.path) as bag, bag.writing(home.act) as writing:
        file = writing.add(
            "import_file", name="l.csv", sha256="0" * 64, kind="logger", rows_read=1,
            rows_saved=1, rows_refused=0,
        )  # fmt: skip
        value = {"pond_id": home.pond, "parameter": "temperature", "at": NOW, "value": 19.0}
        writing.add_many("logger_reading", [value | {"import_file_id": file}])
    with home.book.writing(home.act) as writing:
        writing.strike("pond", home.pond, "filled in")
    found = home.unpack(packed.path)
    assert count(home.book, "logger_day") == 1
    (look,) = told_brought(home.book, found).look
    assert "Pond Lily pond is struck through (filled in)" in look
