"""`pondround import`: what a person reads, and what the exit code says."""

from __future__ import annotations

import argparse
import json
import sys
from pathlib import Path

import pytest
from sheets import NOW, add_ponds, sheet

from store.book.act import Act
from store.book.book import Book
from store.book.events import events
from store.book.kits import kits
from store.book.people import staff
from store.book.ponds import cards
from store.exchange.plain.visits_csv import read_visits
from store.water.water_tests import list_tests
from tui.commands.bring import add_import, run_import

PONDS = """client,phone,town,pond,code,volume_l,indoor,test_every_days,test_seasons,latitude,shade,heater
Ann Oak,01632 960001,Nethervane,Upper pond,A-1,12 m3,no,14,1 Nov – 28 Feb every 30 d,52.1,most of the day,yes
Ann Oak,01632 960001,Nethervane,Lower pond,A-2,"4500",yes,7,,,,
Ann Oak,01632 960999,Pellowick,Third pond,A-3,900,,,,,,
Bea Ash,,Pellowick,Mere,A-1,900,,,,,,
Bea Ash,,Pellowick,Mere,B-1,many,,,,,,
Bea Ash,,Pellowick,Mere,B-1,900,perhaps,,,,,
Bea Ash,,Pellowick,Mere,B-1,900,,,,152.0,,
Bea Ash,,Pellowick,Mere,B-1,900,,,,,in the afternoon,
"""


def run(book: Book, act: Act, *words: str | Path) -> int:
    parser = argparse.ArgumentParser()
    add_import(parser.add_subparsers())
    return run_import(parser.parse_args(["import", *map(str, words)]), book, act)


def test_water(
    sqlite_book: Book, act: Act, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, "taken_at,pH,KH dKH\n2026-03-01 09:00,7.2,4\n2026-03-02 09:00,72,4\n")
    assert run(sqlite_book, act, "water", path, "--pond", "P-1", "--dry-run") == 1
    said = capsys.readouterr().out
    assert "2 rows read" in said
    assert "Would save 1 water test; nothing was saved." in said
    assert "line 3: “72” cannot be. pH 7.2?" in said
    assert list_tests(sqlite_book, pond) == ()
    assert not (tmp_path / "sheet.refused.csv").exists()

    assert run(sqlite_book, act, "water", path, "--pond", "P-1") == 1
    said = capsys.readouterr().out
    assert "Saved 1 water test." in said
    assert "sheet.refused.csv; correct them" in said
    assert len(list_tests(sqlite_book, pond)) == 1
    assert run(sqlite_book, act, "water", path, "--pond", "P-1") == 1
    assert "1 in the book already" in capsys.readouterr().out


def test_logger(
    sqlite_book: Book, act: Act, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, "time,value\n01/03/2026 09:00,50\n13/03/2026 10:00,59\n")
    words = ("logger", path, "--pond", "upper pond", "--unit", "F", "--dates", "dmy")
    assert run(sqlite_book, act, *words) == 0
    said = capsys.readouterr().out
    assert "Temperature: 2 values from 2026-03-01 09:00" in said
    assert "10.0 to 15.0 °C" in said
    assert "Saved 2 logger values." in said


def test_a_sheet_that_leaves_questions_open(
    sqlite_book: Book, act: Act, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    text = "My log\nDate;Temp;pH;feed\n2/3;50;7,2;x\n3/3;51,8;7,4(morn);x\n;52;7,3;\n"
    path = sheet(tmp_path, text)
    assert run(sqlite_book, act, "water", path, "--dry-run") == 1
    out, err = capsys.readouterr()
    assert "2  “Temp”: temperature, no unit said (by its heading)" in out
    for part in (
        "--order dmy  day before month: “2/3” is 2 Mar\n", "--year 2026  2026",
        "--column “Temp=temperature °F”", "--pond POND", "Nothing was brought in",
    ):  # fmt: skip
        assert part in err, part
    answers = (
        "--order",
        "dmy",
        "--year",
        "2026",
        "--pond",
        "P-1",
        "--column",
        "Temp=temperature °F",
    )
    assert run(sqlite_book, act, "water", path, *answers, "--dry-run") == 1
    said = capsys.readouterr().out
    assert "2  “Temp”: temperature, in °F (said by a person)" in said
    assert "line 3: 2026-03-02 12:00 UTC  10.0 °C (50 °F) · pH 7.2" in said
    assert "--blank same" in said
    assert "Would save 2 water tests" in said
    assert list_tests(sqlite_book, pond) == ()

    assert run(sqlite_book, act, "water", path, *answers, "--blank", "same") == 1
    said = capsys.readouterr().out
    assert "Saved 2 water tests." in said
    assert "line 5: Line 4 of this file gives this pond a test of the same time with" in said
    again = ("water", path, "--year", "2026", "--pond", "P-1")
    assert run(sqlite_book, act, *again) == 1  # order, unit and blanks are remembered
    said = capsys.readouterr().out
    assert "2 in the book already" in said
    assert "a file with the same headings" in said
    assert run(sqlite_book, act, *again, "--afresh") == 1
    assert "--order" in capsys.readouterr().err


def test_what_is_said_of_a_sheet_must_make_sense(
    sqlite_book: Book, act: Act, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, "date,pH\n2026-03-01,7\n")
    for words, part in (
        (("--column", "pH"), "does not say what a column is"),
        (("--column", "pH=colour"), "nothing that a column can be"),
        (("--block", "Upper"), "does not say which pond"),
        (("--sheet", "old"), "has no sheet"),
        (("--header-line", "9"), "no headings"),
    ):
        assert run(sqlite_book, act, "water", path, "--pond", "P-1", *words) == 1
        assert part in capsys.readouterr().err


def test_a_sentence_when_nothing_can_be_read(
    sqlite_book: Book, act: Act, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(sqlite_book, act, "water", tmp_path / "none.csv") == 1
    out, err = capsys.readouterr()
    assert out == ""
    assert "none.csv cannot be read" in err
    path = sheet(tmp_path, "time,value\n")
    assert run(sqlite_book, act, "logger", path, "--pond", "nowhere") == 1
    assert "No pond goes by" in capsys.readouterr().err


def test_a_word_too_few_is_code_2(sqlite_book: Book, act: Act) -> None:
    for words in (("logger", "x.csv"), ("weather", "x.csv"), ()):
        with pytest.raises(SystemExit) as stopped:
            run(sqlite_book, act, *words)
        assert stopped.value.code == 2


def test_ponds(book: Book, act: Act, tmp_path: Path) -> None:
    path = sheet(tmp_path, PONDS)
    assert run(book, act, "ponds", path) == 1
    found = {card.pond.code: card for card in cards(book)}
    assert set(found) == {"A-1", "A-2"}
    upper, lower = found["A-1"], found["A-2"]
    assert upper.client.id == lower.client.id
    assert upper.site.id == lower.site.id
    assert (upper.site.name, upper.site.latitude) == ("Nethervane", 52.1)
    assert (upper.pond.volume_l, upper.pond.volume_method) == (12_000.0, "stated")
    assert (upper.pond.indoor, lower.pond.indoor) == (False, True)
    assert (upper.pond.heated, upper.pond.shade) == (True, "most of the day")
    assert (lower.pond.heated, lower.pond.shade) == (False, "not asked")
    assert upper.pond.test_seasons == [{"from": "11-01", "to": "02-28", "every_days": 30}]
    refused = (tmp_path / "sheet.refused.csv").read_text(encoding="utf-8").splitlines()
    for line, part in zip(
        refused[1:], ("another telephone", "another pond", "many", "yes or no", "between", "part of"),
        strict=True,
    ):  # fmt: skip
        assert part in line
    assert run(book, act, "ponds", path) == 1
    assert len(cards(book)) == 2


def test_staff_kits_events_and_visits(book: Book, act: Act, tmp_path: Path) -> None:
    (pond,) = add_ponds(book, act, "Upper pond")
    files = {
        "staff": "name,role,initials\nBo Reed,receptionist,BR\nCy Moss,gardener,CM\n",
        "kits": "name,ammonia_form,expires_on\nDrops,nh4,2027-01-31\n",
        "events": "pond,date,time,event,amount,hazard,note\n"
        "P-1,2026-03-01,,fish added,3,,\nP-1,2026-03-02,,hazard_seen,,,\n"
        "P-1,2026-04-02,,new_fish,,,\nP-1,2026-03-02,9:30,hazard_seen,,gill_flukes,seen\n"
        "P-1,2026-03-03,,party,,,\nP-1,2026-03-03,25:00,fish added,3,,\n",
        "visits": "pond,on_day,at_time,staff,state\nP-1,2026-03-01,9:30,BR,\n"
        "P-1,2026-03-20,,,\nP-1,2026-03-21,,,done\nP-1,2026-03-22,,Zoe,\n",
    }
    refused = {"staff": 1, "kits": 0, "events": 4, "visits": 2}
    for kind, text in files.items():
        path = sheet(tmp_path, text, f"{kind}.csv")
        for _ in range(2):
            assert run(book, act, kind, path) == (1 if refused[kind] else 0)
        beside = tmp_path / f"{kind}.refused.csv"
        rows = beside.read_text(encoding="utf-8").splitlines()[1:] if beside.exists() else []
        assert len(rows) == refused[kind], rows
    assert {person.name for person in staff(book)} == {"Ada Vet", "Bo Reed"}
    assert [kit.ammonia_form for kit in kits(book)] == ["nh4"]
    assert [event.kind for event in events(book, pond)] == ["hazard_seen", "new_fish"]
    assert [event.at is None for event in events(book, pond)] == [False, True]
    plan = read_visits(tmp_path / "visits.csv", book, NOW)
    assert (plan.already, len(plan.items)) == (2, 0)


def test_a_preview_for_programs(
    sqlite_book: Book, act: Act, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (pond,) = add_ponds(sqlite_book, act, "Upper pond")
    path = sheet(tmp_path, "Date;Temp;pH am\n2/3/2026;50;7,2 ish\n3/3/2026;51;x\nTotal;;\n")
    words = ("water", path, "--json", "--pond", "P-1")
    assert run(sqlite_book, act, *words) == 1
    asked = json.loads(capsys.readouterr().out)
    assert asked["tests"] is None
    assert [one["field"] for one in asked["questions"]] == ["order", "column"]
    assert asked["questions"][1]["answers"][1]["value"] == "temperature °F"
    said = ("--order", "dmy", "--column", "Temp=temperature °F")
    assert run(sqlite_book, act, *words, *said, "--dry-run") == 1
    seen = json.loads(capsys.readouterr().out)
    assert (seen["saved"], seen["refused_file"]) == (None, None)
    assert list_tests(sqlite_book, pond) == ()
    by_hour = {one["taken_at"][11:13]: one for one in seen["tests"] if one["line"] == 2}
    reading = by_hour["09"]["readings"][0]
    assert {key: reading[key] for key in ("parameter", "value", "bound", "heading", "cell")} == {
        "parameter": "ph", "value": 7.2, "bound": "~", "heading": "pH am", "cell": "7,2 ish",
    }  # fmt: skip
    assert by_hour["12"]["readings"][0]["unit"] == "°C"
    assert [one["line"] for one in seen["refused"]] == [3]
    assert [one["line"] for one in seen["no_tests"]] == [4]
    assert run(sqlite_book, act, *words, *said) == 1
    done = json.loads(capsys.readouterr().out)
    assert done["saved"] == len(list_tests(sqlite_book, pond)) == 3
    assert done["refused_file"] == str(tmp_path / "sheet.refused.csv")


def test_how_far_it_is_stands_where_somebody_looks(
    sqlite_book: Book,
    act: Act,
    tmp_path: Path,
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    add_ponds(sqlite_book, act, "Upper pond")
    rows = "".join(f"2025-{1 + day // 28:02}-{1 + day % 28:02},7.{day % 9}\n" for day in range(300))
    path = sheet(tmp_path, "date,pH\n" + rows)
    words = ("water", path, "--pond", "P-1", "--dry-run", "--json")
    assert run(sqlite_book, act, *words) == 0
    assert capsys.readouterr().err == ""
    monkeypatch.setattr(sys.stderr, "isatty", lambda: True)
    assert run(sqlite_book, act, *words) == 0
    out, err = capsys.readouterr()
    assert len(json.loads(out)["tests"]) == 300
    assert "83% 250 of 300 rows" in err
    assert err.rstrip(" ").endswith("\r")  # nothing of it stays
