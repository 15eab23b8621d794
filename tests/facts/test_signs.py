"""The list of signs and behaviours to pick from."""

from __future__ import annotations

from typing import Any

import pytest

from store.facts.hazards import hazards
from store.facts.signs import fitting, read_signs, signs


def table(**values: Any) -> dict[str, Any]:
    return {"kind": "sign", "words": "eyes sunken", "also": ["sunken eyes"]} | values


def test_no_sign_names_a_hazard() -> None:
    names = {hazard.plain_name for hazard in hazards().values()}
    for sign in signs().values():
        for said in (sign.words, *sign.also):
            assert said.casefold() not in names, sign.code


def test_a_sign_stands_by_the_very_sentence_of_its_hazard() -> None:
    for sign in signs().values():
        for among in sign.of:
            hazard = hazards()[among.hazard]
            assert among.says in hazard.signs
            assert (among.source, among.standing) == (hazard.source, hazard.standing)


@pytest.mark.parametrize(
    ("code", "mark"),
    [("khv", "gills_mottled"), ("svc", "bleeding"), ("gill_flukes", "gill_covers_flared")],
)
def test_what_marks_a_disease_can_be_picked(code: str, mark: str) -> None:
    assert code in {among.hazard for among in signs()[mark].of}


def test_what_fits_most_signs_stands_first_and_nothing_fits_an_unknown_one() -> None:
    # Signs of koi herpesvirus: mottled gills, sunken eyes, a notched nose (NACA field guide 2007).
    fits = fitting(["sunken_eyes", "gills_mottled", "notched_nose", "sunken_eyes"])
    assert next(iter(fits)) == "khv"
    assert [sign.code for sign in fits["khv"]] == ["sunken_eyes", "gills_mottled", "notched_nose"]
    assert dict(fitting(["no such sign", "apart"])) == {}


@pytest.mark.parametrize(
    ("values", "said"),
    [
        (table(of={"khv": "sunken nose"}), "does not stand among its signs"),
        (table(of={"plague": "sunken eyes"}), "is no hazard"),
        (table(kind="mood"), "must be one of"),
        (table(colour="red"), "is not a field"),
    ],
)
def test_a_bad_entry_is_refused(values: dict[str, Any], said: str) -> None:
    found, findings = read_signs({"sunken": values}, hazards())
    assert "sunken" not in found
    assert any(said in str(one) for one in findings)


def test_two_signs_are_not_typed_alike() -> None:
    found, findings = read_signs({"one": table(), "two": table()}, hazards())
    assert list(found) == ["one"]
    assert "typed for one already" in str(findings[0])
