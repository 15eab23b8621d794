"""Mortality books in the shapes that keepers write: counted, asked about, never doubled."""

from __future__ import annotations

from datetime import date, datetime
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from sheets import NOW, add_ponds, planned, sheet
from test_import_command import run

from store.book.act import Act
from store.book.book import Book
from store.book.events import record_event
from store.errors import BadInput, PondroundError
from store.exams.deaths import NewDeaths, deaths_of, record_deaths
from store.exams.head_counts import record_head_count
from store.exchange.columns.question import AskFirst
from store.exchange.columns.said import Said
from store.exchange.fish.deaths import look_at_deaths, save_deaths
from store.exchange.fish.lengths import lengths_of
from store.exchange.plain.planned import write_refused

LONG = """Mortality book 2025;;;;;
;;;;;
Date (dd/mm/yyyy);Pond;Species;No. dead;Cause;Size (mm);Remarks
01/02/2025;Upper pond;koi;3;heron?;120-180;same net
02/02/2025;Upper pond;koi;0;;;
03/02/2025;P-2;goldfish;none;;;looked at noon
04/02/2025;Upper pond;koi;;;;
05/02/2025;Upper pond;koi;~20;;;
06/02/2025;Upper pond;;1;KHV;big one;
;;Total;4;;;
* counted by the keeper each morning;;;;;
"""


def brought(
    book: Book, act: Act, path: Path, pond: str | None = None, **answers: str
) -> tuple[int, int, int]:
    """Look at a file with these answers and save it: added, there already, refused."""
    said = Said({key.replace("__", ":"): one for key, one in answers.items()})
    preview = look_at_deaths(path, book, NOW, said=said, pond=pond)
    done = save_deaths(book, act, preview)
    return done.added, done.already, done.refused


def asked(book: Book, path: Path, pond: str | None = None, **answers: str) -> list[str]:
    said = Said({key.replace("__", ":"): one for key, one in answers.items()})
    return [one.field for one in look_at_deaths(path, book, NOW, said=said, pond=pond).questions]


def test_a_row_a_day_on_both_databases(book: Book, act: Act, tmp_path: Path) -> None:
    upper, lower = add_ponds(book, act, "Upper pond", "Lower pond")
    path = sheet(tmp_path, LONG)
    # Whether a blank kind of fish is that of the row above, nobody may guess.
    (question,) = look_at_deaths(path, book, NOW).questions
    assert (question.field, question.about) == ("blank", "Species")
    preview = look_at_deaths(path, book, NOW, said=Said().answering(question, "none"))
    plan = preview.plan
    assert plan is not None
    assert preview.questions == ()
    assert [(one.line, one.words) for one in plan.items] == [
        (4, "3 koi dead, 12 to 18 cm"),
        (5, "no koi dead"),
        (6, "no goldfish dead"),
        (9, "1 fish dead"),
    ]
    assert [(one.line, one.reason[:30]) for one in plan.refused] == [
        (8, "“~20” is no number of fish tha")
    ]
    told = " ".join(plan.told)
    assert "1 row has no number (line 7 first)" in told
    assert "Line 10 is a total" in told
    assert "Line 11 is a footnote" in told
    assert "no diagnosis" in told
    assert save_deaths(book, act, preview).added == 4
    last, none, first = deaths_of(book, upper)
    assert (first.on_day, first.dead, first.species) == (date(2025, 2, 1), 3, "koi")
    assert (first.length_low_cm, first.length_high_cm) == (12.0, 18.0)
    assert first.note == "same net; Size (mm) as written: 120-180 mm; cause as written: heron?"
    assert first.signs == []
    assert (none.dead, none.note) == (0, "")
    assert last.note == "Size (mm) as written: big one; cause as written: KHV"
    assert [one.dead for one in deaths_of(book, lower)] == [0]

    again = look_at_deaths(path, book, NOW).plan
    assert again is not None
    assert (len(again.items), again.already) == (0, 4)
    assert any("This very file" in one for one in again.told)
    assert save_deaths(book, act, preview).added == 0  # a plan from before the first was saved


def test_a_column_a_species_and_a_total_of_the_row(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    text = (
        "Day\tKoi\tGoldfish\tTotal\n2025-02-01\t2\t1\t3\n2025-02-02\t\t4\t4\n2025-02-03\t1\t1\t5\n"
    )
    assert brought(sqlite_book, act, sheet(tmp_path, text), "P-1") == (3, 0, 1)
    kept = {(one.on_day.day, one.species, one.dead) for one in deaths_of(sqlite_book, pond)}
    assert kept == {(1, "koi", 2), (1, "goldfish", 1), (2, "goldfish", 4)}


def test_a_column_a_pond_whose_dash_is_asked(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    upper, lower = add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    text = "date,Upper pond,P-2,notes\n2025-02-13,1,-,cold\n2025-02-14,,-,\n"
    path = sheet(tmp_path, text)
    assert asked(sqlite_book, path) == ["dash"]
    plan = planned(look_at_deaths, path, sqlite_book, NOW, said=Said({"dash": "blank"}))
    assert [one.deaths.dead for one in plan.items] == [1]
    assert brought(sqlite_book, act, path, dash="none") == (3, 0, 0)
    assert [one.dead for one in deaths_of(sqlite_book, upper)] == [1]
    assert [one.dead for one in deaths_of(sqlite_book, lower)] == [0, 0]
    # The meaning of the dash is remembered for the next file with these headings.
    later = sheet(tmp_path, text.replace("2025-02", "2025-03"), "later.csv")
    preview = look_at_deaths(later, sqlite_book, NOW)
    assert (preview.questions, len(preview.plan.items if preview.plan else ())) == ((), 3)
    assert any("Read as was said" in one for one in preview.told)


def test_days_both_ways_a_year_and_blanks_are_asked(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, "date,dead,length\n1/2,3,12\n,1,14\n3/2,2,\n")
    assert asked(sqlite_book, path) == ["order", "year", "blank", "pond", "unit"]
    with pytest.raises(AskFirst, match="either order"):
        planned(look_at_deaths, path, sqlite_book, NOW)
    said = {"order": "dmy", "year": "2025", "blank__date": "same", "unit": "cm"}
    assert brought(sqlite_book, act, path, "P-1", **said) == (3, 0, 0)
    assert {(one.on_day, one.dead, one.length_high_cm) for one in deaths_of(sqlite_book, pond)} == {
        (date(2025, 2, 3), 2, None), (date(2025, 2, 1), 1, 14.0), (date(2025, 2, 1), 3, 12.0),
    }  # fmt: skip


def test_a_sum_without_a_word_is_not_saved_as_dead_fish(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, "date,dead\n2025-02-01,3\n2025-02-02,1\n,4\n")
    assert asked(sqlite_book, path, "P-1", blank="same") == ["total"]
    assert brought(sqlite_book, act, path, "P-1", blank="same", total="total") == (2, 0, 0)
    assert sum(one.dead for one in deaths_of(sqlite_book, pond)) == 4


def test_titles_of_ponds_between_the_rows(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    upper, lower = add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    text = (
        "Upper pond,,\ndate,dead,by\n2025-02-13,1,Jo\n2025-02-14,x,Jo\n"
        "Lower pond,,\n2025-02-15,2,Jo\n2025-02-16,many,\n"
    )
    path = sheet(tmp_path, text)
    preview = look_at_deaths(path, sqlite_book, NOW)
    assert preview.plan is not None
    assert [one.line for one in preview.plan.refused] == [4, 7]
    beside = write_refused(preview.plan)
    assert save_deaths(sqlite_book, act, preview).added == 2
    assert beside is not None
    # What was refused goes in from the file beside it once it is corrected, to the same ponds.
    text = beside.read_text().replace(",x,", ",5,").replace(",many,", ",6,")
    assert brought(sqlite_book, act, sheet(tmp_path, text, beside.name)) == (2, 0, 0)
    assert [one.dead for one in deaths_of(sqlite_book, upper)] == [5, 1]
    assert [one.dead for one in deaths_of(sqlite_book, lower)] == [6, 2]


def test_two_alike_on_a_day_are_two_and_one_typed_by_hand_is_one_of_them(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    with sqlite_book.writing(act) as writing:
        record_deaths(writing, pond, NewDeaths(date(2025, 2, 1), 2, "Koi"))
    path = sheet(
        tmp_path, "date,time,species,dead\n2025-02-01,07:00,koi,2\n2025-02-01,18:00,koi,2\n"
    )
    # One of them is like the one typed by hand: a person says whether it is the same.
    preview = look_at_deaths(path, sqlite_book, NOW, pond="P-1")
    assert [(one.field, one.needed) for one in preview.questions] == [("others", False)]
    assert "2 koi dead of 1 Feb 2025 are in the book" in preview.questions[0].text
    assert brought(sqlite_book, act, path, "P-1", others="no") == (1, 1, 0)
    assert brought(sqlite_book, act, path, "P-1", others="no") == (0, 2, 0)
    assert {one.note for one in deaths_of(sqlite_book, pond)} == {"at 18:00", ""}


def test_a_row_that_stands_twice_is_asked_about(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, "date,dead\n2025-02-01,2\n2025-02-01,2\n2025-02-02,0\n2025-02-02,0\n")
    preview = look_at_deaths(path, sqlite_book, NOW, pond="P-1")
    assert [(one.field, one.needed) for one in preview.questions] == [("twice", False)]
    assert preview.plan is not None
    assert [one.reason for one in preview.plan.refused] == ["The row says the same as line 2."]
    for said, saved in (("once", 3), ("others", 4)):
        plan = planned(
            look_at_deaths, path, sqlite_book, NOW, pond="P-1", said=Said({"twice": said})
        )
        assert (len(plan.items), plan.refused) == (saved, ())


def test_an_event_of_the_day_is_asked_about_and_a_short_stock_is_told(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    with sqlite_book.writing(act) as writing:
        record_event(writing, pond_id=pond, kind="fish_died", on_day=date(2025, 2, 1), amount=4.0)
        record_head_count(writing, pond, date(2025, 1, 1), 10)
    path = sheet(tmp_path, "date,dead\n2025-02-01,4\n2025-02-02,9\n")
    preview = look_at_deaths(path, sqlite_book, NOW, pond="P-1")
    assert [(one.field, one.needed) for one in preview.questions] == [("others", False)]
    assert preview.plan is not None
    assert ([one.line for one in preview.plan.items], len(preview.plan.refused)) == ([3], 1)
    assert any("more fish have died" in one for one in preview.told)
    assert brought(sqlite_book, act, path, "P-1", others="no") == (1, 1, 0)
    assert brought(sqlite_book, act, path, "P-1", others="yes") == (1, 1, 0)


@pytest.mark.parametrize(
    ("row", "reason"),
    [
        ("2027-02-01,3,", "lies ahead"),
        ("1-7 Feb 2025,3,", "two days"),
        ("2025-02-30,3,", "no day of the calendar"),
        ("2025-02-01,2-3,", "no number of fish"),
        ("2025-02-01,-3,", "no number of fish"),
        ("2025-02-01,2.5,", "no number of fish"),
        ("2025-02-01,3+,", "no number of fish"),
        ("2025-02-01,,heron", "has no number"),
        ("2025-02-01,3,,surplus", "more cells"),
        (",3,", "has no day"),
    ],
)
def test_what_is_refused(
    row: str, reason: str, sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, f"date,dead,cause\n2025-01-31,1,\n{row}\n2025-03-13,1,\n")
    plan = planned(look_at_deaths, path, sqlite_book, NOW, pond="P-1", said=Said({"blank": "none"}))
    assert len(plan.items) == 2
    assert reason in plan.refused[0].reason


def test_zones_are_ponds_only_where_they_go_by_their_names(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    named = sheet(tmp_path, "date,zone,dead\n2025-02-01,Upper pond,1\n")
    assert brought(sqlite_book, act, named) == (1, 0, 0)
    parts = sheet(tmp_path, "date,zone,dead\n2025-02-02,A,1\n2025-02-02,B,1\n", "parts.csv")
    assert asked(sqlite_book, parts) == ["zone"]
    assert asked(sqlite_book, parts, zone="note") == ["pond"]
    assert brought(sqlite_book, act, parts, "P-1", zone="note") == (2, 0, 0)
    assert {one.note for one in deaths_of(sqlite_book, pond)} == {"", "zone: A", "zone: B"}


def test_what_is_no_mortality_book(sqlite_book: Book, act: Act, tmp_path: Path) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    for text in ("date,pH\n2025-02-01,7\n", "date,dead,koi\n2025-02-01,7,7\n", "a,b\n1,2\n",
                 "date,dead,number\n2025-02-01,7,7\n"):  # fmt: skip
        with pytest.raises(BadInput):
            planned(look_at_deaths, sheet(tmp_path, text), sqlite_book, NOW, pond="P-1")


def test_however_a_good_file_is_written_it_gives_the_same(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    add_ponds(sqlite_book, act, "Upper pond", "Lower pond")
    text = LONG.replace("heron?", "Löffler“?")
    said = Said({"blank": "none"})

    def told(path: Path) -> list[tuple[int, object]]:
        return [
            (one.line, one.deaths)
            for one in planned(look_at_deaths, path, sqlite_book, NOW, said=said).items
        ]

    plainly = told(sheet(tmp_path, text))
    assert len(plainly) == 4
    for name, encoding, separator in (
        ("a.csv", "utf-16", "\t"), ("b.csv", "utf-8-sig", ";"), ("c.txt", "utf-8", "|"),
    ):  # fmt: skip
        other = sheet(tmp_path, text.replace(";", separator), name, encoding)
        assert told(other) == plainly
    book = openpyxl.Workbook()
    cells: Any = book.active
    for row in text.split("\n"):
        cells.append([_as_number(cell) for cell in row.split(";")])
    book.save(tmp_path / "d.xlsx")
    assert told(tmp_path / "d.xlsx") == plainly


def _as_number(cell: str) -> str | int | datetime | None:
    if cell.count("/") == 2 and cell[0].isdigit():
        return datetime(*reversed([int(part) for part in cell.split("/")]))  # type: ignore[arg-type]  # noqa: DTZ001
    return int(cell) if cell.isdigit() else cell or None


@settings(max_examples=25)
@given(st.lists(st.lists(st.text(alphabet="0123456789-/,.koi none~\"'x", max_size=9), min_size=3,
                         max_size=4), max_size=5))  # fmt: skip
def test_whatever_stands_there_is_read_or_refused(rows: list[list[str]]) -> None:
    for row in rows:
        for cell in row:
            try:
                found = lengths_of(cell, "cm")
            except PondroundError:
                continue
            assert found is None or 1.0 <= found.low_cm <= found.high_cm <= 150.0


def test_the_command_asks_saves_and_tells(
    sqlite_book: Book, act: Act, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, "when,lost,size\n1/2/2025,3,12\n2/2/2025,-,\n")
    assert run(sqlite_book, act, "deaths", path) == 1
    said = capsys.readouterr().err
    for option in ("--order dmy", "--pond POND", "--dash none", "--unit “size=cm”"):
        assert option in said
    words = ("--order", "dmy", "--dash", "none", "--unit", "size=cm", "--pond", "P-1")
    assert run(sqlite_book, act, "deaths", path, *words, "--dry-run") == 0
    said = capsys.readouterr().out
    assert "line 2: 1 Feb 2025, Brook House, Upper pond: 3 fish dead, 12 cm" in said
    assert "Would save 2 counts of dead fish; nothing was saved." in said
    assert deaths_of(sqlite_book, pond) == ()
    assert run(sqlite_book, act, "deaths", path, *words) == 0
    assert "Saved 2 counts of dead fish." in capsys.readouterr().out
    assert run(sqlite_book, act, "deaths", path, "--pond", "P-1") == 0  # remembered
    assert "2 in the book already" in capsys.readouterr().out
    assert run(sqlite_book, act, "deaths", path, "--column", "size=nonsense") == 1
