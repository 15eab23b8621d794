"""`pondround exams`: the examinations of a pond, as text and as JSON."""

from __future__ import annotations

import json
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest
from called import NOW, Call, harmful, one_sentence

from store.book.act import Act
from store.book.opening import open_book
from store.book.people import staff
from store.exams.examinations import examination
from store.exams.examining import correct_finding
from store.exams.specimens import add_sample
from store.exams.values import Found, Prep
from tests.courses.treated_ponds import add_carp_pond
from tests.exams.looked_at import GILL, SKIN, enter, exam, koi


@pytest.fixture
def looked_at(own: Path) -> Path:
    """Two examinations of one pond: one clean, one with flukes on gill and skin, corrected."""
    with open_book(own, now=NOW) as book:
        act = Act(next(one for one in staff(book) if one.is_vet).id, NOW)
        pond = add_carp_pond(book, act, client="Zyxwater [/b] \x1b[31m Farm")
        clean = koi(Prep("gill clip", "", 100, 5))
        enter(book, act, pond, exam(clean, at=NOW - timedelta(days=90), purpose="routine"))
        on_skin = replace(SKIN, found=(Found("gill_flukes", counted=2),))
        key = enter(
            book, act, pond,
            exam(koi(GILL, on_skin, length_cm=42.0, behaviour=("clamped",)), at=NOW,
                 gear="disinfected", disinfectant="iodophor", contact_min=10.0),
        )  # fmt: skip
        first = examination(book, key).fish[0].findings[0]
        with book.writing(act) as writing:
            correct_finding(writing, first.id, first.rev, replace(first.found, counted=32), "typo")
            add_sample(writing, pond, label="A7", taken_on=NOW.date(), examination_id=key)
    return own


def test_fish_by_fish_newest_first(call: Call, looked_at: Path) -> None:
    code, out, err = call("exams", "Zyxwater", "--book", looked_at)
    assert (code, err) == (0, "")
    assert not harmful(out)
    lines = out.splitlines()
    first = lines.index("  fish 1 koi · 42 cm · fins clamped")
    assert "gear disinfected with iodophor, 10 min" in lines[2]
    assert "    gill clip (left), 100x, 5 fields: gill flukes 32 in 5 fields (6.4 a" in out
    assert "struck through: gill flukes 23 in 5 fields (4.6 a field), motile; typo" in out
    assert any("the burden is heavy" in line for line in lines[:first])
    assert "sample “A7”: awaited" in out
    assert out.index("first look") < out.index("routine")
    assert "gill clip, 100x, 5 fields: nothing found" in out


def test_as_an_object(call: Call, looked_at: Path) -> None:
    code, out, err = call("exams", "Zyxwater", "--book", looked_at, "--json")
    assert (code, err) == (0, "")
    found = json.loads(out)
    new, old = found["examinations"]
    assert (new["hazards"], old["hazards"]) == (["gill_flukes"], [])
    (prep, _) = new["fish"][0]["preparations"]
    assert (prep["found"][0]["counted"], prep["found"][0]["per_field"]) == (32, 6.4)
    assert prep["found"][0]["corrects"] == prep["struck"][0]["finding"]
    assert prep["struck"][0]["why_struck"] == "typo"
    assert new["samples"][0]["result"] == "awaited"
    assert new["means"][0]["weight"] == "heavy"
    assert old["fish"][0]["preparations"][0]["found"] == []


def test_a_pond_that_nobody_looked_at(call: Call, own: Path) -> None:
    with open_book(own, now=NOW) as book:
        act = Act(next(one for one in staff(book) if one.is_vet).id, NOW)
        add_carp_pond(book, act, client="Quxby Mill")
    code, out, err = call("exams", "Quxby", "--book", own)
    assert (code, err) == (0, "")
    assert out.splitlines()[1] == "No examination of this pond stands in the book."
    code, out, err = call("exams", "nowhere at all", "--book", own)
    assert (code, out) == (1, "")
    assert one_sentence(err)
