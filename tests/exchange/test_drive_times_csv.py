"""Drive times out of a sheet: places by everything that names exactly one, nothing twice."""

from __future__ import annotations

import argparse
from datetime import timedelta
from pathlib import Path

import pytest
from sheets import add_ponds, sheet

from store.book.act import Act
from store.book.book import Book
from store.exchange.plain.drive_times_csv import read_drive_times, save_drive_times
from store.travel.drive_times import drive_times, set_drive_time
from store.travel.ways import PRACTICE
from tui.commands.bring import add_import, run_import

GOOD = """from,to,minutes,km,note
AV,"Brook House, Garden",25,"18,5",
P-1,Mere Farm,12.5,,by the ford
the practice,mere  FARM,0,,
Mere Farm,P-2,14,,
"""


@pytest.fixture
def ponds(book: Book, act: Act) -> None:
    add_ponds(book, act, "Upper pond", "Lower pond")
    with book.writing(act) as writing:
        client = writing.add("client", name="Ann Oak")
        writing.add("site", client_id=client, name="Mere Farm")
        staff = next(iter(_staff(book)))
        writing.change("staff", staff.id, staff.rev, initials="AV")


def _staff(book: Book) -> tuple[object, ...]:
    from store.book.people import staff

    return staff(book)


def run(book: Book, act: Act, *words: str | Path) -> int:
    parser = argparse.ArgumentParser()
    add_import(parser.add_subparsers())
    return run_import(parser.parse_args(["import", *map(str, words)]), book, act)


def bring(book: Book, act: Act, path: Path) -> tuple[int, int, int]:
    done = save_drive_times(book, act, read_drive_times(path, book))
    return done.added, done.already, done.refused


@pytest.mark.usefixtures("ponds")
def test_every_way_of_naming_a_place(book: Book, act: Act, tmp_path: Path) -> None:
    path = sheet(tmp_path, GOOD, "drives.csv")
    assert bring(book, act, path) == (4, 0, 0)
    found = {(one.start.kind, one.goal.kind, one.minutes): one for one in drive_times(book)}
    assert set(found) == {
        ("vet", "site", 25.0), ("site", "site", 12.5), ("practice", "site", 0.0),
        ("site", "site", 14.0),
    }  # fmt: skip
    assert found["vet", "site", 25.0].km == 18.5
    assert found["vet", "site", 25.0].said == "the practice's table of 14 Mar 2026"
    assert found["vet", "site", 25.0].file == "drives.csv"
    by_the_ford = found["site", "site", 12.5]
    assert by_the_ford.said == "the practice's table of 14 Mar 2026: by the ford"
    # Both ponds lie at one site: the two rows between the sites are one way and its way back.
    back = found["site", "site", 14.0]
    assert (by_the_ford.start, by_the_ford.goal) == (back.goal, back.start)


@pytest.mark.usefixtures("ponds")
def test_twice_adds_nothing_twice(book: Book, act: Act, tmp_path: Path) -> None:
    path = sheet(tmp_path, GOOD)
    assert bring(book, act, path) == (4, 0, 0)
    assert bring(book, act, path) == (0, 4, 0)
    assert len(drive_times(book)) == 4


@pytest.mark.usefixtures("ponds")
def test_the_same_file_does_not_undo_what_was_set_by_hand_since(
    book: Book, act: Act, tmp_path: Path
) -> None:
    path = sheet(tmp_path, "from,to,minutes\npractice,Mere Farm,10\n")
    assert bring(book, act, path) == (1, 0, 0)
    (one,) = drive_times(book)
    with book.writing(Act(act.by, act.at + timedelta(minutes=1))) as writing:
        set_drive_time(writing, PRACTICE, one.goal, 16, source="bridge closed")
    assert bring(book, Act(act.by, act.at + timedelta(minutes=2)), path) == (0, 1, 0)
    assert [one.minutes for one in drive_times(book)] == [16]
    other = sheet(tmp_path, "from,to,minutes\npractice,Mere Farm,10\n\n", "new.csv")
    assert bring(book, Act(act.by, act.at + timedelta(minutes=3)), other) == (1, 0, 0)
    assert [one.minutes for one in drive_times(book)] == [10]


@pytest.mark.usefixtures("ponds")
def test_a_plan_that_waited_doubles_nothing(book: Book, act: Act, tmp_path: Path) -> None:
    plan = read_drive_times(sheet(tmp_path, GOOD), book)
    save_drive_times(book, act, plan)
    done = save_drive_times(book, act, plan)
    assert (done.added, done.already) == (0, 4)


BAD = """from,to,minutes,km
Garden,Mere Farm,10,
Ann Oak,practice,10,
Nowhere,practice,10,
,practice,10,
practice,practice,10,
practice,Mere Farm,,
practice,Mere Farm,1:05,
practice,Mere Farm,-4,
practice,Mere Farm,9999,
practice,P-1,20,
practice,P-2,21,
practice,P-2,20,
"""


@pytest.mark.usefixtures("ponds")
def test_doubtful_rows_are_refused_with_the_reason(
    book: Book, act: Act, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with book.writing(act) as writing:
        for name in ("Garden", "Bank"):
            writing.add("site", client_id=writing.add("client", name="Bea Ash"), name=name)
        writing.add("site", client_id=writing.add("client", name="Ann Oak"), name="Weir")
    path = sheet(tmp_path, BAD, "drives.csv")
    assert run(book, act, "drives", path, "--dry-run") == 1
    assert "Would save 1 drive time; nothing was saved." in capsys.readouterr().out
    assert drive_times(book) == ()
    assert run(book, act, "drives", path) == 1
    said = capsys.readouterr().out
    assert "Saved 1 drive time." in said
    assert "1 in the book already, passed over." in said
    refused = (tmp_path / "drives.refused.csv").read_text(encoding="utf-8").splitlines()[1:]
    for line, part in zip(
        refused,
        (
            "“Garden” may be 2 places: Brook House, Garden; Bea Ash, Garden",
            "“Ann Oak” may be 2 places",
            "No place goes by “Nowhere”",
            "from where to where",
            "takes no time",
            "how many minutes",
            "should be a number, not “1:05”",
            "between 0",
            "between 0",
            "Line 11 of the file says something else of the same way.",
        ),
        strict=True,
    ):
        assert part in line.replace('""', '"'), line
    assert [one.minutes for one in drive_times(book)] == [20]


def test_a_file_without_minutes(book: Book, tmp_path: Path) -> None:
    from store.errors import BadInput

    with pytest.raises(BadInput, match="no column minutes"):
        read_drive_times(sheet(tmp_path, "from,to,km\n"), book)


def test_the_places_of_an_empty_book(book: Book, act: Act, tmp_path: Path) -> None:
    path = sheet(tmp_path, "from,to,minutes\nAda Vet,Test practice,9\n")
    assert bring(book, act, path) == (1, 0, 0)
    (one,) = drive_times(book)
    assert (one.start.kind, one.goal) == ("vet", PRACTICE)
