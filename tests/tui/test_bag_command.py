"""`pondround bag`: the day of a laptop without signal, by commands from packing to the choice."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from called import NOW, Call, one_sentence

from store.book.act import Act
from store.book.opening import open_book
from store.book.people import staff
from store.book.ponds import ponds
from tui.commands import bag as bag_command

DAY = "2026-03-17"
"""The day of the round in a demo practice of Saturday, 14 March 2026."""
VET = "Maren Birkholt"


@pytest.fixture(autouse=True)
def clock(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bag_command, "now", lambda: NOW)


def _change(path: Path, pond: str, **values: object) -> None:
    with open_book(path, now=NOW) as book:
        one = next(one for one in ponds(book) if one.name == pond)
        with book.writing(Act(staff(book)[0].id, NOW)) as writing:
            writing.change("pond", one.id, one.rev, **values)


def test_packed_used_and_brought_back(call: Call, own: Path, tmp_path: Path) -> None:
    place, names = ("--book", own), ("--date", DAY, "--vet", VET)
    code, out, err = call("bag", "pack", *place, *names)
    assert (code, err) == (0, "")
    file = Path(f"bag-{DAY}-maren-birkholt.pondround")
    assert out.startswith(f"{file}: bag for 17 Mar 2026, {VET}: ")
    assert "not encrypted" in out
    assert f"pondround --book {file}" in out
    assert call("bag", "pack", *place, *names)[0] == 2  # it is there already

    code, out, err = call("morning", "--book", file)
    assert (code, err) == (0, "")
    assert out.startswith("Not the whole book: ")
    assert f"6 ponds for 17 Mar 2026, {VET}; packed just now." in out
    assert json.loads(call("morning", "--book", file, "--json")[1])["bag"]["vet"] == VET
    sheet = tmp_path / "water.csv"
    with open_book(file, now=NOW) as book:
        pond = ponds(book)[0]
    sheet.write_text(f"pond,date,time,pH\n{pond.code},2026-03-13,06:00,7.4\n", "utf-8")
    code, out, err = call("import", "water", sheet, "--book", file, "--as", VET)
    assert code == 0, out + err
    _change(file, pond.name, depth_m=1.11)
    _change(own, pond.name, depth_m=1.22)

    code, out, err = call("bag", "unpack", file, *place, "--as", VET)
    assert (code, err) == (0, "")
    assert "1 water test" in out
    assert "here: depth 1.22 m" in out
    assert f"bag for 17 Mar 2026, {VET}: depth 1.11 m" in out
    assert "may be deleted" in out
    code, out, err = call("bag", *place)
    assert "1 record was changed on both sides" in out
    waiting = json.loads(call("bag", "differs", "--json", *place)[1])["differs"]
    assert waiting[0]["groups"][0]["sides"][0]["values"] == {"depth_m": 1.11}
    assert "1 record differs since the bag came back" in call("morning", *place)[1]

    again = json.loads(call("bag", "unpack", file, *place, "--as", VET, "--json")[1])
    assert (again["nothing_new"], again["lines"]) == (True, 0)
    assert file.exists()


def test_what_cannot_be_is_one_sentence(call: Call, own: Path, tmp_path: Path) -> None:
    nobody = call("bag", "pack", "--book", own, "--date", DAY, "--vet", "Nobody")
    empty = call("bag", "pack", "--book", own, "--date", "2027-01-01", "--vet", VET)
    (tmp_path / "note.txt").write_text("no bag", "utf-8")
    other = call("bag", "unpack", tmp_path / "note.txt", "--book", own, "--as", VET)
    for code, out, err in (nobody, empty, other):
        assert code > 0
        assert out == ""
        assert err.count("\n") == 1, err
    assert one_sentence(nobody[2])
    assert "Nothing was brought in" in other[2]
