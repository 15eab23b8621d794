"""The window is made small and large again, and closed while somebody types."""

from __future__ import annotations

import os
import shutil
import signal
import time
from datetime import UTC, datetime
from pathlib import Path

import pytest

pytest.importorskip("pty", reason="there are no pseudo-terminals here")
pytest.importorskip("termios", reason="there are no pseudo-terminals here")
from store.exchange.demo.practice import make_demo
from tests.faults.terminal import Terminal

TYPED = "ph 7,4 nh4 0.5"


@pytest.fixture(scope="module")
def demo_book(tmp_path_factory: pytest.TempPathFactory) -> Path:
    path = tmp_path_factory.mktemp("demo") / "practice.pondround"
    make_demo(path, datetime.now(UTC)).close()
    return path


@pytest.fixture
def home(tmp_path: Path, demo_book: Path) -> Path:
    shutil.copyfile(demo_book, tmp_path / "practice.pondround")
    return tmp_path


def test_made_small_and_large_again(home: Path) -> None:
    terminal = Terminal(["demo"], home)
    terminal.wait_for("t test")
    terminal.wait_for("act")
    for _ in range(3):
        terminal.resize(20, 5)
        said = terminal.wait_for("window larger")
        assert "Nothing is" in said
        terminal.type("t")
        assert "Water test" not in terminal.read(0.3), "a key reached what nobody saw"
        terminal.resize(80, 24)
        terminal.wait_for("t test")
    terminal.type("t")
    terminal.wait_for("Nothing typed yet")
    terminal.type(TYPED)
    terminal.wait_for("pH 7.4")
    terminal.resize(20, 5)
    terminal.wait_for("window larger")
    terminal.resize(80, 24)
    assert TYPED in terminal.wait_for(TYPED), "what was typed stands there again"
    terminal.type("\x1b")
    terminal.wait_for("t test")
    terminal.type("q")
    until = time.monotonic() + 20
    while not terminal.over and time.monotonic() < until:
        terminal.read(0.1)
    assert os.waitstatus_to_exitcode(os.waitpid(terminal.pid, 0)[1]) == 0
    terminal.close()


@pytest.mark.parametrize("how", [signal.SIGHUP, signal.SIGTERM, signal.SIGKILL])
def test_closed_in_the_middle_of_a_form(home: Path, how: signal.Signals) -> None:
    words = ["--book", str(home / "practice.pondround")]
    terminal = Terminal(words, home)
    terminal.wait_for("t test")
    terminal.wait_for("act")
    terminal.type("t")
    terminal.wait_for("Nothing typed yet")
    terminal.type(TYPED)
    typed_at = time.monotonic()
    while not (terminal.drafts.exists() and TYPED in terminal.drafts.read_text(encoding="utf-8")):
        assert time.monotonic() - typed_at < 1, "the draft is not on the disk within a second"
        terminal.read(0.005)
    took = time.monotonic() - typed_at
    ended = os.waitstatus_to_exitcode(terminal.end(how))
    if how == signal.SIGTERM:  # in order: the other screen of the terminal is left
        assert ended == 128 + how
        assert terminal.written.rfind(b"\x1b[?1049l") > terminal.written.rfind(b"\x1b[?1049h")
    terminal.close()
    again = Terminal(words, home)
    again.wait_for("t test")
    again.wait_for("act")
    again.type("t")
    again.wait_for(TYPED)
    again.end(signal.SIGKILL)
    again.close()
    print(f"\n{how.name}: on the disk {1000 * took:.0f} ms after the last key, offered again")
