"""Who works: asked for the passphrase, locked when they are away, entered and changed by keys."""

from __future__ import annotations

from dataclasses import replace
from datetime import timedelta
from functools import partial
from pathlib import Path
from typing import Any, TypeVar

import argon2
import pytest
from screen_text import a_moment, looks_as, screen_text
from textual.pilot import Pilot
from textual.screen import Screen
from textual.widgets import Input

from store.book import sign_in
from store.book.act import Act
from store.book.book import Book
from store.book.people import enter, staff
from store.book.sign_in import asks_passphrase, prove, set_passphrase
from tui.app import PondroundApp
from tui.screens.directory.directory import DirectoryScreen
from tui.screens.morning.morning import MorningScreen
from tui.screens.parts.dialogs import AskReason, Choose, Tell
from tui.screens.parts.edit import EditScreen, NewPondScreen
from tui.screens.parts.sign_in import Locked, Passphrase
from tui.screens.parts.sign_in_people import PassphraseForm
from tui.settings import Settings, read_settings, write_settings
from tui.widgets.fields import Form

OWN = "slow carp under ice"
FOR_BO = "heron on the far bank"
Kind = TypeVar("Kind", bound=Screen[Any])


@pytest.fixture(autouse=True)
def quick_hashes(monkeypatch: pytest.MonkeyPatch) -> None:
    quick = partial(argon2.PasswordHasher, time_cost=1, memory_cost=8, parallelism=1)
    monkeypatch.setattr(argon2, "PasswordHasher", quick)


async def until(pilot: Pilot[Any], kind: type[Kind]) -> Kind:
    for _ in range(400):
        if type(pilot.app.screen) is kind and pilot.app.screen.is_mounted:
            await pilot.pause()
            return pilot.app.screen
        await a_moment()
    raise AssertionError(f"{pilot.app.screen} is no {kind.__name__}")


async def say(pilot: Pilot[Any], passphrase: str) -> None:
    for _ in range(400):
        line = pilot.app.screen.query_one("#passphrase", Input)
        if not line.disabled and line.has_focus:
            break
        await a_moment()
    await pilot.press(*(one if one != " " else "space" for one in passphrase), "enter")


async def test_who_works_is_shown_locked_and_changed(
    sqlite_book: Book, act: Act, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sign_in, "_FIRST_PAUSE_S", 0.05)
    enter(sqlite_book, act, "Bo Desk", "receptionist")
    set_passphrase(sqlite_book, act, act.by, OWN)
    times = [act.at]
    drafts = tmp_path / "drafts.json"
    app = PondroundApp(lambda: sqlite_book, now=lambda: times[-1], drafts=drafts)
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, Choose)  # somebody has a passphrase: it is asked at once
        await pilot.press("1")
        await until(pilot, Passphrase)
        await say(pilot, "not mine at all")
        for _ in range(200):
            if "do not fit together" in screen_text(app) or "Try again" in screen_text(app):
                break
            await a_moment()
        assert "not mine" not in screen_text(app)
        await say(pilot, OWN)
        await until(pilot, MorningScreen)
        acting = await app.acting()
        assert acting is not None
        assert acting.by == act.by
        await pilot.press("2")
        await until(pilot, DirectoryScreen)

        # Typed and not saved; nobody is there for half an hour; all of it is there afterwards.
        await pilot.press("n")
        screen = await until(pilot, NewPondScreen)
        await pilot.press(*"Mill")
        app._look_round()
        times.append(times[-1] + timedelta(minutes=1))
        app._look_round()
        await pilot.pause()
        assert app.screen is screen
        times.append(times[-1] + timedelta(minutes=30))
        app._look_round()
        await until(pilot, Locked)
        await looks_as(pilot, "locked_80")
        assert "Mill" not in screen_text(app)
        await pilot.press("escape", "f6")
        await pilot.pause()
        assert type(app.screen) is Locked
        await say(pilot, OWN)
        screen = await until(pilot, NewPondScreen)
        assert screen.query_one(Form).values["client.name"] == "Mill"
        await pilot.press("escape")
        await until(pilot, DirectoryScreen)

        # Ada gives Bo a passphrase.
        await pilot.press("w")
        await until(pilot, Choose)
        await looks_as(pilot, "people_80")
        await pilot.press("2")
        await pilot.pause()
        await until(pilot, Choose)
        await pilot.press("2")
        form = (await until(pilot, PassphraseForm)).query_one(Form)
        form.fill({"new": FOR_BO, "again": "something else"})
        await pilot.press("f2")
        for _ in range(200):
            if "not the same" in screen_text(app):
                break
            await a_moment()
        assert FOR_BO not in screen_text(app)
        form.fill({"new": FOR_BO, "again": FOR_BO})
        await looks_as(pilot, "passphrase_form_80")
        await pilot.press("f2")
        await until(pilot, DirectoryScreen)
        bo = staff(sqlite_book)[1]
        prove(sqlite_book, bo.id, FOR_BO)
        assert FOR_BO not in (drafts.read_text() if drafts.exists() else "")

        # Somebody else works: what was shown is locked until Bo signs in.
        await pilot.press("f6")
        await until(pilot, Locked)
        await pilot.click("#other")
        await until(pilot, Choose)
        await pilot.press("2")
        await until(pilot, Passphrase)
        await say(pilot, FOR_BO)
        await until(pilot, DirectoryScreen)
        acting = await app.acting()
        assert acting is not None
        assert acting.by == bo.id
        await pilot.press("w")
        await until(pilot, Choose)
        await pilot.press("3")  # a new person
        edit = await until(pilot, EditScreen)
        edit.query_one(Form).fill({"name": "Cy Moss", "role": "vet"})
        await pilot.press("f2")
        await until(pilot, Tell)
        assert "Only a vet can enter people or change what they are; Bo Desk" in " ".join(
            screen_text(app).split()
        ).replace("│ ", "").replace(" │", "")
    assert len(staff(sqlite_book)) == 2
    assert asks_passphrase(sqlite_book, bo.id)


async def test_without_passphrases_nothing_is_asked_before_something_is_written(
    sqlite_book: Book, act: Act, tmp_path: Path
) -> None:
    enter(sqlite_book, act, "Bo Desk", "receptionist")
    app = PondroundApp(lambda: sqlite_book, now=lambda: act.at, drafts=tmp_path / "drafts.json")
    async with app.run_test(size=(80, 24), notifications=True) as pilot:
        await until(pilot, MorningScreen)
        await pilot.press("f6")
        await until(pilot, Choose)
        await pilot.press("2")
        await until(pilot, MorningScreen)
        acting = await app.acting()
        assert acting is not None
        assert acting.by != act.by
        app._lock()
        await pilot.pause()
        assert isinstance(app.screen, MorningScreen)
        await pilot.press("2")
        await until(pilot, DirectoryScreen)
        await pilot.press("f6")
        await until(pilot, Choose)
        await pilot.press("1")
        await until(pilot, DirectoryScreen)
        await pilot.press("w")
        await until(pilot, Choose)
        await pilot.press("2")
        await pilot.pause()
        await until(pilot, Choose)
        await pilot.press("4")
        await until(pilot, AskReason)
        await pilot.press(*"moved", "enter")
        await until(pilot, DirectoryScreen)
        for _ in range(200):
            if len(staff(sqlite_book)) == 1:
                break
            await a_moment()
    assert [one.name for one in staff(sqlite_book)] == ["Ada Vet"]


def test_when_it_locks_is_a_setting(tmp_path: Path) -> None:
    path = tmp_path / "settings.toml"
    write_settings(path, replace(Settings(), lock_min=5))
    assert read_settings(path) == (replace(Settings(), lock_min=5), ())
    for wrong in ("-1", "true", '"5"', "2000"):
        path.write_text(f"lock_min = {wrong}\n")
        found, remarks = read_settings(path)
        assert found.lock_min == 30
        assert "whole minutes" in remarks[0]
