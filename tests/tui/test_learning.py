"""Temperatures are learnt beside what is shown; commands learn those of a small book."""

from __future__ import annotations

import asyncio
import os
import subprocess
import sys
import threading
import time
from datetime import timedelta
from pathlib import Path

import pytest
from called import NOW, Call

from store.book.book import Book
from store.book.opening import open_book
from store.errors import BookTrouble
from store.warmth.kept import fits
from store.warmth.kept.estimates import estimates
from store.warmth.kept.fits import fit_at_hand
from tui import learning
from tui.app import PondroundApp
from tui.commands import trouble, warm
from tui.messages import BookChanged
from tui.widgets.top import Top


class Watched(PondroundApp):
    """Counts how often screens were told to look again."""

    def __init__(self, book: Book, tmp_path: Path) -> None:
        super().__init__(
            lambda: book, now=lambda: NOW, person="AL",
            settings=tmp_path / "settings.toml", drafts=tmp_path / "drafts.json", learns=True,
        )  # fmt: skip
        self.told: list[bool] = []

    def _post(self, kind):  # type: ignore[no-untyped-def]
        made = kind()
        if isinstance(made, BookChanged):
            self.told.append(made.own)
        super()._post(kind)


async def until(found, most_s: float = 20.0) -> None:  # type: ignore[no-untyped-def]
    begun = time.monotonic()
    while not found():
        assert time.monotonic() - begun < most_s
        await asyncio.sleep(0.02)


async def test_it_is_learnt_beside_the_list(
    own: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The share that is done stands in the head; then every screen looks again. What is at hand
    and young is left alone; leaving while it is learnt waits for nothing."""
    gate, reached = threading.Event(), threading.Event()
    whole = fits.fit

    def slow(*args, progress, **kwargs):  # type: ignore[no-untyped-def]
        progress(0.2)
        reached.set()
        gate.wait(20.0)
        return whole(*args, progress=progress, **kwargs)

    monkeypatch.setattr(fits, "fit", slow)
    monkeypatch.setattr(learning, "TOLD_EVERY_S", 0.02)
    monkeypatch.setattr(learning, "BEGIN_AFTER_S", 0.05)
    monkeypatch.setattr(learning, "AGAIN_S", 0.2)
    book = open_book(own, now=NOW)
    book.throwaway = tmp_path / "cache"
    app = Watched(book, tmp_path)
    async with app.run_test(size=(80, 24)) as pilot:
        await until(lambda: app.learning_said == "learning temperatures 59 %")
        await pilot.pause()
        assert "learning temperatures 59 %" in str(app.screen.query_one(Top).render())
        assert fit_at_hand(book, NOW) is None
        gate.set()
        await until(lambda: app.told == [False])
        assert app.learning_said == ""
        made = fit_at_hand(book, NOW)
        assert made is not None
        assert estimates(book, NOW) is not None
        # Looked at again, it is found to be young.
        monkeypatch.setattr(fits, "fit", None)
        await asyncio.sleep(0.5)
        assert app.told == [False]
        # Old, it is learnt anew, and the application is left meanwhile.
        gate.clear()
        reached.clear()
        monkeypatch.setattr(fits, "fit", slow)
        app.now = lambda: NOW + timedelta(days=9)
        await until(reached.is_set)
        begun = time.monotonic()
    assert time.monotonic() - begun < 5.0
    assert app.told == [False]
    gate.set()
    book.close()


@pytest.mark.parametrize("fault", [BookTrouble("The book is gone."), ValueError("a slip")])
async def test_what_goes_wrong_ends_neither_the_list_nor_the_work(
    own: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, fault: Exception
) -> None:
    said: list[str] = []

    def fails(*_args: object) -> None:
        raise fault

    monkeypatch.setattr(fits, "make_fit", fails)
    monkeypatch.setattr(trouble, "note", lambda _, sentence: said.append(sentence))
    monkeypatch.setattr(trouble, "keep_fault", lambda _, text: said.append(text))
    monkeypatch.setattr(learning, "BEGIN_AFTER_S", 0.05)
    with open_book(own, now=NOW) as book:
        app = Watched(book, tmp_path)
        async with app.run_test(size=(80, 24)):
            await until(lambda: bool(said))
            assert app.told == []
    assert str(fault) in said[0]


def test_commands_learn_a_small_book(
    call: Call, own: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Once; of a large book they say what is left out; a folder that cannot be written is no
    trouble."""
    made: list[object] = []
    whole = fits.make_fit

    def counted(book, at):  # type: ignore[no-untyped-def]
        made.append(whole(book, at))
        return made[-1]

    cache = tmp_path / "cache"
    monkeypatch.setattr(warm, "warmth_folder", lambda: cache)
    monkeypatch.setattr(fits, "make_fit", counted)
    code, _, err = call("morning", "--book", own)
    assert (code, err, len(made)) == (0, "", 1)
    assert [one.suffix for one in cache.iterdir()] == [".warmth"]
    for words in (("desk",), ("pond", "PEN-1"), ("morning", "--json")):
        code, _, err = call(*words, "--book", own)
        assert (code, err, len(made)) == (0, "", 1)
    for one in cache.iterdir():
        one.unlink()
    monkeypatch.setattr(warm, "SMALL_PONDS", 3)
    code, out, err = call("morning", "--book", own)
    assert (code, err, len(made)) == (0, warm.NOT_LEARNT + "\n", 1)
    assert out
    monkeypatch.undo()


def test_a_folder_that_cannot_be_written_is_noted(
    call: Call, own: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    (tmp_path / "cache").write_text("no folder")
    monkeypatch.setattr(warm, "warmth_folder", lambda: tmp_path / "cache")
    code, _, err = call("morning", "--book", own)
    assert (code, err) == (0, "")
    (line,) = (tmp_path / "home" / "log" / "faults.log").read_text().splitlines()
    assert line.startswith("What was learnt of the temperatures of ponds could not be kept in")


def test_leaving_waits_for_no_reckoning() -> None:
    """A thread that reckons does not keep the interpreter."""
    code = (
        "import threading, time\n"
        "from tui import learning\n"
        "made = []\n"
        "whole = threading.Thread\n"
        "learning.threading.Thread = lambda **how: made.append(how) or whole(**how)\n"
        "import asyncio\n"
        "class App:\n"
        "    is_running, is_headless, now = True, True, None\n"
        "one = learning.Learning(App(), None)\n"
        "one._make = lambda: time.sleep(60)\n"
        "async def main():\n"
        "    asyncio.create_task(one.make())\n"
        "    await asyncio.sleep(0.1)\n"
        "asyncio.run(main())\n"
        "assert made and one._given_up\n"
    )
    root = Path(__file__).parents[2]
    env = {**os.environ, "PYTHONPATH": str(root)}
    subprocess.run([sys.executable, "-c", code], cwd=root, env=env, check=True, timeout=30)
