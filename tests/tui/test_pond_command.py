"""`pondround pond`: courses, eating and the last examination beside concerns and tests."""

from __future__ import annotations

import json
from pathlib import Path

import pytest
from called import Call, one_sentence


def test_a_pond_under_treatment_says_dose_eating_and_examination(
    call: Call, demo_file: Path
) -> None:
    code, out, err = call("pond", "PEL-3", "--book", demo_file)
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert max(map(len, lines)) <= 80
    titles = ["Courses", "Eating", "Last examination", "Last tests"]
    assert [one for one in lines if one in titles] == titles
    said = " ".join(lines[lines.index("Courses") + 1 : lines.index("Eating")])
    assert said.startswith("formalin, then trichlorfon: 1 of 5 doses given; ")
    assert "ormalin, dose 2 of 2 due today" in said
    assert "; control " in said
    eating = lines[lines.index("Eating") + 1]
    assert eating.startswith("ornamental (declared by the file ponds.csv): ")


def test_the_same_as_an_object(call: Call, demo_file: Path) -> None:
    code, out, _ = call("pond", "PEL-3", "--json", "--book", demo_file)
    assert code == 0
    told = json.loads(out)
    assert (told["code"], told["use"]) == ("PEL-3", "ornamental")
    assert told["withdrawal"]["declared"]["said"] == "declared by the file ponds.csv"
    (course,) = [one for one in told["courses"] if one["state"] == "running"]
    assert course["agents"] == ["formalin", "trichlorfon"]
    due = course["next_dose"]
    assert (due["agent"], due["number"], due["of"], due["overdue_days"]) == ("formalin", 2, 2, 0)
    assert due["amount"] > 0.0
    assert due["amount_unit"] in {"g", "mL"}
    assert told["examination"]["examination"]
    assert {"taken_at", "by", "note", "readings"} == told["tests"][0].keys()
    assert {"rule", "level", "what", "since", "source", "advice"} == told["concerns"][0].keys()


def test_a_pond_without_a_course_says_nothing_of_one(call: Call, demo_file: Path) -> None:
    out = call("pond", "STI-1", "--book", demo_file)[1]
    assert "Courses" not in out.splitlines()
    told = json.loads(call("pond", "STI-1", "--json", "--book", demo_file)[1])
    assert told["courses"] == []


@pytest.mark.parametrize("more", [(), ("--json",)])
def test_a_pond_that_is_not_there(call: Call, demo_file: Path, more: tuple[str, ...]) -> None:
    code, out, err = call("pond", "Zzyzx", *more, "--book", demo_file)
    assert (code, out) == (1, "")
    assert one_sentence(err)
