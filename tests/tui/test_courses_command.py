"""`pondround courses`: what is due of every course, as text and as JSON."""

from __future__ import annotations

import json
from datetime import timedelta
from pathlib import Path

from called import NOW, Call, harmful, one_sentence

from store.book.act import Act
from store.book.find import directory
from store.book.opening import open_book
from store.book.people import staff
from store.courses.kept.keeping import keep_plan, start_course
from store.courses.planning.course import PondWater, StepWish
from store.courses.planning.plan import plan_course


def begin_course(path: Path) -> None:
    """A course of two doses that began five days ago, and nothing logged since."""
    with open_book(path, now=NOW) as book:
        vet = next(one for one in staff(book) if one.is_vet)
        act = Act(vet.id, NOW - timedelta(days=5))
        plan = plan_course(
            [StepWish("formalin", "pond_bath", 15.0, doses=2, interval_days=7)],
            hazards=("costia",),
            reason="costia [/b] \x1b[31m on two fish",
            water=PondWater(9000.0, 8800.0, 9200.0, temperature_c=15.0, use="ornamental"),
            first_day=book.today(act.at),
        )
        pond = directory(book).places[0].pond_id
        assert pond is not None
        with book.writing(act) as writing:
            key = keep_plan(writing, pond, plan)
            start_course(writing, key, 1, (), {})


def test_where_no_course_runs_it_says_so(call: Call, sqlite_url: str) -> None:
    assert call("courses", "--book", sqlite_url) == (0, "No course is planned or runs.\n", "")
    code, out, err = call("courses", "--book", sqlite_url, "--json")
    assert (code, json.loads(out), err) == (0, {"courses": []}, "")


def test_the_courses_of_the_demo_stand_worst_first(call: Call, own: Path) -> None:
    code, out, err = call("courses", "--book", own)
    assert (code, err) == (0, "")
    _, *lines = out.splitlines()
    assert [line.split()[0] for line in lines] == ["act", "act", "watch", "calm", "calm"]
    assert "formalin, then trichlorfon" in lines[0]
    assert "1 of 5   formalin 2 of 2 due today" in lines[0]
    assert "florfenicol" in lines[1]
    assert "1 of 2   batch 2 of 2 due today" in lines[1]
    assert "2 of 2   control is 5 d late" in lines[2]
    found = json.loads(call("courses", "--book", own, "--json")[1])["courses"]
    assert [one["state"] for one in found] == [
        "running", "running", "completed", "running", "running",
    ]  # fmt: skip
    assert [one["tasks_overdue"] > 0 for one in found] == [True, False, True, False, False]


def test_what_is_due_stands_beside_the_course(call: Call, own: Path) -> None:
    begin_course(own)
    code, out, err = call("courses", "--book", own)
    assert (code, err) == (0, "")
    assert not harmful(out)
    head, line, *others = out.splitlines()
    assert head.startswith("level    client and pond")
    assert line.startswith("act      ")
    assert "0 of 2   dose 1 of 2 is 5 d late" in line
    assert len(others) == 5
    code, out, err = call("courses", "--book", own, "--json")
    assert (code, err) == (0, "")
    one, *_ = json.loads(out)["courses"]
    assert (one["agents"], one["doses"], one["given"]) == (["formalin"], 2, 0)
    assert (one["state"], one["started_on"]) == ("running", "2026-03-09")
    first = next(due for due in one["due"] if due["kind"] == "dose")
    assert (first["on"], first["late_days"], first["level"]) == ("2026-03-09", 5, "act")
    assert "dose 1 of 2 is 5 d late" in call("morning", "--book", own)[1]


def test_a_book_that_is_not_there(call: Call) -> None:
    code, out, err = call("courses", "--book", "nowhere.pondround")
    assert (code, out) == (1, "")
    assert one_sentence(err)
