"""Every list, report and export of books whose every word is hostile, judged by other readers."""

from __future__ import annotations

import json
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from shutil import rmtree

import pytest
from sqlalchemy import select

from store.book.columns import Base
from store.book.opening import open_book
from store.exchange.out.described import table_names
from tests.faults.hostile import TALLY, hostile
from tests.faults.hostile_calls import Caller
from tests.faults.hostile_demo import NOW, dress_raw, hostile_demo

BOOKS = int(os.environ.get("PONDROUND_HOSTILE_BOOKS", "3"))
"""How often the practice is dressed, each time by another turn of the texts."""


@dataclass(frozen=True)
class Dressed:
    """A book with the names by which its ponds, clients and people are asked for."""

    path: Path
    ponds: tuple[str, ...]
    clients: tuple[str, ...]
    staff: tuple[str, ...]
    raw: bool


@pytest.fixture(scope="module", params=[*range(BOOKS), "raw"])
def dressed(request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory) -> Dressed:
    folder = tmp_path_factory.mktemp("dressed")
    path = folder / "book.pondround"
    texts = hostile(huge=False)
    nth = BOOKS if request.param == "raw" else int(request.param)
    start = nth * len(texts) // (BOOKS + 1)
    hostile_demo(path, texts[start:] + texts[:start], codes=nth % 2 == 1)
    if request.param == "raw":
        dress_raw(path, texts[start:] + texts[:start])
    with open_book(path, now=NOW) as book, book.reading() as connection:
        return Dressed(
            path,
            *(
                tuple(connection.execute(select(Base.metadata.tables[table].c[column])).scalars())
                for table, column in (("pond", "code"), ("client", "name"), ("staff", "name"))
            ),
            raw=request.param == "raw",
        )


@pytest.fixture
def call(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Caller:
    return Caller(tmp_path, monkeypatch)


LISTS = (
    ("morning",), ("morning", "--all"), ("courses",), ("withdrawal",), ("agents",), ("desk",),
    ("desk", "--all"), ("promises",), ("reminders",), ("doubles",), ("outcome",),
    ("outcome", "--agents"), ("findings",), ("round", "--date", "2026-03-17"),
    ("round", "--date", "2026-03-17", "--free"), ("round", "--date", "2026-03-17", "--week"),
)  # fmt: skip


def test_every_list(dressed: Dressed, call: Caller) -> None:
    before = call.files()
    for words in LISTS:
        call(*words, "--book", dressed.path, codes=(0,))
        assert call.json(*words, "--json", "--book", dressed.path, raw=dressed.raw) is not None
    call("export", "tables", "--book", dressed.path, codes=(0,))
    for name in dressed.clients:
        call("find", "--book", dressed.path, "--", name)
        call("reminders", "--book", dressed.path, f"--client={name}")
        call.json("reminders", "--json", "--book", dressed.path, f"--client={name}",
                  raw=dressed.raw)  # fmt: skip
    for name in dressed.staff:
        call("morning", "--book", dressed.path, f"--as={name}")
        call("round", "--date", "2026-03-17", "--book", dressed.path, f"--vet={name}")
        call("round", "--date", "2026-03-17", "--book", dressed.path, f"--vet={name}", "--late=40")
        call("calendar", "--book", dressed.path, f"--vet={name}", "-")
    assert not call.made(before)


def test_every_list_of_a_pond(dressed: Dressed, call: Caller) -> None:
    before = call.files()
    for code in filter(None, dressed.ponds):
        for command in ("pond", "deaths", "exams", "withdrawal", "outcome"):
            call(command, "--book", dressed.path, "--", code)
            call.json(command, "--json", "--book", dressed.path, "--", code, raw=dressed.raw)
    assert not call.made(before)


def test_any_text_may_be_asked_for(
    dressed: Dressed, call: Caller, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What is typed behind a command, and where a name of a file, a day or a number is awaited."""
    before = call.files()
    monkeypatch.setenv("PONDROUND_BOOK", str(dressed.path))
    for one in hostile(200, huge=False):
        text = one.text.replace("\0", "")  # no argument of a process holds one
        for words in (
            ("find", "--", text), ("pond", "--", text), ("agents", "--", text), ("try", "--", text),
            ("findings", f"--days={text}"), ("round", f"--date={text}"), ("morning", f"--as={text}"),
            ("report", "visit", f"--telephone={text}", f"--practice={text}", "--", "PEN-1"),
            ("calendar", f"--site={text}", "-"), ("export", "table", "-", "--", text),
            ("reckon", "ammonia", f"--tan={text}", "--ph=8", "--temp=20"),
            ("merge", "--dry-run", "--", text, text),
        ):  # fmt: skip
            code, _ = call(*words)
            TALLY.refused["typed at the command line"] += code != 0
            TALLY.kept["typed at the command line"] += code == 0
    assert not call.made(before)


def papers(dressed: Dressed) -> Iterator[tuple[str | Path, ...]]:
    """Every paper as it is asked for."""
    yield from (
        ("report", "morning", "--all"), ("report", "morning"),
        ("report", "day", "--date", "2026-03-17"),
    )  # fmt: skip
    for code in filter(None, dressed.ponds):
        for words in (
            ("visit", "--with=notes,access"), ("history", "--notes"), ("course",), ("feed",)
        ):  # fmt: skip
            yield ("report", *words, "--telephone=01632 960100", "--", code)


def test_every_report_in_every_shape(dressed: Dressed, call: Caller) -> None:
    before = call.files()
    made = 0
    for words in papers(dressed):
        at = words.index("--") if "--" in words else len(words)
        for shape in ("text", "markdown"):
            call(*words[:at], f"--shape={shape}", "--book", dressed.path, *words[at:])
        code, _ = call(*words[:at], "--shape=pdf", "--over", "--book", dressed.path, *words[at:])
        made += code == 0
    files = call.made(before)
    assert {one.suffix for one in files} == {".pdf"}
    assert {one.parent for one in files} == {call.work}
    assert made > len(dressed.ponds) or not any(dressed.ponds)


def test_every_file_of_a_round_and_a_calendar(dressed: Dressed, call: Caller) -> None:
    before = call.files()
    for shape, ending in (
        ("text", "txt"), ("markdown", "md"), ("pdf", "pdf"), ("geojson", "geojson"), ("gpx", "gpx"),
        ("calendar", "ics"),
    ):  # fmt: skip
        call("round", "--date=2026-03-17", "--shape", shape, f"r.{ending}", "--book", dressed.path,
             codes=(0,))  # fmt: skip
        call("round", "--date=2026-03-17", "--shape", shape, ".", "--book", dressed.path)
    call("calendar", "--book", dressed.path, "--codes", "--from=2025-01-01", "all.ics", codes=(0,))
    call("reminders", "--book", dressed.path, "--folder", "letters", "--days=300", codes=(0,))
    with open_book(dressed.path, now=NOW) as book, book.reading() as connection:
        visit = Base.metadata.tables["visit"]
        standing = visit.c.struck_at.is_(None) & (visit.c.state != "cancelled")
        visits = len(connection.execute(select(visit.c.id).where(standing)).all())
    from tests.faults.hostile_calls import judge_calendar

    assert 0 < judge_calendar((call.work / "all.ics").read_bytes()) <= visits + 20
    files = call.made(before)
    assert {one.parent for one in files} <= {call.work, call.work / "letters"}
    assert len(json.loads((call.work / "r.geojson").read_bytes())["features"]) > 3


def test_every_export(dressed: Dressed, call: Caller) -> None:
    before = call.files()
    for name in table_names():
        call("export", "table", name, f"{name}.csv", "--book", dressed.path, codes=(0,))
        call("export", "json", f"{name}.jsonl", "--table", name, "--book", dressed.path, codes=(0,))
    call("export", "json", "all.jsonl", "--book", dressed.path, codes=(0,))
    call("export", "book", "whole", "--book", dressed.path, codes=(0,))
    call("import", "book", "whole", "--book", "again.pondround", codes=(0,))
    with open_book(dressed.path, now=NOW) as one, open_book("again.pondround", now=NOW) as two:
        from tests.exchange.any_book import tables_of

        assert tables_of(one) == tables_of(two)
    if dressed.raw:  # its tables keep what stands in the book, as its README says
        rmtree(call.work / "whole" / "tables")
    for nth, code in enumerate(filter(None, dressed.ponds)):
        call("export", "water", f"water-{nth}.csv", "--book", dressed.path, f"--pond={code}")
        call("export", "json", f"pond-{nth}.jsonl", "--table=pond", "--book", dressed.path,
             f"--pond={code}")  # fmt: skip
    for nth, name in enumerate(dressed.clients):
        call("export", "table", "client", f"client-{nth}.csv", "--book", dressed.path,
             f"--client={name}")  # fmt: skip
    files = call.made(before)
    assert len(files) > 100
    inside = {call.work, call.work / "whole", *(call.work / "whole").rglob("*")}
    assert {one.parent for one in files} <= inside
