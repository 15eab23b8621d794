"""What a practice is handed goes in by the command line, and goes out and in again, all of it."""

from __future__ import annotations

import csv
import json
import shutil
import sys
from datetime import UTC, datetime
from pathlib import Path
from typing import Any

import pytest
from called import Call, table

from store.exchange.demo.practice import make_demo
from tests.exchange.any_book import files_of

BROUGHT = Path(__file__).parents[2] / "demo_sites" / "as_brought"
MAY = datetime(2026, 5, 4, 7, 30, tzinfo=UTC)


@pytest.fixture
def brought(call: Call, tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder with a demo practice of May and the files that were brought."""
    for name, module in list(sys.modules.items()):
        if name.startswith("tui.commands.") and hasattr(module, "now"):
            monkeypatch.setattr(module, "now", lambda: MAY)
    make_demo(tmp_path / "work" / "book.pondround", MAY).close()
    for path in BROUGHT.iterdir():
        shutil.copy(path, tmp_path / "work")
    return tmp_path / "work"


def answered(path: Path, answers: dict[str, str]) -> None:
    """The file of questions with an answer in every row whose question holds the words."""
    with path.open(newline="", encoding="utf-8-sig") as file:
        rows = list(csv.reader(file))
    for row in rows[1:]:
        row[0] = next((say for word, say in answers.items() if word in " ".join(row)), row[0])
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file).writerows(rows)


def test_all_that_was_brought_is_in_the_book_once_and_leaves_it_whole(
    call: Call, brought: Path
) -> None:
    book = brought / "book.pondround"

    def bring(kind: str, *words: str, code: int = 0) -> str:
        given, out, err = call("import", kind, *words, "--book", book, "--as", "OS")
        assert given == code, (kind, out, err)
        return out + err

    def ask(statement: str, *values: str) -> list[tuple[Any, ...]]:
        return table(book, statement, *values)

    # An owner's sheet, with decimal commas, bounds, words for hours and an average.
    keeper = ("keeper.xlsx", "--pond", "TRA-1", "--sheet", "pond")
    assert "Would save 9 water tests" in bring("water", *keeper, "--dry-run")
    tests = "SELECT count(*) FROM water_test"
    (before,) = ask(tests)
    bring("water", *keeper)
    assert ask(tests)[0][0] == before[0] + 9
    assert "is not doubled" in bring("water", *keeper)
    assert ask(tests)[0][0] == before[0] + 9
    below = "SELECT bound, value, form FROM reading WHERE typed = '<0.1' AND parameter = 'tan_mg_l'"
    assert ask(below) == [("<", 0.1, "n")] * 2

    # A probe in °F, month first, that was lifted into the sun.
    said = bring("logger", "logger.csv", "--pond", "MOR-1")
    assert "4 values doubted" in said
    assert len((brought / "logger.left-out.csv").read_text().splitlines()) == 1 + 2 + 4 + 2 + 1
    assert "0 logger values" in bring("logger", "logger.csv", "--pond", "MOR-1")

    # What was found on fish, what died, what a laboratory and a medicine book say.
    bring("fish", "microscope.csv", "--pond", "MOR-1", "--date", "2026-04-22", "--column",
          "Tri=trichodina", "--column", "Dac=gill flukes", "--examiner", "OS", "--purpose",
          "routine")  # fmt: skip
    bring("deaths", "losses.csv")
    bring("lab", "laboratory.csv", "--blank", "Report=same", "--test", "bacterial culture=none")
    bring("medicines", "medicines.csv")
    bring("told", "message.txt", "--pond", "WIC-1", "--take", "1,2,3", "--hour", "message")
    assert ask("SELECT result FROM lab_sample WHERE report LIKE 'L-26-0417%' ORDER BY label") == [
        ("not detected",), ("detected",), ("unclear",)
    ]  # fmt: skip

    # A list of customers: nobody is made one by a name alone.
    assert "5 questions open" in bring("clients", "clients.csv", code=1)
    answered(
        brought / "clients.answers.csv",
        {"Trask": "same", "GUDGEON": "same", "Koi pond": "take", "Pond 1": "take",
         "Pond 2": "take"},
    )  # fmt: skip
    bring("clients", "clients.csv", "--answers", "clients.answers.csv")
    names = "SELECT name FROM client WHERE name LIKE '%Trask%' OR name LIKE '%udgeon%'"
    assert len(ask(names)) == 2
    assert len(ask("SELECT 1 FROM pond JOIN site ON site.id = pond.site_id JOIN client ON "
                   "client.id = site.client_id WHERE client.name LIKE '%udgeon%'")) == 2  # fmt: skip

    # A paper in the owner's hand.
    call("report", "visit", "FAL-1", "--book", book, "--shape", "pdf", "--out", "visit.pdf")
    assert (brought / "visit.pdf").read_bytes().startswith(b"%PDF-")

    # Everything goes out and in again, and is the same.
    again = brought / "again.pondround"
    assert call("export", "book", "out", "--book", book)[0] == 0
    assert call("import", "book", "out", "--book", again)[0] == 0
    assert call("export", "book", "back", "--book", again)[0] == 0
    files = files_of(brought / "out")
    back = files_of(brought / "back")
    assert len(files) > 50
    for name, one in files.items():
        if name == "manifest.json":
            assert _written_whenever(one) == _written_whenever(back[name])
        else:
            assert one == back[name], name
    lists = [call("morning", "--json", "--book", one)[1] for one in (book, again)]
    assert lists[0] == lists[1]


def _written_whenever(manifest: bytes) -> dict[str, Any]:
    return {**json.loads(manifest), "written_at": ""}
