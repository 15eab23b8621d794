"""`pondround agents`: the formulary in force and one agent of it, as text and as JSON."""

from __future__ import annotations

import json
from pathlib import Path

from called import NOW, Call, harmful, one_sentence

from store.book.act import Act
from store.book.opening import open_book
from store.book.people import staff
from store.courses.kept.formulary import own_doses
from store.courses.kept.formulary_keeping import keep_own_agent, keep_own_dose, strike_own_dose
from store.courses.kept.shelf import keep_product
from store.facts.agent import LOCAL_LAW
from store.facts.agents import agents

WHY = "borne [/b] \x1b[31m better here"


def write_own(path: Path) -> None:
    with open_book(path, now=NOW) as book:
        vet = next(one for one in staff(book) if one.is_vet)
        with book.writing(Act(vet.id, NOW)) as writing:
            for high in (1.0, 0.3):
                keep_own_dose(
                    writing, "trichlorfon", "pond_bath", dose_low=None, dose_high=high,
                    unit="mg/L", basis="active", why=WHY,
                )  # fmt: skip
            keep_product(
                writing, "Fluke powder", "trichlorfon", strength_percent=97.0,
                strength_basis="w/w", pack_size=250.0, withdrawal_degree_days=500,
            )  # fmt: skip
            keep_own_agent(
                writing, "Kelp", family="dye", handling=["Gloves."], why="a trial",
            )  # fmt: skip
        with book.writing(Act(vet.id, NOW)) as writing:
            strike_own_dose(writing, own_doses(book)[1].id, 1, "too little")


def test_every_agent_with_its_doses(call: Call, own: Path) -> None:
    code, out, err = call("agents", "--book", own)
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert len(lines) == len(agents()) + 1
    assert lines[0].startswith("code ")
    write_own(own)
    code, out, err = call("agents", "--book", own)
    assert not harmful(out)
    line = next(one for one in out.splitlines() if one.startswith("trichlorfon"))
    assert "0.25, 2.5 mg/L" in line
    assert "≤ 1 mg/L" in line
    assert line.endswith("  1")
    kelp = next(one for one in out.splitlines() if one.startswith("kelp"))
    assert "own agent" in kelp
    code, out, err = call("agents", "--book", own, "--json")
    found = {one["code"]: one for one in json.loads(out)["agents"]}
    assert found["trichlorfon"]["own"] == "≤ 1 mg/L"
    assert found["kelp"]["standing"] == "the practice's own"


def test_one_agent_with_all_that_is_said_of_it(call: Call, own: Path) -> None:
    write_own(own)
    code, out, err = call("agents", "Trichlorfon", "--book", own)
    assert (code, err) == (0, "")
    assert not harmful(out)
    assert LOCAL_LAW in out
    words = " ".join(out.split())
    assert "the practice's own dose, set by" in words
    assert "Piper" in words
    assert "On the shelf Fluke powder: 97 %, by weight; pack of 250 g" in words
    assert "struck through by" in words
    assert "too little" in words
    code, out, err = call("agents", "trichlorfon", "--book", own, "--json")
    one = json.loads(out)
    assert one["routes"][-1]["standing"] == "the practice's own"
    assert [each["struck_why"] for each in one["own_doses"]] == ["", "too little"]
    assert one["products"][0]["withdrawal_degree_days"] == 500
    assert any(each["heading"] == "Must not meet" for each in one["statements"])


def test_an_own_agent_says_who_entered_it(call: Call, own: Path) -> None:
    write_own(own)
    code, out, _ = call("agents", "kelp", "--book", own)
    assert code == 0
    assert "The practice's own agent, entered by" in out
    assert "Gloves." in out


def test_an_agent_that_is_not_there(call: Call, own: Path) -> None:
    code, out, err = call("agents", "sal", "--book", own)
    assert (code, out) == (1, "")
    assert "Was one of these meant: salt" in err or "salt" in err
    assert one_sentence(call("agents", "snake oil", "--book", "nowhere.pondround")[2])
