"""Every kind of file that can be brought in, each of its cells hostile in turn."""

from __future__ import annotations

import csv
import io
import os
import re
import shutil
import time
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest
from sqlalchemy import JSON, String, select

from store.book.columns import Base
from store.book.opening import open_book
from store.exchange.demo.practice import make_demo
from store.exchange.out.described import table_names
from tests.faults.hostile import TALLY, Hostile, harmful, hostile, runs_as_formula
from tests.faults.hostile_calls import Caller
from tests.faults.hostile_demo import NOW

SITES = Path(__file__).parents[2] / "demo_sites"
BROUGHT = SITES / "as_brought"
QUICK_S = 30.0
"""For a file with a cell of a megabyte, on a machine that is busy with other work."""
FILES = {
    "water": (SITES / "water_tests.csv", ()),
    "logger": (SITES / "logger_STI-1.csv", ("--pond=PEN-1",)),
    "ponds": (SITES / "ponds.csv", ()),
    "staff": (SITES / "staff.csv", ()),
    "kits": (SITES / "kits.csv", ()),
    "visits": (SITES / "visits.csv", ()),
    "events": (SITES / "events.csv", ()),
    "fish": (BROUGHT / "microscope.csv", ("--pond=PEN-1", "--date=2026-03-10")),
    "deaths": (BROUGHT / "losses.csv", ("--pond=PEN-1",)),
    "lab": (BROUGHT / "laboratory.csv", ("--pond=PEN-1",)),
    "medicines": (BROUGHT / "medicines.csv", ()),
    "clients": (BROUGHT / "clients.csv", ()),
    "drives": (None, ()),
}
DRIVES = "from,to,minutes,km,note\nPEN-1,VEL-1,20,12,by the bridge\n"


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("demo") / "demo.pondround"
    make_demo(path, NOW).close()
    return path


@pytest.fixture
def call(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Caller:
    return Caller(tmp_path, monkeypatch)


def lines_of(kind: str) -> list[list[str]]:
    """The first lines of a good file of a kind, and what parts its cells is left behind."""
    path = FILES[kind][0]
    text = DRIVES if path is None else path.read_text(encoding="utf-8", errors="replace")
    mark = ";" if text.partition("\n")[0].count(";") > 3 else ","
    return [row for row in csv.reader(io.StringIO(text), delimiter=mark) if row][:8]


def sheet(rows: Sequence[Sequence[str]]) -> bytes:
    text = io.StringIO()
    csv.writer(text, lineterminator="\r\n").writerows(rows)
    return text.getvalue().encode("utf-8", "surrogatepass")


def files_of(kind: str, texts: Sequence[Hostile]) -> Iterator[tuple[str, bytes]]:
    """Files of one kind: each column in turn holds the texts, a row each; then the headings do."""
    lines = lines_of(kind)
    width = max(map(len, lines))
    for column in range(width):
        rows = [[*line, *[""] * (width - len(line))] for line in lines]
        good = rows[-1] if kind != "logger" else rows[1]
        for nth, one in enumerate(texts):
            rows.append([one.text if at == column else cell for at, cell in enumerate(good)])
            if nth % 50 == 0:
                rows.append(list(good))
        yield f"{kind}-{column}", sheet(rows)
    for nth in range(0, len(texts), max(1, len(texts) // 10)):
        heads = [one.text for one in texts[nth : nth + 6]]
        yield (
            f"{kind}-heads-{nth}",
            sheet([[*lines[0], *heads], *([*line, *"abcdef"] for line in lines[1:])]),
        )
        yield f"{kind}-above-{nth}", sheet([[one] for one in heads] + lines)


def rough_files_of(kind: str) -> Iterator[tuple[bytes, int]]:
    """Files with what is no text, five cells a file, and with some of the texts of a megabyte.

    Each kind takes others of these, so that all of them are read.
    """
    lines = lines_of(kind)
    rough = [one for one in hostile() if one.kind == "surrogates" or "\0" in one.text]
    for nth in range(0, len(rough), 5):
        some = rough[nth : nth + 5]
        yield sheet([*lines, *([one.text, *lines[-1][1:]] for one in some)]), len(some)
    huge = [one for one in hostile() if one.kind == "huge"]
    nth = list(FILES).index(kind)
    for one in (huge * 4)[nth * 3 : nth * 3 + 3]:
        yield sheet([*lines, [one.text, *lines[-1][1:]]]), 1
        yield sheet([*lines, [*lines[-1][:-1], one.text]]), 1


@pytest.mark.parametrize("kind", list(FILES))
def test_every_cell_of_a_file(kind: str, demo: Path, call: Caller) -> None:
    share = int(os.environ.get("PONDROUND_HOSTILE_FILES", "1"))
    texts = [one for one in hostile(huge=False) if one.kind != "surrogates"][::share]
    clean = [one for one in texts if "\0" not in one.text]
    book = call.work / "book.pondround"
    shutil.copyfile(demo, book)
    before = call.files()
    for nth, (name, data) in enumerate(files_of(kind, clean)):
        path = call.work / f"{name}.csv"
        path.write_bytes(data)
        call("import", kind, path, "--as=MB", *FILES[kind][1], "--book", book)
        TALLY.kept[f"cells of files, {kind}"] += len(clean) if "head" not in name else 6
        if kind in {"water", "clients"} and nth % 5 == 0:
            call("import", kind, path, "--dry-run", "--book", book)
        path.unlink()
    for data, count in rough_files_of(kind):
        path = call.work / "rough.csv"
        path.write_bytes(data)
        begun = time.perf_counter()
        call("import", kind, path, "--as=MB", *FILES[kind][1], "--book", book)
        took = time.perf_counter() - begun
        assert took < QUICK_S, (kind, took)
        TALLY.kept[f"cells of files, {kind}"] += count
        path.unlink()
    judge_book(book)
    for one in call.files() - before:
        assert one.parent == call.work, one
        judge_beside(one)


def judge_beside(path: Path) -> None:
    """What is written beside a file for a person to correct."""
    assert path.name.partition(".")[2].split("-")[0].split(".")[0] in {
        "refused",
        "answers",
        "left",
    }, path
    csv.field_size_limit(1 << 30)
    text = path.read_bytes().decode()
    assert not harmful(text.replace("\r\n", "\n")), (path.name, harmful(text))
    for row in csv.reader(io.StringIO(text, newline="")):
        for cell in row:
            # A telephone number stays one: it is to be corrected and brought in again.
            runs = runs_as_formula(cell) and not re.fullmatch(r'[\s"]*[+\-＋－][^(|!]*', cell)
            assert not runs, (path.name, cell)


def judge_book(path: Path) -> None:
    """Every text of the book is harmless, and the book opens."""
    with open_book(path, now=NOW) as book, book.reading() as connection:
        for name in table_names():
            columns = [
                one for one in Base.metadata.tables[name].columns
                if isinstance(one.type, String | JSON)
            ]  # fmt: skip
            for row in connection.execute(select(*columns)) if columns else ():
                for value in row:
                    assert not harmful(str(value)), (name, value)
