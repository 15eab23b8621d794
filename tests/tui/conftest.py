"""The command line as tests call it, on a book of the demo practice."""

from __future__ import annotations

import shutil
from pathlib import Path
from typing import Any

import platformdirs
import pytest
from called import NOW, Call
from textual.css.stylesheet import Stylesheet

from store.exchange.demo.practice import make_demo
from tui.commands import (
    asked,
    calendar,
    courses,
    deaths,
    desk,
    exams,
    findings,
    main,
    outcome,
    pond,
    promises,
    reminders,
    withdrawal,
)

_WITH_A_CLOCK = (
    asked, calendar, courses, deaths, desk, exams, findings, main, outcome, pond, promises,
    reminders, withdrawal,
)  # fmt: skip


def _read_styles_once() -> None:
    """A style sheet is read once by all tests of a process, not anew by every application."""
    read: dict[Any, Any] = {}
    parse = Stylesheet._parse_rules

    def parse_once(sheet: Stylesheet, css: str, *words: Any, **named: Any) -> Any:
        key = (css, words, tuple(named.items()), frozenset(sheet._variables.items()))
        if key not in read:
            read[key] = parse(sheet, css, *words, **named)
        return read[key]

    Stylesheet._parse_rules = parse_once  # type: ignore[method-assign]


_read_styles_once()


@pytest.fixture(scope="session")
def demo_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("demo") / "demo.pondround"
    make_demo(path, NOW).close()
    return path


@pytest.fixture
def alone(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A home of its own, an empty folder to work in, and a clock that stands still."""
    for name in ("HOME", "XDG_DATA_HOME", "XDG_STATE_HOME", "XDG_CONFIG_HOME", "LOCALAPPDATA"):
        monkeypatch.setenv(name, str(tmp_path / "home"))
    monkeypatch.delenv("PONDROUND_BOOK", raising=False)
    for kind in ("data", "log"):
        folder = tmp_path / "home" / kind
        monkeypatch.setattr(platformdirs, f"user_{kind}_path", lambda *_, at=folder, **__: at)
    work = tmp_path / "work"
    work.mkdir()
    monkeypatch.chdir(work)
    for module in _WITH_A_CLOCK:
        monkeypatch.setattr(module, "now", lambda: NOW)


@pytest.fixture
def call(alone: None, capsys: pytest.CaptureFixture[str]) -> Call:
    """Calls `pondround` with words; gives the exit code and what was printed."""

    def run(*words: str | Path) -> tuple[int, str, str]:
        try:
            code = main.main([str(word) for word in words])
        except SystemExit as leaving:
            code = int(leaving.code or 0)
        out, err = capsys.readouterr()
        assert "Traceback" not in out + err
        return code, out, err

    return run


@pytest.fixture
def own(demo_file: Path, tmp_path: Path) -> Path:
    """A copy of the demo practice that a test may write."""
    return Path(shutil.copyfile(demo_file, tmp_path / "own.pondround"))
