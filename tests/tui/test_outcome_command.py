"""`pondround outcome` and `pondround findings`, as text and as JSON."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path

import pytest
from called import NOW, Call, harmful, one_sentence

from store.book.act import Act
from store.book.opening import open_book
from store.book.people import staff
from store.courses.kept.records import courses_of
from tests.courses.outcome_ponds import AFTER, BEFORE, clips, enter, looked, treat, warm

DOSE = NOW.date() - timedelta(days=20)
D = timedelta(days=1)


@pytest.fixture
def looked_at(own: Path) -> tuple[Path, str]:
    """The demo with a pond counted, treated and counted again; and the key of its course."""
    with open_book(own, now=NOW) as book:
        act = Act(next(one for one in staff(book) if one.is_vet).id, NOW)
        with book.writing(act) as writing:
            owner = writing.add("client", name="Zyxwater [/b] \x1b[31m Farm")
            site = writing.add("site", client_id=owner, name="ponds")
            pond = writing.add("pond", site_id=site, name="upper")
        warm(book, act, pond, DOSE - 60 * D, [12.0] * 45 + [20.0] * 36)
        enter(book, act, pond, looked(DOSE - D, clips(BEFORE)))
        treat(book, act, pond, [DOSE])
        enter(book, act, pond, looked(DOSE + 7 * D, clips(AFTER)))
        (course,) = courses_of(book, pond)
        return own, str(course.id)


def test_a_course_looked_back_on(call: Call, looked_at: tuple[Path, str]) -> None:
    book, key = looked_at
    code, out, err = call("outcome", key, "--book", book)
    assert (code, err) == (0, "")
    assert "Gill flukes: fewer by 93 %, 87 to 97 % (95 % limits)" in " ".join(out.split())
    assert "count again after" in " ".join(out.split())
    assert not harmful(out)
    code, out, err = call("outcome", key, "--book", book, "--json")
    ((hazard,),) = (one["hazards"] for one in json.loads(out)["courses"])
    (control,) = hazard["controls"]
    assert (hazard["change"], control["timely"], control["told"]) == ("fewer", "too early", True)
    assert control["percent"] == pytest.approx(93.33, abs=0.005)
    assert (control["low"], control["high"]) == (
        pytest.approx(87.22, abs=0.005), pytest.approx(96.52, abs=0.005),
    )  # fmt: skip
    assert call("outcome", "Zyxwater", "--book", book, "--json")[1] == out


def test_the_agents(call: Call, looked_at: tuple[Path, str]) -> None:
    code, out, err = call("outcome", "--agents", "--book", looked_at[0])
    assert (code, err) == (0, "")
    # Of the demo 94.5 %, of this pond 93.33 %: the middle of the two.
    assert any("praziquantel" in line and "94 %" in line for line in out.splitlines()), out
    code, out, err = call("outcome", "--agents", "--book", looked_at[0], "--json")
    (row,) = [
        one for one in json.loads(out)["agents"]
        if one["agents"] == ["praziquantel"]
        and any("Zyxwater" in each["where"] for each in one["results"])
    ]  # fmt: skip
    assert row["hazard"] == "gill_flukes"
    assert row["fewer"] >= 1
    assert "%" in row["said"]


def test_the_findings(call: Call, looked_at: tuple[Path, str]) -> None:
    book, _ = looked_at
    code, out, err = call("findings", "--book", book)
    assert (code, err) == (0, "")
    assert "gill flukes" in out
    assert not harmful(out)
    code, out, err = call("findings", "gill flukes", "--book", book, "--json", "--days", "300")
    answer = json.loads(out)
    (flukes,) = answer["hazards"]
    (there,) = [one for one in flukes["findings"] if one["where"].startswith("Zyxwater")
                and one["window"] != "again"]  # fmt: skip
    assert (there["temperature_c"], there["window"]) == (20.0, "hit")
    assert len(flukes["months"]) == 12
    assert {one["number"] for one in answer["edges"]} == {"low_c", "high_c"}
    text = call("findings", "gill_flukes", "--book", book)[1]
    assert "from 14 °C instead of 15 °C: " in " ".join(text.split())


@pytest.mark.parametrize(
    "words",
    [
        ("outcome", "--agents", "Zyxwater"), ("outcome", "nobody-here"), ("findings", "plague"),
        ("findings", "--within", "400"), ("findings", "gill_flukes", "--step", "0"),
        ("outcome", "019ceb40-84c0-7343-bc68-2eba715b7c7d"),
    ],
)  # fmt: skip
def test_what_is_refused_is_refused_in_a_sentence(
    call: Call, looked_at: tuple[Path, str], words: tuple[str, ...]
) -> None:
    code, out, err = call(*words, "--book", looked_at[0])
    assert code in (1, 2)
    assert out == ""
    assert one_sentence(err) or err.count("\n") == 1


def test_every_key_of_the_json_is_described(call: Call, looked_at: tuple[Path, str]) -> None:
    from tui.commands import findings, outcome

    def keys(value: object) -> set[str]:
        if isinstance(value, dict):
            return set(value) | {key for one in value.values() for key in keys(one)}
        if isinstance(value, list):
            return {key for one in value for key in keys(one)}
        return set()

    book, key = looked_at
    for words, told in (
        (("outcome", key), outcome.as_json), (("outcome", "--agents"), outcome.agents_json),
        (("findings", "gill_flukes"), findings.as_json),
    ):  # fmt: skip
        shown = json.loads(call(*words, "--json", "--book", book)[1])
        assert [one for one in keys(shown) if f"`{one}`" not in str(told.__doc__)] == []
