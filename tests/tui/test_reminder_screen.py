"""The reminder of one client on the screen, and `pondround reminders`."""

from __future__ import annotations

import argparse
import asyncio
import json
from collections.abc import Awaitable, Callable
from datetime import time, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import pytest
from called import NOW, harmful
from screen_text import a_moment, screen_text
from small_app import SmallApp, settled

from store.book.act import Act
from store.book.book import Book
from store.diary.kept.promised.follow_ups import promise
from store.errors import NotFound
from tui.commands import reminders
from tui.commands.parsing import OneSentenceParser
from tui.screens.desk.reminder import ReminderFileScreen, ReminderScreen, ReminderSetScreen
from tui.screens.parts.help import Help
from tui.widgets.fields import Form

TODAY = NOW.date()
Steps = Callable[[Any], Awaitable[None]]


@pytest.fixture
def owner(sqlite_book: Book, act: Act) -> UUID:
    with sqlite_book.writing(act) as writing:
        client = writing.add("client", name="Alder [red]House", phone="01632 960101")
        site = writing.add("site", client_id=client, name="Garden")
        pond = writing.add("pond", site_id=site, name="Long pond")
        writing.add(
            "visit", site_id=site, pond_id=pond, on_day=TODAY + timedelta(days=3),
            at_time=time(9, 30), staff_id=act.by, kind="examination",
        )  # fmt: skip
        promise(
            writing, client_id=client, kind="look_again", says="closed \x1b[2Julcer",
            first_on=TODAY + timedelta(days=20), pond_id=pond,
        )  # fmt: skip
    return client  # type: ignore[no-any-return]


@pytest.fixture
def show(sqlite_book: Book, act: Act, owner: UUID, tmp_path: Path, monkeypatch: Any) -> Any:
    """Opens the screen and does the steps; the folder to work in is empty."""
    work = tmp_path / "work"
    work.mkdir()
    monkeypatch.chdir(work)

    def run(steps: Steps, size: tuple[int, int] = (80, 24)) -> SmallApp:
        app = SmallApp(sqlite_book, act, lambda: ReminderScreen(owner), tmp_path / "drafts.json")

        async def run_all() -> None:
            async with app.run_test(size=size, notifications=True) as pilot:
                await settled(pilot)
                await steps(pilot)

        asyncio.run(run_all())
        return app

    return run


async def until(pilot: Any, holds: Callable[[], bool]) -> None:
    for _ in range(200):
        await a_moment(0.01)
        if holds():
            return
    raise AssertionError(screen_text(pilot.app))


@pytest.mark.parametrize("size", [(80, 24), (120, 40), (60, 20)])
def test_it_shows_the_text_and_whom_to_send_it_to(show: Any, size: tuple[int, int]) -> None:
    async def steps(pilot: Any) -> None:
        text = screen_text(pilot.app)
        assert "Reminder: Alder [red]House" in text
        assert "01632 960101" in text
        words = " ".join(text.split())
        assert "Tuesday 17 March 2026 at 09:30: Ada Vet comes for examination" in words
        assert "copy" in text.splitlines()[-1]
        assert not harmful(text)

    show(steps, size)


def test_the_text_is_copied_whole(show: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    copied: list[str] = []
    monkeypatch.setattr(SmallApp, "copy_to_clipboard", lambda _, text: copied.append(text))

    async def steps(pilot: Any) -> None:
        await pilot.press("c")
        await pilot.pause()
        assert "Copied" in screen_text(pilot.app)
        assert copied == [pilot.app.screen.reminder.text]

    show(steps)
    assert copied[0].startswith("For Alder [red]House\n")


def test_it_goes_to_a_file_that_was_not_there(show: Any) -> None:
    async def steps(pilot: Any) -> None:
        text = pilot.app.screen.reminder.text
        await pilot.press("s")
        await until(pilot, lambda: isinstance(pilot.app.screen, ReminderFileScreen))
        await pilot.press("f2")
        await until(pilot, lambda: isinstance(pilot.app.screen, ReminderScreen))
        (path,) = Path().glob("*.txt")
        assert path.read_text(encoding="utf-8") == text
        path.write_text("mine", encoding="utf-8")
        await pilot.press("s")
        await until(pilot, lambda: isinstance(pilot.app.screen, ReminderFileScreen))
        await pilot.press("f2")
        await until(pilot, lambda: "left as it is" in " ".join(screen_text(pilot.app).split()))
        assert path.read_text(encoding="utf-8") == "mine"
        pilot.app.screen.query_one(Form).fill({"file": "other.txt"})
        await pilot.press("f2")
        await until(pilot, lambda: Path("other.txt").exists())

    show(steps)


def test_number_and_days(show: Any) -> None:
    async def steps(pilot: Any) -> None:
        assert "closed" not in screen_text(pilot.app)
        await pilot.press("n")
        await until(pilot, lambda: isinstance(pilot.app.screen, ReminderSetScreen))
        form = pilot.app.screen.query_one(Form)
        form.fill({"telephone": "01632 960 000", "ahead_days": "no"})
        await pilot.press("f2")
        await until(pilot, lambda: "from 1 to 366" in screen_text(pilot.app))
        form.fill({"ahead_days": "30"})
        await pilot.press("f2")
        await until(pilot, lambda: isinstance(pilot.app.screen, ReminderScreen))
        await until(pilot, lambda: "next 30 days" in screen_text(pilot.app))
        told = pilot.app.screen.reminder
        assert "Ring us (01632 960 000) when" in told.text
        assert "ulcer" in told.text
        assert not harmful(screen_text(pilot.app))

    show(steps)


def test_without_anything_due_it_says_what_to_do(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    with sqlite_book.writing(act) as writing:
        calm = writing.add("client", name="Calm Farm")
    app = SmallApp(sqlite_book, act, lambda: ReminderScreen(calm), tmp_path / "drafts.json")

    async def run_all() -> None:
        async with app.run_test(size=(80, 24), notifications=True) as pilot:
            await settled(pilot)
            text = screen_text(app)
            assert "Nothing is due that an owner is reminded of. n looks further ahead." in text
            await pilot.press("c", "s")
            await pilot.pause()
            assert isinstance(app.screen, ReminderScreen)

    asyncio.run(run_all())


def test_what_a_vet_tells_stands_below_and_not_in_it(
    show: Any, sqlite_book: Book, act: Act, owner: UUID
) -> None:
    with sqlite_book.writing(act) as writing:
        writing.add(
            "contact_attempt", client_id=owner, at=NOW, outcome="ring back", ring_on=TODAY,
        )  # fmt: skip

    async def steps(pilot: Any) -> None:
        told = pilot.app.screen.reminder
        assert any("ring back" in each for each in told.unsaid)
        assert "ring back" not in told.text
        assert "Not in it, to be told by word of mouth:" in screen_text(pilot.app)

    show(steps)


def test_help_names_the_question(show: Any) -> None:
    async def steps(pilot: Any) -> None:
        await pilot.press("f1")
        await until(pilot, lambda: isinstance(pilot.app.screen, Help))
        assert "What does the owner have to know" in screen_text(pilot.app)

    show(steps)


# --- the command ------------------------------------------------------------------------------------


@pytest.fixture
def run(alone: None, own: Path, monkeypatch: pytest.MonkeyPatch) -> Any:
    """Calls the command by itself on a copy of the demo practice."""
    monkeypatch.setattr(reminders, "now", lambda: NOW)

    def called(*words: str | Path) -> int:
        common = OneSentenceParser(add_help=False)
        common.add_argument("--book")
        whole = OneSentenceParser(prog="pondround")
        reminders.add_reminders(whole.add_subparsers(), [common])
        args: argparse.Namespace = whole.parse_args(
            ["reminders", *map(str, words), "--book", str(own)]
        )
        return reminders.run_reminders(args)

    return called


def test_all_reminders_are_printed(run: Any, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("--phone", "01632 960 000") == 0
    out = capsys.readouterr().out
    assert out.count("\nRing us (01632 960 000) when\n") == out.count("\nWhat is due\n") > 5
    assert not harmful(out)


def test_one_client_by_part_of_the_name(run: Any, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("--json") == 0
    told = json.loads(capsys.readouterr().out)["reminders"]
    name = told[0]["client"]
    assert told[0]["items"]
    assert run("--client", name.upper()) == 0
    assert capsys.readouterr().out.rstrip("\n") == told[0]["text"].rstrip("\n")
    with pytest.raises(NotFound, match="No client goes by"):
        run("--client", "qqqqqqqq")
    with pytest.raises(NotFound, match="more than one"):
        run("--client", "pond")


def test_a_folder_of_files(run: Any, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("--folder", "out") == 0
    files = sorted(Path("out").iterdir())
    out = capsys.readouterr().out
    assert f"{len(files)} files written." in out
    assert len(files) > 5
    assert run("--folder", "out") == 0
    assert f"0 files written. {len(files)} stood there already." in capsys.readouterr().out


def test_days_that_cannot_be(run: Any, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        run("--days", "0")
    assert "1 to 366 days ahead" in capsys.readouterr().err
