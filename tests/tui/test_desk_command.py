"""`pondround desk`: what is due over all clients, as text and as JSON."""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable
from datetime import date, time, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from called import NOW, harmful

from store.book.act import Act
from store.book.clients import clients
from store.book.opening import open_book
from store.book.people import staff
from store.diary.desk.due import Booked, DeskList, DueLine, Promised
from store.diary.kept.promised.attempts import log_attempt
from store.diary.kept.promised.follow_ups import promise
from store.errors import NotFound
from tui.commands import desk

Printed = Callable[..., str]
KEYS = {
    "about", "kind", "client", "client_id", "site", "site_id", "pond", "pond_id", "says", "because",
    "origin", "repeats", "promised_by", "promised_on", "due_on", "first_on", "last_on", "late_days",
    "weight", "weighed", "needs", "phones", "attempts", "last_attempt", "ring_on", "ring_at",
    "booked",
}  # fmt: skip


@pytest.fixture
def printed(
    alone: None, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> Printed:
    """What the command prints of a book; nothing goes to the other stream."""
    monkeypatch.setattr(desk, "now", lambda: NOW)

    def run(place: Path | str, *, as_json: bool = False, everything: bool = False) -> str:
        asked = argparse.Namespace(book=str(place), json=as_json, all=everything)
        assert desk.run_desk(asked) == 0
        out, err = capsys.readouterr()
        assert err == ""
        return out

    return run


def test_where_nothing_is_due_it_says_so(printed: Printed, sqlite_url: str) -> None:
    assert printed(sqlite_url) == (
        "2026-03-14: 0 late, 0 due, 0 soon, 0 booked\nNothing that was promised is due.\n"
    )
    found = json.loads(printed(sqlite_url, as_json=True))
    assert found["lines"] == []
    assert found["today"] == "2026-03-14"


def test_where_there_is_no_book_it_is_told(printed: Printed, tmp_path: Path) -> None:
    with pytest.raises(NotFound):
        printed(tmp_path / "none.pondround")


def test_the_desk_of_the_demo_stands_worst_first(printed: Printed, own: Path) -> None:
    found = json.loads(printed(own, as_json=True, everything=True))
    lines = found["lines"]
    assert all(set(line) == KEYS for line in lines)
    counts = [found[name] for name in ("overdue", "today_due", "ahead", "booked")]
    assert sum(counts) == len(lines)
    assert found["not_shown"] == 0
    free = [line for line in lines if not (line["booked"] and line["booked"]["in_window"])]
    assert lines[: len(free)] == free
    weights = [line["weight"] for line in free]
    assert weights == sorted(weights, reverse=True)
    for line in lines:
        assert line["first_on"] <= line["due_on"] <= line["last_on"]
        assert f"= {line['weight']:.4g}"[:5] in line["weighed"]
    text = printed(own, everything=True).splitlines()
    assert text[0] == "2026-03-14: {} late, {} due, {} soon, {} booked".format(*counts)
    ask = found["ask"]
    assert len(ask) > 1
    below = text[len(lines) + 3 :]
    assert len(below) == len(ask) + 3
    for one, said in zip(ask, below[3:], strict=True):
        assert said.startswith(one["client"][:34])
        assert said.endswith(one["because"])
        about = one["estimate"]
        assert about["low_c"] < about["mean_c"] < about["high_c"]
        assert one["because"].startswith("By estimate about ")
        assert sum(each["worth"] for each in one["settles"]) == pytest.approx(
            one["worth"], abs=1e-3
        )
        assert one["ask"] == "owner" or one["ask"] in said
    assert [one["worth"] for one in ask] == sorted((one["worth"] for one in ask), reverse=True)


def test_what_is_booked_is_shown_when_asked_for(printed: Printed, own: Path) -> None:
    few, every = (
        json.loads(printed(own, as_json=True, everything=everything))
        for everything in (False, True)
    )
    assert few["booked"] > 0
    assert few["not_shown"] == few["booked"] == len(every["lines"]) - len(few["lines"])
    assert few["lines"] == every["lines"][: len(few["lines"])]
    assert f"{few['booked']} booked not shown" in printed(own)


def test_who_was_rung_and_what_people_typed_is_harmless(printed: Printed, own: Path) -> None:
    with open_book(own, now=NOW) as book:
        act = Act(staff(book)[0].id, NOW)
        owner = clients(book)[0]
        with book.writing(act) as writing:
            promise(
                writing, client_id=owner.id, kind="ring", says="[/b] \x1b[31m the bill",
                first_on=book.today(NOW),
            )  # fmt: skip
            log_attempt(writing, owner.id, "left word", note="with a son \x1b[2J")
    out = printed(own)
    assert not harmful(out)
    line = next(line for line in out.splitlines() if "the bill" in line)
    assert line.startswith("call   ")
    assert "1×, left word" in line
    assert "due today" in line
    found = json.loads(printed(own, as_json=True))["lines"]
    one = next(line for line in found if "the bill" in line["says"])
    assert (one["origin"], one["attempts"], one["due_on"]) == ("by hand", 1, "2026-03-14")
    assert one["last_attempt"]["outcome"] == "left word"
    assert one["phones"] == [phone for phone in (owner.phone, owner.phone2) if phone]


TODAY = date(2026, 3, 14)


def line(due_on: date, *, early: int = 0, late: int = 0, **values: Any) -> DueLine:
    promised = Promised(
        "hand:0", "ring", UUID(int=1), None, None, "it", "", "by hand", "", None, due_on,
        due_on - timedelta(days=early), due_on + timedelta(days=late), "call",
    )  # fmt: skip
    given = {
        "late_days": (TODAY - promised.last_on).days, "attempts": 0, "last_attempt": None,
        "ring_on": None, "ring_at": None, "booked": None,
    } | values  # fmt: skip
    return DueLine(promised, "Adder", "", "", "", "", "", weight=1.0, weighed="", **given)


@pytest.mark.parametrize(
    ("one", "said"),
    [
        (line(TODAY), "due today"),
        (line(TODAY - timedelta(days=1)), "1 d late"),
        (line(TODAY - timedelta(days=5), late=3), "2 d late"),
        (line(TODAY - timedelta(days=2), late=3), "Thu, open"),
        (line(TODAY + timedelta(days=2), early=5), "Mon"),
        (line(date(2026, 4, 2)), "2 Apr"),
        (line(date(2027, 4, 2)), "2 Apr 2027"),
    ],
)
def test_when_it_is_due_in_a_word_or_two(one: DueLine, said: str) -> None:
    assert desk.said_when(one, TODAY) == said


def test_a_visit_outside_the_window_is_told_so() -> None:
    for in_window, said in ((True, "Mon"), (False, "Mon, outside its days")):
        booked = Booked(UUID(int=2), date(2026, 3, 16), None, "AV", in_window)
        assert desk.said_visit(line(TODAY, booked=booked), TODAY) == said
        listed = DeskList(NOW, TODAY, (line(TODAY, booked=booked),), 0, 0, 0, 1)
        assert bool(desk.shown_lines(listed, everything=False)) is not in_window


def test_the_hour_of_a_ring_back_stands_beside_the_calls_in_vain() -> None:
    waits = line(TODAY, attempts=2, ring_on=TODAY, ring_at=time(17, 15))
    assert desk.said_rung(waits, TODAY) == "2×, back today 17:15"
    assert desk.said_rung(line(TODAY), TODAY) == ""
