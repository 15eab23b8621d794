"""`pondround round` as it is called: text, JSON, files, ctrl-C, and what it refuses."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from called import NOW, Call, harmful, one_sentence

from store.book.opening import open_book
from store.exchange.demo.round import VISITS, round_day
from store.rounds.solving.halt import Halt
from store.rounds.solving.teams import day_rounds
from tests.rounds.day_plans import nine_stops, two_drivers
from tests.rounds.solving_days import practice_day
from tui.commands import round as round_command
from tui.commands.main import NO_ROOM
from tui.commands.round_json import as_json
from tui.commands.round_text import WIDTH, as_text
from tui.commands.watched import Say, watched

ROOT = Path(__file__).parents[2]
DAY = "2026-03-17"
"""The day of the round in a demo practice of Saturday, 14 March 2026."""
VETS = ("Maren Birkholt", "Rafe Kestrick")


@pytest.fixture(autouse=True)
def clock(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(round_command, "now", lambda: NOW)


@pytest.fixture(scope="module")
def demo_day(demo_file: Path) -> Iterator[str]:
    with open_book(demo_file, now=NOW) as book:
        yield round_day(book, NOW).isoformat()


def test_the_round_of_a_day_as_text(call: Call, own: Path, demo_day: str) -> None:
    assert demo_day == DAY
    code, out, err = call("round", "--date", DAY, "--book", own)
    assert (code, err) == (0, "")
    lines = out.splitlines()
    assert lines[0].startswith(f"Tue {DAY}: {VISITS} booked, ")
    assert max(map(len, lines)) <= WIDTH
    assert not harmful(out)
    for who in VETS:
        assert any(line.startswith(f"{who}: sets out ") for line in lines)
    assert "Proven: no order has less driving" in out
    assert "Clean before infected" in out
    at = [out.index(word) for word in ("~ reckoned", "Proven:", "To know:")]
    assert at == sorted(at)


def test_the_round_as_json(call: Call, own: Path) -> None:
    code, out, _ = call("round", "--date", DAY, "--json", "--book", own)
    assert code == 0
    told = json.loads(out)
    assert (told["day"], told["agreed"], told["ordered"], told["stopped"]) == (
        DAY, "kept", True, False,
    )  # fmt: skip
    stops = [stop for one in told["rounds"] for stop in one["stops"]]
    assert sum(stop["booked"] for stop in stops) == VISITS
    assert told["drive_min"] == sum(one["drive_min"] for one in told["rounds"])
    for one in told["rounds"]:
        levels = [stop["standing"] for stop in one["stops"]]
        rank = ["clean", "doubtful", "infected", "suspect"].index
        assert sorted(levels, key=rank) == levels
        ways = sum(stop["way"]["planned_min"] for stop in one["stops"])
        assert ways + one["way_home"]["planned_min"] == one["drive_min"]
    assert {stop["standing"] for stop in stops} == {"clean", "doubtful", "infected", "suspect"}
    assert {stop["way"]["basis"] for stop in stops} == {"table", "reckoned"}
    assert any(stop["fixed"] and stop["begins"] == stop["agreed_at"] for stop in stops)
    assert told["proven"]
    assert told["cost_min"] >= told["bound_min"]


def test_one_vet_without_what_is_due(call: Call, own: Path) -> None:
    words = ("--vet", "MB", "--no-due", "--free", "--any-order", "--json", "--book", own)
    code, out, _ = call("round", "--date", DAY, *words)
    told = json.loads(out)
    assert code == 0
    assert [one["who"] for one in told["rounds"]] == [VETS[0]]
    assert (told["agreed"], told["add_due"], told["ordered"]) == ("free", 0, False)
    assert all(one["booked"] for one in told["rounds"][0]["stops"])


def test_a_round_that_runs_late(call: Call, own: Path) -> None:
    words = (
        "round",
        "--date",
        DAY,
        "--effort",
        "2",
        "--vet",
        "MB",
        "--late",
        "40",
        "--after",
        "2",
        "--book",
        own,
    )
    code, out, err = call(*words)
    assert (code, err) == (0, "")
    assert max(map(len, out.splitlines())) <= WIDTH
    assert out.startswith(f"{VETS[0]} runs 40 min late; 2 visits are behind.")
    assert "To ring:" in out
    told = json.loads(call(*words, "--json")[1])
    _, plain, _ = call("round", "--date", DAY, "--vet", "MB", "--json", "--book", own)
    stops = json.loads(plain)["rounds"][0]["stops"]
    kept = told["kept"]["stops"]
    assert [one["key"] for one in kept] == [one["key"] for one in stops[2:]]
    assert (told["late_min"], told["done"]) == (40, 2)
    assert minutes(kept[0]["begins"]) - minutes(stops[2]["begins"]) == 40
    assert all(one["ring"] == (abs(one["moved_min"]) >= 15 or one["late_min"] > 0) for one in kept)
    code, out, err = call(*words[:-3], "40", "--book", own)
    assert code == 2
    assert "stops" in err


def test_the_week_from_a_day_on(call: Call, own: Path) -> None:
    words = ("round", "--date", "2026-03-16", "--week", "--effort", "1", "--book", own)
    code, out, err = call(*words)
    assert (code, err) == (0, "")
    assert max(map(len, out.splitlines())) <= WIDTH
    assert out.startswith("Mon 2026-03-16 to Sun 2026-03-22: ")
    told = json.loads(call(*words, "--json")[1])
    assert [one["day"] for one in told["days"]][0::6] == ["2026-03-16", "2026-03-22"]
    visits = [one for day in told["days"] for one in day["visits"]]
    assert sum(one["booked"] for one in visits) >= VISITS
    assert any(not one["booked"] for one in visits)
    assert told["drive_min"] == sum(day["drive_min"] for day in told["days"])
    code, _, err = call(*words, "--free")
    assert (code, "--free is for one day" in err) == (2, True)


def test_the_round_goes_into_a_file(call: Call, own: Path) -> None:
    words = ("round", "--date", DAY, "--vet", "MB", "--no-due", "--book", own, "--shape")
    for shape, begins in (
        ("text", b"The day on the road"), ("markdown", b"# "), ("pdf", b"%PDF"), ("geojson", b"{"),
        ("gpx", b"<?xml"), ("calendar", b"BEGIN:VCALENDAR"),
    ):  # fmt: skip
        code, out, err = call(*words, shape, f"round.{shape}")
        assert (code, err) == (0, "")
        assert out.startswith(f"round.{shape}: ")
        assert Path(f"round.{shape}").read_bytes().startswith(begins)
    Path("round.gpx").write_text("mine", encoding="utf-8")
    code, out, err = call(*words, "gpx", "round.gpx")
    assert (code, out) == (2, "")
    assert "left as it was" in err
    assert Path("round.gpx").read_text(encoding="utf-8") == "mine"
    assert call(*words, "gpx", "round.gpx", "--over")[0] == 0
    assert Path("round.gpx").read_bytes().startswith(b"<?xml")


def minutes(clock: str) -> int:
    hours, _, rest = clock.partition(":")
    return 60 * int(hours) + int(rest)


def test_days_by_name(call: Call, own: Path) -> None:
    for word, day in (("today", "2026-03-14"), ("tomorrow", "2026-03-15")):
        code, out, _ = call("round", "--date", word, "--json", "--book", own, "--no-due")
        assert (code, json.loads(out)["day"]) == (0, day)


def test_a_day_without_anybody_on_the_road(call: Call, own: Path) -> None:
    code, out, err = call("round", "--date", "2026-03-15", "--book", own)
    assert (code, err) == (0, "")
    assert out.startswith("Sun 2026-03-15: 0 booked, 1 left out; 0 min of driving")
    assert "Nobody is on the road" in out
    assert "Proven" not in out


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (("--date", "someday"), 2, "is not a day"),
        (("--vet", "Nobody"), 1, "is not on the staff"),
        (("--late", "40"), 2, "Say who runs late"),
        (("--late", "0"), 2, "1 to 1440 minutes"),
        (("--after", "2"), 2, "when --late is given"),
        (("--effort", "0"), 2, "an effort goes from"),
        (("--shape", "woodcut", "x"), 2, "A shape is one of"),
        (("--shape", "pdf", "x", "--json"), 2, "without --json"),
        (("--week", "--late", "5", "--vet", "MB"), 2, "one of --week"),
        (("--date", "0001-01-01"), 2, "of the years 1900 to 2199"),
        (("--date", "9999-12-31"), 2, "of the years 1900 to 2199"),
        (("--shape", "pdf", ""), 2, "the name of a file"),
        (("--shape", "pdf", "x", "--date", "2026-03-15"), 1, "Nobody has a stop on this day"),
        (("--week", "--date", "9999-12-31"), 2, "More than a year ahead"),
        (("--over",), 2, "goes with that alone"),
    ],
)
def test_what_is_refused(
    call: Call, own: Path, words: tuple[str, ...], code: int, says: str
) -> None:
    found, out, err = call("round", *words, "--book", own)
    assert (found, out) == (code, "")
    assert says in err
    assert one_sentence(err) or code == 2


def test_days_at_the_ends_of_what_is_planned(call: Call, own: Path) -> None:
    for day, says in (("1900-01-01", "lies behind"), ("2199-12-31", "more than a year ahead")):
        code, out, err = call("round", "--date", day, "--book", own)
        assert (code, err) == (0, "")
        assert says in out


def test_output_that_finds_no_room_is_told_in_a_sentence(own: Path) -> None:
    """It was a fault of ours, written into the log, when a disk was full."""
    if not Path("/dev/full").exists():
        pytest.skip("this system has no /dev/full")
    words = ("round", "--no-due", "--date", DAY, "--vet", "MB", "--book", str(own))
    for more in ((), ("--shape", "pdf", "-")):
        with Path("/dev/full").open("wb") as full:
            done = subprocess.run(
                [sys.executable, "-m", "tui", *words, *more], cwd=ROOT, stdout=full,
                stderr=subprocess.PIPE, encoding="utf-8", check=False,
            )  # fmt: skip
        assert done.returncode == 1
        assert done.stderr.endswith(f"{NO_ROOM}\n")
        assert "fault" not in done.stderr


def test_ctrl_c_before_there_is_anything_is_told(
    call: Call, own: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def pressed(*_given: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(round_command, "planned", pressed)
    code, out, err = call("round", "--book", own)
    assert (code, out) == (1, "")
    assert one_sentence(err)


def test_without_a_book_one_sentence_is_said(call: Call) -> None:
    code, out, err = call("round", "--book", "none.pondround")
    assert (code, out) == (1, "")
    assert "There is no book at" in err


def test_a_day_made_by_hand_fits_eighty_columns() -> None:
    for plan in (nine_stops(), two_drivers()):
        lines = list(as_text(plan))
        assert max(map(len, lines)) <= WIDTH
        told = as_json(plan, NOW)
        json.dumps(told, allow_nan=False)
        names = [stop["name"] for one in told["rounds"] for stop in one["stops"]]
        joined = " ".join(" ".join(lines).split())
        assert all(name in joined for name in names)
    (at,) = [nth for nth, line in enumerate(as_text(nine_stops())) if "  break" in line]
    assert list(as_text(nine_stops()))[at].split() == ["11:40–12:10", "break"]


def test_ctrl_c_keeps_the_best_so_far(capsys: pytest.CaptureFixture[str]) -> None:
    def search(halt: Halt, say: Say) -> str:
        day_rounds(practice_day(0, 3, 1))  # its library must leave ctrl-C alone
        threading.Timer(0.3, os.kill, (os.getpid(), signal.SIGINT)).start()
        until = time.monotonic() + 20
        while not halt.stopped and time.monotonic() < until:
            time.sleep(0.02)
        return "the best so far" if halt.stopped else "nobody ended it"

    heard = signal.signal(signal.SIGINT, signal.default_int_handler)  # ignored in the background
    try:
        assert watched(search) == ("the best so far", True)
    finally:
        signal.signal(signal.SIGINT, heard)
    assert capsys.readouterr().err == "", "no clock where nobody looks at a terminal"


def test_what_went_wrong_in_the_search_is_told() -> None:
    def search(halt: Halt, say: Say) -> str:
        raise ValueError("no way")

    with pytest.raises(ValueError, match="no way"):
        watched(search)


def test_a_terminal_gets_a_clock() -> None:
    """In a terminal of its own, read back from its other side."""
    pty = pytest.importorskip("pty")
    code = (
        "import time; from tui.commands.watched import watched\n"
        "def search(halt, say):\n"
        "    say('best so far 90 min of driving'); time.sleep(0.9); return 1\n"
        "watched(search)"
    )
    ours, theirs = pty.openpty()
    done = subprocess.run([sys.executable, "-c", code], stderr=theirs, check=True)
    os.close(theirs)
    told = os.read(ours, 4000).decode()
    os.close(ours)
    assert done.returncode == 0
    assert "planning, 0 s; best so far 90 min of driving (ctrl-C ends it)" in told
    assert told.endswith("\r\x1b[2K")
