"""The command line as tests call it, on a book of the demo practice."""

from __future__ import annotations

import asyncio
import shutil
from collections.abc import Iterable
from pathlib import Path
from typing import Any

import platformdirs
import pytest
from called import NOW, Call
from textual.app import App, ScreenError
from textual.css.stylesheet import Stylesheet
from textual.events import Key
from textual.keys import _character_to_key
from textual.message_pump import MessagePump
from textual.pilot import Pilot, WaitForScreenTimeout
from textual.widgets import Input, TextArea

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
press_one_by_one = App._press_keys
"""What the library does: after every key it waits until nothing happens any more."""


def _press_letters_at_once() -> None:
    """Letters typed into a line or a box follow each other as a quick hand types them.

    The last of them is waited for as any other key, and so is every key that is no letter.
    """

    async def press(app: App[Any], keys: Iterable[str]) -> None:
        rest = list(keys)
        while rest:
            into_text = isinstance(app.focused, Input | TextArea)
            length = 1
            while (
                into_text and length < len(rest) and len(rest[length - 1]) == len(rest[length]) == 1
            ):
                length += 1
            for letter in rest[: length - 1]:
                named = letter if letter.isalnum() else _character_to_key(letter)
                app.post_message(Key(named, letter))
            await press_one_by_one(app, rest[length - 1 : length])
            del rest[:length]

    App._press_keys = press  # type: ignore[method-assign]


_press_letters_at_once()


def _ask_only_who_is_busy() -> None:
    """A pause asks the application, its screen and every widget that has something to do.

    The library also sends a message to each that waits for one: half of all messages of a form.
    """

    async def wait_for_screen(pilot: Pilot[Any], timeout: float = 30.0) -> bool:
        app = pilot.app
        try:
            screen = app.screen
        except ScreenError:
            return False
        always: tuple[MessagePump, ...] = (app, screen)
        for _ in range(_ROUNDS):  # what is done may give others something to do
            busy = [one for one in screen.walk_children() if not _waits_for_a_message(one)]
            if not await _asked(app, [*always, *busy], timeout):
                return False
            if not busy:
                break
            always = ()
        return True

    Pilot._wait_for_screen = wait_for_screen  # type: ignore[method-assign]


_ROUNDS = 4


async def _asked(app: App[Any], everyone: Iterable[MessagePump], timeout: float) -> bool:
    """Each has done what it had to do; False where the application fell over."""
    open_ = 0
    answered = asyncio.Event()

    def answer() -> None:
        nonlocal open_
        open_ -= 1
        if not open_:
            answered.set()

    for one in everyone:
        open_ += one.call_later(answer)
    if open_:
        both = [asyncio.create_task(one.wait()) for one in (answered, app._exception_event)]
        done, rest = await asyncio.wait(both, timeout=timeout, return_when=asyncio.FIRST_COMPLETED)
        for task in rest:
            task.cancel()
        if not done:
            raise WaitForScreenTimeout("Widgets have messages that they do not get done.")
    return not open_


def _waits_for_a_message(one: MessagePump) -> bool:
    queue = one._message_queue
    return queue.empty() and bool(queue.ready_event._waiters) and not one._next_callbacks


_ask_only_who_is_busy()


@pytest.fixture
def one_by_one(monkeypatch: pytest.MonkeyPatch) -> None:
    """Letters are waited for one by one, for tests of what happens at each of them."""
    monkeypatch.setattr(App, "_press_keys", press_one_by_one)


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
