"""`pondround withdrawal`: until when fish must not be eaten, as text and as JSON."""

from __future__ import annotations

import json
from datetime import date, timedelta
from pathlib import Path

import pytest
from called import NOW, Call, harmful, one_sentence

from store.book.act import Act
from store.book.opening import open_book
from store.book.people import staff
from tests.courses.treated_ponds import add_carp_pond, add_logger, treat

LAST = date(2026, 3, 4)


@pytest.fixture
def treated(own: Path) -> Path:
    """The demo with table carp that had two agents, and a pond nobody was asked about."""
    with open_book(own, now=NOW) as book:
        act = Act(next(one for one in staff(book) if one.is_vet).id, NOW)
        carp = add_carp_pond(book, act, client="Zyxwater [/b] \x1b[31m Farm")
        add_logger(book, act, carp, [10.0] * 10, after=LAST)
        treat(book, act, carp, "trichlorfon", [LAST], shelf={"withdrawal_degree_days": 150})
        treat(book, act, carp, "salt", [LAST])
        asked = add_carp_pond(book, act, client="Who Knows", use="not asked")
        treat(book, act, asked, "formalin", [LAST], use="not asked")
    return own


def test_nothing_waits_in_a_practice_without_treated_food_fish(call: Call, own: Path) -> None:
    code, out, err = call("withdrawal", "--book", own, "--json")
    assert (code, err) == (0, "")
    assert all(one["state"] == "asked" for one in json.loads(out)["ponds"])


def test_every_agent_stands_with_what_it_must_reach(call: Call, treated: Path) -> None:
    code, out, err = call("withdrawal", "--book", treated)
    assert (code, err) == (0, "")
    assert not harmful(out)
    lines = out.splitlines()
    assert lines[0].startswith("client and pond")
    carp = next(line for line in lines if "trichlorfon" in line)
    # 10 days at 10 °C make 100 of 150. By hand: 50 / 9 °C rounds up to 6 days more, until 20 March, so
    # free from the 21st; a degree warmer, 50 / 11 rounds up to 5.
    assert carp.split()[-5:] == ["2026-03-04", "150", "degree-days", "100.0", "2026-03-21"]
    assert any("salt" in line and line.endswith("vet decides") for line in lines)
    assert any("Not for eating before 21 Mar 2026." in line for line in lines)
    assert any("Not for eating until somebody says what these fish are." in line for line in lines)
    assert any("ask the owner" in line for line in lines)


def test_one_pond_as_an_object(call: Call, treated: Path) -> None:
    code, out, err = call("withdrawal", "Zyxwater", "--book", treated, "--json")
    assert (code, err) == (0, "")
    (pond,) = json.loads(out)["ponds"]
    assert (pond["use"], pond["state"]) == ("food", "running")
    assert (pond["free_from"], pond["free_from_if_warm"]) == ("2026-03-21", "2026-03-20")
    assert pond["declared"]["said"] == ""
    given, salt = pond["agents"]
    assert (given["agent"], given["doses"], given["last_day"]) == ("trichlorfon", 1, "2026-03-04")
    (must,) = given["must"]
    assert (must["kind"], must["amount"], must["so_far"]) == ("degree-days", 150.0, 100.0)
    assert must["rule"] == "label of bottle, as on the practice's shelf"
    assert (salt["over"], salt["free_from"]) == (True, None)
    assert salt["must"][0]["so_far"] is None
    assert given["last_day"] == (date(2026, 3, 14) - timedelta(days=10)).isoformat()


def test_a_pond_that_had_nothing(call: Call, own: Path) -> None:
    with open_book(own, now=NOW) as book:
        act = Act(next(one for one in staff(book) if one.is_vet).id, NOW)
        add_carp_pond(book, act, client="Quiet Water")
    code, out, err = call("withdrawal", "Quiet", "Water", "--book", own)
    assert (code, err) == (0, "")
    assert "Quiet Water, carp pond: Nothing was given under a course in this book." in out


def test_what_cannot_be_answered(call: Call, own: Path) -> None:
    code, out, err = call("withdrawal", "no-such-pond-xyzzy", "--book", own)
    assert (code, out) == (1, "")
    assert one_sentence(err)
    code, out, err = call("withdrawal", "--book", "nowhere.pondround")
    assert (code, out) == (1, "")
    assert one_sentence(err)
