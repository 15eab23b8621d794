"""The command line called on a book of hostile texts, and everything that comes out of it judged."""

from __future__ import annotations

import csv
import io
import json
import sys
from collections.abc import Iterator
from contextlib import redirect_stderr, redirect_stdout
from importlib import import_module
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

import platformdirs
import pytest
from ical.calendar_stream import IcsCalendarStream

from tests.faults.hostile import TALLY, harmful, runs_as_formula
from tests.faults.hostile_demo import NOW
from tui.commands import main

WITH_A_CLOCK = (
    "asked", "calendar", "courses", "deaths", "desk", "doubles", "exams", "export", "findings",
    "main", "outcome", "pond", "promises", "reminders", "report", "round", "withdrawal",
)  # fmt: skip
_GPX = "{http://www.topografix.com/GPX/1/1}"
_RUNS = {"/JavaScript", "/JS", "/Launch", "/EmbeddedFile", "/EmbeddedFiles", "/URI", "/AA", "/A"}
"""Entries of a PDF by which a reader is made to do something (ISO 32000, 12.6)."""


class Caller:
    """Calls `pondround` in a folder of its own, by a clock that stands still.

    Everything printed is judged as it comes; files are judged by `made`.
    """

    def __init__(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        self.home, self.work = folder / "home", folder / "work"
        self.home.mkdir()
        self.work.mkdir()
        for name in ("HOME", "XDG_DATA_HOME", "XDG_STATE_HOME", "XDG_CONFIG_HOME", "LOCALAPPDATA"):
            monkeypatch.setenv(name, str(self.home))
        monkeypatch.delenv("PONDROUND_BOOK", raising=False)
        for kind in ("data", "log"):
            at = self.home / kind
            monkeypatch.setattr(platformdirs, f"user_{kind}_path", lambda *_, at=at, **__: at)
        monkeypatch.chdir(self.work)
        for name in WITH_A_CLOCK:
            module = import_module(f"tui.commands.{name}")
            if hasattr(module, "now"):
                monkeypatch.setattr(module, "now", lambda: NOW)
        monkeypatch.setattr(main, "keep_fault", _fault)

    def __call__(self, *words: str | Path, codes: tuple[int, ...] = (0, 1, 2)) -> tuple[int, str]:
        """The exit code and what was printed, both outputs judged."""
        out, err = io.StringIO(), io.StringIO()
        with redirect_stdout(out), redirect_stderr(err):
            try:
                code = main.main([str(word) for word in words])
            except SystemExit as leaving:
                code = int(leaving.code or 0)
        for said in (out.getvalue(), err.getvalue()):
            bad = harmful(said.replace("\r\n", "\n") if "calendar" in words else said)
            assert not bad, (words, sorted(map(hex, map(ord, bad))))
        assert code in codes, (words, code, err.getvalue())
        if code:
            assert err.getvalue().strip() or out.getvalue().strip(), words
        TALLY.shown["commands"] += 1
        TALLY.shown["lines printed"] += out.getvalue().count("\n")
        return code, out.getvalue()

    def json(self, *words: str | Path, raw: bool = False) -> Any:
        """What was printed, as a standard parser reads it; None where it was refused.

        Of a book written `raw`, past the store, JSON gives what stands there, written in ASCII.
        """
        code, out = self(*words)
        if not out.strip():
            assert code, words
            return None
        found = json.loads(out, parse_constant=_no_constant)
        assert out.isascii() or not raw
        for text in () if raw else _texts(found):
            assert not harmful(text), (words, text)
        return found

    def made(self, before: set[Path]) -> list[Path]:
        """Files that were not there before: none outside the folder of work, each one judged."""
        new = [one for one in self.files() if one not in before]
        for one in new:
            assert not harmful(one.name, lines=False), one
            assert self.work in one.parents, one
            judge_file(one)
        return new

    def files(self) -> set[Path]:
        """All files of this home and this folder of work, but the book and what lies beside it."""
        return {
            one
            for root in (self.home.parent,)
            for one in root.rglob("*")
            if one.is_file() and ".pondround" not in one.name
        }


def _fault(_: object, particulars: str) -> str:
    raise AssertionError(particulars) from sys.exc_info()[1]


def _no_constant(name: str) -> None:
    raise AssertionError(f"{name} is no JSON")


def _texts(value: Any) -> Iterator[str]:
    if isinstance(value, str):
        yield value
    elif isinstance(value, dict):
        for name, one in value.items():
            yield name
            yield from _texts(one)
    elif isinstance(value, list):
        for one in value:
            yield from _texts(one)


def judge_file(path: Path) -> None:
    """A file that went out is whole for a standard reader of its kind and drives nothing."""
    data = path.read_bytes()
    TALLY.shown[f"files, {path.suffix or 'without ending'}"] += 1
    if path.suffix == ".pdf":
        judge_pdf(data)
        return
    text = data.decode("utf-8-sig")
    bad = harmful(text.replace("\r\n", "\n"))
    assert not bad, (path.name, sorted(map(hex, map(ord, bad))))
    match path.suffix:
        case ".csv":
            for row in csv.reader(io.StringIO(text, newline=""), strict=True):
                assert not any(map(runs_as_formula, row)), (path.name, row)
                TALLY.shown["cells of sheets"] += len(row)
        case ".json" | ".geojson":
            json.loads(text, parse_constant=_no_constant)
        case ".jsonl":
            for line in text.splitlines():
                json.loads(line, parse_constant=_no_constant)
        case ".gpx":
            root = ElementTree.fromstring(data)
            assert {one.tag for one in root.iter()} <= {
                f"{_GPX}{name}"
                for name in (
                    "gpx",
                    "metadata",
                    "name",
                    "desc",
                    "time",
                    "rte",
                    "number",
                    "rtept",
                    "cmt",
                )
            }
        case ".ics":
            judge_calendar(data)


def judge_calendar(data: bytes) -> int:
    """The entries of a calendar, as many as the file begins; lines as RFC 5545, 3.1 has them."""
    assert max(map(len, data.split(b"\r\n"))) <= 75
    assert b"\n" not in data.replace(b"\r\n", b"")
    entries = IcsCalendarStream.calendar_from_ics(data.decode()).events
    assert len(entries) == data.count(b"BEGIN:VEVENT\r\n") == data.count(b"END:VEVENT\r\n")
    assert len({(one.uid, one.recurrence_id) for one in entries}) == len(entries)
    for one in entries:
        for text in (one.summary, one.location, one.description):
            assert not harmful(text or ""), one
        assert one.rrule is None
    names = {line.partition(b":")[0].partition(b";")[0] for line in _unfolded(data)}
    assert not names & {b"ATTACH", b"ATTENDEE", b"ORGANIZER", b"RRULE", b"ACTION"}
    TALLY.shown["entries of calendars"] += len(entries)
    return len(entries)


def _unfolded(data: bytes) -> list[bytes]:
    return data.replace(b"\r\n ", b"").split(b"\r\n")


def judge_pdf(data: bytes) -> None:
    """A PDF that a second reader can read, that does nothing and says nothing harmful."""
    from pypdf import PdfReader

    reader = PdfReader(io.BytesIO(data), strict=True)
    for number in range(1, reader.trailer["/Size"]):
        one = reader.get_object(number)
        assert not _RUNS & set(one if isinstance(one, dict) else ()), one
    root = reader.trailer["/Root"]
    assert isinstance(root.get("/OpenAction", []), list)  # where it is shown first, and no action
    assert len(reader.pages) >= 1
    for page in reader.pages:
        assert not page.get("/Annots")
        assert not harmful(page.extract_text()), page
    TALLY.shown["pages of PDF"] += len(reader.pages)
