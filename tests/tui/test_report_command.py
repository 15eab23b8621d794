"""`pondround report`: every paper under one command, printed or in a file, never over another."""

from __future__ import annotations

import sqlite3
from io import BytesIO
from pathlib import Path

import pytest
from called import NOW, Call, harmful, one_sentence, table
from pypdf import PdfReader

from tui.commands import report

PHONE = ("--telephone", "01632 960555")


@pytest.fixture(autouse=True)
def still_clock(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(report, "now", lambda: NOW)


def files() -> set[str]:
    return {path.name for path in Path().iterdir()}


def test_a_visit_is_printed(call: Call, own: Path) -> None:
    code, out, err = call("report", "visit", "Koi house", *PHONE, "--book", own)
    assert (code, err) == (0, "")
    assert out.startswith("What we found at your pond\n")
    assert "Idris Fallowmere" in out
    assert "Nothing leaves the pond and nothing comes in" in " ".join(out.split())
    assert not harmful(out)
    assert max(map(len, out.splitlines())) <= 78
    assert files() == set()


def test_a_course_that_runs_is_told_as_not_finished(call: Call, own: Path) -> None:
    code, out, _ = call("report", "visit", "Glasshouse", *PHONE, "--book", own)
    said = " ".join(out.split())
    assert code == 0
    assert "Formalin 1 of 2: 99 mL given." in said
    assert "trichlorfon is not finished: 1 of 5 doses are given. The next is due on" in said
    assert "we give it" in said
    assert "still to be looked at again" in said
    assert "Never make up for it yourself" in said


def test_the_day_and_the_pieces_are_chosen(call: Call, own: Path) -> None:
    words = ("report", "visit", "Glasshouse", *PHONE, "--book", own)
    code, out, _ = call(*words, "--day", "2026-03-10", "--without", "charts, sources")
    assert code == 0
    assert "Tuesday 10 March 2026" in out
    assert "The last" not in out
    assert "What the ranges rest on" not in out
    code, _, err = call(*words, "--with", "gossip")
    assert code == 2
    assert "“gossip”" in err
    code, _, err = call(*words, "--day", "2026-04-01")
    assert code == 2
    assert "lies ahead" in err
    code, _, err = call(*words, "--day", "1.4.2026")
    assert code == 2
    assert one_sentence(err)


@pytest.mark.parametrize(("page", "width_mm"), [("a4", 210.0), ("letter", 215.9)])
def test_a_pdf_goes_into_this_folder(call: Call, own: Path, page: str, width_mm: float) -> None:
    words = ("report", "visit", "Koi house", *PHONE, "--shape", "pdf", "--page", page)
    code, out, _ = call(*words, "--book", own)
    assert code == 0
    (name,) = files()
    assert name.startswith("visit-2026-03-")
    assert name.endswith("-idris-fallowmere-koi-house.pdf")
    assert out.startswith(f"{name}: ")
    box = PdfReader(BytesIO(Path(name).read_bytes())).pages[0].mediabox
    assert float(box.width) == pytest.approx(width_mm * 72.0 / 25.4, abs=0.1)


def test_never_over_a_file_unasked(call: Call, own: Path) -> None:
    Path("mine.txt").write_text("not to be lost")
    words = ("report", "morning", "--out", "mine.txt", "--book", own)
    code, _, err = call(*words)
    assert code == 2
    assert "left as it was" in err
    assert Path("mine.txt").read_text() == "not to be lost"
    code, out, _ = call(*words, "--over")
    assert code == 0
    assert out.startswith("mine.txt: ")
    assert Path("mine.txt").read_text().startswith("Who needs somebody today")
    assert files() == {"mine.txt"}
    code, out, _ = call(*words, "--dry-run")
    assert code == 0
    assert "Nothing was written. It is there already" in out
    code, out, _ = call("report", "morning", "--shape", "pdf", "--dry-run", "--book", own)
    assert code == 0
    assert out.startswith("morning-2026-03-")
    assert files() == {"mine.txt"}
    code, _, err = call("report", "morning", "--out", "nowhere/x.txt", "--book", own)
    assert code == 2
    assert "cannot be written" in err


def without_letterhead(book: Path) -> None:
    """As a practice that has not yet said what stands on its papers."""
    raw = sqlite3.connect(book)
    raw.execute("DELETE FROM letterhead")
    raw.commit()
    raw.close()


def test_without_a_letterhead_it_says_how_to_set_one(call: Call, own: Path) -> None:
    without_letterhead(own)
    code, out, err = call("report", "visit", "Koi house", "--book", own)
    assert (code, out) == (2, "")
    assert "report letterhead --telephone" in err
    assert files() == set()


def test_the_letterhead_is_set_and_shown(call: Call, own: Path) -> None:
    without_letterhead(own)
    code, out, err = call("report", "letterhead", "--book", own)
    assert code == 0
    assert "telephone: –" in out
    assert "No letterhead is kept yet" in err
    who = ("--as", "MB", "--book", own)
    code, out, err = call(
        "report",
        "letterhead",
        "--telephone",
        "01632 960555",
        "--address",
        "4 Weir Lane\\nAsh",
        *who,
    )
    assert (code, err) == (0, "")
    assert "address:   4 Weir Lane, Ash" in out
    assert "practice:  Tarnhithe Pond Practice" in out
    code, out, _ = call("report", "letterhead", "--email", "desk@example.org", *who)
    assert "telephone: 01632 960555" in out
    rows = table(own, "SELECT telephone, email FROM letterhead ORDER BY created_at, id")
    assert rows == [("01632 960555", ""), ("01632 960555", "desk@example.org")]
    code, out, _ = call("report", "visit", "Koi house", "--book", own)
    assert code == 0
    assert "Address:    4 Weir Lane, Ash" in out
    code, out, _ = call("reminders", "--book", own)
    assert "Ring us (01632 960555) when" in out
    code, out, err = call("report", "letterhead", "--telephone", " ", *who)
    assert code == 2
    assert "number to ring" in err


def test_history(call: Call, own: Path) -> None:
    words = ("report", "history", "Glasshouse", *PHONE, "--book", own)
    code, out, _ = call(*words, "--from", "2026-01-01", "--no-charts")
    assert code == 0
    assert out.startswith("History of a pond\n")
    assert "praziquantel" in out
    assert "Charts" not in out
    code, out, _ = call(*words, "--shape", "markdown")
    assert code == 0
    assert "| ---" in out
    code, _, err = call(*words, "--from", "2026-03-01", "--to", "2026-02-01")
    assert code == 2
    assert "before the first" in err


def test_morning(call: Call, own: Path) -> None:
    code, out, _ = call("report", "morning", "--book", own)
    assert code == 0
    assert "[ ]" in out
    assert "Calm (" not in out
    code, out, _ = call("report", "morning", "--all", "--book", own)
    assert code == 0
    assert "Calm (" in out


def test_course_and_feed_are_the_sheets_there_are(call: Call, own: Path) -> None:
    code, out, _ = call("report", "course", "Glasshouse", *PHONE, "--book", own)
    assert code == 0
    assert out.startswith("Treating your fish: what to do, day by day")
    assert "Vet:" in out
    code, out, _ = call("report", "feed", "Show pond", *PHONE, "--book", own)
    assert code == 0
    assert out.startswith("Medicated feed: how to mix it")
    code, _, err = call("report", "feed", "Koi house", *PHONE, "--book", own)
    assert code == 1
    assert "medicated feed" in err
    code, _, err = call("report", "course", "--course", "nonsense", *PHONE, "--book", own)
    assert code == 2
    assert one_sentence(err)
    (key,) = table(own, "SELECT id FROM course WHERE state = 'running' LIMIT 1")[0]
    shown = key.hex() if isinstance(key, bytes) else str(key)
    code, out, _ = call("report", "course", "--course", shown, *PHONE, "--book", own)
    assert code == 0
    assert out.startswith("Treating your fish")


def test_the_day_sheet(call: Call, own: Path) -> None:
    code, out, _ = call("report", "day", "--date", "2026-03-16", "--book", own)
    assert code == 0
    assert "Monday 16 March 2026" in out
    assert "Telephone: " in out.partition("At a glance")[0]  # of the practice's letterhead
    code, _, err = call("report", "day", "--vet", "Nobody", "--book", own)
    assert code == 1
    assert one_sentence(err)


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (("visit",), "name the pond"),
        (("visit", "no such pond at all"), "No pond like"),
        (("visit", "pond", "--months", "99"), "36 months"),
        (("visit", "Koi house", "--shape", "docx"), "docx"),
        (("gossip",), "gossip"),
    ],
)  # fmt: skip
def test_what_is_refused(call: Call, own: Path, words: tuple[str, ...], said: str) -> None:
    code, out, err = call("report", *words, *(PHONE if len(words) > 1 else ()), "--book", own)
    assert code in (1, 2)
    assert out == ""
    assert said in err


def test_without_a_book(call: Call) -> None:
    code, _, err = call("report", "morning", "--book", "nowhere.pondround")
    assert code == 1
    assert "There is no book" in err
