"""Whether estimates can be believed: the command with its keys, and the page by keys."""

from __future__ import annotations

import asyncio
import json
import threading
from datetime import timedelta
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from called import NOW, Call, one_sentence
from ponds_read_seldom import add_ponds_read_seldom
from textual.widgets import Static

from store.book.act import Act
from store.book.book import Book
from store.warmth.kept import verify as verifying
from store.warmth.kept.verify import Verified
from store.warmth.replay import PondScore, Replayed, Score
from tui import daily
from tui.app import PondroundApp
from tui.commands import verify as command
from tui.screens.guard.backups import GuardScreen
from tui.screens.guard.proof import ProofScreen

ERRORS = {
    "n", "rmse", "rmse_last_reading", "rmse_season", "coverage_80", "n_doubted", "rmse_undoubted",
    "rmse_last_reading_undoubted", "says",
}  # fmt: skip


def test_the_command(
    call: Call, sqlite_book: Book, sqlite_url: str, act: Act, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.setattr(command, "now", lambda: NOW)
    add_ponds_read_seldom(sqlite_book, act)
    sheet = tmp_path / "bad.csv"
    sheet.write_text("pond,first,last\nlower pond,2026-02-01,2026-03-01\n")
    words = ("verify", "temperature", "--book", sqlite_url)
    code, out, err = call(*words, "--json", "--not-scored", sheet)
    assert (code, err) == (0, "")
    told = json.loads(out)
    assert set(told) == {
        "leads", "ages", "ponds", "says", "first", "last", "every_days", "nth", "done",
    }  # fmt: skip
    assert [one["lead"] for one in told["leads"]] == [1, 3, 7, 14]
    assert [one["age"] for one in told["ages"]] == [1, 3, 7, 14, 30, 60]
    assert all(set(one) == ERRORS | {"lead"} for one in told["leads"])
    assert all(set(one) == ERRORS | {"age"} for one in told["ages"])
    week = told["leads"][2]
    assert week["n"] > 200
    assert 0.0 < week["rmse"] < 3.0
    assert 0.5 < week["coverage_80"] <= 1.0
    assert {one["name"] for one in told["ponds"]} >= {"Alder Row, mill pool", "Alder Row, tarn"}
    assert (told["last"], told["every_days"], told["done"]) == ("2026-03-14", 30, 1.0)
    assert told["says"][0].startswith("Readings of ")

    sheet.write_text("pond,first,last\nnobody's,2026-02-01,2026-03-01\n")
    code, out, err = call(*words, "--not-scored", sheet)
    assert (code, out) == (2, "")
    assert one_sentence(err.replace(" Write its code or its exact name.", ""))
    assert call("verify", "salinity", "--book", sqlite_url)[0] == 2


def _score(days: int, off: float, n: int = 400) -> Score:
    return Score(days, n, off, 2.0, 1.5, 0.81, 3, off, 2.0) if n else Score(
        days, 0, None, None, None, None, 0, None, None
    )  # fmt: skip


def _found(share: float) -> Verified:
    """What a replay would come to; the numbers are invented."""
    pond = uuid4()
    replayed = Replayed(
        738_000, 738_365, 12,
        (_score(1, 0.9), _score(3, 1.1), _score(7, 1.3), _score(14, 1.6)),
        (_score(1, 0.0, 0), _score(3, 0.0, 0), _score(7, 1.0), _score(14, 1.2), _score(30, 1.4),
         _score(60, 1.7, 40)),
        (PondScore(pond, 300, 1.7, 2.1, 1.6, 0.72),),
    )  # fmt: skip
    names = {pond: "Alder Row, [b]mill[/b] pool\u202e"}
    first, last = NOW.date() - timedelta(days=365), NOW.date()
    from store.warmth.proof_words import Proven, proof_says

    says = proof_says(Proven(4, first, last, 30, 1, share, replayed, names, 365))
    return Verified(NOW, 4, first, last, 30, 1, share, replayed, names, says)


def _said(app: PondroundApp) -> str:
    return " ".join(str(one.render()) for one in app.screen.query(Static))


async def _until(app: PondroundApp, *words: str) -> str:
    for _ in range(250):
        said = _said(app)
        if all(one in said for one in words):
            return said
        await asyncio.sleep(0.02)
    raise AssertionError(_said(app))


async def test_the_page_by_keys(
    sqlite_book: Book, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Replayed at once, ended early with esc and kept, there again after having left."""
    monkeypatch.setattr(daily, "BEGIN_AFTER_S", 1000.0)
    asked = threading.Event()

    def replayed(_book: Book, _now: Any, progress: Any, halt: Any) -> Verified:
        asked.set()
        progress(0.4)
        for _ in range(500):
            if halt():
                return _found(0.4)
            threading.Event().wait(0.01)
        raise AssertionError("It was not stopped.")

    monkeypatch.setattr(verifying, "verify", replayed)
    app = PondroundApp(lambda: sqlite_book, now=lambda: NOW, drafts=tmp_path / "drafts.json")
    async with app.run_test(size=(80, 24)) as pilot:
        await pilot.press("9")
        await pilot.pause()
        await pilot.press("e")
        await _until(app, "Replaying the past: 40% (esc ends it, what is done is kept)")
        assert isinstance(app.screen, ProofScreen)
        await pilot.press("escape")
        said = await _until(
            app, "Replayed 14 Mar", "Stopped early: its first 40% are in these figures."
        )
        assert "the estimate is no better than the season" in said
        assert "14 days ahead: off by 1.6 °C, the last reading 2.0 °C, the season 1.5 °C." in said
        assert "no pond was read" not in said
        assert "Too few readings to be judged: a last reading 60 days old." in said
        assert "No better than the season at 1 of 1 pond: Alder Row, [b]mill[/b] pool" in said
        assert "\u202e" not in said
        await pilot.press("escape")
        await pilot.pause()
        assert isinstance(app.screen, GuardScreen)
        asked.clear()
        await pilot.press("e")
        await _until(app, "Replayed 14 Mar", "Stopped early")
        assert not asked.is_set()
        monkeypatch.setattr(verifying, "verify", lambda *_: _found(1.0))
        await pilot.press("r")
        for _ in range(250):
            if "Stopped early" not in (said := _said(app)) and "Replayed 14 Mar" in said:
                break
            await asyncio.sleep(0.02)
        assert "Stopped early" not in said
