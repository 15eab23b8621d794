"""`pondround round --week`: the days from one on as text and JSON, at 80 columns."""

from __future__ import annotations

import json
from argparse import Namespace
from collections.abc import Iterator
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from called import NOW, harmful

from store.book.book import Book
from store.book.opening import open_book
from store.errors import BadInput
from store.rounds.week.plan import plan_week
from tests.rounds.day_plans import errand
from tests.rounds.days_asked import at
from tests.rounds.weeks_asked import on, week_of, within
from tui.commands.round_text import WIDTH
from tui.commands.round_week import as_json, as_text, print_week

MONDAY = date(2026, 3, 16)


def typed(**values: Any) -> Namespace:
    """What argparse gives."""
    usual = {"json": False, "effort": 0.3, "free": False, "no_due": False, "any_order": False}
    return Namespace(**(usual | values))


@pytest.fixture
def demo(own_copy: Path) -> Iterator[Book]:
    with open_book(own_copy, now=NOW) as book:
        yield book


@pytest.fixture
def own_copy(demo_file: Path, tmp_path: Path) -> Path:
    path = tmp_path / "own.pondround"
    path.write_bytes(demo_file.read_bytes())
    return path


def test_the_week_as_text(demo: Book, capsys: pytest.CaptureFixture[str]) -> None:
    assert print_week(demo, typed(), MONDAY, (), NOW) == 0
    out = capsys.readouterr().out
    lines = out.splitlines()
    assert lines[0].startswith("Mon 2026-03-16 to Sun 2026-03-22: ")
    assert max(map(len, lines)) <= WIDTH
    assert not harmful(out)
    for day in ("Mon 2026-03-16", "Sun 2026-03-22: nothing"):
        assert day in out
    assert "ring 01632 960" in out
    assert "What is to be agreed is not booked: ring the client" in out
    assert "What it rests on:" in out


def test_the_week_as_json_holds_every_visit_once(
    demo: Book, capsys: pytest.CaptureFixture[str]
) -> None:
    print_week(demo, typed(json=True), MONDAY, (), NOW)
    told = json.loads(capsys.readouterr().out)
    assert (told["first"], told["last"]) == ("2026-03-16", "2026-03-22")
    visits = [one for day in told["days"] for one in day["visits"]]
    keys = [one["key"] for one in (*visits, *told["left_out"])]
    assert len(keys) == len(set(keys))
    assert any(one["booked"] for one in visits)
    assert any(not one["booked"] for one in visits)
    for one in visits:
        assert one["begins"] < one["ends"]
        assert (one["until"] is None) == one["booked"]
    assert sum(day["drive_min"] for day in told["days"]) == told["drive_min"]
    assert told["bound_min"] <= told["cost_min"]


def test_a_week_without_what_is_due_has_booked_visits_only(
    demo: Book, capsys: pytest.CaptureFixture[str]
) -> None:
    print_week(demo, typed(json=True, no_due=True), MONDAY, (), NOW)
    told = json.loads(capsys.readouterr().out)
    assert all(one["booked"] for day in told["days"] for one in day["visits"])


def test_a_week_that_lies_behind_is_refused(demo: Book) -> None:
    with pytest.raises(BadInput, match="lies behind"):
        print_week(demo, typed(), date(2026, 3, 13), (), NOW)
    with pytest.raises(BadInput, match="stay as they are"):
        print_week(demo, typed(free=True), MONDAY, (), NOW)


def test_what_a_line_says() -> None:
    booked = on(errand(1, "Alder Row, lower pond", at(30)), 1)
    late = errand(2, "[b]Teal[/b] Mill, race", at(29), booked=False, worth_min=200)
    far = errand(3, "Willow Lodge, pond", at(90), booked=False, worth_min=20)
    plan = plan_week(week_of([booked], {late: within(-3, -1, until=1), far: within(0, 4)}))
    text = "\n".join(as_text(plan))
    assert " ".join(text.split()).startswith(
        "Mon 2026-03-16 to Fri 2026-03-20: 1 booked visit, 1 to be agreed, 1 left out; "
    )
    assert "Mon 2026-03-16: nothing" in text
    assert "booked; examination; +" in text
    assert "examination; 2 d late; ring 01632 960100; +" in " ".join(text.split())
    assert "[b]Teal[/b] Mill, race" in text
    assert "Willow Lodge, pond would add " in text
    assert plan.proof in " ".join(text.split())
    told = as_json(plan, NOW, stopped=True)
    assert told["stopped"] is True
    (left,) = told["left_out"]
    assert left["worth_min"] == 20
    (tuesday,) = [day for day in told["days"] if day["visits"]]
    assert [one["late_days"] for one in tuesday["visits"]] in ([None, 2], [2, None])
